"""The open book: facts in, facts out."""

import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Self, TypeVar

from sqlalchemy import Connection, Engine

from gaswright.book import people, rows
from gaswright.book.appending import appended, check_request, folded_row
from gaswright.book.cache import Folding, StreamRow, dropped, kept, stored_row, stored_rows
from gaswright.book.canonical import moment_of, time_text
from gaswright.book.draft import Draft
from gaswright.book.engine import reading, writing
from gaswright.book.equals import copies_among
from gaswright.book.errors import BookUnavailable, ReadOnlyBook
from gaswright.book.people import Note, Person
from gaswright.book.rows import StoredFact
from gaswright.custody.fact import Fact, FactId

__all__ = ["Book", "People"]

T = TypeVar("T")

PAGE = 2000  # facts read at a time


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """An open book; safe to share between threads, not across a fork.

    Args:
        url: its address.
        engine: connections to it.
        origins: folder of this machine's list of origins.
        read_only_because: why nothing can be recorded, None if it can.
        folding: how standings are folded, None: rows hold heads and analyses in force alone.
        notices: what opening it did, in sentences for whoever opened it.
    """

    url: str
    engine: Engine
    origins: Path
    read_only_because: str | None = None
    folding: Folding | None = None
    notices: tuple[str, ...] = ()
    _one_writer: threading.Lock = field(default_factory=threading.Lock, repr=False)

    # ---- facts in

    def append(
        self, drafts: Sequence[Draft], *, key: str, request: str, now: datetime, notes: Sequence[Note] = ()
    ) -> tuple[FactId, ...]:
        """The ids of the facts, durable when they are returned; a repeated request gives the first ids again.

        Args:
            drafts: of one request: all of them become facts, or none.
            key: of the request: 128 random bits as text.
            request: what was typed, not times or heads filled in.
            now: of the machine; aware.
            notes: free text whose hashes stand in the drafts.

        Raises:
            KeyReused: the key stands for another request.
            InputError: a draft cannot become a fact; nothing was recorded.
            ReadOnlyBook: the book is open for reading alone.
            BookUnavailable: the store cannot be written now; nothing was recorded.
        """
        self.must_be_writable()
        check_request(drafts, key)
        time_text(now)
        with self.write() as connection:
            ids, new = appended(connection, drafts, key=key, request=request, now=now, folding=self.folding)
            if new:
                people.kept_notes(connection, notes)
        return ids

    def must_be_writable(self) -> None:
        """Nothing, if the book can be written.

        Raises:
            ReadOnlyBook: it cannot, and why.
        """
        if self.read_only_because is not None:
            raise ReadOnlyBook(f"nothing was recorded: {self.read_only_because}")

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """The writing transaction of this book, one at a time in this program.

        Raises:
            BookUnavailable: the store cannot be written now; nothing was changed.
        """
        with self._one_writer, writing(self.engine) as connection:
            yield connection

    # ---- facts out

    def stream(self, stream: str) -> tuple[Fact, ...]:
        """The facts of one stream, by origin and number, each entry once.

        Args:
            stream: "gas/c1".
        """
        return self.reads(lambda connection: rows.facts_of_stream(connection, stream))

    def facts(self, streams: Sequence[str] | None = None) -> Iterator[Fact]:
        """The facts of these streams, or of all, by origin and number.

        All facts are read page by page: memory does not grow with the book.

        Args:
            streams: names, None: all.
        """
        if streams is not None:
            names = tuple(dict.fromkeys(streams))
            return iter(self.reads(lambda connection: rows.facts_of_stream(connection, *names)))
        return self._all_facts()

    def _all_facts(self) -> Iterator[Fact]:
        copies = copies_among(self.reads(rows.facts_of_shared_keys))
        ends, place = self.head_hashes(), rows.FIRST
        while page := self._page(place):
            for origin, number, text in page:
                counting = copies.counting(rows.read_fact(f"{origin}-{number}", text))
                if counting is not None and number <= ends.get(origin, (0, ""))[0]:
                    yield counting
            place = page[-1][:2]

    def _page(self, place: tuple[str, int]) -> list[tuple[str, int, str]]:
        return self.reads(lambda connection: rows.page(connection, place, PAGE))

    def stored(self, streams: Sequence[str]) -> tuple[StoredFact, ...]:
        """The facts of these streams as they are stored, with their hashes, copies too, by origin and number.

        Args:
            streams: names.
        """
        return self.reads(lambda connection: rows.stored_facts(connection, streams))

    def streams(self, prefix: str = "") -> tuple[str, ...]:
        """The names of the streams that begin so, sorted.

        Args:
            prefix: "gas/".
        """
        return self.reads(lambda connection: rows.stream_names(connection, prefix))

    def standing_row(self, stream: str) -> StreamRow | None:
        """The row of a stream, from the cache or folded afresh; None if the stream has no fact.

        Args:
            stream: "gas/c1".
        """
        row = self.reads(lambda connection: stored_row(connection, stream, self.folding))
        return row or self.refreshed([stream]).get(stream)

    def standing_rows(self, prefix: str = "") -> Mapping[str, StreamRow]:
        """The rows of all streams that begin so.

        Args:
            prefix: "gas/".
        """
        found = self.reads(lambda connection: stored_rows(connection, prefix, self.folding))
        missing = [name for name in self.streams(prefix) if name not in found]
        return {**found, **self.refreshed(missing)} if missing else found

    def refreshed(self, streams: Sequence[str]) -> dict[str, StreamRow]:
        """Rows folded afresh, and kept where the book can be written.

        Args:
            streams: names.
        """
        if self.read_only_because is None:
            try:
                with self.write() as connection:
                    found = self._folded(connection, streams)
                    kept(connection, tuple(found.values()))
                    return found
            except BookUnavailable:
                pass  # whoever reads is not to wait for a disk that is full
        return self.reads(lambda connection: self._folded(connection, streams))

    def _folded(self, connection: Connection, streams: Sequence[str]) -> dict[str, StreamRow]:
        there = (name for name in streams if rows.stream_count(connection, name))
        return {name: folded_row(connection, name, self.folding) for name in there}

    def forget_rows(self, streams: Sequence[str]) -> None:
        """Nothing; the rows are folded afresh when they are next asked for.

        Args:
            streams: names.
        """
        with self.write() as connection:
            dropped(connection, streams)

    def head_hashes(self) -> Mapping[str, tuple[int, str]]:
        """For each origin number and hash of its latest fact: to be printed on the day's paper."""
        return self.reads(rows.heads_of)

    @property
    def origin(self) -> str:
        """The eight letters under which this book records."""
        return self.reads(rows.own_origin)

    def latest_recorded(self) -> datetime | None:
        """The latest time of recording under the book's own origins, None while there is none."""
        found = self.reads(rows.latest_recorded_text)
        return None if found is None else moment_of(found)

    def now(self, clock: datetime) -> datetime:
        """What time it is for ages: the machine's clock, or the latest recording if that is later.

        Args:
            clock: of the machine; aware.
        """
        return max(clock, self.latest_recorded() or clock)

    # ---- names and notes

    @property
    def people(self) -> "People":
        """The names behind the person ids."""
        return People(self)

    def note(self, hash: str) -> str | None:  # noqa: A002  what it is
        """The free text behind a hash, None if it was erased or is not here.

        Args:
            hash: as it stands in a fact.
        """
        return self.reads(lambda connection: people.note_text(connection, hash))

    def erase_note(self, hash: str) -> bool:  # noqa: A002  what it is
        """True if the note was here; its text is gone afterwards, the chain stays whole.

        Args:
            hash: as it stands in a fact.
        """
        self.must_be_writable()
        with self.write() as connection:
            return people.erased_note(connection, hash)

    def reads(self, read: Callable[[Connection], T]) -> T:
        """What a function reads in one transaction.

        Args:
            read: of a connection.

        Raises:
            BookUnavailable: the store cannot be read now.
            BookDamaged: what is stored cannot be read.
        """
        with reading(self.engine) as connection:
            return read(connection)

    # ---- open and shut

    def close(self) -> None:
        """Nothing; every connection is shut."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


@dataclass(frozen=True, slots=True)
class People:
    """The people of a book: entered, renamed, erased."""

    book: Book

    def all(self) -> tuple[Person, ...]:
        """Every entry, by id and name; an id that two books entered apart has two."""
        return self.book.reads(people.people_of)

    def name(self, id: str) -> str | None:  # noqa: A002  the field is called id
        """The name of a person, both where two books entered one id, None if erased or never entered.

        Args:
            id: person id.
        """
        names = dict.fromkeys(person.name for person in self.all() if person.id == id)
        return " or ".join(names) or None

    def add(self, id: str, name: str) -> Person:  # noqa: A002  the field is called id
        """The person, entered or renamed.

        Args:
            id: as it will stand in facts.
            name: erasable.

        Raises:
            InputError: id or name is empty or not one line.
            Refused: the id was erased.
        """
        self.book.must_be_writable()
        with self.book.write() as connection:
            return people.added_person(connection, id, name)

    def erase(self, id: str) -> bool:  # noqa: A002  the field is called id
        """True if there was an entry; name and salt are gone afterwards, the chain stays whole.

        Args:
            id: person id.
        """
        self.book.must_be_writable()
        with self.book.write() as connection:
            return people.erased_person(connection, id)
