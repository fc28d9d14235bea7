"""The rows of streams: what is kept is what the facts fold to, and is dropped when it might not be."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from book_days import NOW, POLICY, ZONE, draft, filled_in_bulk, made, put, reopened, standing_in
from gaswright.book.appending import FOLDED_AT_ONCE
from gaswright.book.cache import Folding
from gaswright.book.folding import custody_folding, standing, standings
from gaswright.book.handle import Book
from gaswright.book.store import create_book, open_book
from gaswright.custody.fact import Kind
from gaswright.errors import InputError

FOLDING = custody_folding(POLICY, ZONE)
ANALYSIS: dict[str, Any] = {"o2_e4": 1820, "he_e4": 4460}
REGISTERED: dict[str, Any] = {
    "id": "c1", "serial": "AB 4711", "divers": ["d1"], "role": "main", "volume_ml": 24000, "working_centibar": 23200,
    "oxygen_clean": True,
}


def kept(book: Book) -> dict[str, tuple[str | None, int]]:
    """Folding version and count of the rows that stand in the store."""
    with book.engine.connect() as connection:
        return {name: (version, count) for name, version, count in
                connection.execute(text("SELECT stream, fold_version, count FROM streams"))}


def test_append_keeps_the_row_of_its_stream(book: Book) -> None:
    """After each entry the row has the heads, the analyses in force and the count, in either store."""
    put(book, draft())
    put(book, draft(Kind.ANALYSED, rests_on=("K7Q2M9XA-1",), **ANALYSIS))
    row = book.standing_row("gas/c1")
    assert row is not None
    assert (row.heads, row.in_force, row.count) == (("K7Q2M9XA-1",), ("K7Q2M9XA-2",), 2)
    assert kept(book) == {"gas/c1": ("", 2)}
    put(book, draft(Kind.CORRECTED, voids="K7Q2M9XA-2"))
    row = book.standing_row("gas/c1")
    assert row is not None
    assert row.in_force == ()
    assert book.standing_row("gas/none") is None


def test_standing_from_the_row_is_the_fold(tmp_path: Path) -> None:
    """Known, expired, from the future, labelled, unknown, on the day and the day after: as the fold says."""
    with made(tmp_path, folding=FOLDING) as book:
        steps = (
            (), (draft(at=NOW - timedelta(days=1)),), (draft(Kind.REGISTERED, "register/c1", **REGISTERED),),
            (draft(Kind.ANALYSED, rests_on=(f"{book.origin}-1",), witness="d2", gauge_centibar=22000, **ANALYSIS),),
            (draft(Kind.LABEL_APPLIED, rests_on=(f"{book.origin}-3",), serial_read="4711"),),
            (draft(Kind.ACCEPTED, rests_on=(f"{book.origin}-3",), by="d2", at=NOW + timedelta(hours=3)),),
            (draft(Kind.LABELS_REMOVED, after=(f"{book.origin}-1",)),), (draft(Kind.FILLED),),
        )
        for step in steps:
            if step:
                put(book, *step)
            for hours in (-1, 0, 1, 5, 17, 19, 50):
                now = NOW + timedelta(hours=hours)
                assert standing(book, "c1", POLICY, zone=ZONE, now=now) == standing_in(book, now=now)
                assert standings(book, POLICY, zone=ZONE, now=now).get("c1", standing_in(book, now=now)) == standing_in(
                    book, now=now)


def test_register_fact_refolds_the_gas(tmp_path: Path) -> None:
    """A fact of the register changes the standing of the cylinder: its row is folded again in the same transaction."""
    with made(tmp_path, folding=FOLDING) as book:
        put(book, draft(), draft(Kind.ANALYSED, rests_on=("#1",), **ANALYSIS),
            draft(Kind.LABEL_APPLIED, rests_on=("#2",), serial_read="4711"))
        assert standing(book, "c1", POLICY, zone=ZONE, now=NOW).label_serial_matches is False
        put(book, draft(Kind.REGISTERED, "register/c1", **REGISTERED))
        assert standing(book, "c1", POLICY, zone=ZONE, now=NOW).label_serial_matches is True


def test_rows_of_another_folding_are_dropped(tmp_path: Path) -> None:
    """A new fold version drops every row, another policy or zone is another version, and rows are folded anew."""
    with made(tmp_path, folding=FOLDING) as book:
        put(book, draft(), draft(stream="gas/c2"))
    other = custody_folding(replace(POLICY, analysis_valid_h=1.0), ZONE)
    assert len({FOLDING.version, other.version, custody_folding(POLICY, "Etc/GMT-3").version}) == 3
    with reopened(tmp_path, folding=other) as book:
        assert kept(book) == {}
        assert standings(book, replace(POLICY, analysis_valid_h=1.0), zone=ZONE, now=NOW).keys() == {"c1", "c2"}
        assert kept(book) == {"gas/c1": (other.version, 1), "gas/c2": (other.version, 1)}
        with pytest.raises(InputError):
            standings(book, POLICY, zone=ZONE, now=NOW)


def test_book_without_a_folding_leaves_others_rows(tmp_path: Path) -> None:
    """A program that folds nothing keeps the rows of streams that it does not touch, and drops those it does."""
    with made(tmp_path, folding=FOLDING) as book:
        put(book, draft(), draft(stream="gas/c2"))
    with reopened(tmp_path) as book:
        put(book, draft())
    with reopened(tmp_path, folding=FOLDING) as book:
        assert kept(book) == {"gas/c2": (FOLDING.version, 1)}


def test_row_of_a_long_stream_is_folded_when_it_is_read(tmp_path: Path) -> None:
    """An entry in a long stream drops its row; the next look folds it and keeps it."""
    with made(tmp_path, folding=FOLDING) as book:
        filled_in_bulk(book, FOLDED_AT_ONCE + 1, cylinders=1)
        put(book, draft(stream="gas/c0"))
        assert kept(book) == {}
        row = book.standing_row("gas/c0")
        assert row is not None
        assert row.count == FOLDED_AT_ONCE + 2
        assert kept(book) == {"gas/c0": (FOLDING.version, FOLDED_AT_ONCE + 2)}
        put(book, draft(stream="gas/c0"))
        assert kept(book) == {}


def test_reader_folds_and_keeps_nothing(url: str, tmp_path: Path) -> None:
    """Without a row, a book for reading folds each time it is asked."""
    create_book(url, now=NOW, origins=tmp_path / "o")
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        put(book, draft())
        book.forget_rows(["gas/c1"])
    with open_book(url, read_only=True, now=NOW, origins=tmp_path / "o", folding=FOLDING) as book:
        assert standing(book, "c1", POLICY, zone=ZONE, now=NOW) == standing_in(book)
        assert kept(book) == {}


def test_any_folding_can_be_given(tmp_path: Path) -> None:
    """The standing of a row is what the given folding makes of the streams it asks for."""
    counting = Folding("count/1", lambda stream: (stream, "gas/c2"), lambda _: (),
                       lambda stream, facts: {"stream": stream, "facts": len(facts)})
    with made(tmp_path, folding=counting) as book:
        put(book, draft(stream="gas/c2"), draft())
        row = book.standing_row("gas/c1")
        assert row is not None
        assert row.standing == {"stream": "gas/c1", "facts": 2}
