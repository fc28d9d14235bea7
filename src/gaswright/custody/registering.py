"""The register: what each cylinder is, by the latest facts that do not know each other."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import TypeVar

from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import of_kind, stream_facts, unreadable, unreplaced, voids
from gaswright.custody.readings import whole
from gaswright.custody.register import CylinderRecord
from gaswright.units import METRE_PER_FOOT

__all__ = ["register"]

T = TypeVar("T")

STREAM = "register/"
LATER = (Kind.INSPECTED, Kind.OXYGEN_CLEANED, Kind.OXYGEN_CLEAN_LOST, Kind.RETIRED, Kind.ASSIGNED)
ROLES_BY_CAUTION = ("suit", "surface", "main", "travel", "stage", "bailout", "deco")  # first allows least


def register(facts: Sequence[Fact]) -> dict[str, CylinderRecord]:
    """The cylinders of the register by id.

    A register fact is superseded by one that names it in `after`. Several that do not know each other, or one that
    was corrected away together with what it superseded, count as one with the more restrictive value of each field.
    An inspection gives the test dates that it states, an assignment the divers; a cleaning makes oxygen clean, and an
    ordinary air top-up takes that away until a cleaning that knows of it. A cylinder with a register fact that cannot
    be read is not in the register.

    Args:
        facts: of any streams.

    Raises:
        Refused: one id stands for two different facts.
    """
    streams = sorted({fact.stream for fact in facts if fact.stream.startswith(STREAM)})
    found = {stream.removeprefix(STREAM): _record(stream_facts(facts, stream)) for stream in streams}
    return {cylinder: record for cylinder, record in found.items() if record is not None and record.id == cylinder}


def _record(stream: Sequence[Fact]) -> CylinderRecord | None:
    """The record of a cylinder: its entries, and what later facts say of its divers, tests and cleanness."""
    entries = of_kind(stream, Kind.REGISTERED)
    if unreadable(stream) or not entries:
        return None
    records = [_read(fact) for fact in _standing(stream, entries)]
    complete = [record for record in records if record is not None]
    if len(complete) != len(records) or not complete:
        return None
    try:
        return _with_later_facts(stream, _most_restrictive(complete))
    except (KeyError, TypeError, ValueError):
        return None


def _standing(stream: Sequence[Fact], facts: Sequence[Fact]) -> Sequence[Fact]:
    """The facts not superseded, and for each voided one of them also those it superseded."""
    corrected, by_id = voids(stream), {fact.id: fact for fact in facts}
    standing = list(unreplaced(stream, facts))
    for fact in standing:  # grows while it is walked
        if fact.id in corrected:
            standing += [by_id[key] for key in fact.after if key in by_id and by_id[key] not in standing]
    return standing


def _with_later_facts(stream: Sequence[Fact], record: CylinderRecord) -> CylinderRecord:
    """The record with what inspections, cleanings, assignments and a retirement say; each supersedes what it names."""
    if not of_kind(stream, *LATER):
        return record
    assigned = _standing(stream, of_kind(stream, Kind.REGISTERED, Kind.ASSIGNED))
    cleaned = _standing(stream, of_kind(stream, Kind.REGISTERED, Kind.OXYGEN_CLEANED, Kind.OXYGEN_CLEAN_LOST))
    kept = _standing(stream, of_kind(stream, Kind.REGISTERED, Kind.RETIRED))
    corrected = voids(stream)
    return replace(
        record,
        divers=_everybody([_people(fact.data["divers"]) for fact in assigned]),
        oxygen_clean=all(_says_clean(fact) and not (fact.kind == Kind.OXYGEN_CLEANED and fact.id in corrected)
                         for fact in cleaned),
        tested_until=_until(stream, "tested_until"), visual_until=_until(stream, "visual_until"),
        retired=any(fact.kind == Kind.RETIRED for fact in kept),
    )


def _says_clean(fact: Fact) -> bool:
    return fact.kind == Kind.OXYGEN_CLEANED or (fact.kind == Kind.REGISTERED and fact.data["oxygen_clean"] is True)


def _until(stream: Sequence[Fact], key: str) -> date | None:
    """The earliest of the dates that stand: of entries, and of inspections that say this one."""
    dated = [fact for fact in of_kind(stream, Kind.REGISTERED, Kind.INSPECTED)
             if fact.kind == Kind.REGISTERED or fact.data.get(key) is not None]
    return _least([_day(fact.data.get(key)) for fact in _standing(stream, dated)], min)


def _read(fact: Fact) -> CylinderRecord | None:
    """The record of one fact, None if its data cannot be read."""
    data = fact.data
    try:
        return CylinderRecord(
            id=_text(data["id"]), serial=_text(data["serial"]), divers=_people(data["divers"]),
            role=_text(data["role"]), volume_ml=_number(fact, "volume_ml"),
            working_centibar=_number(fact, "working_centibar"), oxygen_clean=data["oxygen_clean"] is True,
            tested_until=_day(data.get("tested_until")), visual_until=_day(data.get("visual_until")),
            permanent_mark=_text_or_none(data.get("permanent_mark")),
            target_o2_e4=whole(fact, "target_o2_e4"), target_he_e4=whole(fact, "target_he_e4"),
            pair=_text_or_none(data.get("pair")), isolator_open=_flag(data.get("isolator_open")),
        )
    except (KeyError, TypeError, ValueError):
        return None


def _text(value: object) -> str:
    if not isinstance(value, str) or not value:
        raise ValueError(value)
    return value


def _text_or_none(value: object) -> str | None:
    return None if value is None else _text(value)


def _number(fact: Fact, key: str) -> int:
    value = whole(fact, key)
    if value is None or value <= 0:
        raise ValueError(key)
    return value


def _day(value: object) -> date | None:
    return None if value is None else date.fromisoformat(_text(value))


def _flag(value: object) -> bool | None:
    return value if isinstance(value, bool) else None


def _people(value: object) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise TypeError(value)
    return tuple(_text(person) for person in value)


def _most_restrictive(records: Sequence[CylinderRecord]) -> CylinderRecord:
    """One record with the more restrictive value of each field."""
    if all(record == records[0] for record in records):
        return records[0]
    same = records[0].target_o2_e4, records[0].target_he_e4
    agreed = all((record.target_o2_e4, record.target_he_e4) == same for record in records)
    return CylinderRecord(
        id=records[0].id, serial=_serial({record.serial for record in records}),
        divers=_everybody([record.divers for record in records]),
        role=min((record.role for record in records), key=_caution),
        volume_ml=min(record.volume_ml for record in records),
        working_centibar=min(record.working_centibar for record in records),
        oxygen_clean=all(record.oxygen_clean for record in records),
        tested_until=_least([record.tested_until for record in records], min),
        visual_until=_least([record.visual_until for record in records], min),
        permanent_mark=_least([record.permanent_mark for record in records], _deepest),
        target_o2_e4=same[0] if agreed else None, target_he_e4=same[1] if agreed else None,
        pair=_least([record.pair for record in records], min),
        isolator_open=_all_open([record.isolator_open for record in records]),
    )


def _serial(serials: set[str]) -> str:
    """The serial; if two are claimed, a text that no serial read from the metal can match."""
    return next(iter(serials)) if len(serials) == 1 else f"{' or '.join(sorted(serials))}?"


def _everybody(lists: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """All who are said to breathe from it: each has to accept the gas; the owner stays first if all agree on one."""
    owners = {divers[:1] for divers in lists}
    rest = {diver for divers in lists for diver in divers}
    first = owners.pop() if len(owners) == 1 else ()
    return first + tuple(sorted(rest - set(first)))


def _caution(role: str) -> tuple[int, str]:
    return (ROLES_BY_CAUTION.index(role) if role in ROLES_BY_CAUTION else -1, role)


def _least(values: Iterable[T | None], pick: Callable[[list[T]], T]) -> T | None:
    """The picked one of the values that somebody gave, None if nobody gave one."""
    given = [value for value in values if value is not None]
    return pick(given) if given else None


def _all_open(states: Sequence[bool | None]) -> bool | None:
    return False if False in states else None if None in states else True


def _deepest(marks: Sequence[str]) -> str:
    """The mark that sends a diver deepest; one that cannot be read counts as deeper than any."""
    return max(marks, key=lambda mark: (_mark_m(mark), mark))


def _mark_m(mark: str) -> float:
    number = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(m|ft)\s*", mark)
    if number is None:
        return float("inf")
    return float(number[1].replace(",", ".")) * (METRE_PER_FOOT if number[2] == "ft" else 1.0)
