"""Both stores for the tests of the whole system."""

from collections.abc import Iterator
from pathlib import Path

import pytest

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
