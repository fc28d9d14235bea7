"""Today, from the book: every cylinder's standing, the plan of the day, and go or no-go."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from gaswright.book.folding import standing, standings
from gaswright.catalogue import finding
from gaswright.clearance.gates import sorted_by_severity
from gaswright.clearance.inputs import Clearance
from gaswright.clearance.scope import dive_day
from gaswright.custody.clearances import STREAM, cleared_divers
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.register import CylinderRecord
from gaswright.custody.registering import register
from gaswright.custody.standing import Rung, Standing, Unknown
from gaswright.errors import InputError, Refused
from gaswright.exchange.trip import CylinderRow, Trip
from gaswright.exchange.trip_reader import trip_of_bytes
from gaswright.findings import Finding, Subject
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning.dive import Diver, Role, Settings, TeamDive, UnitSystem
from gaswright.services.board import BoardRow, board_rows
from gaswright.services.book_findings import details, divers_of, fact_named
from gaswright.services.book_opening import OpenBook
from gaswright.services.book_people import person_ids
from gaswright.services.book_plans import DayPlan, dived, plan_of_day, plans_of_day
from gaswright.services.book_trip import day_text
from gaswright.services.checking import Checked, check_day
from gaswright.services.day import Day, team_dive

__all__ = ["Today", "heads_sha256", "needed_facts", "today"]

TEAM = "team"


@dataclass(frozen=True, slots=True)
class Today:
    """The board of a day.

    Args:
        checked: the day judged.
        rows: of the board, each with the standing as the book has it.
        plan: that stands for the day, None.
        cleared: ids of the divers whom the team has cleared.
    """

    checked: Checked
    rows: tuple[BoardRow, ...]
    plan: DayPlan | None
    cleared: frozenset[str]


def today(opened: OpenBook, moment: datetime | None = None) -> Today:
    """The board at a moment; it is never earlier than the latest record of this book.

    Args:
        opened: the book.
        moment: aware; None: the machine's clock.
    """
    now = opened.book.now(moment or opened.now)
    records = _register(opened)
    names = person_ids(opened)
    day = dive_day(now, opened.zone, opened.policy)
    plan, unplanned = _plan(opened, day, names)
    trip = _trip(opened, records, plan, day)
    folded = _standings(opened, trip, records, now)
    dive, unplannable = _dive(opened, plan, folded)
    facts = tuple(fact for cylinder in folded for fact in details(opened, folded[cylinder], now))
    facts += tuple(opened.book.facts(opened.book.streams("answer/")))
    of_day = Day(trip, facts, _resolved(records, trip), folded, dive)
    checked = _with(check_day(of_day, now), opened, unplanned or unplannable)
    cleared = _cleared(opened, checked, plan)
    return Today(checked, _rows(opened, checked, cleared), plan, cleared)


def _register(opened: OpenBook) -> dict[str, CylinderRecord]:
    facts = tuple(opened.book.facts(opened.book.streams("register/")))
    return dict(sorted(register(facts).items()))


def _plan(opened: OpenBook, day: date, names: Mapping[str, str]) -> tuple[DayPlan | None, str | None]:
    """The one plan of the day, or why there is none."""
    found = plans_of_day(opened, day)
    if len(found) > 1:
        ids = " and ".join(fact.id for fact in found)
        return None, f"{len(found)} plans stand for this day ({ids})"
    if not found:
        return None, "no dive is planned in the book for this day"
    try:
        return plan_of_day(opened, found[0], names), None
    except InputError as error:
        return None, " ".join(str(error).split("\n"))


def _dive(
    opened: OpenBook, plan: DayPlan | None, folded: Mapping[str, Standing]
) -> tuple[TeamDive | None, str | None]:
    """The first dive of the plan that was not logged yet; after another it builds on what the book tells of that."""
    if plan is None:
        return None, None
    if missing := [row.id for row in plan.trip.cylinders if row.id not in folded]:
        return None, f"the plan names {', '.join(missing)}, which the register of this book does not show"
    done = dived(opened, plan.fact)
    row = next(one for one in plan.trip.dives if one.id not in done)
    try:
        trip = plan.trip if row.after is None else trip_of_bytes(
            day_text(opened, plan.trip.day).encode(), "the day", opened.changes)
        return team_dive(trip, folded, row.id), None
    except (InputError, Refused) as error:
        return None, " ".join(str(error).split("\n"))


def _trip(opened: OpenBook, records: Mapping[str, CylinderRecord], plan: DayPlan | None, day: date) -> Trip:
    """The day's trip with every cylinder in use and everybody whom the book knows."""
    everybody = divers_of(opened, (diver for one in records.values() for diver in one.divers if diver != TEAM))
    if plan is None:
        rows = tuple(_row(record) for record in records.values() if not record.retired)
        return Trip(f"Book {opened.book.origin}", day, opened.zone, UnitSystem.METRIC, Place(), Settings(),
                    opened.policy, everybody, rows, input_sha256=heads_sha256(opened), file="the book")
    trip, planned = plan.trip, {row.id for row in plan.trip.cylinders}
    more = tuple(_row(one) for one in records.values() if one.id not in planned and not one.retired)
    known = {diver.id for diver in trip.divers}
    others = tuple(replace(diver, planned=False) for diver in everybody if diver.id not in known)
    return replace(trip, cylinders=(*trip.cylinders, *more), divers=(*trip.divers, *others),
                   input_sha256=heads_sha256(opened), file="the book")


