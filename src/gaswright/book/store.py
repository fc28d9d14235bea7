"""A book is made, opened, adopted: the doors of the room."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, delete, select, text

from gaswright.book.cache import Folding
from gaswright.book.canonical import ORIGIN, time_text
from gaswright.book.engine import BUSY_S, engine_of, file_of, in_words, reading, writing
from gaswright.book.errors import BookUnavailable, ReadOnlyBook
from gaswright.book.handle import Book
from gaswright.book.machine import claim, drawn_origin, may_write, origins_folder
from gaswright.book.rows import begun_origin, head_of, own_origin
from gaswright.book.schema import REVISIONS, book, streams
from gaswright.book.upgrade import is_newer, is_older, migrate, revision_of
from gaswright.errors import GaswrightError, InputError

__all__ = [
    "Book", "adopt", "claimed_place", "create_book", "durable", "engine", "left_the_book", "make_tables", "new_file",
    "new_origin", "open_book", "place_of",
]


def create_book(url: str, *, origin: str | None = None, now: datetime, origins: Path | None = None) -> str:
    """The origin of a new, empty book.

    Args:
        url: of a store that holds no book yet.
        origin: eight capital letters or digits, None: drawn at random.
        now: of the machine; aware.
        origins: folder of this machine's list of origins, None: the user's.

    Raises:
        InputError: the address cannot be read, or the store holds a book already.
        BookUnavailable: the store cannot be written.
    """
    letters, made = origin or drawn_origin(), time_text(now)
    if not ORIGIN.fullmatch(letters):
        raise InputError(f"the origin {letters!r} must be eight capital letters or digits")

    def fill(connection: Connection) -> None:
        make_tables(connection)
        begun_origin(connection, letters, place_of(connection), made)

    path = file_of(url)
    if path is None:
        with _filling(url) as connection:
            fill(connection)
    else:
        with new_file(path) as unfinished, _filling(f"sqlite:///{unfinished}") as connection:
            fill(connection)
    claim(letters, claimed_place(url), 0, origins or origins_folder())
    return letters


@contextmanager
def _filling(url: str) -> Iterator[Connection]:
    with engine(url) as made, writing(made) as connection:
        yield connection


def make_tables(connection: Connection, to: str = REVISIONS[-1]) -> None:
    """Nothing; an empty book stands in the store afterwards.

    Args:
        connection: in a writing transaction.
        to: schema.

    Raises:
        InputError: the store holds a book already.
    """
    if revision_of(connection) is not None:
        raise InputError("there is a book in this database already; open it, or name another one")
    migrate(connection, to)


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """An empty file beside the place of a book; it takes that place whole, once what is done with it is done.

    Args:
        path: at which no file may be.

    Raises:
        InputError: there is a file.
        BookUnavailable: the folder cannot be written.
    """
    there = InputError(f"there is a file {path} already; nothing was written over it; open it, or name another one")
    if path.exists():
        raise there
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
        os.close(handle)
    except OSError as error:
        raise BookUnavailable(f"no book can be made at {path}: {error.strerror}") from error
    unfinished = Path(name)
    try:
        yield unfinished
        durable(unfinished)
        _placed(unfinished, path)
    except FileExistsError as error:
        raise there from error
    finally:
        unfinished.unlink(missing_ok=True)


def _placed(unfinished: Path, path: Path) -> None:
    try:
        path.hardlink_to(unfinished)  # refuses to write over a file that came meanwhile
    except FileExistsError:
        raise
    except OSError:  # a file system without links, as on a stick
        if path.exists():
            raise FileExistsError(path) from None
        unfinished.rename(path)
    durable(path.parent)


def durable(path: Path) -> None:
    """Nothing; the file, or the folder's list of names, is on the disk afterwards.

    Args:
        path: of a file or a folder.

    Raises:
        BookUnavailable: the disk refuses.
    """
    try:
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        raise BookUnavailable(f"{path} cannot be brought to the disk: {error.strerror}") from error


def open_book(
    url: str, *, read_only: bool = False, now: datetime, folding: Folding | None = None, origins: Path | None = None,
    backups: Path | None = None, busy_s: float = BUSY_S,
) -> Book:
    """The book, open; `read_only_because` and `notices` say what opening it found and did.

    A book of an older program is brought to this one's schema, after a verified backup. A book of a newer program, and
    a PostgreSQL book that was restored from a dump, is opened for reading alone. An SQLite file that was copied or
    restored writes under a new origin from now on.

    Args:
        url: of the book.
        read_only: for reading alone.
        now: of the machine; aware.
        folding: of standings; rows of any other version are dropped.
        origins: folder of this machine's list of origins, None: the user's.
        backups: folder for the backup before an upgrade, None: beside the file, or in the user's data folder.
        busy_s: how long to wait for another writer [s].

    Raises:
        InputError: the address cannot be read, or there is no book.
        BookUnavailable: the store cannot be reached.
        BookDamaged: the store's file is broken.
    """
    time_text(now)
    path, folder = file_of(url), origins or origins_folder()
    if path is not None and not path.is_file():
        raise BookUnavailable(f"there is no book at {path}; make one with book init, or name the right file")
    revision = _revision(url, busy_s)
    reason = _not_writable(revision, read_only=read_only)
    opened = Book(url, engine_of(url, read_only=reason is not None, busy_s=busy_s), folder, reason, folding)
    if reason is not None:
        return opened
    try:
        if is_older(revision):
            opened = _upgraded(opened, revision, now, backups)
        return _folded_anew(_own(opened, now))
    except GaswrightError:
        opened.close()
        raise


def _revision(url: str, busy_s: float) -> str:
    with engine(url, read_only=True, busy_s=busy_s) as made_engine, reading(made_engine) as connection:
        revision = revision_of(connection)
    if revision is None:
        raise InputError("there is no book in this database; make one with book init, or name the right one")
    return revision


def _not_writable(revision: str, *, read_only: bool) -> str | None:
    if is_newer(revision):
        return (f"the book was written by a newer program (its schema is {revision}); it can be read here; "
                "update gaswright to record in it")
    return "it was opened for reading only" if read_only else None


def _upgraded(old: Book, revision: str, now: datetime, backups: Path | None) -> Book:
    from gaswright.book.backup import backup, default_folder  # noqa: PLC0415  it needs what stands above

    saved = backup(old, backups or default_folder(old.url), now=now)
    with old.write() as connection:
        if is_older(revision_of(connection) or ""):
            migrate(connection)
    notice = f"the book had the schema {revision} of an older program; it was saved to {saved}, verified, and upgraded"
    return replace(old, notices=(*old.notices, notice))


def _own(opened: Book, now: datetime) -> Book:
    """The book under an origin that no other copy of it writes."""
    with reading(opened.engine) as connection:
        origin, place = own_origin(connection), place_of(connection)
        stored = str(connection.execute(select(book.c.place)).scalar_one())
        number, _ = head_of(connection, origin)
    if file_of(opened.url) is None:
        if place == stored:
            return opened
        reason = f"the database was restored from a dump or copied, and may not write as {origin}; run book adopt"
        return replace(opened, read_only_because=reason)
    if may_write(origin, claimed_place(opened.url), number, opened.origins):
        return opened
    fresh = new_origin(opened, now)
    notice = (f"this file is a copy of, or older than, the book that writes as {origin}; "
              f"what is recorded here is numbered {fresh}-1 on")
    return replace(opened, notices=(*opened.notices, notice))


def new_origin(opened: Book, now: datetime) -> str:
    """The origin under which the book writes from now on, drawn at random.

    Args:
        opened: for writing.
        now: of the machine; aware.

    Raises:
        BookUnavailable: the store or the list of origins cannot be written.
    """
    fresh = drawn_origin()
    claim(fresh, claimed_place(opened.url), 0, opened.origins)
    with opened.write() as connection:
        begun_origin(connection, fresh, place_of(connection), time_text(now))
    return fresh


def adopt(url: str, *, now: datetime, origins: Path | None = None) -> str:
    """The new origin of a book that was restored from a dump or copied: from now on it writes under this one.

    Args:
        url: of the book.
        now: of the machine; aware.
        origins: folder of this machine's list of origins, None: the user's.

    Raises:
        ReadOnlyBook: the book is of a newer program.
        BookUnavailable: the store cannot be written.
    """
    if is_newer(revision := _revision(url, BUSY_S)):
        raise ReadOnlyBook(str(_not_writable(revision, read_only=False)))
    with Book(url, engine_of(url), origins or origins_folder()) as opened:
        return new_origin(opened, now)


def left_the_book(opened: Book) -> None:
    """Nothing; the list of origins knows that facts up to here left the book, in a bundle or a backup.

    An older copy of the file at the same place is told apart by it.

    Args:
        opened: the book.
    """
    if opened.read_only_because is None and file_of(opened.url) is not None:
        with reading(opened.engine) as connection:
            origin = own_origin(connection)
            number, _ = head_of(connection, origin)
        claim(origin, claimed_place(opened.url), number, opened.origins)


def _folded_anew(opened: Book) -> Book:
    """The book without rows of any other folding."""
    if opened.folding and opened.read_only_because is None:
        other = streams.c.fold_version != opened.folding.version
        if opened.reads(lambda connection: connection.execute(select(streams.c.stream).where(other).limit(1)).first()):
            with opened.write() as connection:
                connection.execute(delete(streams).where(other))
    return opened


def claimed_place(url: str) -> str:
    """Where a book is, as this machine's list of origins has it.

    Args:
        url: of the book.
    """
    path = file_of(url)
    return "server" if path is None else str(path.resolve())


def place_of(connection: Connection) -> str:
    """Where the tables are: changes when a dump is restored. An SQLite file does not know where it is.

    Args:
        connection: to the store.
    """
    if connection.dialect.name == "sqlite":
        return "file"
    found = connection.execute(text(
        "SELECT system_identifier || '/' || 'facts'::regclass::oid FROM pg_control_system()"
    )).scalar_one()
    return str(found)


@contextmanager
def engine(url: str, *, read_only: bool = False, busy_s: float = BUSY_S) -> Iterator[Engine]:
    """The engine of a book, its connections shut at the end.

    Args:
        url: of the book.
        read_only: the store itself refuses to write.
        busy_s: how long to wait for another writer [s].
    """
    made = engine_of(url, read_only=read_only, busy_s=busy_s)
    try:
        with in_words(made):
            yield made
    finally:
        made.dispose()
