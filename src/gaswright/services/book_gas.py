"""The gas of a cylinder in a book through a day: filled, analysed, accepted, labelled, labels off."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from gaswright.book.draft import Draft
from gaswright.custody.fact import Fact, FactId, Kind, Value
from gaswright.custody.heads import heads, of_kind
from gaswright.custody.register import CylinderRecord
from gaswright.custody.registering import register
from gaswright.errors import InputError, Problem, Refused
from gaswright.physics.mixture import AIR, WHOLE_E4, Mixture
from gaswright.services.book_acts import (
    Act,
    Done,
    checked_cylinder,
    checked_person,
    done_before,
    head_ids,
    in_force,
    record,
)
from gaswright.services.book_findings import findings_after, standing_now, unknown_sentence
from gaswright.services.book_opening import OpenBook

__all__ = [
    "Fill", "Typed", "accept", "analyse", "begun", "centibar", "fill", "label", "labels_off", "must_be_known",
    "not_frozen", "on_gas",
]

HIGHEST_BAR = 310.0
ORDINARY, OXYGEN_COMPATIBLE = "ordinary", "oxygen_compatible"


@dataclass(frozen=True, slots=True)
class Fill:
    """One filling.

    Args:
        gauge_bar: pressure after it, None: not read [bar].
        target: the gas aimed at, None.
        top_up: added to what was in it.
        air: "ordinary", "oxygen_compatible", None: nobody said.
    """

    gauge_bar: float | None = None
    target: Mixture | None = None
    top_up: bool = False
    air: str | None = None


@dataclass(frozen=True, slots=True)
class Typed:
    """One reading of an analyser.

    Args:
        o2_e4: oxygen [e-4].
        he_e4: helium; None: not measured [e-4].
        o2: as typed.
        he: as typed, "" where not given.
        gauge_bar: pressure at the analysis, None: not read [bar].
        temperature_k: of the cylinder, None: not read [K].
        witness: person id, None.
        analyser: id of the instrument, None.
        beside: stands beside the earlier readings of this fill instead of replacing them.
        he_given: False: 0 where the target has no helium, else not measured.
    """

    o2_e4: int
    he_e4: int | None
    o2: str
    he: str = ""
    gauge_bar: float | None = None
    temperature_k: float | None = None
    witness: str | None = None
    analyser: str | None = None
    beside: bool = False
    he_given: bool = True


def begun(opened: OpenBook, act: Act, cylinder: str) -> tuple[Fact, ...]:
    """The facts of a cylinder's gas, once person and cylinder were found.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.

    Raises:
        InputError: an unknown person or cylinder.
    """
    checked_person(opened.book, act.by)
    return checked_cylinder(opened.book, cylinder)


def _entry(opened: OpenBook, cylinder: str) -> CylinderRecord:
    found = register(opened.book.stream(f"register/{cylinder}")).get(cylinder)
    if found is None:
        raise Refused(f"the register entry of {cylinder} cannot be read: it is of a newer program; update this one")
    return found


def centibar(gauge_bar: float | None) -> int | None:
    """A pressure as facts hold it, None where none was read.

    Args:
        gauge_bar: gauge pressure, None: not read [bar].

    Raises:
        InputError: it is out of range.
    """
    if gauge_bar is not None and not 0.0 <= gauge_bar <= HIGHEST_BAR:
        raise InputError([Problem("--pressure", f"is {gauge_bar:g} bar; allowed are 0 to {HIGHEST_BAR:g} bar")])
    return None if gauge_bar is None else round(gauge_bar * 100)


def not_frozen(cylinder: str, stream: Sequence[Fact]) -> None:
    """Nothing, unless the cylinder is evidence.

    Args:
        cylinder: id.
        stream: facts of its gas.

    Raises:
        Refused: it is frozen.
    """
    if any(head.kind == Kind.FROZEN for head in heads(stream)):
        raise Refused(f"{cylinder} is frozen as evidence: leave it as it is and use another cylinder; a person who "
                      "gives it free records that it was returned")


def on_gas(
    opened: OpenBook, act: Act, kind: Kind, cylinder: str, *, after: tuple[FactId, ...] = (),
    rests_on: tuple[FactId, ...] = (), data: Mapping[str, Value] | None = None,
) -> Draft:
    """A fact of a cylinder's gas, before the book takes it.

    Args:
        opened: says the zone.
        act: says who and when.
        kind: what happened.
        cylinder: id.
        after: ids that it names.
        rests_on: ids that it rests on.
        data: of the fact.
    """
    return Draft(kind, f"gas/{cylinder}", act.at, act.by, after, rests_on, data or {}, opened.zone)


def fill(opened: OpenBook, act: Act, cylinder: str, filling: Fill) -> Done:
    """A filling or a top-up; where its air takes away that the cylinder is oxygen clean, the register says so at once.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        filling: what was filled.

    Raises:
        InputError: an unknown person or cylinder, or a pressure out of range.
        Refused: the cylinder is frozen, or retired.
    """
    if (done := done_before(opened, act)) is not None:
        return Done(done.ids[:1])
    stream, gauge = begun(opened, act, cylinder), centibar(filling.gauge_bar)
    not_frozen(cylinder, stream)
    entry = _entry(opened, cylinder)
    if entry.retired:
        raise Refused(f"{cylinder} was taken out of use; use another cylinder")
    target = filling.target
    data: dict[str, Value] = {
        "gauge_centibar": gauge, "implied": False, "air": filling.air,
        "target_o2_e4": None if target is None else target.o2_e4,
        "target_he_e4": None if target is None else target.he_e4,
    }
    kind = Kind.TOPPED_UP if filling.top_up else Kind.FILLED
    drafts = [on_gas(opened, act, kind, cylinder, after=head_ids(act, stream), data=data)]
    if entry.oxygen_clean and _dirties(filling):
        drafts.append(_clean_lost(opened, act, cylinder, filling.air))
    ids = record(opened, act, drafts)
    return Done(ids[:1], findings_after(opened, cylinder, codes=("cylinder.",)))


def _dirties(filling: Fill) -> bool:
    """Air that nobody says is oxygen-compatible: of a top-up, or of a fill with air alone."""
    if filling.air is not None:
        return filling.air == ORDINARY
    return filling.top_up or (filling.target is not None and filling.target == AIR)


def _clean_lost(opened: OpenBook, act: Act, cylinder: str, air: str | None) -> Draft:
    stream = f"register/{cylinder}"
    seen = tuple(fact.id for fact in opened.book.stream(stream))
    return Draft(Kind.OXYGEN_CLEAN_LOST, stream, act.at, act.by, seen, ("#1",), {"air": air}, opened.zone)


def analyse(opened: OpenBook, act: Act, cylinder: str, typed: Typed) -> Done:
    """An analysis of what is in the cylinder now; with no filling in the book, one implied just before it.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        typed: the reading.

    Raises:
        InputError: an unknown person or cylinder, or more than the whole.
        Refused: two histories that do not know each other: nobody can say which one was measured.
    """
    if (done := done_before(opened, act)) is not None:
        return Done(done.ids[-1:])
    stream = begun(opened, act, cylinder)
    if typed.witness is not None:
        checked_person(opened.book, typed.witness, "--witness")
    if typed.o2_e4 + (typed.he_e4 or 0) > WHOLE_E4:
        raise InputError([Problem("--he", f"o2 + he is {(typed.o2_e4 + (typed.he_e4 or 0)) / 100:g} %; allowed are at "
                                  "most 100 %; read both again")])
    tops = head_ids(act, stream)
    if len(tops) > 1:
        raise Refused(f"{cylinder} has two histories that do not know each other; record the filling that is in it "
                      "now, which sees both, then analyse it")
    implied = [] if tops else [_implied(opened, act, cylinder)]
    head = tops[0] if tops else "#1"
    data = _reading(opened, cylinder, stream, head, typed)
    seen = _seen(stream, head, beside=typed.beside)
    analysis = on_gas(opened, act, Kind.ANALYSED, cylinder, after=seen, rests_on=(head,), data=data)
    ids = record(opened, act, [*implied, analysis])
    return Done(ids[-1:], findings_after(opened, cylinder, without=("label.missing",)))


def _implied(opened: OpenBook, act: Act, cylinder: str) -> Draft:
    data: dict[str, Value] = {"gauge_centibar": None, "implied": True, "target_o2_e4": None, "target_he_e4": None}
    at = act.at - timedelta(seconds=1)
    return Draft(Kind.FILLED, f"gas/{cylinder}", at, act.by, data=data, zone=opened.zone)


def _seen(stream: Sequence[Fact], head: FactId, *, beside: bool) -> tuple[FactId, ...]:
    """What an analysis names: the earlier ones of its fill that it replaces, every correction, every lift."""
    earlier = [] if beside else [fact.id for fact in of_kind(stream, Kind.ANALYSED) if head in fact.rests_on]
    return (*earlier, *(fact.id for fact in of_kind(stream, Kind.CORRECTED, Kind.LIFTED)))


def _reading(
    opened: OpenBook, cylinder: str, stream: Sequence[Fact], head: FactId, typed: Typed
) -> dict[str, Value]:
    he_e4 = typed.he_e4 if typed.he_given else _unmeasured_he_e4(opened, cylinder, stream, head)
    policy = opened.policy
    return {
        "o2_e4": typed.o2_e4, "he_e4": he_e4, "u_o2_e4": round(policy.u_o2_percent * 100),
        "u_he_e4": round(policy.u_he_percent * 100), "gauge_centibar": centibar(typed.gauge_bar),
        "temperature_centi_k": None if typed.temperature_k is None else round(typed.temperature_k * 100),
        "witness": typed.witness, "accepted_by": None, "analyser": typed.analyser,
        "typed": {"o2": typed.o2, "he": typed.he},
    }


def _unmeasured_he_e4(opened: OpenBook, cylinder: str, stream: Sequence[Fact], head: FactId) -> int | None:
    """Helium that nobody read: 0 where the fill's and the register's targets have none; else not measured."""
    filled = next((fact for fact in stream if fact.id == head), None)
    entry = _entry(opened, cylinder)
    targets = [(fact.data.get("target_o2_e4"), fact.data.get("target_he_e4")) for fact in (filled,) if fact]
    targets.append((entry.target_o2_e4, entry.target_he_e4))
    known = [he for o2, he in targets if o2 is not None]
    return 0 if known and not any(known) else None


def accept(opened: OpenBook, act: Act, cylinder: str) -> Done:
    """A diver accepts the analysis that another made.

    Args:
        opened: the book.
        act: its `by` accepts.
        cylinder: id.

    Raises:
        Refused: the gas is unknown: there is nothing to accept.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    stream = begun(opened, act, cylinder)
    must_be_known(opened, cylinder, "accepted")
    draft = on_gas(opened, act, Kind.ACCEPTED, cylinder, rests_on=in_force(stream))
    return Done(record(opened, act, (draft,)), findings_after(opened, cylinder, without=("label.missing",)))


