"""A day from a trip file: facts, register, standings, and the team's dive on what the cylinders hold."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from gaswright.custody.fact import Fact
from gaswright.custody.folding import fold
from gaswright.custody.register import CylinderRecord
from gaswright.custody.registering import register
from gaswright.custody.standing import Standing
from gaswright.errors import InputError
from gaswright.exchange.trip import DiveRow, Trip
from gaswright.exchange.trip_facts import facts_of
from gaswright.exchange.trip_reader import read_trip
from gaswright.planning.dive import TeamDive
from gaswright.services.dives import dive_of, dive_row, facts_until

__all__ = ["Day", "day_of", "load_day", "team_dive"]


@dataclass(frozen=True, slots=True)
class Day:
    """What a trip file says, folded at one moment.

    Args:
        trip: the rows.
        facts: the same rows as custody facts; where another dive of the file comes later, those up to this one.
        register: cylinder id to its record.
        standings: cylinder id to its standing.
        dive: the team's dive on known gas, or on targets; None where the file plans none.
        row: which dive of the file it is; None where the file plans none.
    """

    trip: Trip
    facts: tuple[Fact, ...]
    register: Mapping[str, CylinderRecord]
    standings: Mapping[str, Standing]
    dive: TeamDive | None
    row: DiveRow | None = None


def load_day(
    trip_path: Path, policy_path: Path | None = None, *, now: datetime | None = None, dive: str | None = None
) -> Day:
    """The day of a trip file at a moment.

    Args:
        trip_path: the file.
        policy_path: a policy file of the user's own, None.
        now: the moment at which ages are judged, aware; None: ages are not judged.
        dive: id of the dive that is meant; None: the next one after the moment, without one the first.

    Raises:
        InputError: the file cannot be read; it carries every problem.
    """
    return day_of(read_trip(trip_path, policy_path), now, dive)


def day_of(trip: Trip, now: datetime | None, dive: str | None = None) -> Day:
    """The day of a trip at a moment.

    Args:
        trip: as read.
        now: the moment at which ages are judged, aware; None: ages are not judged.
        dive: id of the dive that is meant; None: the next one after the moment, without one the first.

    Raises:
        InputError: there is no such dive, or the dive before it is not known well enough to build on.
    """
    row = dive_row(trip, dive, now)
    every = facts_of(trip)
    facts = facts_until(trip, every, row)
    standings = {
        one.id: fold(facts, one.id, trip.policy, zone=trip.zone, now=now) for one in trip.cylinders
    }
    planned = None if row is None else dive_of(trip, row, standings)
    return Day(trip, facts, register(every), standings, planned, row)


def team_dive(trip: Trip, standings: Mapping[str, Standing], dive: str | None = None) -> TeamDive | None:
    """A dive of a trip with the gas that its cylinders are known to hold; None where the trip plans none.

    A cylinder whose gas is unknown is planned on its target, and the plan says so.

    Args:
        trip: as read.
        standings: cylinder id to its standing.
        dive: its id, None: the only one.

    Raises:
        InputError: several dives and none is named, there is no such dive, or the dive before it is not known well
            enough to build on.
    """
    if dive is None and len(trip.dives) > 1:
        known = ", ".join(row.id for row in trip.dives)
        raise InputError(f"{trip.file}: several dives are planned ({known}); name the one that is meant")
    row = dive_row(trip, dive, None)
    return None if row is None else dive_of(trip, row, standings)
