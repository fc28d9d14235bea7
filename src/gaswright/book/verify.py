"""The proof that nothing in a book was changed: every byte of every fact, column and row is looked at."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import cast

from sqlalchemy import Connection, RowMapping, Select, func, select, text, tuple_

from gaswright.book.cache import Folding, row_of, seal_of, values_of
from gaswright.book.canonical import ORIGIN, fact_of, first_hash, hash_of, id_parts, parsed, text_of
from gaswright.book.equals import one_of_equals
from gaswright.book.errors import BookDamaged
from gaswright.book.handle import Book
from gaswright.book.people import Note, Person
from gaswright.book.rows import facts_of_stream, heads_of, own_origin
from gaswright.book.schema import TRIGGERS, facts, notes, origins, people, streams
from gaswright.book.upcasts import current
from gaswright.custody.fact import Fact, FactId
from gaswright.custody.heads import names
from gaswright.errors import InputError

__all__ = ["Verification", "verify"]

PAGE = 2000
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
    rows = connection.execution_options(yield_per=PAGE).execute(_every_fact()).mappings()
    folded: set[str] = set()
    for stream, of_stream in groupby(rows, key=lambda row: str(row["stream"])):
        read = [fact for row in of_stream if (fact := _fact(row, found)) is not None]
        folded.add(stream)
        _row(connection, stream, read, folding, found)
    for stream in connection.execute(select(streams.c.stream)).scalars():
        if stream not in folded:
            found.say(f"row of stream {stream}: no fact belongs to it")
    for sentence in _erasable(connection):
        found.say(sentence)
    return Verification(tuple(found.problems), found.facts, tuple(sorted(found.absent)))


def _every_fact() -> Select[tuple[object, ...]]:
    return select(facts).order_by(facts.c.stream, facts.c.origin, facts.c.number)


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


def _fact(row: RowMapping, found: _Findings) -> Fact | None:
    """The fact of a row, None if it cannot be read; whatever is wrong with it is said."""
    found.facts += 1
    stored, id_ = str(row["text"]), f"{row['origin']}-{row['number']}"
    if hash_of(str(row["previous"]), stored) != row["hash"]:
        found.say(f"{id_}: text and hash do not belong together; one of them was altered")
    try:
        body = parsed(stored)
        fact = current(fact_of(stored))
        if text_of(body) != stored:
            found.say(f"{id_}: the text is not written canonically")
    except InputError as error:
        found.say(f"{id_}: {error}")
        return None
    columns = {"stream": row["stream"], "kind": row["kind"], "recorded": row["recorded"], "key": row["key"], "id": id_}
    for name, value in columns.items():
        if body[name] != value:
            found.say(f"{id_}: column {name} says {value!r}, the text says {body[name]!r}")
    _references(fact, found)
    return fact


def _references(fact: Fact, found: _Findings) -> None:
    own = id_parts(fact.id)
    for name in names(fact):
        parts = id_parts(name)
        if parts is None or (own is not None and parts[0] == own[0] and parts[1] >= own[1]):
            found.say(f"{fact.id}: it names {name}, which cannot have been there")
        elif parts[1] > found.heads.get(parts[0], (0, ""))[0]:
            found.absent.add(name)


def _row(
    connection: Connection, stream: str, read: Sequence[Fact], folding: Folding | None, found: _Findings
) -> None:
    """Says what is wrong with the row of a stream: altered, or not what its facts fold to."""
    stored = connection.execute(select(streams).where(streams.c.stream == stream)).mappings().one_or_none()
    if stored is None:
        return
    values = cast("Mapping[str, str | int | None]", dict(stored))
    if seal_of(values) != values["seal"]:
        found.say(f"row of stream {stream}: a column or its seal was altered")
    same = folding if folding and folding.version == values["fold_version"] else None
    try:
        feed = facts_of_stream(connection, *same.reads(stream)) if same else ()
        fresh = values_of(row_of(stream, one_of_equals(read), len(read), same, feed))
    except BookDamaged:
        return  # the fact that cannot be read is named already
    compared = ("heads", "in_force", "count", *(("standing",) if same else ()))
    for name in compared:
        if values[name] != fresh[name]:
            found.say(f"row of stream {stream}: column {name} is not what its facts fold to")


def _erasable(connection: Connection) -> Iterator[str]:
    for row in connection.execute(select(people)).mappings():
        if Person(row["person"], row["name"], row["salt"]).hash != row["hash"]:
            yield f"person {row['person']}: name and hash do not belong together"
    for row in connection.execute(select(notes)).mappings():
        if Note(row["text"], row["salt"]).hash != row["hash"]:
            yield f"note {row['hash']}: text and hash do not belong together"