def heads_sha256(opened: OpenBook) -> str:
    """SHA-256 of the heads of the chain: it names the state of a book.

    Args:
        opened: the book.
    """
    heads = sorted(opened.book.head_hashes().items())
    return hashlib.sha256(repr(heads).encode()).hexdigest()


def _row(record: CylinderRecord) -> CylinderRow:
    target = None if record.target_o2_e4 is None else Mixture(record.target_o2_e4, record.target_he_e4 or 0)
    return CylinderRow(
        record.id, record.serial, record.divers, Role(record.role), record.volume_ml / 1000,
        record.working_centibar / 100, team=record.divers == (TEAM,), target=target, pair=record.pair,
        isolator_open=record.isolator_open, oxygen_clean=record.oxygen_clean, tested_until=record.tested_until,
        visual_until=record.visual_until, permanent_mark=record.permanent_mark,
    )


def _resolved(records: Mapping[str, CylinderRecord], trip: Trip) -> dict[str, CylinderRecord]:
    """The register of the day's cylinders, "team" spelled out."""
    team = tuple(diver.id for diver in trip.planned_divers)
    shown = {row.id for row in trip.cylinders}
    return {
        name: replace(record, divers=team) if record.divers == (TEAM,) else record
        for name, record in records.items() if name in shown
    }


def _standings(
    opened: OpenBook, trip: Trip, records: Mapping[str, CylinderRecord], now: datetime
) -> dict[str, Standing]:
    """Of every cylinder of the day; by the plan's own policy and zone where they are not the book's."""
    names = [row.id for row in trip.cylinders if row.id in records]
    if trip.policy == opened.policy and trip.zone == opened.zone:
        found = standings(opened.book, opened.policy, zone=opened.zone, now=now)
        nothing = {name: Standing(name, Rung.UNKNOWN, None, Unknown.NEVER_ANALYSED) for name in names}
        return {name: found.get(name, nothing[name]) for name in names}
    return {name: standing(opened.book, name, trip.policy, zone=trip.zone, now=now) for name in names}


def _with(checked: Checked, opened: OpenBook, unplanned: str | None) -> Checked:
    """The day with the reason why nothing is planned, if so; then nobody goes."""
    if unplanned is None:
        return checked
    found: list[Finding] = [*checked.clearance.findings, finding(opened.policy, "book.no_plan", Subject(),
                                                                 why=unplanned)]
    return replace(checked, clearance=Clearance(sorted_by_severity(found), go=False))


def needed_facts(checked: Checked, plan: DayPlan | None) -> dict[str, frozenset[FactId]]:
    """For each planned diver the facts on which a clearance must rest; none while something of the diver's is unknown.

    Args:
        checked: a day judged.
        plan: that stands for it.
    """
    if plan is None or checked.day.dive is None:
        return {}
    return {diver.id: _needed(checked, plan, diver) for diver in checked.day.dive.divers}


def _needed(checked: Checked, plan: DayPlan, diver: Diver) -> frozenset[FactId]:
    dive = checked.day.dive
    found: set[FactId] = {plan.fact.id}
    for cylinder in dive.cylinders if dive else ():
        if diver.id in cylinder.divers:
            told = checked.day.standings[cylinder.id]
            if told.known is None or told.label is None:
                return frozenset()
            found |= {told.known.analysis, told.label}
    return frozenset(found)


def _cleared(opened: OpenBook, checked: Checked, plan: DayPlan | None) -> frozenset[str]:
    needed = needed_facts(checked, plan)
    facts: Sequence[Fact] = tuple(opened.book.facts([f"{STREAM}{diver}" for diver in needed])) if needed else ()
    return cleared_divers(facts, needed, opened.policy, checked.now)


def _rows(opened: OpenBook, checked: Checked, cleared: frozenset[str]) -> tuple[BoardRow, ...]:
    """The rows of the board with the words of the book.

    Cleared only where the gates are open and the team has cleared every planned diver of a cylinder of the dive.
    Filled also where an older analysis is there, but its labels came off before the fill.
    """
    return tuple(replace(row, standing=_word(opened, checked, row, cleared)) for row in board_rows(checked))


def _word(opened: OpenBook, checked: Checked, row: BoardRow, cleared: frozenset[str]) -> str:
    told = checked.day.standings[row.cylinder]
    if row.standing == Rung.CLEARED.value:
        dive = checked.day.dive
        divers = {name for one in (dive.cylinders if dive else ()) if one.id == row.cylinder for name in one.divers}
        return row.standing if divers and divers <= cleared else Rung.LABELLED.value
    if told.rung is Rung.FILLED and told.why is Unknown.FILLED_SINCE and _after_labels_off(opened, row.cylinder):
        return Rung.FILLED.value
    return row.standing


def _after_labels_off(opened: OpenBook, cylinder: str) -> bool:
    """True if all that the one fill followed was labels off, a drain or a return: no analysis was overtaken by it."""
    kept = opened.book.standing_row(f"gas/{cylinder}")
    if kept is None or len(kept.heads) != 1:
        return False
    before = [fact_named(opened, name) for name in fact_named(opened, kept.heads[0]).after]
    return bool(before) and all(fact.kind in {Kind.LABELS_REMOVED, Kind.DRAINED, Kind.RETURNED} for fact in before)
