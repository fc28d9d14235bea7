"""Merge: what is missing is put in, a gapless continuation of each origin, all or nothing."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import IO

from sqlalchemy import Connection, insert

from gaswright.book.appending import touched
from gaswright.book.bundle import BundleHead, Range, export_bundle, head_read
from gaswright.book.cache import dropped
from gaswright.book.canonical import fact_in, first_hash, parsed, text_of, time_text
from gaswright.book.draft import is_line
from gaswright.book.errors import BookUnavailable, BundleDamaged, BundleGap, Fork
from gaswright.book.handle import Book
from gaswright.book.machine import claim, drawn_origin
from gaswright.book.people import kept_notes, kept_people, marked
from gaswright.book.rows import begun_origin, fact_row, hashes_between, head_of, inserted, known_origins, own_origin
from gaswright.book.schema import origins
from gaswright.book.store import claimed_place, place_of
from gaswright.custody.fact import Fact
from gaswright.errors import InputError

__all__ = ["Merged", "export_bundle", "merge_bundle"]

BATCH = 1000
LONGEST_LINE = 1_000_000  # bytes of one fact
REFRESHED_TOGETHER = 50  # streams whose rows are folded in one transaction after the merge


@dataclass(frozen=True, slots=True)
class Merged:
    """What a merge did.

    Args:
        new: how many facts were put in.
        known: how many of the bundle's were here already.
        streams: that got facts, sorted.
        clock_offset: by how much the sender's clock was ahead of this machine's when the bundle was made and read:
            what the journey took and what the clocks differ.
        origin: the new one under which this book writes, where the bundle showed it to be an old copy; else None.
    """

    new: int
    known: int
    streams: tuple[str, ...]
    clock_offset: timedelta
    origin: str | None = None


@dataclass(slots=True)
class _Tally:
    """What was put in so far."""

    new: int = 0
    known: int = 0
    streams: set[str] = field(default_factory=set)


def merge_bundle(book: Book, path: Path, *, now: datetime) -> Merged:
    """What was merged; with any error nothing was.

    Args:
        book: open for writing.
        path: of the bundle.
        now: of the machine; aware.

    Raises:
        Fork: a fact of the bundle has another hash here.
        BundleGap: the bundle does not continue what is here.
        BundleDamaged: a byte of the bundle was altered, or it ends early; the sentence names where.
        ReadOnlyBook: the book is open for reading alone.
        BookUnavailable: the bundle cannot be read, or the store cannot be written.
    """
    book.must_be_writable()
    time_text(now)
    tally = _Tally()
    try:
        with path.open("rb") as file, book.write() as connection:
            head = head_read(file, path)
            fresh = _merge(connection, book, head, _Lines(file, path), tally, now)
    except OSError as error:
        raise BookUnavailable(f"the bundle {path} cannot be read: {error.strerror}") from error
    streams = tuple(sorted(tally.streams))
    _fold(book, streams)
    return Merged(tally.new, tally.known, streams, head.time - now, fresh)


def _merge(
    connection: Connection, book: Book, head: BundleHead, lines: "_Lines", tally: _Tally, now: datetime
) -> str | None:
    own = own_origin(connection)
    had, _ = head_of(connection, own)
    known = set(known_origins(connection))
    for each in head.ranges:
        if each.origin not in known:
            connection.execute(insert(origins).values(origin=each.origin, first_hash=first_hash(each.origin), own=0))
        _of_origin(connection, each, lines, tally)
    lines.must_end()
    dropped(connection, touched(sorted(tally.streams), book.folding))
    marked(connection, head.erased)
    kept_people(connection, head.people)
    kept_notes(connection, head.notes)
    if head_of(connection, own)[0] == had:
        return None
    fresh = drawn_origin()  # facts of our own that we did not have: this book is an old copy
    claim(fresh, claimed_place(book.url), 0, book.origins)
    begun_origin(connection, fresh, place_of(connection), time_text(now))
    return fresh


def _of_origin(connection: Connection, each: Range, lines: "_Lines", tally: _Tally) -> None:
    have, _ = head_of(connection, each.origin)
    if each.first > have + 1:
        raise BundleGap(each.origin, have + 1, each.first - 1)
    here = hashes_between(connection, each.origin, each.first - 1, each.last)
    if each.first > 1 and here[each.first - 1] != each.previous:
        raise Fork(f"{each.origin}-{each.first - 1}", here[each.first - 1], each.previous)
    batch: list[Mapping[str, str | int]] = []
    for fact, row in lines.of(each):
        number = int(row["number"])
        if number in here:
            if here[number] != row["hash"]:
                raise Fork(fact.id, here[number], str(row["hash"]))
            tally.known += 1
            continue
        batch.append(row)
        tally.new += 1
        tally.streams.add(fact.stream)
        if len(batch) == BATCH:
            inserted(connection, batch)
            batch.clear()
    inserted(connection, batch)


@dataclass(slots=True)
class _Lines:
    """The lines of facts, each proved against the first line as it is read."""

    file: IO[bytes]
    path: Path
    number: int = 1

    def of(self, each: Range) -> Iterator[tuple[Fact, dict[str, str | int]]]:
        previous = each.previous
        for number in range(each.first, each.last + 1):
            fact, row = self._fact(each, number, previous)
            previous = str(row["hash"])
            yield fact, row
        if previous != each.hash:
            raise BundleDamaged(self.path, "line 1", f"its hash of {each.origin}-{each.last} is not that fact's")

    def _fact(self, each: Range, number: int, previous: str) -> tuple[Fact, dict[str, str | int]]:
        self.number += 1
        line = self.file.readline(LONGEST_LINE)
        id_, where = f"{each.origin}-{number}", f"line {self.number}"
        if not line.endswith(b"\n"):
            raise BundleDamaged(self.path, where, f"it ends before {id_} does")
        try:
            text = line[:-1].decode()
            body = parsed(text)
            fact = fact_in(body)
            row = fact_row(fact, text, previous) if fact.id == id_ else None
            canonical = text_of(body) == text and all(
                map(is_line, (fact.kind, fact.stream, fact.by, fact.key, fact.act, fact.zone)))
        except (ValueError, InputError):
            row, canonical = None, False
        if row is None or not canonical or str(row["hash"])[:8] != each.mark(number):
            raise BundleDamaged(self.path, where, f"a byte of the fact {id_} was altered")
        return fact, row

    def must_end(self) -> None:
        if self.file.read(1):
            raise BundleDamaged(self.path, f"line {self.number + 1}", "there is more than the first line says")


def _fold(book: Book, streams: tuple[str, ...]) -> None:
    """The rows of the streams that got facts are folded now, so that the next look at the day is quick."""
    names = touched(streams, book.folding)
    for start in range(0, len(names), REFRESHED_TOGETHER):
        book.refreshed(names[start:start + REFRESHED_TOGETHER])
