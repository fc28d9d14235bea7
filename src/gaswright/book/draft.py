"""A draft: a fact before the book gives it an id, a time of recording and a hash."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from gaswright.custody.fact import Fact, FactId, Value
from gaswright.errors import InputError

__all__ = ["KEY_PART", "Draft", "check_draft", "check_key", "is_line", "numbered", "numbered_key"]

KEY_PART = "#"  # between a key and the place of a fact in its request; also "#1": the first draft of the same request
LONGEST_NAME = 200  # letters of a stream, a person id, an act, a key
_KIND = re.compile(r"[a-z][a-z0-9_]*(\.[a-z][a-z0-9_]*)+")
_STREAM = re.compile(r"[a-z][a-z_]*/[^\x00-\x1f\x7f]+")
_LINE = re.compile(r"[^\x00-\x1f\x7f]*")
_PLACE = re.compile(r"#([1-9][0-9]*)")


@dataclass(frozen=True, slots=True)
class Draft:
    """What the book needs to make a fact.

    A draft may name an earlier draft of the same request as "#1", "#2" in `after`, `rests_on` and in the data key
    `voids`; the book puts the ids in.

    Args:
        kind: what happened, dotted, past tense.
        stream: what it belongs to: "gas/c1".
        at: when it happened, by its author; aware.
        by: person id.
        after: as in the fact.
        rests_on: as in the fact.
        data: integers in units, readings also as typed.
        zone: IANA name of the author's time zone.
        act: one id for facts recorded in one act; the key of the request where empty.
        version: of the kind.
    """

    kind: str
    stream: str
    at: datetime
    by: str
    after: tuple[FactId, ...] = ()
    rests_on: tuple[FactId, ...] = ()
    data: Mapping[str, Value] = field(default_factory=dict)
    zone: str = "UTC"
    act: str = ""
    version: int = 1


def check_draft(draft: Draft) -> None:
    """Nothing, if the draft can become a fact.

    Args:
        draft: to be checked.

    Raises:
        InputError: kind, stream, person, zone or version cannot be.
    """
    if not _KIND.fullmatch(draft.kind):
        raise InputError(f"{draft.kind!r} is no kind of fact; kinds are dotted, such as gas.analysed")
    if not _STREAM.fullmatch(draft.stream):
        raise InputError(f"{draft.stream!r} is no stream; streams look like gas/c1")
    if draft.version < 1:
        raise InputError(f"version {draft.version} of {draft.kind} cannot be; versions begin at 1")
    for name, value in (("stream", draft.stream), ("by", draft.by), ("act", draft.act), ("zone", draft.zone)):
        _check_name(name, value)
    try:
        ZoneInfo(draft.zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError(f"{draft.zone!r} is not a time zone; give an IANA name such as Europe/Berlin") from error


def check_key(key: str) -> None:
    """Nothing, if this can be the key of a request.

    Args:
        key: 128 random bits as text, made by whoever asks.

    Raises:
        InputError: it is empty, too long, or holds a control character or "#".
    """
    _check_name("key", key)
    if not key or KEY_PART in key:
        raise InputError(f"{key!r} is no key; give 32 random hexadecimal digits, without {KEY_PART!r}")


def is_line(value: str) -> bool:
    """True if a name is one line of a length that is kept.

    Args:
        value: of a stream, a person id, an act, a key.
    """
    return len(value) <= LONGEST_NAME + 10 and _LINE.fullmatch(value) is not None


def _check_name(name: str, value: str) -> None:
    if len(value) > LONGEST_NAME or not _LINE.fullmatch(value):
        raise InputError(f"{name} {value[:40]!r} must be one line of at most {LONGEST_NAME} letters")


def numbered_key(key: str, place: int) -> str:
    """The key of one fact: the request's for the first, with its place behind it for the others.

    Args:
        key: of the request.
        place: from 1.
    """
    return key if place == 1 else f"{key}{KEY_PART}{place}"


def numbered(draft: Draft, fact: Fact, before: Sequence[FactId]) -> Fact:
    """The fact of a draft, with the ids of the drafts before it where it names them by place.

    Args:
        draft: as given.
        fact: of it, all but what it names.
        before: ids of the drafts before it in the request.

    Raises:
        InputError: it names a draft that is not before it.
    """
    data = dict(draft.data)
    if isinstance(voided := data.get("voids"), str):
        data["voids"] = _id(voided, before)
    return Fact(
        fact.id, fact.kind, fact.stream, fact.at, fact.recorded, fact.by,
        tuple(_id(name, before) for name in draft.after), tuple(_id(name, before) for name in draft.rests_on), data,
        fact.zone, fact.act, fact.key, fact.version,
    )


def _id(name: FactId, before: Sequence[FactId]) -> FactId:
    place = _PLACE.fullmatch(name)
    if place is None:
        return name
    if int(place[1]) > len(before):
        raise InputError(f"{name} names a draft that does not come before it in its request")
    return before[int(place[1]) - 1]
