"""A bundle: facts of a book in a file of lines, for the book of another boat or station.

The first line says which facts of which origins follow, their hashes, who sends them and when; then one line is one
fact text, by origin and number. Names, notes and marks of erasure go along in the first line.
"""

import hashlib
import json
import os
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, cast

from sqlalchemy import Connection, select

from gaswright.book.canonical import ORIGIN, first_hash, moment_of, text_of, time_text
from gaswright.book.errors import BookUnavailable, BundleDamaged
from gaswright.book.handle import Book
from gaswright.book.people import Note, Person, erased_marks, people_of, stored_notes
from gaswright.book.rows import heads_of, own_origin, texts_between
from gaswright.book.schema import facts
from gaswright.book.store import durable, left_the_book
from gaswright.custody.fact import Value
from gaswright.errors import InputError

__all__ = [
    "FORMAT", "MARK", "BundleHead", "Range", "export_bundle", "head_line", "head_read",
    "seal_of",
]

FORMAT = "gaswright.bundle/1"
MARK = 8  # hexadecimal digits of each fact's hash in the first line, so that an altered fact is named
LONGEST_HEAD = 256_000_000  # bytes
PAGE = 2000


@dataclass(frozen=True, slots=True)
class Range:
    """Which facts of one origin a bundle holds.

    Args:
        origin: eight letters.
        first: number of the first.
        last: number of the last.
        previous: hash of the fact before the first.
        hash: of the last.
        marks: the first digits of every fact's hash, one after another.
    """

    origin: str
    first: int
    last: int
    previous: str
    hash: str
    marks: str

    def mark(self, number: int) -> str:
        """The first digits of the hash of one fact.

        Args:
            number: of the fact.
        """
        start = (number - self.first) * MARK
        return self.marks[start:start + MARK]


@dataclass(frozen=True, slots=True)
class BundleHead:
    """The first line.

    Args:
        sender: origin of the book that it was exported from.
        time: of its machine; aware.
        by: person id.
        ranges: by origin.
        people: entries.
        notes: free texts.
        erased: marks of what was erased.
    """

    sender: str
    time: datetime
    by: str
    ranges: tuple[Range, ...]
    people: tuple[Person, ...]
    notes: tuple[Note, ...]
    erased: tuple[str, ...]


def export_bundle(
    book: Book, path: Path, *, by: str, now: datetime, known: Mapping[str, int] | None = None
) -> BundleHead:
    """The first line of the bundle that was written; the file stands whole, or not at all.

    Args:
        book: open.
        path: of the file; one that is there is replaced.
        by: person id of who exports.
        now: of the machine; aware.
        known: origin to the number up to which the other book has it already; None: everything goes.

    Raises:
        BookUnavailable: the file cannot be written.
    """
    head = book.reads(lambda connection: _head(connection, by, now, known or {}))
    with _replacing(path) as file:
        file.write(head_line(head))
        for each in head.ranges:
            for low in range(each.first, each.last + 1, PAGE):
                file.writelines(_lines(book, each.origin, low, min(low + PAGE - 1, each.last)))
    left_the_book(book)
    return head


def _lines(book: Book, origin: str, low: int, high: int) -> Iterator[bytes]:
    texts = book.reads(lambda connection: texts_between(connection, origin, low, high))
    return (text.encode() + b"\n" for text in texts)


def _head(connection: Connection, by: str, now: datetime, known: Mapping[str, int]) -> BundleHead:
    links = heads_of(connection)
    ranges = [_range(connection, origin, known.get(origin, 0) + 1, link) for origin, link in links.items()]
    return BundleHead(
        own_origin(connection), moment_of(time_text(now)), by, tuple(one for one in ranges if one is not None),
        people_of(connection), stored_notes(connection), erased_marks(connection),
    )


def _range(connection: Connection, origin: str, first: int, link: tuple[int, str]) -> Range | None:
    last, hash_ = link
    if first > last:
        return None
    wanted = (select(facts.c.hash, facts.c.previous).where(facts.c.origin == origin, facts.c.number >= first,
                                                           facts.c.number <= last).order_by(facts.c.number))
    found = connection.execute(wanted).all()
    return Range(origin, first, last, str(found[0][1]), hash_, "".join(str(row[0])[:MARK] for row in found))


