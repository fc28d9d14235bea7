"""Snapshots that were proved before they count, and the way back from one."""

from datetime import datetime
from pathlib import Path

from platformdirs import user_data_path
from sqlalchemy import Connection, Engine, insert, select

from gaswright.book.canonical import time_text
from gaswright.book.engine import engine_of, file_of, reading, vacuumed_into, writing
from gaswright.book.errors import BookDamaged, BookUnavailable, ReadOnlyBook
from gaswright.book.handle import Book
from gaswright.book.machine import claim, drawn_origin, origins_folder
from gaswright.book.rows import begun_origin
from gaswright.book.schema import book, erased, facts, notes, origins, people
from gaswright.book.store import claimed_place, engine, left_the_book, make_tables, new_file, place_of
from gaswright.book.upgrade import is_newer, is_older, migrate, revision_of
from gaswright.book.verify import verify
from gaswright.errors import InputError

__all__ = ["backup", "default_folder", "restore"]

COPIED = (origins, facts, people, notes)  # in the order in which they may be written
BATCH = 1000


def default_folder(url: str) -> Path:
    """Where backups of a book go if nobody says otherwise: beside the file, or into the user's data folder.

    Args:
        url: of the book.
    """
    path = file_of(url)
    return user_data_path("gaswright") / "backups" if path is None else path.parent / f"{path.stem}-backups"


def backup(opened: Book, folder: Path, *, now: datetime, keep: int = 10, second: Path | None = None) -> Path:
    """The new snapshot: an SQLite file, verified and on the disk before it gets its name.

    Args:
        opened: the book, in either store.
        folder: for the snapshots; made if it is not there.
        now: of the machine; aware; in the file's name.
        keep: how many snapshots of this book the folder keeps, the new one counted.
        second: folder on another disk that gets the same file.

    Raises:
        BookDamaged: the snapshot did not verify; the older ones stay.
        BookUnavailable: a folder cannot be written; the older ones stay.
        InputError: `keep` is less than one.
    """
    if keep < 1:
        raise InputError(f"keep is {keep}: at least one backup must be kept")
    moment = time_text(now).replace(":", "").replace("-", "").replace(".", "")
    name = f"book-{opened.origin}-{moment}.db"
    saved = _snapshot(opened, folder, name)
    if second is not None:
        _copy(saved, second, name)
    left_the_book(opened)
    for kept in (folder, second):
        if kept is not None:
            _pruned(kept, opened.origin, keep)
    return saved


def _snapshot(opened: Book, folder: Path, name: str) -> Path:
    path = folder / name
    with new_file(path) as unfinished:
        _written_out(opened.engine, unfinished)
        _proved(unfinished)
    return path


def _written_out(source: Engine, target: Path) -> None:
    """The rows of a book in an empty SQLite file: vacuumed into it, or copied from the other store."""
    if source.dialect.name == "sqlite":
        vacuumed_into(source, target)
        return
    with reading(source) as old, engine(f"sqlite:///{target}") as made, writing(made) as new:
        _copied(old, new)


def _copied(old: Connection, new: Connection) -> None:
    """Nothing; the new store, empty so far, holds the same rows afterwards."""
    revision = revision_of(old)
    if revision is None or is_newer(revision):
        raise ReadOnlyBook("the backup was written by a newer program; update gaswright to restore it")
    make_tables(new, to=revision)
    for table in (book, *COPIED, *(() if is_older(revision) else (erased,))):
        keys = (table.c.origin, table.c.number) if table is facts else tuple(table.primary_key)
        with old.execution_options(yield_per=BATCH).execute(select(table).order_by(*keys)) as found:
            for batch in found.mappings().partitions(BATCH):
                new.execute(insert(table), [dict(row) for row in batch])


def _proved(path: Path) -> None:
    """Nothing, if the file is a whole book.

    Raises:
        BookDamaged: it is not.
    """
    address = f"sqlite:///{path}"
    with Book(address, engine_of(address, read_only=True), path.parent, "it is being proved") as copy:
        proof = verify(copy)
    if proof.problems:
        raise BookDamaged(f"the copy of the book does not verify and was thrown away: {proof.problems[0]}"
                          f"{f' and {len(proof.problems) - 1} more' if proof.problems[1:] else ''}")


def _copy(saved: Path, folder: Path, name: str) -> None:
    with new_file(folder / name) as unfinished:
        try:
            unfinished.write_bytes(saved.read_bytes())
        except OSError as error:
            raise BookUnavailable(f"the second backup in {folder} cannot be written: {error.strerror}; "
                                  f"the first stands in {saved}") from error
        _proved(unfinished)


def _pruned(folder: Path, origin: str, keep: int) -> None:
    for old in sorted(folder.glob(f"book-{origin}-*.db"))[:-keep]:
        old.unlink(missing_ok=True)


def restore(path: Path, url: str, *, now: datetime, origins: Path | None = None) -> str:
    """The new origin of a book made from a snapshot; the snapshot is verified first, and never changed.

    Args:
        path: of the snapshot.
        url: where the book shall be; no book may be there.
        now: of the machine; aware.
        origins: folder of this machine's list of origins, None: the user's.

    Raises:
        BookUnavailable: there is no such snapshot, or the store cannot be written.
        BookDamaged: the snapshot does not verify.
        InputError: there is a book already.
    """
    if not path.is_file():
        raise BookUnavailable(f"there is no backup {path}")
    _proved(path)
    fresh, made, list_of_origins = drawn_origin(), time_text(now), origins or origins_folder()
    target = file_of(url)
    with engine(f"sqlite:///{path}", read_only=True) as source:
        if target is not None:
            with new_file(target) as unfinished:
                _written_out(source, unfinished)
                with engine(f"sqlite:///{unfinished}") as written, writing(written) as connection:
                    _begun(connection, fresh, made)
        else:
            with engine(url) as written, reading(source) as old, writing(written) as connection:
                _copied(old, connection)
                _begun(connection, fresh, made)
    claim(fresh, claimed_place(url), 0, list_of_origins)
    return fresh


def _begun(connection: Connection, fresh: str, made: str) -> None:
    if is_older(revision_of(connection) or ""):
        migrate(connection)
    begun_origin(connection, fresh, place_of(connection), made)
