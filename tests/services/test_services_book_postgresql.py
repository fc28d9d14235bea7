"""The day of a book on a PostgreSQL server: the same acts, the same board, the same refusals."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from book_hands import NOW, TRIP, act, cylinder, row
from gaswright.book.verify import verify
from gaswright.errors import InputError
from gaswright.services.book_day import today
from gaswright.services.book_gas import Fill, Typed, analyse, fill, label, labels_off
from gaswright.services.book_log import log
from gaswright.services.book_opening import opened
from gaswright.services.book_people import init_book
from gaswright.services.book_trip import day_text, take_trip
from postgres_server import database, server


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A running server."""
    with server() as found:
        yield found


def test_a_day_on_a_server(address: str, tmp_path: Path) -> None:
    """Made once, filled, analysed, labelled, labels off; a trip file in and out; the proof finds nothing."""
    with database(address) as url:
        first = init_book(url, act(key="k"), name="Ines", zone="Europe/Vienna", now=NOW, origins=tmp_path)
        again = init_book(url, act(key="k"), name="Ines", zone="Europe/Vienna", now=NOW, origins=tmp_path)
        assert again.ids == first.ids
        with pytest.raises(InputError, match="already"):
            init_book(url, act(), name="Ines", zone="Europe/Vienna", now=NOW, origins=tmp_path)
        with opened(url, now=NOW, origins=tmp_path) as book:
            cylinder(book)
            fill(book, act(), "c1", Fill(200.0))
            analyse(book, act(), "c1", Typed(4960, 0, "49.6", "0"))
            label(book, act(), "c1", "1187")
            assert row(book) == "labelled"
            labels_off(book, act(), None)
            assert row(book) == "unknown"
            take_trip(book, act(), TRIP.replace("HM-11-1187", "HM-11-2288").replace('"1187"', '"2288"').encode(), "x")
            assert "staged" not in day_text(book, today(book).checked.day.trip.day)
            assert len(log(book, limit=3)) == 3
            assert not verify(book.book).problems
