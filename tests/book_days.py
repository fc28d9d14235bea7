"""Books for tests: made in a moment, filled with ordinary days, in bulk where many facts are wanted."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count, islice
from pathlib import Path

from gaswright.book.cache import Folding
from gaswright.book.canonical import body_of, request_hash, text_of
from gaswright.book.draft import Draft
from gaswright.book.handle import Book
from gaswright.book.rows import fact_row, head_of, inserted, own_origin
from gaswright.book.store import create_book, open_book
from gaswright.custody.fact import Fact, FactId, Kind, Value
from gaswright.custody.folding import fold
from gaswright.custody.standing import Standing
from gaswright.exchange.policy_file import shipped_policy

__all__ = ["NOW", "POLICY", "ZONE", "draft", "filled_in_bulk", "made", "put", "reopened", "standing_in"]

NOW = datetime(2027, 5, 14, 6, tzinfo=UTC)
POLICY = shipped_policy()
ZONE = "Etc/GMT-2"
_KEYS = count(1)


def made(folder: Path, name: str = "boat", *, origin: str | None = None, folding: Folding | None = None) -> Book:
    """A new SQLite book in a folder, open; its origin is listed in the same folder."""
    create_book(f"sqlite:///{folder / name}.db", origin=origin, now=NOW, origins=folder / "origins")
    return reopened(folder, name, folding=folding)


def reopened(folder: Path, name: str = "boat", *, folding: Folding | None = None) -> Book:
    """The book of a folder, opened again."""
    return open_book(f"sqlite:///{folder / name}.db", now=NOW, origins=folder / "origins", folding=folding, busy_s=5)


def draft(kind: str = Kind.FILLED, stream: str = "gas/c1", *, at: datetime = NOW, by: str = "d1",
          after: tuple[FactId, ...] = (), rests_on: tuple[FactId, ...] = (), **data: Value) -> Draft:
    """A draft, written short."""
    return Draft(kind, stream, at, by, after, rests_on, data)


def put(book: Book, *drafts: Draft, key: str = "", request: str = "typed", now: datetime = NOW) -> tuple[FactId, ...]:
    """The ids of drafts that were recorded, under a key of their own unless one is given."""
    return book.append(drafts, key=key or f"key-{next(_KEYS)}-{book.origin}", request=request, now=now)


def standing_in(book: Book, cylinder: str = "c1", *, now: datetime | None = NOW) -> Standing:
    """The standing of a cylinder, folded from the facts of the book."""
    facts = tuple(book.facts([f"gas/{cylinder}", f"register/{cylinder}"]))
    return fold(facts, cylinder, POLICY, zone=ZONE, now=now)


def filled_in_bulk(book: Book, facts: int, *, cylinders: int = 100, start: datetime = NOW) -> None:
    """Nothing; the book holds so many more facts of ordinary days, written past `append` and without rows of streams.

    Only tests do this: the chain, the keys and the triggers are the same, but no request is checked.
    """
    with book.write() as connection:
        origin = own_origin(connection)
        number, previous = head_of(connection, origin)
        asked, batch = request_hash("bulk"), []
        for fact in islice(_days(origin, number + 1, cylinders, start), facts):
            row = fact_row(fact, text_of(body_of(fact, asked)), previous)
            previous = str(row["hash"])
            batch.append(row)
            if len(batch) == 5000:
                inserted(connection, batch)
                batch.clear()
        inserted(connection, batch)


def _days(origin: str, number: int, cylinders: int, start: datetime) -> Iterator[Fact]:
    """Day after day: each cylinder filled, analysed, accepted, labelled, read, its labels taken off."""
    numbers = count(number)
    last: dict[str, tuple[FactId, ...]] = {}
    for day in count():
        moment = start + timedelta(days=day)
        for cylinder in (f"c{place}" for place in range(cylinders)):
            for kind, after, rests_on, data in _one_day(last.get(cylinder, ())):
                id_ = f"{origin}-{next(numbers)}"
                names = {"fill": last.get("fill", ()), "analysis": last.get("analysis", ())}
                fact = Fact(id_, kind, f"gas/{cylinder}", moment, moment, "d1", after, names.get(rests_on, ()), data,
                            ZONE, id_, f"{id_}-0123456789abcdef0123456789abcdef")
                last |= {"fill": (id_,)} if kind == Kind.FILLED else {}
                last |= {"analysis": (id_,)} if kind == Kind.ANALYSED else {}
                last |= {cylinder: (id_,)} if kind in {Kind.FILLED, Kind.LABELS_REMOVED} else {}
                if kind == Kind.LABELS_REMOVED:
                    fact = _with_after(fact, last["fill"])
                yield fact


def _one_day(head: tuple[FactId, ...]) -> list[tuple[Kind, tuple[FactId, ...], str, dict[str, Value]]]:
    reading: dict[str, Value] = {
        "o2_e4": 1820, "he_e4": 4460, "u_o2_e4": 50, "u_he_e4": 100, "gauge_centibar": 22800,
        "temperature_centi_k": 28900, "witness": None, "accepted_by": None, "analyser": None,
        "typed": {"o2": "18.2", "he": "44.6"},
    }
    return [
        (Kind.FILLED, head, "",
         {"gauge_centibar": 23000, "target_o2_e4": 1800, "target_he_e4": 4500, "implied": False}),
        (Kind.ANALYSED, (), "fill", reading), (Kind.ACCEPTED, (), "analysis", {}),
        (Kind.LABEL_APPLIED, (), "analysis", {"serial_read": "4711"}),
        (Kind.PRESSURE_READ, (), "", {"gauge_centibar": 9000}), (Kind.LABELS_REMOVED, (), "", {}),
    ]


def _with_after(fact: Fact, after: tuple[FactId, ...]) -> Fact:
    return Fact(fact.id, fact.kind, fact.stream, fact.at, fact.recorded, fact.by, after, (), fact.data, fact.zone,
                fact.act, fact.key)
