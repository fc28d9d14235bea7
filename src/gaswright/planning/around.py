"""What lies around a dive: what the divers bring from earlier ones, and when they may go into thinner air after it."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.decompression.coefficients import COMPARTMENTS, VAPOUR_BAR
from gaswright.decompression.request import Tissues
from gaswright.physics.mixture import AIR
from gaswright.physics.place import Place

__all__ = ["Afterwards", "Before", "PastDose", "resting_tissues"]


@dataclass(frozen=True, slots=True)
class PastDose:
    """Oxygen of one diver in one earlier dive.

    Args:
        days_ago: dive days before this one; 0: the same day.
        ended_min: from its end to the start of this dive [min].
        minutes: its runtime [min].
        cns_fraction: share of the NOAA single-exposure limit [fraction].
        day_fraction: share of the NOAA limit within 24 hours [fraction].
        otu: oxygen tolerance units.
    """

    days_ago: int
    ended_min: float
    minutes: float
    cns_fraction: float
    day_fraction: float
    otu: float


@dataclass(frozen=True, slots=True)
class Before:
    """What the divers bring from earlier dives.

    Args:
        interval_min: at the surface before this dive [min].
        tissues: diver id to the tensions at its start; who is not named made no earlier dive.
        doses: diver id to the oxygen of the earlier dives, the last dive first.
    """

    interval_min: float
    tissues: Mapping[str, Tissues]
    doses: Mapping[str, tuple[PastDose, ...]]


@dataclass(frozen=True, slots=True)
class Afterwards:
    """When a diver may go up into thinner air after the dive; hours from surfacing, whole, rounded up.

    Args:
        fly_h: earliest flight: the hours of the policy, or longer if the tissues ask for it; None: beyond what is
            looked at [h].
        fly_better_h: the same with the longer hours after a decompression dive [h].
        fly_tissues_h: what the tissues alone ask for at the pressure of a cabin [h].
        pass_h: what the tissues ask for at the highest point of the way home; None: not said, or beyond [h].
    """

    fly_h: float | None
    fly_better_h: float | None
    fly_tissues_h: float | None
    pass_h: float | None = None


def resting_tissues(place: Place) -> Tissues:
    """Tensions of a diver who made no earlier dive: saturated with air where the place says.

    Args:
        place: gives the pressure of saturation.
    """
    rest_bar = (place.saturated_bar - VAPOUR_BAR) * AIR.n2
    return Tissues((rest_bar,) * COMPARTMENTS, (0.0,) * COMPARTMENTS)
