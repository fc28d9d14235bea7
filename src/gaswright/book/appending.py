"""Drafts become facts: keys, numbers, the chain, and the rows of their streams, in one transaction."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from sqlalchemy import Connection

from gaswright.book.cache import Folding, StreamRow, dropped, kept, row_of
from gaswright.book.canonical import body_of, fact_of, parsed, request_hash, text_of
from gaswright.book.draft import KEY_PART, Draft, check_draft, check_key, numbered, numbered_key
from gaswright.book.errors import KeyReused
from gaswright.book.rows import (
    fact_row,
    facts_of_stream,
    head_of,
    inserted,
    own_origin,
    stream_count,
    texts_of_key,
)
from gaswright.custody.fact import Fact, FactId
from gaswright.errors import InputError

__all__ = ["FOLDED_AT_ONCE", "appended", "check_request", "folded_row", "touched"]

FOLDED_AT_ONCE = 100  # facts of a stream up to which its row is folded in the writing transaction
LONGEST_TEXT = 200_000  # letters of one fact


def check_request(drafts: Sequence[Draft], key: str) -> None:
    """Nothing, if the drafts can be recorded under the key.

    Args:
        drafts: of one request.
        key: of it.

    Raises:
        InputError: no draft, or one that cannot become a fact, or no key.
    """
    if not drafts:
        raise InputError("there is nothing to record: no draft was given")
    check_key(key)
    for draft in drafts:
        check_draft(draft)


def appended(
    connection: Connection, drafts: Sequence[Draft], *, key: str, request: str, now: datetime, folding: Folding | None,
) -> tuple[tuple[FactId, ...], bool]:
    """The ids of the facts, and True if they are new; a repeated request gives the first ids.

    Args:
        connection: in the writing transaction.
        drafts: checked.
        key: of the request.
        request: as typed.
        now: of the machine.
        folding: of the rows.

    Raises:
        KeyReused: the key stands for another request.
        InputError: a draft cannot be written as a text.
    """
    asked = request_hash(request)
    if first := _recorded_under(connection, key, asked):
        return first, False
    facts = _facts(connection, drafts, key, now)
    _chained(connection, facts, asked)
    _fold(connection, touched([fact.stream for fact in facts], folding), folding)
    return tuple(fact.id for fact in facts), True


def _recorded_under(connection: Connection, key: str, asked: str) -> tuple[FactId, ...]:
    texts = texts_of_key(connection, key, KEY_PART)
    bodies = [parsed(text) for text in texts]
    ids = tuple(str(body["id"]) for body in bodies)
    if any(body["request"] != asked for body in bodies):
        raise KeyReused(key, ids[0])
    return ids


def _facts(connection: Connection, drafts: Sequence[Draft], key: str, now: datetime) -> list[Fact]:
    origin = own_origin(connection)
    number, _ = head_of(connection, origin)
    facts: list[Fact] = []
    for place, draft in enumerate(drafts, start=1):
        bare = Fact(
            f"{origin}-{number + place}", draft.kind, draft.stream, draft.at, now, draft.by, zone=draft.zone,
            act=draft.act or key, key=numbered_key(key, place), version=draft.version,
        )
        facts.append(numbered(draft, bare, [fact.id for fact in facts]))
    return facts


def _chained(connection: Connection, facts: Sequence[Fact], asked: str) -> None:
    _, previous = head_of(connection, own_origin(connection))
    rows: list[Mapping[str, str | int]] = []
    for fact in facts:
        text = text_of(body_of(fact, asked))
        if len(text) > LONGEST_TEXT:
            raise InputError(f"a fact of {fact.stream} has {len(text)} letters; at most {LONGEST_TEXT} are kept")
        fact_of(text)  # what is recorded can be read again
        row = fact_row(fact, text, previous)
        previous = str(row["hash"])
        rows.append(row)
    inserted(connection, rows)


def touched(names: Iterable[str], folding: Folding | None) -> tuple[str, ...]:
    """The streams whose rows these streams' new facts change, each once.

    Args:
        names: of the streams that got facts.
        folding: says which others are folded from them.
    """
    own = tuple(dict.fromkeys(names))
    fed = (other for name in own for other in folding.feeds(name)) if folding else ()
    return tuple(dict.fromkeys((*own, *fed)))


def _fold(connection: Connection, names: Sequence[str], folding: Folding | None) -> None:
    """Short streams are folded here and now; the rows of long ones are dropped and folded when they are read."""
    counts = {name: stream_count(connection, name) for name in names}
    dropped(connection, names)
    kept(connection, [folded_row(connection, name, folding) for name in names if 0 < counts[name] <= FOLDED_AT_ONCE])


def folded_row(connection: Connection, name: str, folding: Folding | None) -> StreamRow:
    """The row of a stream, folded from the facts in the store.

    Args:
        connection: in any transaction.
        name: of the stream.
        folding: of the standing.
    """
    own = facts_of_stream(connection, name)
    reads = folding.reads(name) if folding else ()
    others = facts_of_stream(connection, *(other for other in reads if other != name))
    read = (*(own if name in reads else ()), *others)
    return row_of(name, own, stream_count(connection, name), folding, read)


