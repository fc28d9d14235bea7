"""Snapshots that were proved before they count, and the way back from one."""

import os
import tempfile
from datetime import datetime
from pathlib import Path

from platformdirs import user_data_path
from sqlalchemy import Connection, insert, select

from gaswright.book.canonical import time_text
from gaswright.book.engine import engine_of, file_of, in_words, reading, writing
from gaswright.book.errors import BookDamaged, BookUnavailable
from gaswright.book.handle import Book
from gaswright.book.machine import claim, drawn_origin, origins_folder
from gaswright.book.rows import begun_origin, own_origin
from gaswright.book.schema import REVISIONS, book, erased, facts, notes, origins, people
from gaswright.book.store import durable, left_the_book, make_tables, new_file, place_of, claimed_place
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
        if opened.engine.dialect.name == "sqlite":
            unfinished.unlink()
            with in_words(opened.engine), opened.engine.connect() as connection:
                connection.rollback()
                raw = connection.connection.driver_connection
                assert raw is not None
                raw.execute("VACUUM INTO ?", (str(unfinished),))
        else:
            _written_out(opened, unfinished)
        _proved(unfinished)
    return path
