"""The oxygen dose of each diver in a case; a diver beyond the oxygen table has none, for nothing is extrapolated."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from gaswright.decompression.request import Schedule
from gaswright.oxygen.clock import Dose, OxygenBeyondTable, dose
from gaswright.oxygen.days import day_fraction, day_otu, single_fraction
from gaswright.planning.around import PastDose
from gaswright.planning.dive import OxygenDose
from gaswright.planning.kit import Kit

__all__ = ["Doses", "doses_of", "earlier_doses"]


@dataclass(frozen=True, slots=True)
class Doses:
    """Oxygen of a team.

    Args:
        known: diver id to the dose of this dive.
        beyond: diver id to where the oxygen table is left.
        shown: diver id to the dose as the plan shows it, with what earlier dives add.
    """

    known: Mapping[str, Dose]
    beyond: Mapping[str, OxygenBeyondTable]
    shown: Mapping[str, OxygenDose] = field(default_factory=dict)


def doses_of(kit: Kit, schedule: Schedule) -> Doses:
    """The oxygen of every diver over a schedule.

    Args:
        kit: gives the team, the place and the earlier dives.
        schedule: of the team.
    """
    known, beyond = {}, {}
    for diver in kit.dive.divers:
        try:
            known[diver.id] = dose(schedule.segments, diver.id, kit.dive.place)
        except OxygenBeyondTable as left:
            beyond[diver.id] = left
    return Doses(known, beyond, {d: _shown(kit, schedule, d, own) for d, own in known.items()})


def earlier_doses(kit: Kit, diver: str) -> tuple[PastDose, ...]:
    """The oxygen that a diver brings from earlier dives, the last dive first.

    Args:
        kit: of the dive.
        diver: id.
    """
    before = kit.dive.before
    return () if before is None else before.doses.get(diver, ())


def _shown(kit: Kit, schedule: Schedule, diver: str, own: Dose) -> OxygenDose:
    earlier = earlier_doses(kit, diver)
    single = single_fraction(own.cns_fraction, earlier, kit.policy.oxygen_interval_min)
    day = day_fraction(own.day_fraction, schedule.runtime_min, earlier)
    return OxygenDose(
        cns_percent=own.cns_fraction * 100, otu=own.otu, single_percent=single * 100,
        day_own_percent=own.day_fraction * 100, day_percent=day * 100, day_otu=day_otu(own.otu, earlier),
    )
