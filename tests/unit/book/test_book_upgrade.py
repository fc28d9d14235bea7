"""A new program on an old book: a verified backup, then the new schema."""

from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import inspect

from book_days import NOW, draft, put
from gaswright.book import migrations
from gaswright.book.engine import engine_of, writing
from gaswright.book.errors import BookDamaged
from gaswright.book.handle import Book
from gaswright.book.machine import claim
from gaswright.book.rows import begun_origin
from gaswright.book.schema import REVISIONS
from gaswright.book.store import claimed_place, create_book, make_tables, open_book, place_of
from gaswright.book.verify import verify


@pytest.fixture
def old(url: str, tmp_path: Path) -> str:
    """The address of a book as the first schema has it, with two facts."""
    if url.startswith("sqlite"):
        Path(url.removeprefix("sqlite:///")).touch()
    engine = engine_of(url)
    with writing(engine) as connection:
        make_tables(connection, to="0001")
        begun_origin(connection, "OLDOLD01", place_of(connection), "2027-01-01T00:00:00.000000Z")
    with Book(url, engine, tmp_path / "o") as book:
        put(book, draft(), draft())
    claim("OLDOLD01", claimed_place(url), 0, tmp_path / "o")
    return url


def test_old_book_is_saved_and_upgraded(old: str, tmp_path: Path) -> None:
    """Opening it saves a verified snapshot of the old schema, upgrades, and says both; the facts are untouched."""
    with open_book(old, now=NOW, origins=tmp_path / "o", backups=tmp_path / "saved") as book:
        (saved,) = (tmp_path / "saved").iterdir()
        assert "0001" in book.notices[0]
        assert str(saved) in book.notices[0]
        assert put(book, draft()) == ("OLDOLD01-3",)
        assert book.people.erase("d1") is False
        assert verify(book).problems == ()
        assert inspect(book.engine).has_table("erased")
    with open_book(f"sqlite:///{saved}", read_only=True, now=NOW, origins=tmp_path / "o") as copy:
        assert len(list(copy.facts())) == 2
        assert not inspect(copy.engine).has_table("erased")
    with open_book(old, now=NOW, origins=tmp_path / "o") as book:
        assert book.notices == ()


def test_old_book_is_read_without_an_upgrade(old: str, tmp_path: Path) -> None:
    """For reading alone nothing is changed."""
    with open_book(old, read_only=True, now=NOW, origins=tmp_path / "o") as book:
        assert len(book.stream("gas/c1")) == 2
        assert not inspect(book.engine).has_table("erased")


def test_damaged_old_book_is_not_upgraded(old: str, tmp_path: Path) -> None:
    """Where the snapshot does not verify nothing is upgraded."""
    engine = engine_of(old)
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE origins SET first_hash = 'x'")
    engine.dispose()
    with pytest.raises(BookDamaged):
        open_book(old, now=NOW, origins=tmp_path / "o", backups=tmp_path / "saved")
    with open_book(old, read_only=True, now=NOW, origins=tmp_path / "o") as book:
        assert not inspect(book.engine).has_table("erased")
    assert list((tmp_path / "saved").iterdir()) == []


def test_program_knows_its_schemas() -> None:
    """The list of schemas is the list of migrations, in their order."""
    config = Config()
    config.set_main_option("script_location", str(Path(str(migrations.__file__)).parent))
    config.set_main_option("path_separator", "os")
    scripts = ScriptDirectory.from_config(config)
    assert tuple(script.revision for script in scripts.walk_revisions())[::-1] == REVISIONS


def test_new_book_has_the_newest_schema(url: str, tmp_path: Path) -> None:
    """A new book needs no upgrade, and its columns are those that the program writes."""
    create_book(url, now=NOW, origins=tmp_path / "o")
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        from gaswright.book import schema  # noqa: PLC0415  only here

        for table in (schema.book, schema.origins, schema.facts, schema.streams, schema.people, schema.notes,
                      schema.erased):
            there = {(column["name"], column["nullable"]) for column in inspect(book.engine).get_columns(table.name)}
            assert there == {(column.name, column.nullable) for column in table.columns}
        assert book.notices == ()
