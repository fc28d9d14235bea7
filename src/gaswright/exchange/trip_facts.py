"""The rows of a trip as custody facts: what each rests on follows from the times that the file states.

A gas-changing fact names the one before it. An analysis names the last change before it; a later analysis of the same
fill replaces the earlier ones unless it says `beside`. A fill and an analysis of one cylinder at the same time leave
the order open: the analysis carries `equal_time`, and the fold says so. Analyses without any fill row measured one
implied fill just before the first of them. Ids count in file order.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from gaswright.custody.fact import Fact, FactId, Kind, Value
from gaswright.exchange.trip import (
    AnalysisRow,
    AnswerRow,
    CylinderRow,
    FillRow,
    LabelRow,
    LabelsOffRow,
    PressureRow,
    Trip,
)
from gaswright.physics.mixture import Mixture

__all__ = ["ORIGIN", "facts_of"]

ORIGIN = "TRIPFILE"
_JUST_BEFORE = timedelta(seconds=1)
_CHANGES = (Kind.FILLED, Kind.LABELS_REMOVED)


@dataclass(frozen=True, slots=True)
class _Draft:
    """A fact that has its place in the file but not yet its number.

    Args:
        place: line; number of the row in its table (rows of an inline table share a line); then 0 for what comes
            before the row, 1 for the row, 2 and on for what follows it.
        kind: what happened.
        stream: what it belongs to.
        at: when; aware.
        by: person id.
        data: as in the fact.
        beside: of an analysis: stands beside the earlier ones.
    """

    place: tuple[int, int, int]
    kind: Kind
    stream: str
    at: datetime
    by: str
    data: Mapping[str, Value]
    beside: bool = False


def facts_of(trip: Trip) -> tuple[Fact, ...]:
    """The custody facts that the rows of a trip stand for, in file order.

    Args:
        trip: as read.
    """
    drafts = sorted(_drafts(trip), key=lambda draft: draft.place)
    facts = [_fact(draft, number, trip.zone) for number, draft in enumerate(drafts, start=1)]
    beside = {fact.id for fact, draft in zip(facts, drafts, strict=True) if draft.beside}
    streams = {fact.stream for fact in facts if fact.stream.startswith("gas/")}
    linked = {
        fact.id: fact for stream in streams for fact in _linked([f for f in facts if f.stream == stream], beside)
    }
    return tuple(linked.get(fact.id, fact) for fact in facts)


def _fact(draft: _Draft, number: int, zone: str) -> Fact:
    return Fact(
        id=f"{ORIGIN}-{number}", kind=draft.kind, stream=draft.stream, at=draft.at, recorded=draft.at, by=draft.by,
        data=draft.data, zone=zone,
    )


def _drafts(trip: Trip) -> list[_Draft]:
    day_start = datetime.combine(trip.day, time(), ZoneInfo(trip.zone)).astimezone(UTC)
    drafts = [_registered(row, day_start) for row in trip.cylinders]
    drafts += [_staged(row, row.staged_at) for row in trip.cylinders if row.staged_at is not None]
    drafts += [_filled(row) for row in trip.fills] + _implied_fills(trip)
    for index, analysis in enumerate(trip.analyses):
        drafts += _analysed(index, analysis)
    drafts += [_label_applied(row) for row in trip.labels] + [_labels_removed(row) for row in trip.labels_off]
    return drafts + [_pressure_read(row) for row in trip.pressures] + [_answered(row) for row in trip.answers]


def _gas(cylinder: str) -> str:
    return f"gas/{cylinder}"


def _centi(value: float | None) -> int | None:
    return None if value is None else round(value * 100)


def _target(target: Mixture | None) -> dict[str, Value]:
    return {
        "target_o2_e4": None if target is None else target.o2_e4,
        "target_he_e4": None if target is None else target.he_e4,
    }


def _registered(row: CylinderRow, at: datetime) -> _Draft:
    data: dict[str, Value] = {
        "id": row.id, "serial": row.serial, "divers": list(row.divers), "role": row.role.value,
        "volume_ml": round(row.volume_l * 1000), "working_centibar": round(row.working_pressure_bar * 100),
        "oxygen_clean": row.oxygen_clean,
        "tested_until": None if row.tested_until is None else row.tested_until.isoformat(),
        "visual_until": None if row.visual_until is None else row.visual_until.isoformat(),
        "permanent_mark": row.permanent_mark, "pair": row.pair, "isolator_open": row.isolator_open,
        **_target(row.target),
    }
    owner = row.divers[0] if row.divers else ""
    return _Draft((row.line, 0, 1), Kind.REGISTERED, f"register/{row.id}", at, owner, data)


def _staged(row: CylinderRow, at: datetime) -> _Draft:
    depth_m = row.place_depth_m or 0.0
    data: dict[str, Value] = {
        "place_depth_cm": round(depth_m * 100), "gauge_centibar": None, "witness": row.staged_witness,
    }
    return _Draft((row.line, 0, 2), Kind.STAGED, _gas(row.id), at, row.staged_by or "", data)


def _filled(row: FillRow) -> _Draft:
    data: dict[str, Value] = {"gauge_centibar": _centi(row.gauge_bar), "implied": False, **_target(row.target)}
    return _Draft((row.line, 0, 1), Kind.FILLED, _gas(row.cylinder), row.at, row.by, data)


def _implied_fills(trip: Trip) -> list[_Draft]:
    """One fill, source unknown, just before the first analysis of each cylinder that has no fill row."""
    filled = {row.cylinder for row in trip.fills}
    first: dict[str, tuple[int, AnalysisRow]] = {}
    for index, row in sorted(enumerate(trip.analyses), key=lambda numbered: numbered[1].at):
        if row.cylinder not in filled:
            first.setdefault(row.cylinder, (index, row))
    return [_implied_fill(index, row) for index, row in first.values()]


def _implied_fill(index: int, first: AnalysisRow) -> _Draft:
    data: dict[str, Value] = {"gauge_centibar": None, "implied": True, **_target(None)}
    place, at = (first.line, index, 0), first.at - _JUST_BEFORE
    return _Draft(place, Kind.FILLED, _gas(first.cylinder), at, "unknown", data)


def _analysed(index: int, row: AnalysisRow) -> list[_Draft]:
    """The analysis; from the second of several who accepted it on, a fact of acceptance each."""
    data: dict[str, Value] = {
        "o2_e4": row.o2_e4, "he_e4": row.he_e4, "u_o2_e4": row.u_o2_e4, "u_he_e4": row.u_he_e4,
        "gauge_centibar": _centi(row.gauge_bar), "temperature_centi_k": _centi(row.temperature_k),
        "witness": row.witness, "accepted_by": next(iter(row.accepted_by), None), "analyser": row.analyser,
        "typed": {"o2": row.typed_o2, "he": row.typed_he},
    }
    stream = _gas(row.cylinder)
    analysis = _Draft((row.line, index, 1), Kind.ANALYSED, stream, row.at, row.by, data, row.beside)
    return [analysis] + [
        _Draft((row.line, index, number), Kind.ACCEPTED, stream, row.at, person, {})
        for number, person in enumerate(row.accepted_by[1:], start=2)
    ]


def _label_applied(row: LabelRow) -> _Draft:
    data: dict[str, Value] = {"serial_read": row.serial_read}
    return _Draft((row.line, 0, 1), Kind.LABEL_APPLIED, _gas(row.cylinder), row.at, row.by, data)


def _labels_removed(row: LabelsOffRow) -> _Draft:
    return _Draft((row.line, 0, 1), Kind.LABELS_REMOVED, _gas(row.cylinder), row.at, row.by, {})


def _pressure_read(row: PressureRow) -> _Draft:
    data: dict[str, Value] = {"gauge_centibar": _centi(row.gauge_bar)}
    return _Draft((row.line, 0, 1), Kind.PRESSURE_READ, _gas(row.cylinder), row.at, row.by, data)


def _answered(row: AnswerRow) -> _Draft:
    data: dict[str, Value] = {"code": row.code, "subject": row.subject, "text": row.text}
    return _Draft((row.line, 0, 1), Kind.ANSWERED, f"answer/{row.code}", row.at, row.by, data)


def _linked(stream: Sequence[Fact], beside: Iterable[FactId]) -> list[Fact]:
    """The facts of one cylinder's gas, each naming what it rests on by the times of the file."""
    changes = sorted((fact for fact in stream if fact.kind in _CHANGES), key=lambda fact: fact.at)
    before = {fact.id: (earlier.id,) for earlier, fact in pairwise(changes)}
    alone = set(beside)
    analyses = _linked_analyses([fact for fact in stream if fact.kind == Kind.ANALYSED], changes, alone)
    by_id = {fact.id: fact for fact in analyses}
    linked: list[Fact] = []
    for fact in stream:
        if fact.kind in _CHANGES:
            linked.append(replace(fact, after=before.get(fact.id, ())))
        elif fact.kind == Kind.ACCEPTED:
            linked.append(replace(fact, rests_on=_accepted(fact, stream)))
        elif fact.kind in {Kind.LABEL_APPLIED, Kind.STAGED}:
            linked.append(replace(fact, rests_on=_in_force_at(fact, changes, analyses)))
        else:
            linked.append(by_id.get(fact.id, fact))
    return linked


