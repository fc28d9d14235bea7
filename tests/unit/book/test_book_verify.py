"""One altered byte anywhere in a book is found and named; a whole book is called whole."""

import contextlib
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import text

from book_days import NOW, POLICY, ZONE, draft, filled_in_bulk, made, put, reopened
from gaswright.book.folding import custody_folding
from gaswright.book.handle import Book
from gaswright.book.people import note_of
from gaswright.book.verify import verify
from gaswright.custody.fact import Kind

FACT_COLUMNS = ("previous", "hash", "stream", "kind", "recorded", "key", "text")
ROW_COLUMNS = ("heads", "in_force", "standing", "fold_version", "seal", "count")
FOLDING = custody_folding(POLICY, ZONE)


@pytest.fixture
def whole(tmp_path: Path) -> Path:
    """The folder of a closed book with a few days, rows, a person and a note."""
    with made(tmp_path, origin="K7Q2M9XA", folding=FOLDING) as book:
        filled_in_bulk(book, 24, cylinders=2)
        note = note_of("mouthpiece torn")
        book.append([draft(Kind.CORRECTED, voids="K7Q2M9XA-2", reason=note.hash)], key="k", request="r", now=NOW,
                    notes=[note])
        book.people.add("d1", "Ann Example")
        book.standing_rows()
        assert verify(book).problems == ()
    return tmp_path


@contextlib.contextmanager
def by_force(folder: Path) -> Iterator[sqlite3.Connection]:
    """A connection of somebody who takes the triggers away, changes facts, and puts the triggers back."""
    with contextlib.closing(sqlite3.connect(folder / "boat.db")) as connection:
        triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for _, statement in triggers:
            connection.execute(statement)
        connection.commit()


def problems(folder: Path) -> tuple[str, ...]:
    """What verify finds in the book of a folder."""
    with reopened(folder, folding=FOLDING) as book:
        return verify(book).problems


def one_byte(value: str | int, place: int) -> str | int:
    """The value with one byte altered."""
    if isinstance(value, int):
        return value + 1
    place %= len(value)
    return value[:place] + ("7" if value[place] != "7" else "8") + value[place + 1:]


