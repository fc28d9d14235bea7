"""Records out of a book: computed from its facts, and written as PDF, CSV and JSON."""

import os
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from gaswright.book.canonical import id_parts
from gaswright.book.handle import Book
from gaswright.book.people import stored_notes
from gaswright.book.rows import read_fact, texts_between
from gaswright.book.store import durable
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.errors import InputError
from gaswright.exchange.record_files import csv_text, record_json_text
from gaswright.exchange.record_words import cell_text
from gaswright.exchange.records import Making, Period, RecordKind, RecordTable, Row, heads_of, is_read_for, record_of
from gaswright.paper.records import RecordColumn, RecordLine, RecordSheet, moment_text, record_pdf
from gaswright.services.book_acts import checked_person
from gaswright.services.book_opening import OpenBook
from gaswright.services.book_people import person_ids

__all__ = [
    "FORMATS", "RecordFiles", "fact_by_id", "making_of", "notes_of", "record_files", "records_of", "write_atomically",
    "write_records",
]

FORMATS = ("pdf", "csv", "json")


@dataclass(frozen=True, slots=True)
class RecordFiles:
    """The files of one record, not yet written.

    Args:
        table: the record.
        files: name to bytes.
    """

    table: RecordTable
    files: Mapping[str, bytes]


def records_of(opened: OpenBook, kind: RecordKind, period: Period | None = None, *, by: str = "") -> RecordTable:
    """One record of a book.

    Args:
        opened: the book.
        kind: of the record.
        period: which days, None: all.
        by: person id of who asks for it, "" where nobody is named.

    Raises:
        InputError: nobody has this id.
        Refused: a stored fact cannot be read.
    """
    return record_of(kind, _facts_for(opened.book, kind), person_ids(opened), making_of(opened, by),
                     notes=notes_of(opened.book), period=period)


def making_of(opened: OpenBook, by: str) -> Making:
    """When, by whom and from what a record is made: the clock is the book's, in its zone.

    Args:
        opened: the book.
        by: person id, "" where nobody is named.

    Raises:
        InputError: nobody has this id.
    """
    heads = heads_of(opened.book.head_hashes())
    name = person_ids(opened).get(checked_person(opened.book, by)) if by else None
    return Making(opened.policy, heads, opened.now.astimezone(ZoneInfo(opened.zone)), f"{name} ({by})" if name else by)


def notes_of(book: Book) -> Mapping[str, str]:
    """Hash to free text of every note that was not erased.

    Args:
        book: open.
    """
    return {note.hash: note.text for note in book.reads(stored_notes)}


def _facts_for(book: Book, kind: RecordKind) -> tuple[Fact, ...]:
    """What the record needs, with the facts that corrections void, whatever they are."""
    kept = {fact.id: fact for fact in book.facts() if is_read_for(kind, fact)}
    voided = {str(fact.data.get("voids")) for fact in kept.values() if fact.kind == Kind.CORRECTED} - set(kept)
    found = (fact_by_id(book, name) for name in sorted(voided))
    return (*kept.values(), *(fact for fact in found if fact is not None))


def fact_by_id(book: Book, fact: FactId) -> Fact | None:
    """A fact of the book, None if there is none.

    Args:
        book: open.
        fact: id.
    """
    if (parts := id_parts(fact)) is None:
        return None
    origin, number = parts
    texts = book.reads(lambda connection: texts_between(connection, origin, number, number))
    return read_fact(fact, texts[0]) if texts else None


def record_files(table: RecordTable, formats: Sequence[str] = FORMATS, *, stock: str = "a4") -> RecordFiles:
    """The files of a record.

    Args:
        table: the record.
        formats: of "pdf", "csv", "json".
        stock: of the PDF: "a4" or "letter".

    Raises:
        InputError: an unknown format or paper, or none at all.
        Refused: too many lines for paper.
    """
    unknown = [name for name in formats if name not in FORMATS]
    if unknown or not formats:
        raise InputError(f"--format {', '.join(unknown) or 'is empty'}: choose from {', '.join(FORMATS)}")
    makers: Mapping[str, Callable[[], bytes]] = {
        "pdf": lambda: _pdf(table, stock), "csv": lambda: csv_text(table).encode(),
        "json": lambda: record_json_text(table).encode(),
    }
    return RecordFiles(table, {f"{table.kind.value}.{name}": makers[name]() for name in FORMATS if name in formats})


def _pdf(table: RecordTable, stock: str) -> bytes:
    columns = tuple(RecordColumn(one.title, one.unit, one.share) for one in table.columns if one.share)
    lines = tuple(RecordLine(row.fact, _cells(table, row), struck=bool(row.voided_by)) for row in table.rows)
    heads = tuple((f"{head.origin}-{head.number}", head.hash) for head in table.heads)
    sheet = RecordSheet(
        title=table.title, period=table.period.text, columns=columns, lines=lines, heads=heads, notes=table.notes,
        retention=f"{table.retention.keep}. Rule: {table.retention.source}.", policy=table.policy,
        made_at=table.made_at, made_by=table.made_by,
    )
    return record_pdf(sheet, stock)


def _cells(table: RecordTable, row: Row) -> tuple[str, ...]:
    """The texts of the columns that stand on paper."""
    return tuple(moment_text(cell) if isinstance(cell, datetime) else cell_text(column, cell)
                 for column, cell in zip(table.columns, row.cells, strict=True) if column.share)


def write_records(files: RecordFiles, folder: Path) -> tuple[Path, ...]:
    """The files written into a folder; each is whole before its name appears.

    Args:
        files: of a record.
        folder: made if it is not there.

    Raises:
        InputError: the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: cannot write there ({error.strerror}); choose another folder") from error
    for name, content in files.files.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in files.files)


def write_atomically(path: Path, content: bytes) -> None:
    """Nothing; the file stands whole and on the disk afterwards, or is as it was.

    Args:
        path: one that is there is replaced.
        content: of the file.

    Raises:
        InputError: it cannot be written.
    """
    unfinished: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
        unfinished = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
        durable(path.parent)
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror}); choose another place") from error
    finally:
        if unfinished is not None:
            unfinished.unlink(missing_ok=True)
