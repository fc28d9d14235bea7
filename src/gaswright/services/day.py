"""A day from a trip file: facts, register, standings, and the team's dive on what the cylinders hold."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from gaswright.analysis.reading import Reading
from gaswright.custody.fact import Fact
from gaswright.custody.folding import fold
from gaswright.custody.register import CylinderRecord
from gaswright.custody.registering import register
from gaswright.custody.standing import Known, Standing
from gaswright.errors import InputError
from gaswright.exchange.trip import CylinderRow, Trip, Where
from gaswright.exchange.trip_facts import facts_of
from gaswright.exchange.trip_reader import read_trip
from gaswright.planning.dive import Basis, PlanCylinder, Role, TeamDive

__all__ = ["Day", "day_of", "load_day", "team_dive"]

WARM_CYLINDER_K = 293.15  # a cylinder whose temperature nobody read counts as this warm, or as warm as the water
NOT_FOR_A_PLAN = frozenset({Role.SUIT, Role.SURFACE})


@dataclass(frozen=True, slots=True)
class Day:
    """What a trip file says, folded at one moment.

    Args:
        trip: the rows.
        facts: the same rows as custody facts.
        register: cylinder id to its record.
        standings: cylinder id to its standing.
        dive: the team's dive on known gas, or on targets; None where the file plans none.
    """

    trip: Trip
    facts: tuple[Fact, ...]
    register: Mapping[str, CylinderRecord]
    standings: Mapping[str, Standing]
    dive: TeamDive | None


def load_day(trip_path: Path, policy_path: Path | None = None, *, now: datetime | None = None) -> Day:
    """The day of a trip file at a moment.

    Args:
        trip_path: the file.
        policy_path: a policy file of the user's own, None.
        now: the moment at which ages are judged, aware; None: ages are not judged.

    Raises:
        InputError: the file cannot be read; it carries every problem.
    """
    return day_of(read_trip(trip_path, policy_path), now)


def day_of(trip: Trip, now: datetime | None) -> Day:
    """The day of a trip at a moment.

    Args:
        trip: as read.
        now: the moment at which ages are judged, aware; None: ages are not judged.

    Raises:
        InputError: the trip plans several dives, or builds on an earlier one: that cannot be planned yet.
    """
    facts = facts_of(trip)
    records = register(facts)
    standings = {
        row.id: fold(facts, row.id, trip.policy, zone=trip.zone, now=now) for row in trip.cylinders
    }
    return Day(trip, facts, records, standings, team_dive(trip, standings))


def team_dive(trip: Trip, standings: Mapping[str, Standing]) -> TeamDive | None:
    """The dive of a trip with the gas that its cylinders are known to hold; None where the trip plans none.

    A cylinder whose gas is unknown is planned on its target, and the plan says so.

    Args:
        trip: as read.
        standings: cylinder id to its standing.

    Raises:
        InputError: the trip plans several dives, or builds on an earlier one: tissues would be guessed.
    """
    if not trip.dives:
        return None
    if len(trip.dives) > 1 or trip.dives[0].after is not None:
        raise InputError(
            f"{trip.file}: repetitive dives cannot be planned yet, and fresh tissues would be a guess; "
            "keep one dive without `after` in the file"
        )
    divers = trip.planned_divers
    cylinders = tuple(
        cylinder
        for row in trip.cylinders
        if (cylinder := _plan_cylinder(row, standings[row.id], trip)) is not None
    )
    return TeamDive(divers, cylinders, trip.dives[0].levels, trip.place, trip.settings, trip.units)


def _plan_cylinder(row: CylinderRow, standing: Standing, trip: Trip) -> PlanCylinder | None:
    planned = {diver.id for diver in trip.planned_divers}
    divers = tuple(diver for diver in row.divers if diver in planned)
    if row.role in NOT_FOR_A_PLAN or not divers:
        return None
    known = standing.known
    return PlanCylinder(
        id=row.id,
        serial=row.serial,
        divers=divers,
        role=row.role,
        volume_l=row.volume_l,
        working_pressure_bar=row.working_pressure_bar,
        gas=known.lean if known else (Reading(row.target) if row.target else None),
        basis=Basis.ANALYSED if known else Basis.TARGET,
        gauge_bar=None if known is None or standing.gauge_centibar is None else standing.gauge_centibar / 100,
        temperature_k=_temperature_k(known, trip),
        pair=row.pair,
        isolator_open=row.isolator_open,
        target=row.target,
        switch_depth_m=row.switch_depth_m,
        leave_depth_m=row.leave_depth_m,
        staged=row.where is not Where.CARRIED,
        place_depth_m=row.place_depth_m,
        rich=known.rich if known and known.rich != known.lean else None,
    )


def _temperature_k(known: Known | None, trip: Trip) -> float:
    if known is not None and known.temperature_centi_k is not None:
        return known.temperature_centi_k / 100
    return max(WARM_CYLINDER_K, trip.place.water_temperature_k or WARM_CYLINDER_K)