@pytest.mark.parametrize("column", FACT_COLUMNS)
@pytest.mark.parametrize("number", [1, 13, 25])
def test_altered_column_of_a_fact_is_named(whole: Path, column: str, number: int) -> None:
    """Whichever column of whichever fact is altered by a byte, verify names the fact."""
    with by_force(whole) as connection:
        (value,) = connection.execute(f"SELECT {column} FROM facts WHERE number = ?", (number,)).fetchone()  # noqa: S608  names of our own
        for place in range(0, len(value), max(1, len(value) // 5)):
            connection.execute(f"UPDATE facts SET {column} = ? WHERE number = ?", (one_byte(value, place), number))  # noqa: S608  the same
            connection.commit()
            with reopened(whole) as book:  # without the folding: the chain alone finds it
                named = verify(book).problems
            assert any(f"K7Q2M9XA-{number}" in problem for problem in named), (column, place, named)


@pytest.mark.parametrize("column", ROW_COLUMNS)
def test_altered_column_of_a_row_is_named(whole: Path, column: str) -> None:
    """Whichever column of the cache is altered by a byte, verify names the stream, with and without the folding."""
    with by_force(whole) as connection:
        (value,) = connection.execute(f"SELECT {column} FROM streams WHERE stream = 'gas/c1'").fetchone()  # noqa: S608  names of our own
        connection.execute(f"UPDATE streams SET {column} = ? WHERE stream = 'gas/c1'", (one_byte(value, 3),))  # noqa: S608  the same
    with reopened(whole) as book:
        assert any("row of stream gas/c1" in problem for problem in verify(book).problems)


def test_altered_row_is_never_used(whole: Path) -> None:
    """A row with an altered byte is folded afresh when it is read."""
    with reopened(whole, folding=FOLDING) as book:
        right = book.standing_row("gas/c1")
    with by_force(whole) as connection:
        altered = connection.execute(
            "UPDATE streams SET standing = replace(standing, '\"staged\":false', '\"staged\":true ') "
            "WHERE stream = 'gas/c1' AND standing LIKE '%\"staged\":false%'")
        assert altered.rowcount == 1
    with reopened(whole, folding=FOLDING) as book:
        assert book.standing_row("gas/c1") == right
        assert verify(book).problems == ()


def test_row_that_is_sealed_and_wrong_is_named(whole: Path) -> None:
    """A row that a forger sealed anew is compared with a fresh fold and named."""
    with reopened(whole, folding=FOLDING) as book:
        row = book.standing_row("gas/c1")
        assert row is not None
        assert row.standing is not None
        from gaswright.book.cache import kept  # noqa: PLC0415  only the forger needs it

        for forged in (replace(row, heads=("K7Q2M9XA-1",)), replace(row, in_force=("K7Q2M9XA-2",)),
                       replace(row, count=7), replace(row, standing={**row.standing, "staged": True})):
            with book.write() as connection:
                kept(connection, [forged])
            assert any("gas/c1" in problem and "fold" in problem for problem in verify(book).problems)


@pytest.mark.parametrize("place", range(0, 400, 37))
def test_forged_chain_is_named_where_it_breaks(whole: Path, place: int) -> None:
    """An altered text with a recomputed hash breaks the chain at the next fact."""
    from gaswright.book.canonical import hash_of  # noqa: PLC0415  only the forger needs it

    with by_force(whole) as connection:
        previous, stored = connection.execute("SELECT previous, text FROM facts WHERE number = 9").fetchone()
        forged = str(one_byte(stored, place))
        connection.execute("UPDATE facts SET text = ?, hash = ? WHERE number = 9", (forged, hash_of(previous, forged)))
    assert any("K7Q2M9XA-10" in problem for problem in problems(whole))


@pytest.mark.parametrize("number", [1, 12, 24])
def test_missing_fact_is_named(whole: Path, number: int) -> None:
    """A fact taken out of the book is missed."""
    with by_force(whole) as connection:
        connection.execute("DELETE FROM facts WHERE number = ?", (number,))
    assert any("missing" in problem or f"K7Q2M9XA-{number + 1}" in problem for problem in problems(whole))


def test_missing_trigger_is_named(whole: Path) -> None:
    """A trigger that was taken away is missed, each by its name."""
    with contextlib.closing(sqlite3.connect(whole / "boat.db")) as connection:
        for name in ("facts_no_update", "facts_no_delete", "facts_predecessor"):
            connection.execute(f"DROP TRIGGER {name}")
            connection.commit()
            assert any(name in problem for problem in problems(whole))


@pytest.mark.parametrize(("statement", "sign"), [
    ("UPDATE people SET name = 'Ann Examplf'", "person d1"),
    ("UPDATE people SET hash = 'x' || substr(hash, 2)", "person d1"),
    ("UPDATE notes SET text = 'mouthpiece worn'", "note "), ("UPDATE notes SET salt = 'x'", "note "),
    ("UPDATE origins SET first_hash = 'x'", "origin K7Q2M9XA"), ("UPDATE book SET origin = 'K7Q2M9XB'", "K7Q2M9XB"),
    ("INSERT INTO streams VALUES ('gas/ghost', '[]', '[]', NULL, '', 0, '')", "gas/ghost"),
])
def test_altered_name_or_note_is_named(whole: Path, statement: str, sign: str) -> None:
    """Names, notes, the origins and rows without facts are proved as well."""
    with contextlib.closing(sqlite3.connect(whole / "boat.db")) as connection:
        connection.execute(statement)
        connection.commit()
    with contextlib.closing(_as_it_is(whole)) as book:
        assert any(sign in problem for problem in verify(book).problems)


def _as_it_is(folder: Path) -> Book:
    """The book for reading: opening it for writing would mend or renumber it."""
    from gaswright.book.store import open_book  # noqa: PLC0415  only here

    return open_book(f"sqlite:///{folder / 'boat.db'}", read_only=True, now=NOW, origins=folder / "origins")


def test_broken_file_is_called_broken(whole: Path) -> None:
    """A page of the file overwritten with zeros is found, in a sentence and not in a crash."""
    path = whole / "boat.db"
    raw = bytearray(path.read_bytes())
    raw[4096 * 5:4096 * 9] = bytes(4096 * 4)
    path.write_bytes(raw)
    with contextlib.closing(_as_it_is(whole)) as book:
        assert verify(book).problems != ()


def test_references_to_other_books_are_told_apart_from_damage(book: Book) -> None:
    """A fact that names one of a book not merged yet is whole, the absent one named; an impossible name is damage."""
    put(book, draft(), draft(after=("ZZZZZZZZ-4",)))
    found = verify(book)
    assert (found.problems, found.absent, found.facts) == ((), ("ZZZZZZZZ-4",), 2)
    put(book, draft(after=("K7Q2M9XA-9",)), draft(Kind.ANALYSED, rests_on=("nothing",)))
    assert [problem.split(":")[0] for problem in verify(book).problems] == ["K7Q2M9XA-3", "K7Q2M9XA-4"]


def test_verify_in_both_stores(book: Book) -> None:
    """A book of either store is whole after ordinary use, and one byte by force is found in either."""
    filled_in_bulk(book, 30, cylinders=2)
    book.standing_rows()
    assert verify(book).problems == ()
    with book.engine.begin() as connection:
        if connection.dialect.name == "sqlite":
            connection.execute(text("DROP TRIGGER facts_no_update"))
        else:
            connection.execute(text("ALTER TABLE facts DISABLE TRIGGER facts_no_update"))
            connection.execute(text("GRANT UPDATE ON facts TO CURRENT_USER"))
        connection.execute(text("UPDATE facts SET text = replace(text, '1820', '1830') WHERE number = 2"))
    found = verify(book).problems
    assert any("facts_no_update" in problem for problem in found)
    assert any("K7Q2M9XA-2:" in problem for problem in found)
