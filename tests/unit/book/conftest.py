"""Both stores for the tests of the book."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from book_days import NOW
from gaswright.book.handle import Book
from gaswright.book.store import create_book, open_book
from postgres_server import database, server


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The address of a PostgreSQL server."""
    with server() as address:
        yield address


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a store without a book, in either kind."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'both.db'}"
        return
    with database(request.getfixturevalue("postgres")) as address:
        yield address


@pytest.fixture
def book(url: str, tmp_path: Path) -> Iterator[Book]:
    """A new book in either store, open."""
    create_book(url, origin="K7Q2M9XA", now=NOW, origins=tmp_path / "origins")
    with open_book(url, now=NOW, origins=tmp_path / "origins") as opened:
        yield opened
