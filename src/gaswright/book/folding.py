"""The custody fold as the book keeps it: standings without a clock, and what a clock then makes of them."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import datetime, timedelta
from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import Any, cast
from zoneinfo import ZoneInfo

from gaswright.analysis.reading import Reading
from gaswright.book.cache import Folding, StreamRow
from gaswright.book.canonical import moment_of, time_text
from gaswright.book.handle import Book
from gaswright.custody.fact import Fact, Value
from gaswright.custody.folding import fold
from gaswright.custody.standing import Known, Rung, Standing, Unknown
from gaswright.errors import InputError
from gaswright.physics.mixture import Mixture
from gaswright.policy import Policy

__all__ = ["custody_folding", "standing", "standings"]

GAS, REGISTER = "gas/", "register/"
_LATEST = "latest"  # the latest moment that any fact of the stream names


def custody_folding(policy: Policy, zone: str) -> Folding:
    """The folding of cylinders: rows of gas/ID hold the standing, folded from gas/ID and register/ID.

    Args:
        policy: whose ages and uncertainties hold.
        zone: IANA name of the place's time zone.
    """
    ruled = sha256(repr(policy).encode()).hexdigest()[:16]

    def folded(stream: str, facts: Sequence[Fact]) -> Mapping[str, Value]:
        told = fold(facts, stream.removeprefix(GAS), policy, zone=zone, now=None)
        latest = max(max(fact.at, fact.recorded) for fact in facts)
        return {**_data_of(told), _LATEST: time_text(latest), "day": _latest_day(facts, stream, zone)}

    return Folding(f"{_program()} {ruled} {zone}", _reads, _feeds, folded)


@cache
def _program() -> str:
    """The SHA-256 of the sources of the fold, first digits: rows of a program that folds differently are dropped."""
    rooms = [files(package) for package in ("gaswright.custody", "gaswright.analysis")]
    sources = sorted((source.name, source.read_bytes()) for room in rooms for source in room.iterdir()
                     if source.name.endswith(".py"))
    return sha256(b"".join(source for _, source in sources)).hexdigest()[:16]


def _reads(stream: str) -> tuple[str, ...]:
    return (stream, REGISTER + stream.removeprefix(GAS)) if stream.startswith(GAS) else ()


def _feeds(stream: str) -> tuple[str, ...]:
    return (GAS + stream.removeprefix(REGISTER),) if stream.startswith(REGISTER) else ()


def _latest_day(facts: Sequence[Fact], stream: str, zone: str) -> str:
    """The local day before which a clockless fold writes times with their date."""
    latest = max((fact.at for fact in facts if fact.stream == stream), default=None)
    return "" if latest is None else latest.astimezone(ZoneInfo(zone)).date().isoformat()


def standings(book: Book, policy: Policy, *, zone: str, now: datetime) -> dict[str, Standing]:
    """Where every cylinder stands that has a history, by id: as the fold says with this clock, mostly from the rows.

    Args:
        book: opened with `custody_folding` of the same policy and zone.
        policy: as there.
        zone: as there.
        now: aware.

    Raises:
        InputError: the book was opened with another folding.
    """
    if book.folding is None or book.folding.version != custody_folding(policy, zone).version:
        raise InputError("the book was opened with another policy or time zone than the one asked for")
    rows = book.standing_rows(GAS)
    return {name.removeprefix(GAS): _at(book, row, policy, zone, now) for name, row in rows.items()}


def standing(book: Book, cylinder: str, policy: Policy, *, zone: str, now: datetime) -> Standing:
    """Where one cylinder stands, as the fold says with this clock, mostly from its row.

    Args:
        book: opened with `custody_folding` of the same policy and zone; with any other its facts are folded.
        cylinder: id.
        policy: as there.
        zone: as there.
        now: aware.
    """
    same = book.folding is not None and book.folding.version == custody_folding(policy, zone).version
    row = book.standing_row(GAS + cylinder) if same else None
    return _at(book, row, policy, zone, now) if row else _fresh(book, cylinder, policy, zone, now)


def _fresh(book: Book, cylinder: str, policy: Policy, zone: str, now: datetime) -> Standing:
    facts = tuple(book.facts([GAS + cylinder, REGISTER + cylinder]))
    return fold(facts, cylinder, policy, zone=zone, now=now)


def _at(book: Book, row: StreamRow, policy: Policy, zone: str, now: datetime) -> Standing:
    """The standing with a clock: the kept one while no fact is in the future and no analysis has expired."""
    cylinder = row.stream.removeprefix(GAS)
    if row.standing is None:
        return _fresh(book, cylinder, policy, zone, now)
    kept = _standing_of(row.standing)
    ahead = moment_of(str(row.standing[_LATEST])) - now > timedelta(minutes=policy.clock_ahead_min)
    expired = kept.known is not None and kept.known.expires is not None and kept.known.expires <= now
    if ahead or expired:
        return _fresh(book, cylinder, policy, zone, now)
    today = now.astimezone(ZoneInfo(zone)).date().isoformat()
    values = ((name, _time_on(text, str(row.standing["day"]), today) if name == "changed" else text)
              for name, text in kept.why_values)
    return replace(kept, why_values=tuple(values))


def _time_on(text: str, day: str, today: str) -> str:
    """A local time as it is written today: its date before it unless that is today."""
    date, time = text.split(" ") if " " in text else (day, text)
    return time if date == today else f"{date} {time}"


def _data_of(told: Standing) -> dict[str, Value]:
    fields = asdict(replace(told, known=None))
    known = None if told.known is None else _known_data(told.known)
    return {**fields, "known": known, "why_values": [list(pair) for pair in told.why_values]}


def _known_data(known: Known) -> dict[str, Value]:
    return {
        "reading": _reading_data(known.reading), "rich": _reading_data(known.rich), "lean": _reading_data(known.lean),
        "analysis": known.analysis, "fill": known.fill, "gauge_centibar": known.gauge_centibar,
        "temperature_centi_k": known.temperature_centi_k, "at": time_text(known.at), "by": known.by,
        "accepted_by": list(known.accepted_by), "witness": known.witness, "notes": list(known.notes),
        "expires": None if known.expires is None else time_text(known.expires),
    }


def _reading_data(reading: Reading) -> list[Value]:
    return [reading.mixture.o2_e4, reading.mixture.he_e4, reading.u_o2_e4, reading.u_he_e4]


def _standing_of(data: Mapping[str, Value]) -> Standing:
    pairs = cast("list[list[str]]", data["why_values"])
    fields: dict[str, Any] = {name: data[name] for name in (
        "cylinder", "label", "label_serial_matches", "gauge_centibar", "frozen", "staged")}
    known, why = data["known"], data["why"]
    return Standing(
        **fields,
        rung=Rung(str(data["rung"])), known=None if known is None else _known_of(cast("dict[str, Value]", known)),
        why=None if why is None else Unknown(str(why)), why_values=tuple((name, text) for name, text in pairs),
    )


def _known_of(data: Mapping[str, Value]) -> Known:
    names = ("reading", "rich", "lean")
    readings: dict[str, Any] = {name: _reading_of(cast("list[int]", data[name])) for name in names}
    fields: dict[str, Any] = {name: data[name] for name in (
        "analysis", "fill", "gauge_centibar", "temperature_centi_k", "by", "witness")}
    return Known(
        **readings, **fields,
        at=moment_of(str(data["at"])), expires=None if data["expires"] is None else moment_of(str(data["expires"])),
        accepted_by=tuple(cast("list[str]", data["accepted_by"])), notes=tuple(cast("list[str]", data["notes"])),
    )


def _reading_of(numbers: Sequence[int]) -> Reading:
    o2_e4, he_e4, u_o2_e4, u_he_e4 = numbers
    return Reading(Mixture(o2_e4, he_e4), u_o2_e4, u_he_e4)
