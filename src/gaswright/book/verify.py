"""The proof that nothing in a book was changed: every byte of every fact, column and row is looked at."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from typing import Any, cast

from sqlalchemy import Connection, Select, func, select, text, tuple_

from gaswright.book.cache import Folding, row_of, seal_of, values_of
from gaswright.book.canonical import ORIGIN, fact_in, first_hash, id_parts, parsed
from gaswright.book.equals import one_of_equals
from gaswright.book.errors import BookDamaged
from gaswright.book.handle import Book
from gaswright.book.people import Note, Person
from gaswright.book.rows import facts_of_stream, heads_of, own_origin
from gaswright.book.schema import TRIGGERS, facts, notes, origins, people, streams
from gaswright.book.upcasts import current
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.heads import GAS_CHANGING
from gaswright.errors import InputError

__all__ = ["Verification", "verify"]

PAGE = 2000
_COLUMNS = ("stream", "kind", "recorded", "key", "id")
_columns_in = itemgetter(*_COLUMNS)
_FOLDED = frozenset({*GAS_CHANGING, Kind.ANALYSED, Kind.CORRECTED})  # what the row of a stream is made of
MOST_PROBLEMS = 1000  # named one by one; then only counted


@dataclass(frozen=True, slots=True)
class Verification:
    """What a proof found.

    Args:
        problems: one sentence each, naming the fact, column or row; empty: the book is whole.
        facts: how many were looked at.
        absent: facts that others name and that are in no book merged so far, sorted: no damage, merge that book.
    """

    problems: tuple[str, ...]
    facts: int
    absent: tuple[FactId, ...] = ()


@dataclass(slots=True)
class _Findings:
    """What was found so far."""

    heads: Mapping[str, tuple[int, str]]
    problems: list[str] = field(default_factory=list)
    facts: int = 0
    absent: set[FactId] = field(default_factory=set)

    def say(self, sentence: str) -> None:
        if len(self.problems) < MOST_PROBLEMS:
            self.problems.append(sentence)


def verify(book: Book) -> Verification:
    """What is wrong with a book: chain, columns, gaps, rows of streams, names, notes, triggers.

    Memory grows with the longest stream, not with the book. Rows are compared with a fresh fold; standings only where
    the book was opened with the folding that made them.

    Args:
        book: open.

    Raises:
        BookUnavailable: the store cannot be read now.
    """
    try:
        return book.reads(lambda connection: _verified(connection, book.folding))
    except BookDamaged as error:
        return Verification((str(error),), 0)


def _verified(connection: Connection, folding: Folding | None) -> Verification:
    found = _Findings(heads_of(connection))
    for sentence in (*_store(connection), *_origins(connection), *_links(connection)):
        found.say(sentence)
    folded: set[str] = set()
    with connection.execution_options(yield_per=PAGE).execute(_every_fact()) as rows:
        for stream, of_stream in groupby(rows, key=itemgetter(0)):
            folded.add(stream)
            _stream(connection, stream, of_stream, folding, found)
    for stream in connection.execute(select(streams.c.stream)).scalars():
        if stream not in folded:
            found.say(f"row of stream {stream}: no fact belongs to it")
    for sentence in _erasable(connection):
        found.say(sentence)
    return Verification(tuple(found.problems), found.facts, tuple(sorted(found.absent)))


def _every_fact() -> Select[Any]:
    wanted = select(facts.c.stream, facts.c.origin, facts.c.number, facts.c.kind, facts.c.recorded, facts.c.key,
                    facts.c.previous, facts.c.hash, facts.c.text)
    return wanted.order_by(facts.c.stream, facts.c.origin, facts.c.number)


def _store(connection: Connection) -> Iterator[str]:
    """What the store says of itself, and whether its triggers stand."""
    if connection.dialect.name == "sqlite":
        said = connection.exec_driver_sql("PRAGMA quick_check(20)").scalars().all()
        yield from (f"the file: {line}" for line in said if line != "ok")
        wanted = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'facts'"
    else:
        wanted = ("SELECT tgname FROM pg_trigger WHERE tgrelid = 'facts'::regclass AND NOT tgisinternal "
                  "AND tgenabled = 'O'")
    there = set(connection.execute(text(wanted)).scalars())
    missing = (name for name in TRIGGERS if name not in there)
    yield from (f"the trigger {name} is missing: facts could have been changed" for name in missing)


def _origins(connection: Connection) -> Iterator[str]:
    found = connection.execute(select(origins.c.origin, origins.c.first_hash))
    known = {str(origin): str(hash_) for origin, hash_ in found}
    for origin, hash_ in known.items():
        if not ORIGIN.fullmatch(origin) or hash_ != first_hash(origin):
            yield f"origin {origin}: its first hash is wrong"
    own = own_origin(connection)
    if own not in known:
        yield f"the book says that it writes as {own}, which is no origin of it"


def _links(connection: Connection) -> Iterator[str]:
    """Gaps, and facts that do not follow the one before; the store looks for them."""
    counted = select(facts.c.origin, func.count(), func.min(facts.c.number), func.max(facts.c.number))
    for origin, count, low, high in connection.execute(counted.group_by(facts.c.origin)):
        if low != 1 or high != count:
            yield f"origin {origin}: {count} facts are numbered from {low} to {high}, so some are missing"
    before = facts.alias()
    joined = facts.join(origins, origins.c.origin == facts.c.origin).outerjoin(
        before, tuple_(before.c.origin, before.c.number) == tuple_(facts.c.origin, facts.c.number - 1))
    broken = (select(facts.c.origin, facts.c.number).select_from(joined)
              .where(facts.c.previous != func.coalesce(before.c.hash, origins.c.first_hash))
              .order_by(facts.c.origin, facts.c.number).limit(MOST_PROBLEMS))
    for origin, number in connection.execute(broken):
        yield f"{origin}-{number}: it does not follow {origin}-{number - 1}: the hash it names is not that fact's"


def _fact(row: Sequence[Any], whole: bool, found: _Findings) -> Fact | None:  # noqa: FBT001  called a million times
    """The fact of a row if its stream's row is folded from it; whatever is wrong with it is said."""
    found.facts += 1
    stream, origin, number, kind, recorded, key, previous, hash_, stored = row
    id_ = f"{origin}-{number}"
    if sha256((previous + stored).encode()).hexdigest() != hash_:
        found.say(f"{id_}: text and hash do not belong together; one of them was altered")
    try:
        body: dict[str, Any] = parsed(stored)
        fact = current(fact_in(body)) if whole or kind.partition("/")[0] in _FOLDED else None
    except InputError as error:
        found.say(f"{id_}: it cannot be read: {error}")
        return None
    columns = (stream, kind, recorded, key, id_)
    if _columns_in(body) != columns:
        for name, column, told in zip(_COLUMNS, columns, _columns_in(body), strict=True):
            if column != told:
                found.say(f"{id_}: column {name} says {column!r}, the text says {told!r}")
    voided = body["data"].get("voids") if kind.startswith(Kind.CORRECTED) else None
    for name in (*body["after"], *body["rests_on"], *((voided,) if isinstance(voided, str) else ())):
        _reference(id_, origin, number, name, found)
    return fact


