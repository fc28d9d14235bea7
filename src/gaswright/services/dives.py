"""The dives of a trip: each on what its cylinders hold by then, with what the divers bring from the dive before it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from gaswright.analysis.reading import Reading
from gaswright.clearance.scope import dive_day
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.folding import fold
from gaswright.custody.standing import Known, Standing
from gaswright.errors import InputError
from gaswright.exchange.trip import CylinderRow, DiveRow, Trip, Where
from gaswright.exchange.trip_facts import facts_of
from gaswright.exchange.trip_reader import read_trip
from gaswright.planning.around import Before
from gaswright.planning.carried import before_next
from gaswright.planning.dive import Basis, Plan, PlanCylinder, Role, TeamDive
from gaswright.planning.plan import plan

__all__ = ["dive_of", "dive_row", "facts_until"]

WARM_CYLINDER_K = 293.15  # a cylinder whose temperature nobody read counts as this warm, or as warm as the water
NOT_FOR_A_PLAN = frozenset({Role.SUIT, Role.SURFACE})
LONGEST_CHAIN = 60  # dives one after another: a month of two a day
TOUCHED = frozenset({Kind.FILLED, Kind.TOPPED_UP, Kind.DRAINED, Kind.PRESSURE_READ, Kind.BREATHED})


def dive_row(trip: Trip, dive: str | None, now: datetime | None) -> DiveRow | None:
    """The dive of a trip that is meant; None where the trip plans none.

    Args:
        trip: as read.
        dive: its id; None: at a moment the next one to start (the last if none does), else the first.
        now: the moment; aware, or None.

    Raises:
        InputError: no dive of that id.
    """
    if dive is not None:
        found = next((row for row in trip.dives if row.id == dive), None)
        if found is None:
            known = ", ".join(row.id for row in trip.dives) or "none"
            raise InputError(f"{trip.file}: there is no dive {dive}; known are {known}")
        return found
    if not trip.dives or now is None:
        return next(iter(trip.dives), None)
    ahead = (row for row in trip.dives if row.start is None or row.start >= now)
    return next(ahead, trip.dives[-1])


def facts_until(trip: Trip, facts: Sequence[Fact], row: DiveRow | None) -> tuple[Fact, ...]:
    """The facts that count for a dive: where another dive of the file comes after it, those up to its start.

    Args:
        trip: as read.
        facts: of the trip.
        row: the dive, None: no cut.
    """
    followed = row is not None and any(other.after == row.id for other in trip.dives)
    if row is None or row.start is None or not followed:
        return tuple(facts)
    return tuple(fact for fact in facts if fact.kind == Kind.REGISTERED or fact.at <= row.start)


def dive_of(
    trip: Trip, row: DiveRow, standings: Mapping[str, Standing], behind: tuple[tuple[str, str], ...] = ()
) -> TeamDive:
    """A dive of a trip with the gas that its cylinders are known to hold and what earlier dives leave.

    A cylinder whose gas is unknown is planned on its target, and the plan says so. A cylinder that the dive before
    breathed from holds what that plan leaves in it, unless it was filled, drained or read since.

    Args:
        trip: as read.
        row: the dive.
        standings: cylinder id to its standing.
        behind: files and dives that were come from, so that a circle is found.

    Raises:
        InputError: the dive before it is missing, overlaps, or cannot be planned: tissues would be a guess.
    """
    cylinders = tuple(
        cylinder
        for cylinder_row in trip.cylinders
        if (cylinder := _plan_cylinder(cylinder_row, standings[cylinder_row.id], trip)) is not None
    )
    dive = TeamDive(trip.planned_divers, cylinders, row.levels, trip.place, trip.settings, trip.units,
                    own_cases=trip.cases, pass_bar=trip.pass_bar)
    if row.after is None:
        return dive
    return _after(trip, row, dive, behind)


def _after(trip: Trip, row: DiveRow, dive: TeamDive, behind: tuple[tuple[str, str], ...]) -> TeamDive:
    here = (str(Path(trip.folder, trip.file)), row.id)
    if here in behind or len(behind) >= LONGEST_CHAIN:
        raise InputError(f"{trip.file}: dive {row.id} comes after itself, or after more than {LONGEST_CHAIN} dives; "
                         "one dive must be the first")
    earlier_trip, earlier = _row_before(trip, row)
    facts = facts_of(earlier_trip)
    if earlier_trip is trip:
        facts = facts_until(trip, facts, earlier)
    standings = {
        one.id: fold(facts, one.id, earlier_trip.policy, zone=earlier_trip.zone, now=None)
        for one in earlier_trip.cylinders
    }
    before_dive = replace(dive_of(earlier_trip, earlier, standings, (*behind, here)), own_cases=())
    before_dive = replace(before_dive, settings=replace(before_dive.settings, cases=()))
    made = plan(before_dive, earlier_trip.policy)
    brought = _before(trip, row, earlier_trip, earlier, before_dive, made)
    cylinders = dive.cylinders
    if earlier_trip is trip:
        cylinders = tuple(_left_in(trip, earlier, before_dive, made, one) for one in cylinders)
    return replace(dive, before=brought, cylinders=cylinders)


def _row_before(trip: Trip, row: DiveRow) -> tuple[Trip, DiveRow]:
    named = row.after or ""
    if not named.endswith(".toml"):
        found = next((other for other in trip.dives if other.id == named), None)
        if found is None:
            raise InputError(f"{trip.file}: dive {row.id} comes after {named}, which is not in the file")
        return trip, found
    if Path(named).name != named:
        raise InputError(f"{trip.file}: dive {row.id} comes after {named}; name a trip file beside this one, without "
                         "a folder")
    if not trip.folder:
        raise InputError(f"{trip.file}: dive {row.id} comes after {named}, and it is not known where that file lies")
    earlier = read_trip(Path(trip.folder, named))
    if not earlier.dives:
        raise InputError(f"{trip.file}: dive {row.id} comes after {named}, which plans no dive")
    return earlier, earlier.dives[-1]


def _before(
    trip: Trip, row: DiveRow, earlier_trip: Trip, earlier: DiveRow, dive: TeamDive, made: Plan
) -> Before:
    where = f"{trip.file}, dive {row.id}"
    if row.start is None or earlier.start is None:
        missing = earlier.id if earlier.start is None else row.id
        raise InputError(f"{where}: the surface interval is unknown; give dive {missing} its start")
    schedule = made.printed or made.planned.schedule
    runtime_min = 0.0 if schedule is None else schedule.runtime_min
    interval_min = (row.start - earlier.start).total_seconds() / 60 - runtime_min
    if interval_min <= 0.0:
        raise InputError(f"{where}: starts {-interval_min:.0f} min before dive {earlier.id} ends at the surface; "
                         "give it a later start")
    days = (dive_day(row.start, trip.zone, trip.policy) - dive_day(earlier.start, trip.zone, trip.policy)).days
    try:
        return before_next(dive, made, interval_min, days, trip.place)
    except InputError as error:
        raise InputError(f"{where} ({earlier_trip.file}, dive {earlier.id}): {error}") from error


def _left_in(trip: Trip, earlier: DiveRow, dive: TeamDive, made: Plan, cylinder: PlanCylinder) -> PlanCylinder:
    """The cylinder with what the dive before leaves in it, unless somebody filled, drained or read it since."""
    since = earlier.start
    row = next((one for one in dive.cylinders if one.id == cylinder.id), None)
    if row is None or since is None or _touched(trip, cylinder.id, since):
        return cylinder
    supply = made.planned.supply.get(cylinder.id)
    if supply is None:
        return replace(cylinder, gauge_bar=row.gauge_bar, temperature_k=row.temperature_k)
    water_k = trip.place.water_temperature_k or row.temperature_k
    return replace(cylinder, gauge_bar=supply.end_bar, temperature_k=water_k)


def _touched(trip: Trip, cylinder: str, since: datetime) -> bool:
    return any(
        fact.stream == f"gas/{cylinder}" and fact.at > since
        and (fact.kind in TOUCHED or fact.data.get("gauge_centibar") is not None)
        for fact in facts_of(trip)
    )


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
