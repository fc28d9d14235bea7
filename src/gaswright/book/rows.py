"""Facts in and out of the store: the only statements that read or write the chain."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, func, insert, select, tuple_, update

from gaswright.book.canonical import fact_of, first_hash, hash_of
from gaswright.book.equals import one_of_equals
from gaswright.book.errors import BookDamaged
from gaswright.book.schema import book, facts, origins
from gaswright.book.upcasts import current
from gaswright.custody.fact import Fact, FactId
from gaswright.errors import InputError

__all__ = [
    "FIRST", "Link", "StoredFact", "begun_origin", "fact_row", "facts_of_shared_keys", "facts_of_stream",
    "hashes_between", "head_of", "heads_of", "inserted", "known_origins", "latest_recorded_text", "own_origin", "page",
    "read_fact", "stored_facts", "stream_count", "stream_names", "texts_between", "texts_of_key",
]

FIRST = ("", 0)  # before every fact, in the order of pages
Link = tuple[int, str]  # number and hash of the latest fact of an origin


def own_origin(connection: Connection) -> str:
    """The origin under which the book writes."""
    return str(connection.execute(select(book.c.origin)).scalar_one())


def known_origins(connection: Connection, *, own: bool = False) -> tuple[str, ...]:
    """Every origin that the book holds, or every one under which it wrote itself, sorted."""
    wanted = select(origins.c.origin).order_by(origins.c.origin)
    return tuple(connection.execute(wanted.where(origins.c.own == 1) if own else wanted).scalars())


def begun_origin(connection: Connection, origin: str, place: str, made: str) -> None:
    """Nothing; the book writes under this origin afterwards, and remembers those before it as its own."""
    values = {"origin": origin, "place": place, "made": made}
    connection.execute(insert(origins).values(origin=origin, first_hash=first_hash(origin), own=1))
    if connection.execute(update(book).values(values)).rowcount == 0:
        connection.execute(insert(book).values(one=1, **values))


def head_of(connection: Connection, origin: str) -> Link:
    """Number and hash of the latest fact of an origin; 0 and its first hash while it has none."""
    latest = (select(facts.c.number, facts.c.hash).where(facts.c.origin == origin)
              .order_by(facts.c.number.desc()).limit(1))
    found = connection.execute(latest).one_or_none()
    return (0, first_hash(origin)) if found is None else (int(found[0]), str(found[1]))


def heads_of(connection: Connection) -> dict[str, Link]:
    """Number and hash of the latest fact of every origin that has one."""
    links = {origin: head_of(connection, origin) for origin in known_origins(connection)}
    return {origin: link for origin, link in links.items() if link[0]}


def fact_row(fact: Fact, text: str, previous: str) -> dict[str, str | int]:
    """The columns of a fact."""
    origin, _, number = fact.id.rpartition("-")
    return {
        "origin": origin, "number": int(number), "previous": previous, "hash": hash_of(previous, text),
        "stream": fact.stream, "kind": f"{fact.kind}/{fact.version}", "recorded": _recorded_in(text), "key": fact.key,
        "text": text,
    }


def _recorded_in(text: str) -> str:
    """The time of recording as it stands in a canonical text."""
    sign = '"recorded":"'
    start = text.rindex(sign) + len(sign)
    return text[start:text.index('"', start)]


def inserted(connection: Connection, rows: Sequence[Mapping[str, str | int]]) -> None:
    """Nothing; the rows stand in the store once the transaction is committed."""
    if rows:
        connection.execute(insert(facts), list(rows))


def texts_of_key(connection: Connection, key: str, part: str) -> list[str]:
    """The texts of the facts of one request, in their order, of the first origin that took it."""
    wanted = (
        select(facts.c.origin, facts.c.number, facts.c.text)
        .where((facts.c.key == key) | ((facts.c.key > key + part) & (facts.c.key < key + chr(ord(part) + 1))))
        .order_by(facts.c.origin, facts.c.number)
    )
    found = connection.execute(wanted).all()
    return [str(text) for origin, _, text in found if origin == found[0][0]]


def latest_recorded_text(connection: Connection) -> str | None:
    """The latest time of recording under the book's own origins, as stored."""
    times = [
        connection.execute(select(func.max(facts.c.recorded)).where(facts.c.origin == origin)).scalar()
        for origin in known_origins(connection, own=True)
    ]
    return max((time for time in times if time is not None), default=None)


def stream_count(connection: Connection, stream: str) -> int:
    """How many facts a stream has, copies counted."""
    return connection.execute(select(func.count()).select_from(facts).where(facts.c.stream == stream)).scalar_one()