def _reference(id_: FactId, origin: str, number: int, name: FactId, found: _Findings) -> None:
    parts = id_parts(name)
    if parts is None or (parts[0] == origin and parts[1] >= number):
        found.say(f"{id_}: it names {name}, which cannot have been there")
    elif parts[1] > found.heads.get(parts[0], (0, ""))[0]:
        found.absent.add(name)


def _stream(
    connection: Connection, stream: str, rows: Iterable[Sequence[Any]], folding: Folding | None, found: _Findings
) -> None:
    """Says what is wrong with the facts of a stream and with its row: altered, or not what its facts fold to."""
    stored = connection.execute(select(streams).where(streams.c.stream == stream)).mappings().one_or_none()
    values = cast("Mapping[str, str | int | None]", dict(stored or {}))
    same = folding if folding and stored and folding.version == stored["fold_version"] else None
    reads = same.reads(stream) if same else ()
    before = found.facts
    read = [fact for row in rows if (fact := _fact(row, bool(reads), found)) is not None]
    if not values:
        return
    if seal_of(values) != values["seal"]:
        found.say(f"row of stream {stream}: a column or its seal was altered")
    own = one_of_equals(read) if len(found.heads) > 1 else tuple(read)  # one origin has no copies
    try:
        others = facts_of_stream(connection, *(name for name in reads if name != stream)) if reads else ()
    except BookDamaged:
        return  # the fact that cannot be read is named at its own stream
    fresh = values_of(row_of(stream, own, found.facts - before, same,
                              (*(own if stream in reads else ()), *others)))
    for name in ("heads", "in_force", "count", *(("standing",) if reads else ())):
        if values[name] != fresh[name]:
            found.say(f"row of stream {stream}: column {name} is not what its facts fold to")


def _erasable(connection: Connection) -> Iterator[str]:
    for row in connection.execute(select(people)).mappings():
        if Person(row["person"], row["name"], row["salt"]).hash != row["hash"]:
            yield f"person {row['person']}: name and hash do not belong together"
    for row in connection.execute(select(notes)).mappings():
        if Note(row["text"], row["salt"]).hash != row["hash"]:
            yield f"note {row['hash']}: text and hash do not belong together"
