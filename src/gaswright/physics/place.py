"""The place of a dive: pressure at its surface, its water and its temperature."""

from dataclasses import dataclass

__all__ = ["ATM_BAR", "EN13319_BAR_PER_M", "STANDARD_GRAVITY_M_S2", "Place"]

ATM_BAR = 1.01325  # standard atmosphere, exact
STANDARD_GRAVITY_M_S2 = 9.80665  # ISO 80000-3, exact
EN13319_BAR_PER_M = 0.1  # EN 13319: 10 m shown = 1 bar (what depth gauges show), exact


@dataclass(frozen=True, slots=True)
class Place:
    """Where the dive happens.

    Args:
        surface_bar: absolute pressure at the surface [bar].
        bar_per_m: pressure of one metre of this water [bar/m].
        water_temperature_k: temperature of the water, None where nobody said [K].
        saturated_bar: ambient pressure at which the tissues were saturated before the first dive [bar].
    """

    surface_bar: float = ATM_BAR
    bar_per_m: float = EN13319_BAR_PER_M
    water_temperature_k: float | None = None
    saturated_bar: float = ATM_BAR

    def ambient_bar(self, depth_m: float) -> float:
        """Absolute pressure at a depth [bar].

        Args:
            depth_m: depth shown [m].
        """
        return self.surface_bar + self.bar_per_m * depth_m