def _head_at(at: datetime, changes: Sequence[Fact]) -> Fact | None:
    return next((change for change in reversed(changes) if change.at <= at), None)


def _linked_analyses(analyses: Sequence[Fact], changes: Sequence[Fact], alone: set[FactId]) -> list[Fact]:
    linked: list[Fact] = []
    for fact in sorted(analyses, key=lambda analysis: analysis.at):
        head = _head_at(fact.at, changes)
        rests_on = () if head is None else (head.id,)
        earlier = tuple(one.id for one in linked if one.rests_on == rests_on and one.at < fact.at)
        data = fact.data if head is None or head.at != fact.at else {**fact.data, "equal_time": True}
        linked.append(replace(fact, rests_on=rests_on, after=() if fact.id in alone else earlier, data=data))
    return linked


def _in_force_at(fact: Fact, changes: Sequence[Fact], analyses: Sequence[Fact]) -> tuple[FactId, ...]:
    """The analyses that a label or a staging of this time could show: of its head, not replaced by then."""
    head = _head_at(fact.at, changes)
    so_far = [one for one in analyses if head is not None and one.rests_on == (head.id,) and one.at <= fact.at]
    replaced = {name for one in so_far for name in one.after}
    return tuple(one.id for one in so_far if one.id not in replaced)


def _accepted(fact: Fact, stream: Sequence[Fact]) -> tuple[FactId, ...]:
    """The analysis whose row carried the acceptance: the last one before it in the file."""
    numbers = {one.id: _number(one) for one in stream if one.kind == Kind.ANALYSED}
    return (max((key for key in numbers if numbers[key] < _number(fact)), key=lambda key: numbers[key]),)


def _number(fact: Fact) -> int:
    return int(fact.id.rpartition("-")[2])
