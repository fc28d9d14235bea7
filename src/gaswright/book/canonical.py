"""The text of a fact and its hash: one way to write each fact, so that one altered byte shows."""

import hashlib
import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from operator import itemgetter
from typing import Any, cast

from gaswright.custody.fact import Fact, FactId, Value
from gaswright.errors import InputError

__all__ = [
    "LARGEST_INTEGER", "ORIGIN", "body_of", "fact_in", "fact_of", "first_hash", "hash_of", "id_parts", "moment_of",
    "parsed", "request_hash", "text_of", "time_text",
]

LARGEST_INTEGER = 2**63 - 1  # of what every store and reader can hold
ORIGIN = re.compile(r"[A-Z0-9]{8}")
_ID = re.compile(r"([A-Z0-9]{8})-([1-9][0-9]{0,17})")
_texts_in = itemgetter("act", "at", "by", "id", "key", "kind", "recorded", "request", "stream", "zone")
_STRINGS = frozenset({str})


def _refused(number: str) -> float:
    raise ValueError(number)


_ENCODER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
_read_from = json.JSONDecoder(parse_float=_refused, parse_constant=_refused).raw_decode


def text_of(body: Mapping[str, Value]) -> str:
    """The canonical JSON of a body: keys sorted, no spaces, integers only, letters as they are.

    Args:
        body: of a fact, or of any value in it.

    Raises:
        InputError: it holds a float, a key that is no text, half a surrogate pair, or an integer beyond 64 bits.
    """
    _check(body, "")
    return _ENCODER.encode(body)


def _check(value: object, where: str) -> None:
    """Refuse what canonical JSON does not hold; exact types, so that a subclass cannot write itself differently."""
    if value is None or isinstance(value, bool):
        return
    if isinstance(value, str):
        _check_text(value, where)
    elif isinstance(value, int):
        if abs(value) > LARGEST_INTEGER:
            raise InputError(f"{where or 'the value'} is {value}: integers of a fact have at most 63 bits")
    elif isinstance(value, list | tuple):
        for number, item in enumerate(value):
            _check(item, f"{where}[{number}]")
    elif isinstance(value, Mapping):
        _check_keys(value, where)
    else:
        raise InputError(f"{where or 'the value'} is {value!r}: a fact holds texts, integers, true, false and null, "
                         "no floats; give it as an integer in a fixed unit")


def _check_keys(value: Mapping[object, object], where: str) -> None:
    for key, item in value.items():
        if not isinstance(key, str):
            raise InputError(f"{where or 'the value'} has the key {key!r}: keys are texts")
        _check_text(key, where)
        _check(item, f"{where}.{key}" if where else key)


def _check_text(value: str, where: str) -> None:
    try:
        value.encode()
    except UnicodeEncodeError as error:
        raise InputError(f"{where or 'the value'} holds half a letter that UTF-8 cannot write") from error


def body_of(fact: Fact, request: str) -> dict[str, Value]:
    """The fields of a fact's text (kind and version are one field).

    Args:
        fact: to be written.
        request: SHA-256 of what was typed, hex.

    Raises:
        InputError: a time says no offset.
    """
    return {
        "act": fact.act, "after": list(fact.after), "at": time_text(fact.at), "by": fact.by, "data": dict(fact.data),
        "id": fact.id, "key": fact.key, "kind": f"{fact.kind}/{fact.version}", "recorded": time_text(fact.recorded),
        "request": request, "rests_on": list(fact.rests_on), "stream": fact.stream, "zone": fact.zone,
    }


def time_text(moment: datetime) -> str:
    """A moment in UTC, always equally long, so that texts sort as times do.

    Args:
        moment: aware.

    Raises:
        InputError: it says no offset, or lies outside what UTC can say.
    """
    if moment.utcoffset() is None:
        raise InputError(f"the time {moment} says no offset from UTC; give it with one")
    try:
        utc = moment.astimezone(UTC)
    except OverflowError as error:
        raise InputError(f"the time {moment} is outside the years 1 to 9999") from error
    return utc.isoformat(timespec="microseconds").replace("+00:00", "Z")


def moment_of(text: str) -> datetime:
    """The moment of a stored time.

    Args:
        text: as `time_text` writes it.

    Raises:
        ValueError: it is written in any other way.
    """
    moment = datetime.fromisoformat(text)
    if len(text) != 27 or text[4:20:3] != "--T::." or text[26] != "Z":
        raise ValueError(text)
    return moment


def parsed(text: str) -> dict[str, Value]:
    """The fields of a stored text, each of its type; nothing is repaired.

    Args:
        text: of a fact.

    Raises:
        InputError: it is not the text of a fact.
    """
    try:
        body, end = _read_from(text)
    except (ValueError, RecursionError) as error:
        raise InputError("the text of the fact is not JSON of texts and integers") from error
    if end != len(text) or type(body) is not dict:
        raise InputError("the text of the fact is not one JSON object")
    try:
        texts, after, rests_on, data = _texts_in(body), body["after"], body["rests_on"], body["data"]
    except KeyError as error:
        raise InputError(f"the text of the fact lacks the field {error}") from error
    if set(map(type, texts)) != _STRINGS or type(data) is not dict:
        raise InputError("a field of the fact is not of its type")
    if type(after) is not list or type(rests_on) is not list or not set(map(type, after + rests_on)) <= _STRINGS:
        raise InputError("a list of facts that are named is not a list of ids")
    return cast("dict[str, Value]", body)


def fact_of(text: str) -> Fact:
    """The fact of a stored text, in the version in which it was recorded.

    Args:
        text: canonical; parsed, never rewritten.

    Raises:
        InputError: it is not the text of a fact.
    """
    return fact_in(parsed(text))


def fact_in(body: Mapping[str, Any]) -> Fact:
    """The fact of the fields of a text.

    Args:
        body: as `parsed` gives it.

    Raises:
        InputError: its kind has no version, or a time is none.
    """
    kind, slash, version = body["kind"].rpartition("/")
    if not slash or not version.isascii() or not version.isdigit():
        raise InputError(f"the kind {body['kind']!r} has no version")
    try:
        at, recorded = moment_of(body["at"]), moment_of(body["recorded"])
    except ValueError as error:
        raise InputError(f"{error} is no time of a fact") from error
    return Fact(
        body["id"], kind, body["stream"], at, recorded, body["by"], tuple(body["after"]), tuple(body["rests_on"]),
        body["data"], body["zone"], body["act"], body["key"], int(version),
    )


def hash_of(previous_hash: str, text: str) -> str:
    """The hash of a fact: SHA-256 over the previous hash (hex) and the stored text, hex.

    Args:
        previous_hash: of the fact before it of the same origin, or `first_hash`.
        text: as stored.
    """
    return hashlib.sha256((previous_hash + text).encode()).hexdigest()


def first_hash(origin: str) -> str:
    """What stands before the first fact of an origin: SHA-256 of its letters, hex.

    Args:
        origin: eight letters.
    """
    return hashlib.sha256(origin.encode()).hexdigest()


def request_hash(request: str) -> str:
    """The SHA-256 of a request as it was typed, hex.

    Args:
        request: any text.
    """
    _check_text(request, "the request")
    return hashlib.sha256(request.encode()).hexdigest()


def id_parts(fact: FactId) -> tuple[str, int] | None:
    """Origin and number of an id, None if it is not one.

    Args:
        fact: id.
    """
    match = _ID.fullmatch(fact)
    return (match[1], int(match[2])) if match else None