def must_be_known(opened: OpenBook, cylinder: str, what: str) -> FactId:
    """The id of the analysis that speaks for a cylinder's gas.

    Args:
        opened: the book.
        cylinder: id.
        what: cannot be done else: "labelled".

    Raises:
        Refused: the gas is unknown.
    """
    standing = standing_now(opened, cylinder)
    if standing.known is None:
        raise Refused(f"{cylinder}: {unknown_sentence(standing)}; nothing can be {what}; analyse it first")
    return standing.known.analysis


def label(opened: OpenBook, act: Act, cylinder: str, serial_read: str) -> Done:
    """A label put on that shows the analysis in force, with the ID read from the metal.

    A label read from another cylinder is recorded all the same, and its finding is a stop.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        serial_read: the serial, or its last four.

    Raises:
        Refused: the gas is unknown: there is nothing a label could show.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    stream = begun(opened, act, cylinder)
    if not serial_read.strip() or len(serial_read) > 60 or not serial_read.isprintable():
        raise InputError([Problem("--serial-read", f"is {serial_read[:40]!r}; read the serial, or its last four, from "
                                  "the metal")])
    analysis = must_be_known(opened, cylinder, "labelled")
    earlier = tuple(fact.id for fact in of_kind(stream, Kind.LABEL_APPLIED) if analysis in fact.rests_on)
    draft = on_gas(opened, act, Kind.LABEL_APPLIED, cylinder, after=earlier, rests_on=(analysis,),
                    data={"serial_read": serial_read.strip()})
    return Done(record(opened, act, (draft,)), findings_after(opened, cylinder))


def labels_off(opened: OpenBook, act: Act, cylinders: Sequence[str] | None) -> Done:
    """Labels taken off: one fact for each cylinder, one act, one transaction; their gas is unknown from then on.

    Args:
        opened: the book.
        act: the request.
        cylinders: ids; None: every one that has a gas, but for staged and frozen ones.

    Raises:
        InputError: an unknown person or cylinder, or nothing there whose label could come off.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    names = tuple(dict.fromkeys(cylinders)) if cylinders is not None else _with_labels(opened)
    if not names:
        raise InputError("no cylinder has a gas whose label could come off; nothing was recorded")
    drafts = []
    for cylinder in names:
        stream = checked_cylinder(opened.book, cylinder)
        not_frozen(cylinder, stream)
        drafts.append(on_gas(opened, act, Kind.LABELS_REMOVED, cylinder, after=head_ids(act, stream),
                              rests_on=in_force(stream)))
    return Done(record(opened, act, drafts))


def _with_labels(opened: OpenBook) -> tuple[str, ...]:
    registered = set(opened.book.streams("register/"))
    names = []
    for stream in opened.book.streams("gas/"):
        cylinder = stream.removeprefix("gas/")
        standing = standing_now(opened, cylinder)
        tops = heads(opened.book.stream(stream))
        if f"register/{cylinder}" in registered and not standing.staged and not standing.frozen and any(
                head.kind != Kind.LABELS_REMOVED for head in tops):
            names.append(cylinder)
    return tuple(names)