def head_line(head: BundleHead) -> bytes:
    """The first line of a bundle, sealed.

    Args:
        head: what it says.
    """
    fields: dict[str, Value] = {
        "bundle": FORMAT, "sender": head.sender, "time": time_text(head.time), "by": head.by,
        "origins": {one.origin: {"first": one.first, "last": one.last, "previous": one.previous, "hash": one.hash,
                                 "marks": one.marks} for one in head.ranges},
        "people": [[person.id, person.name, person.salt] for person in head.people],
        "notes": [[note.text, note.salt] for note in head.notes], "erased": list(head.erased),
    }
    return text_of(fields | {"seal": seal_of(fields)}).encode() + b"\n"


def seal_of(fields: Mapping[str, Value]) -> str:
    """The SHA-256 over the first line without its seal, hex.

    Args:
        fields: of the line.
    """
    return hashlib.sha256(text_of({key: value for key, value in fields.items() if key != "seal"}).encode()).hexdigest()


@contextmanager
def _replacing(path: Path) -> Iterator[IO[bytes]]:
    """A file that takes the place of the path once it is whole and on the disk."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    except OSError as error:
        raise BookUnavailable(f"no bundle can be written to {path}: {error.strerror}") from error
    unfinished = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
        durable(path.parent)
    except OSError as error:
        raise BookUnavailable(f"the bundle {path} cannot be written: {error.strerror}") from error
    finally:
        unfinished.unlink(missing_ok=True)


def head_read(file: IO[bytes], path: Path) -> BundleHead:
    """The first line of a bundle.

    Args:
        file: at its beginning.
        path: its name, for the sentences.

    Raises:
        BundleDamaged: it is not the first line of a bundle, or a byte of it was altered.
        InputError: the bundle was written by a newer program.
    """
    line = file.readline(LONGEST_HEAD)
    try:
        fields = json.loads(line.decode())
        whole = fields["seal"] == seal_of(fields) and text_of(fields).encode() + b"\n" == line
        format_ = fields["bundle"]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, InputError) as error:
        raise BundleDamaged(path, "line 1", "it is not the first line of a bundle") from error
    if not whole:
        raise BundleDamaged(path, "line 1", "a byte of it was altered")
    if format_ != FORMAT:  # every format seals its first line in this way
        raise InputError(f"{path}: the bundle is a {format_}, this program reads {FORMAT}; update gaswright")
    try:
        return _head_of(fields)
    except (InputError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise BundleDamaged(path, "line 1", f"it cannot be read ({error})") from error


def _head_of(fields: Mapping[str, Value]) -> BundleHead:
    told = cast("Mapping[str, Mapping[str, Value]]", fields["origins"])
    ranges = tuple(_range_of(origin, told[origin]) for origin in sorted(told))
    people = tuple(Person(*_texts(row, 3)) for row in cast("list[Value]", fields["people"]))
    notes = tuple(Note(*_texts(row, 2)) for row in cast("list[Value]", fields["notes"]))
    erased = _texts(fields["erased"], None)
    sender, time, by = _texts([fields["sender"], fields["time"], fields["by"]], 3)
    return BundleHead(sender, moment_of(time), by, ranges, people, notes, tuple(erased))


def _range_of(origin: str, told: Mapping[str, Value]) -> Range:
    first, last = told["first"], told["last"]
    previous, hash_, marks = _texts([told["previous"], told["hash"], told["marks"]], 3)
    if not isinstance(first, int) or not isinstance(last, int) or not ORIGIN.fullmatch(origin):
        raise ValueError(origin)
    if not 1 <= first <= last or len(marks) != (last - first + 1) * MARK:
        raise ValueError(f"numbers of {origin}")
    if first == 1 and previous != first_hash(origin):
        raise ValueError(f"first hash of {origin}")
    return Range(origin, first, last, previous, hash_, marks)


def _texts(value: Value, count: int | None) -> Sequence[str]:
    if not isinstance(value, list) or (count is not None and len(value) != count):
        raise ValueError("a list")
    if not all(isinstance(item, str) and "\0" not in item for item in value):
        raise ValueError("texts")
    return cast("list[str]", value)
