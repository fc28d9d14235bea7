"""What else happens to a cylinder in a book: lent, frozen, read, staged, lifted; and an entry corrected."""

from collections.abc import Mapping, Sequence

from gaswright.book.draft import Draft
from gaswright.book.people import Note, note_of
from gaswright.custody.fact import FactId, Kind, Value
from gaswright.custody.heads import of_kind
from gaswright.errors import InputError, Problem
from gaswright.services.book_acts import Act, Done, checked_person, done_before, head_ids, in_force, record
from gaswright.services.book_findings import fact_named, findings_after
from gaswright.services.book_gas import begun, centibar, must_be_known, not_frozen, on_gas
from gaswright.services.book_opening import OpenBook

__all__ = ["change", "correct", "freeze", "lend", "lift", "read_pressure", "stage"]


def change(
    opened: OpenBook, act: Act, cylinder: str, kind: Kind, data: Mapping[str, Value], notes: Sequence[Note] = ()
) -> Done:
    """A gas-changing fact other than a fill: lent, returned, drained, frozen.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        kind: which.
        data: of the fact.
        notes: free texts whose hashes stand in the data.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    stream = begun(opened, act, cylinder)
    if kind != Kind.RETURNED:
        not_frozen(cylinder, stream)
    draft = on_gas(opened, act, kind, cylinder, after=head_ids(act, stream), rests_on=in_force(stream), data=data)
    return Done(record(opened, act, (draft,), notes))


def lend(opened: OpenBook, act: Act, cylinder: str, to: str) -> Done:
    """A cylinder lent: out of sight, so its gas is unknown.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        to: free text; the chain holds its hash.
    """
    note = note_of(to)
    return change(opened, act, cylinder, Kind.LENT, {"to_sha256": note.hash}, (note,))


def freeze(opened: OpenBook, act: Act, cylinder: str, reason: str) -> Done:
    """A cylinder kept as evidence, as it is.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        reason: free text; the chain holds its hash.
    """
    note = note_of(reason)
    return change(opened, act, cylinder, Kind.FROZEN, {"reason_sha256": note.hash}, (note,))


def read_pressure(opened: OpenBook, act: Act, cylinder: str, gauge_bar: float, serial_read: str | None) -> Done:
    """A pressure read, and the ID with it where the analysis is of the evening before.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        gauge_bar: what was read [bar].
        serial_read: the serial, or its last four, None: not read.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    stream = begun(opened, act, cylinder)
    breathed = tuple(fact.id for fact in of_kind(stream, Kind.BREATHED) if set(fact.rests_on) & set(in_force(stream)))
    data: dict[str, Value] = {"gauge_centibar": centibar(gauge_bar), "serial_read": serial_read}
    draft = on_gas(opened, act, Kind.PRESSURE_READ, cylinder, rests_on=(*in_force(stream), *breathed), data=data)
    return Done(record(opened, act, (draft,)))


def stage(
    opened: OpenBook, act: Act, cylinder: str, *, depth_m: float, gauge_bar: float | None, witness: str
) -> Done:
    """A cylinder left under water on purpose, with place, pressure and two names; it keeps its analysis until lifted.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        depth_m: of the place [m].
        gauge_bar: pressure, None: not read [bar].
        witness: person id of the second.

    Raises:
        InputError: the witness is who left it, or a depth out of range.
        Refused: its gas is unknown.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    stream = begun(opened, act, cylinder)
    checked_person(opened.book, witness, "--witness")
    if witness == act.by:
        raise InputError([Problem("--witness", f"{witness} is who left it; two names are needed")])
    if not 0.5 <= depth_m <= 300.0:
        raise InputError([Problem("--depth", f"is {depth_m:g} m; allowed are 0.5 to 300 m")])
    must_be_known(opened, cylinder, "staged")
    data: dict[str, Value] = {"place_depth_cm": round(depth_m * 100), "gauge_centibar": centibar(gauge_bar),
                              "witness": witness}
    draft = on_gas(opened, act, Kind.STAGED, cylinder, rests_on=in_force(stream), data=data)
    return Done(record(opened, act, (draft,)), findings_after(opened, cylinder))


def lift(opened: OpenBook, act: Act, cylinder: str, gauge_bar: float | None) -> Done:
    """A staged cylinder lifted: its analysis ends.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        gauge_bar: pressure, None: not read [bar].
    """
    if (done := done_before(opened, act)) is not None:
        return done
    stream = begun(opened, act, cylinder)
    staged = tuple(fact.id for fact in of_kind(stream, Kind.STAGED))
    draft = on_gas(opened, act, Kind.LIFTED, cylinder, rests_on=(*head_ids(act, stream), *staged),
                    data={"gauge_centibar": centibar(gauge_bar)})
    return Done(record(opened, act, (draft,)))


def correct(opened: OpenBook, act: Act, fact: FactId, reason: str) -> Done:
    """A correction: it voids one fact, with a reason; it takes trust away and never gives it.

    Args:
        opened: the book.
        act: the request.
        fact: id of the one that is wrong.
        reason: free text; the chain holds its hash.

    Raises:
        InputError: there is no such fact, or no reason.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    if not reason.strip():
        raise InputError([Problem("--reason", "is empty; say why the fact is wrong")])
    wrong = fact_named(opened, fact)
    note = note_of(reason.strip())
    data: dict[str, Value] = {"voids": fact, "reason_sha256": note.hash}
    draft = Draft(Kind.CORRECTED, wrong.stream, act.at, act.by, data=data, zone=opened.zone)
    return Done(record(opened, act, (draft,), (note,)))