def stream_names(connection: Connection, prefix: str) -> tuple[str, ...]:
    """The names of streams that begin so, sorted; the index is walked from name to name, not fact by fact."""
    behind = prefix + "\U0010ffff"
    first = select(func.min(facts.c.stream).label("name")).where(facts.c.stream >= prefix, facts.c.stream < behind)
    walked = first.cte("walked", recursive=True)
    following = select(func.min(facts.c.stream)).where(facts.c.stream > walked.c.name, facts.c.stream < behind)
    names = walked.union_all(select(following.scalar_subquery()).where(walked.c.name.is_not(None)))
    found = connection.execute(select(names.c.name).where(names.c.name.is_not(None))).scalars()
    return tuple(sorted(map(str, found)))


def facts_of_stream(connection: Connection, *names: str) -> tuple[Fact, ...]:
    """The facts of streams in the versions that this program reads, each entry once, by origin and number."""
    found: list[Fact] = []
    for name in names:
        wanted = (select(facts.c.origin, facts.c.number, facts.c.text).where(facts.c.stream == name)
                  .order_by(facts.c.origin, facts.c.number))
        found += [read_fact(f"{origin}-{number}", text) for origin, number, text in connection.execute(wanted)]
    return one_of_equals(found)


@dataclass(frozen=True, slots=True)
class StoredFact:
    """A fact as it is stored: what a stranger needs to recompute its place in the chain.

    Args:
        id: origin and number.
        previous: hash of the fact before it of its origin, hex.
        hash: SHA-256 of that and the text, hex.
        text: canonical, byte for byte.
    """

    id: FactId
    previous: str
    hash: str
    text: str


def stored_facts(connection: Connection, names: Sequence[str]) -> tuple[StoredFact, ...]:
    """The facts of streams as they are stored, copies too, by origin and number."""
    found: list[tuple[str, int, str, str, str]] = []
    for name in dict.fromkeys(names):
        wanted = select(facts.c.origin, facts.c.number, facts.c.previous, facts.c.hash, facts.c.text)
        found += [tuple(row) for row in connection.execute(wanted.where(facts.c.stream == name))]
    return tuple(StoredFact(f"{origin}-{number}", *more) for origin, number, *more in sorted(found))


def facts_of_shared_keys(connection: Connection) -> tuple[Fact, ...]:
    """The facts whose key stands under more than one origin: few, if any."""
    if len(known_origins(connection)) < 2:
        return ()
    shared = select(facts.c.key).group_by(facts.c.key).having(func.count() > 1)
    wanted = (select(facts.c.origin, facts.c.number, facts.c.text).where(facts.c.key.in_(shared))
              .order_by(facts.c.origin, facts.c.number))
    return tuple(read_fact(f"{origin}-{number}", text) for origin, number, text in connection.execute(wanted))


def hashes_between(connection: Connection, origin: str, low: int, high: int) -> dict[int, str]:
    """Number to hash of the facts of an origin that are here, both ends counted."""
    wanted = select(facts.c.number, facts.c.hash).where(facts.c.origin == origin, facts.c.number.between(low, high))
    return {int(number): str(hash_) for number, hash_ in connection.execute(wanted)}


def texts_between(connection: Connection, origin: str, low: int, high: int) -> list[str]:
    """The texts of the facts of an origin, both ends counted, by number."""
    wanted = (select(facts.c.text).where(facts.c.origin == origin, facts.c.number.between(low, high))
              .order_by(facts.c.number))
    return [str(text) for text in connection.execute(wanted).scalars()]


def page(connection: Connection, after: tuple[str, int], size: int) -> list[tuple[str, int, str]]:
    """Origin, number and text of the facts after one place, by origin and number."""
    wanted = (select(facts.c.origin, facts.c.number, facts.c.text)
              .where(tuple_(facts.c.origin, facts.c.number) > tuple_(*after))
              .order_by(facts.c.origin, facts.c.number).limit(size))
    return [(str(origin), int(number), str(text)) for origin, number, text in connection.execute(wanted)]


def read_fact(id: FactId, text: str) -> Fact:  # noqa: A002  the field is called id
    """The fact of a stored text, upcast; what cannot be read is damage, and named."""
    try:
        fact = current(fact_of(text))
    except InputError as error:
        raise BookDamaged(f"the fact {id} cannot be read: {error}; run verify, restore the latest verified backup"
                          ) from error
    if fact.id != id:
        raise BookDamaged(f"the fact {id} says that it is {fact.id}; run verify, restore the latest verified backup")
    return fact
