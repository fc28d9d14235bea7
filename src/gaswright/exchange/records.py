"""Records out of facts: fill log, analysis log, label register, equipment log, approvals, dives, incidents.

A record is computed, never kept: the same facts give the same record. Each line is one fact under its id, in the order
of recording. A correction is a line of its own; the line that it voids is struck and stays.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.register import CylinderRecord
from gaswright.custody.registering import register
from gaswright.exchange.record_lines import KINDS, READ_ALONG, TITLES, Context, cells_of, columns_of
from gaswright.exchange.record_types import (
    RETENTION,
    BookHead,
    Cell,
    Column,
    Form,
    Period,
    RecordKind,
    RecordTable,
    Retention,
    Row,
    record_kind_of,
)
from gaswright.exchange.record_words import NOTE_ERASED, PERSON_ERASED
from gaswright.policy import Policy

__all__ = [
    "NOTE_ERASED", "PERSON_ERASED", "RETENTION", "BookHead", "Cell", "Column", "Form", "Making", "Period", "RecordKind",
    "RecordTable", "Retention", "Row", "heads_of", "is_read_for", "record_kind_of", "record_of",
]

KNOWN: frozenset[str] = frozenset(Kind) | {PERSON_ERASED, NOTE_ERASED}
ROOMS: Mapping[RecordKind, tuple[str, ...]] = {  # where a correction belongs whose fact is not here
    RecordKind.FILL_LOG: ("gas",), RecordKind.ANALYSIS_LOG: ("gas",), RecordKind.LABELS: ("gas",),
    RecordKind.EQUIPMENT: ("register", "analyser"),
    RecordKind.APPROVALS: ("plan", "team", "clearance", "answer", "policy", "computer", "person", "note"),
    RecordKind.DIVES: ("gas", "dive"), RecordKind.INCIDENTS: ("incident",),
}


@dataclass(frozen=True, slots=True)
class Making:
    """When, by whom and from what a record is made.

    Args:
        policy: whose limits give MODs.
        heads: of the book.
        at: when; aware; test dates are judged at its day.
        by: name and id, "" where nobody was named.
    """

    policy: Policy
    heads: tuple[BookHead, ...]
    at: datetime
    by: str = ""


def heads_of(hashes: Mapping[str, tuple[int, str]]) -> tuple[BookHead, ...]:
    """The heads of a book, by origin.

    Args:
        hashes: origin to number and hash of its latest fact.
    """
    return tuple(BookHead(origin, *hashes[origin]) for origin in sorted(hashes))


def is_read_for(kind: RecordKind, fact: Fact) -> bool:
    """True if a record needs the fact, be it as a line or to read another line with.

    A correction is read with the fact that it voids, whatever the kind of that.

    Args:
        kind: of the record.
        fact: any.
    """
    return (fact.kind in KINDS[kind] or fact.kind in READ_ALONG[kind] or fact.kind == Kind.CORRECTED
            or fact.kind not in KNOWN)


def record_of(
    kind: RecordKind, facts: Sequence[Fact], names: Mapping[str, str], making: Making, *,
    notes: Mapping[str, str] | None = None, period: Period | None = None,
) -> RecordTable:
    """The record of a period.

    Args:
        kind: of the record.
        facts: of any streams; what `is_read_for` says is enough, more does no harm.
        names: person id to name; whoever is missing stands with the id alone.
        making: when, by whom and from what.
        notes: hash to free text; what is missing was erased or never came here.
        period: which days, None: all.

    Raises:
        Refused: one id stands for two different facts.
    """
    days, by_id = period or Period(), {fact.id: fact for fact in facts}
    voided_by = _voided(facts, by_id)
    context = Context(by_id, register(facts), names, notes or {}, making.policy, voided_by,
                      _accepted(facts, voided_by), _calibrations(facts, voided_by))
    rows = tuple(Row(fact.id, cells_of(kind, fact, context), voided_by.get(fact.id, ()))
                 for fact in sorted(_lines(kind, by_id, days), key=_order))
    remarks = (*_general_notes(kind, making), *_unread(facts), *_out_of_test(kind, context.register, making.at.date()))
    return RecordTable(kind, TITLES[kind], columns_of(kind), rows, RETENTION[kind], days, making.heads, remarks,
                       making.policy.version, making.at, making.by)


def _lines(kind: RecordKind, by_id: Mapping[FactId, Fact], days: Period) -> list[Fact]:
    """The facts of the period, and corrections that were made in it or void a fact of it."""
    lines = [fact for fact in by_id.values() if fact.kind in KINDS[kind] and days.holds(fact)]
    inside = {fact.id for fact in lines}
    return lines + [fact for fact in by_id.values() if fact.kind == Kind.CORRECTED and _belongs(kind, fact, by_id)
                    and (days.holds(fact) or fact.data.get("voids") in inside)]


def _belongs(kind: RecordKind, correction: Fact, by_id: Mapping[FactId, Fact]) -> bool:
    """True if what a correction voids is a line of the record; if that is not here, if its stream could hold one."""
    seen: set[FactId] = set()
    voided: Fact | None = correction
    while voided is not None and voided.kind == Kind.CORRECTED and voided.id not in seen:
        seen.add(voided.id)
        voided = by_id.get(str(voided.data.get("voids")))
    if voided is None or voided.kind == Kind.CORRECTED:
        return correction.stream.partition("/")[0] in ROOMS[kind]
    return voided.kind in KINDS[kind]


def _order(fact: Fact) -> tuple[datetime, str, int]:
    """The order in which facts are shown; nothing is decided by it."""
    origin, _, number = fact.id.rpartition("-")
    return fact.recorded, origin, int(number) if number.isdecimal() else 0


def _voided(facts: Iterable[Fact], by_id: Mapping[FactId, Fact]) -> dict[FactId, tuple[FactId, ...]]:
    """Each fact that corrections void, with them; a correction cannot be voided."""
    found: dict[FactId, tuple[FactId, ...]] = {}
    for fact in sorted((one for one in facts if one.kind == Kind.CORRECTED), key=_order):
        voided = by_id.get(str(fact.data.get("voids")))
        if voided is not None and voided.kind != Kind.CORRECTED and voided.stream == fact.stream:
            found[voided.id] = (*found.get(voided.id, ()), fact.id)
    return found


def _accepted(
    facts: Iterable[Fact], voided_by: Mapping[FactId, tuple[FactId, ...]]
) -> dict[FactId, tuple[Fact, ...]]:
    found: dict[FactId, tuple[Fact, ...]] = {}
    for fact in sorted((one for one in facts if one.kind == Kind.ACCEPTED and one.id not in voided_by), key=_order):
        found |= {name: (*found.get(name, ()), fact) for name in fact.rests_on}
    return found


def _calibrations(
    facts: Iterable[Fact], voided_by: Mapping[FactId, tuple[FactId, ...]]
) -> dict[str, tuple[Fact, ...]]:
    found: dict[str, tuple[Fact, ...]] = {}
    made = [one for one in facts if one.kind == Kind.ANALYSER_CALIBRATED and one.id not in voided_by]
    for fact in sorted(made, key=_order):
        analyser = fact.stream.partition("/")[2]
        found[analyser] = (*found.get(analyser, ()), fact)
    return found


def _general_notes(kind: RecordKind, making: Making) -> tuple[str, ...]:
    if kind not in {RecordKind.ANALYSIS_LOG, RecordKind.LABELS}:
        return ()
    said = (f"MOD: from the reading plus its uncertainty, by the limits of policy {making.policy.version} and the role "
            "that the register gives the cylinder now, unless the label's own entry says it. A plan that uses a "
            "cylinder on the way down and up, or a change of policy, may have put a smaller MOD on the label.")
    return (said,)


def _unread(facts: Iterable[Fact]) -> tuple[str, ...]:
    unread = sorted((fact for fact in facts if fact.kind not in KNOWN), key=_order)
    if not unread:
        return ()
    shown = ", ".join(f"{fact.id} ({fact.kind})" for fact in unread[:20])
    more = f" and {len(unread) - 20} more" if len(unread) > 20 else ""
    said = (f"The book holds facts of kinds that this program does not know and no record shows: {shown}{more}. "
            "Update the program.")
    return (said,)


def _out_of_test(kind: RecordKind, cylinders: Mapping[str, CylinderRecord], day: date) -> tuple[str, ...]:
    """The cylinders whose tests have run out by the day, and those whose tests nobody dated."""
    if kind is not RecordKind.EQUIPMENT:
        return ()
    kept = [one for _, one in sorted(cylinders.items()) if not one.retired]
    late = [f"cylinder {one.id} (serial {one.serial}), {test} until {until.isoformat()}" for one in kept
            for test, until in (("hydrostatic test", one.tested_until), ("visual inspection", one.visual_until))
            if until is not None and until < day]
    undated = [f"cylinder {one.id}" for one in kept if one.tested_until is None]
    return (f"Out of test on {day.isoformat()}: {'; '.join(late) or 'none'}.",
            *([f"No date of a hydrostatic test: {', '.join(undated)}."] if undated else []))
