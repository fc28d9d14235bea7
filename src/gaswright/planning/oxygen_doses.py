"""The oxygen dose of each diver in a case; a diver beyond the oxygen table has none, for nothing is extrapolated."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.decompression.request import Schedule
from gaswright.oxygen.clock import Dose, OxygenBeyondTable, dose
from gaswright.planning.dive import OxygenDose
from gaswright.planning.kit import Kit

__all__ = ["Doses", "doses_of"]


@dataclass(frozen=True, slots=True)
class Doses:
    """Oxygen of a team.

    Args:
        known: diver id to the dose.
        beyond: diver id to where the oxygen table is left.
    """

    known: Mapping[str, Dose]
    beyond: Mapping[str, OxygenBeyondTable]

    @property
    def shown(self) -> dict[str, OxygenDose]:
        """Diver id to the dose as the plan shows it."""
        return {d: OxygenDose(x.cns_fraction * 100, x.otu) for d, x in self.known.items()}


def doses_of(kit: Kit, schedule: Schedule) -> Doses:
    """The oxygen of every diver over a schedule.

    Args:
        kit: gives the team and the place.
        schedule: of the team.
    """
    known, beyond = {}, {}
    for diver in kit.dive.divers:
        try:
            known[diver.id] = dose(schedule.segments, diver.id, kit.dive.place)
        except OxygenBeyondTable as left:
            beyond[diver.id] = left
    return Doses(known, beyond)
