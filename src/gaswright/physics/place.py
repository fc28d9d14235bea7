"""The place of a dive: pressure at its surface, its water and its temperature."""

from dataclasses import dataclass

from gaswright.errors import InputError
from gaswright.physics.ranges import in_range

__all__ = [
    "ALTITUDE_MAX_M", "ALTITUDE_MIN_M", "ATM_BAR", "EN13319_BAR_PER_M", "FRESH_WATER_KG_M3", "SALT_WATER_KG_M3",
    "STANDARD_GRAVITY_M_S2", "Place", "bar_per_m_of", "surface_bar_at",
]

ATM_BAR = 1.01325  # standard atmosphere, exact
STANDARD_GRAVITY_M_S2 = 9.80665  # ISO 80000-3, exact
EN13319_BAR_PER_M = 0.1  # EN 13319: 10 m shown = 1 bar (what depth gauges show), exact
SALT_WATER_KG_M3 = 1025.0  # common practice, no source
FRESH_WATER_KG_M3 = 1000.0  # common practice, no source
WATER_MIN_KG_M3 = 990.0  # [GASWRIGHT] contract: below any natural water
WATER_MAX_KG_M3 = 1040.0  # [GASWRIGHT] contract: above ocean water

ALTITUDE_MIN_M = -500.0  # [GASWRIGHT] below the lowest shore on Earth
ALTITUDE_MAX_M = 5000.0  # [GASWRIGHT] above the lakes that are dived
STANDARD_TEMPERATURE_K = 288.15  # [ISO2533] at sea level, exact
LAPSE_K_M = 0.0065  # [ISO2533] up to 11 km, exact
DRY_AIR_J_KG_K = 287.05287  # [ISO2533] specific gas constant of air, exact there; from memory
PRESSURE_EXPONENT = STANDARD_GRAVITY_M_S2 / (DRY_AIR_J_KG_K * LAPSE_K_M)  # 5.25588


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


def surface_bar_at(altitude_m: float) -> float:
    """Absolute pressure of the standard atmosphere at an altitude [bar].

    The day's real pressure differs by a few per cent; a measured one is entered as it is.

    Args:
        altitude_m: geopotential altitude above sea level, -500 to 5000 [m].

    Raises:
        RangeError: the altitude is outside that range.

    Source: [ISO2533] p = 1.01325 (1 - 0.0065 H / 288.15)^5.25588.
    """
    action = "give the surface pressure itself"
    in_range("altitude", altitude_m, "m", ALTITUDE_MIN_M, ALTITUDE_MAX_M, action)
    ratio: float = (1.0 - LAPSE_K_M * altitude_m / STANDARD_TEMPERATURE_K) ** PRESSURE_EXPONENT
    return ATM_BAR * ratio


def bar_per_m_of(water: str | float) -> float:
    """Pressure of one metre of a water [bar/m].

    Args:
        water: "en13319" (what depth gauges show), "salt", "fresh", or a density from 990 to 1040 [kg/m3].

    Raises:
        InputError: the word is not one of these.
        RangeError: the density is outside that range.

    Source: [EN13319] for gauges; else density times standard gravity.
    """
    named = {"salt": SALT_WATER_KG_M3, "fresh": FRESH_WATER_KG_M3}
    if water == "en13319":
        return EN13319_BAR_PER_M
    if isinstance(water, bool) or (isinstance(water, str) and water not in named):
        raise InputError(
            f'water is {water!r}, allowed are "en13319", "salt", "fresh" or a density from '
            f"{WATER_MIN_KG_M3:g} to {WATER_MAX_KG_M3:g} kg/m3"
        )
    density_kg_m3 = named[water] if isinstance(water, str) else water
    in_range("density of the water", density_kg_m3, "kg/m3", WATER_MIN_KG_M3, WATER_MAX_KG_M3)
    return density_kg_m3 * STANDARD_GRAVITY_M_S2 / 1e5  # 1 bar = 1e5 Pa
