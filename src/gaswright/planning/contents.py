"""What each cylinder holds at the start of the dive: carried to the water's temperature, real gas."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.physics.content import GAUGE_MAX_BAR, free_litres, gauge_bar_at_temperature, gauge_bar_holding
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Basis, PlanCylinder
from gaswright.planning.kit import Kit

__all__ = ["Content", "contents_of", "gauge_bar_with", "start_gauge_bar"]

ROUNDING = 1e-9  # binary rounding of a pressure


@dataclass(frozen=True, slots=True)
class Content:
    """A cylinder in the water, before the first breath.

    Args:
        cylinder: id.
        volume_l: water volume [L]
        temperature_k: of the water [K]
        mixture: the reading.
        start_bar: gauge pressure at that temperature [bar]
        start_l: free gas above vacuum [L]
        unusable_l: free gas that remains at the pressure that cannot be breathed [L]
    """

    cylinder: str
    volume_l: float
    temperature_k: float
    mixture: Mixture
    start_bar: float
    start_l: float
    unusable_l: float

    @property
    def available_l(self) -> float:
        """Free gas that can be breathed [L]."""
        return max(0.0, self.start_l - self.unusable_l)


def start_gauge_bar(cylinder: PlanCylinder) -> float | None:
    """The pressure a plan starts from: as read; on a plan by targets without a reading the working pressure [bar].

    Args:
        cylinder: of the plan.
    """
    if cylinder.gauge_bar is None and cylinder.basis is Basis.TARGET:
        return cylinder.working_pressure_bar
    return cylinder.gauge_bar


def contents_of(kit: Kit) -> Mapping[str, Content]:
    """Cylinder id to its content; a cylinder whose pressure nobody knows is left out.

    The reading is carried to the water's temperature by constant moles; where nobody said how warm the water is, it
    stays at its own temperature.

    Args:
        kit: of the dive.

    Raises:
        RangeError: a pressure, volume or temperature lies outside the equation of state.
    """
    found = {}
    for cylinder in kit.cylinders.values():
        gauge_bar = start_gauge_bar(cylinder)
        if gauge_bar is not None and cylinder.gas is not None:
            found[cylinder.id] = _content(kit, cylinder, gauge_bar, cylinder.gas.mixture)
    return found


def _content(kit: Kit, cylinder: PlanCylinder, gauge_bar: float, mixture: Mixture) -> Content:
    water_k = kit.dive.place.water_temperature_k or cylinder.temperature_k
    start_bar = gauge_bar
    if water_k != cylinder.temperature_k:
        start_bar = gauge_bar_at_temperature(gauge_bar, cylinder.temperature_k, water_k, mixture)
    start_l = free_litres(start_bar, cylinder.volume_l, water_k, mixture)
    unusable_l = free_litres(kit.dive.settings.unusable_bar, cylinder.volume_l, water_k, mixture)
    return Content(cylinder.id, cylinder.volume_l, water_k, mixture, start_bar, start_l, unusable_l)


def gauge_bar_with(content: Content, free_l: float) -> float | None:
    """Gauge pressure at which a cylinder holds so much; None above what the equation of state covers [bar].

    Args:
        content: the cylinder.
        free_l: free gas above vacuum, 0 or more [L]
    """
    if free_l > _most_l(content):
        return None
    return gauge_bar_holding(free_l, content.volume_l, content.temperature_k, content.mixture)


def _most_l(content: Content) -> float:
    """Free gas at the highest pressure that the equation of state covers, a hair less [L]."""
    return free_litres(GAUGE_MAX_BAR * (1 - ROUNDING), content.volume_l, content.temperature_k, content.mixture)
