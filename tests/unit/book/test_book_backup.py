"""Snapshots proved before they count, and the way back, between either store."""

import shutil
import subprocess
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from book_days import NOW, draft, filled_in_bulk, made, put, reopened
from gaswright.book.backup import backup, default_folder, restore
from gaswright.book.errors import BookDamaged, BookUnavailable, ReadOnlyBook
from gaswright.book.handle import Book
from gaswright.book.people import note_of
from gaswright.book.store import adopt, create_book, open_book
from gaswright.book.verify import verify
from gaswright.errors import InputError
from postgres_server import absent, database


def test_snapshot_is_the_whole_book(book: Book, tmp_path: Path) -> None:
    """A snapshot of either store is an SQLite book with the same facts, names and notes, and it verifies."""
    filled_in_bulk(book, 2500, cylinders=5)
    note = note_of("hose stiff")
    book.append([draft(note=note.hash)], key="k", request="r", now=NOW, notes=[note])
    book.people.add("d1", "Ann Example")
    saved = backup(book, tmp_path / "saved", now=NOW)
    with open_book(f"sqlite:///{saved}", read_only=True, now=NOW, origins=tmp_path / "o") as copy:
        assert verify(copy).problems == ()
        assert copy.head_hashes() == book.head_hashes()
        assert list(copy.facts()) == list(book.facts())
        assert copy.people.all() == book.people.all()
        assert copy.note(note.hash) == "hose stiff"


def test_ten_snapshots_are_kept(tmp_path: Path) -> None:
    """The oldest go first, of this book alone; the second folder gets the same files."""
    with made(tmp_path, origin="BOATBOAT") as book:
        (tmp_path / "one").mkdir()
        (tmp_path / "one" / "book-OTHEROTH-1.db").touch()
        names = [backup(book, tmp_path / "one", now=NOW + timedelta(minutes=minute), second=tmp_path / "two").name
                 for minute in range(12)]
        kept = sorted(path.name for path in (tmp_path / "one").glob("book-BOATBOAT-*"))
        assert kept == sorted(names)[2:]
        assert sorted(path.name for path in (tmp_path / "two").iterdir()) == kept
        assert (tmp_path / "one" / "book-OTHEROTH-1.db").exists()
        assert (tmp_path / "two" / kept[0]).read_bytes() == (tmp_path / "one" / kept[0]).read_bytes()
        with pytest.raises(InputError):
            backup(book, tmp_path / "one", now=NOW, keep=0)


def test_snapshot_of_a_damaged_book_is_thrown_away(tmp_path: Path) -> None:
    """A copy that does not verify never gets a name, and the good ones stay."""
    with made(tmp_path) as book:
        put(book, draft(), draft())
        good = backup(book, tmp_path / "saved", now=NOW, keep=1)
        with book.engine.begin() as connection:
            connection.execute(text("DROP TRIGGER facts_no_update"))
            connection.execute(text("UPDATE facts SET text = replace(text, 'd1', 'd2') WHERE number = 1"))
        with pytest.raises(BookDamaged):
            backup(book, tmp_path / "saved", now=NOW + timedelta(hours=1), keep=1)
    assert list((tmp_path / "saved").iterdir()) == [good]


def test_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    """A folder below a file is no folder; the sentence names it."""
    (tmp_path / "file").touch()
    with made(tmp_path) as book, pytest.raises(BookUnavailable, match="file"):
        backup(book, tmp_path / "file" / "saved", now=NOW)


@pytest.mark.parametrize("target", ["sqlite", "postgresql"])
def test_restored_book_goes_on_under_a_new_origin(
    book: Book, target: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """From either store into either: the facts are the same, the next one has a new origin, the old book goes on."""
    put(book, draft(), draft())
    book.people.add("d1", "Ann Example")
    saved = backup(book, tmp_path / "saved", now=NOW)
    if target == "sqlite":
        fresh = _restored(book, saved, f"sqlite:///{tmp_path / 'restored.db'}", tmp_path)
    else:
        with database(request.getfixturevalue("postgres")) as address:
            fresh = _restored(book, saved, address, tmp_path)
    assert fresh != book.origin


def _restored(book: Book, saved: Path, address: str, folder: Path) -> str:
    before = saved.read_bytes()
    fresh = restore(saved, address, now=NOW, origins=folder / "origins")
    assert saved.read_bytes() == before
    with open_book(address, now=NOW, origins=folder / "origins") as restored:
        assert (restored.origin, restored.notices, restored.read_only_because) == (fresh, (), None)
        assert restored.head_hashes() == book.head_hashes()
        assert put(restored, draft()) == (f"{fresh}-1",)
        assert put(book, draft()) == (f"{book.origin}-3",)
        assert restored.people.name("d1") == "Ann Example"
        assert verify(restored).problems == ()
    with pytest.raises(InputError):
        restore(saved, address, now=NOW, origins=folder / "origins")
    return fresh


def test_altered_snapshot_is_not_restored(tmp_path: Path) -> None:
    """A snapshot with altered bytes is refused, and no book is made."""
    with made(tmp_path) as book:
        put(book, draft(gauge_centibar=23456))
        saved = backup(book, tmp_path / "saved", now=NOW)
    raw = saved.read_bytes()
    assert raw.count(b"23456") == 1
    saved.write_bytes(raw.replace(b"23456", b"23457"))
    with pytest.raises(BookDamaged):
        restore(saved, f"sqlite:///{tmp_path / 'restored.db'}", now=NOW, origins=tmp_path / "origins")
    assert not (tmp_path / "restored.db").exists()
    with pytest.raises(BookUnavailable, match="absent"):
        restore(tmp_path / "absent", f"sqlite:///{tmp_path / 'restored.db'}", now=NOW, origins=tmp_path / "origins")


def test_copied_file_writes_under_a_new_origin(tmp_path: Path) -> None:
    """A file copied to another place, or an older one put back, says so and never forks; the book itself goes on."""
    with made(tmp_path, origin="BOATBOAT") as book:
        put(book, draft())
    raw = (tmp_path / "boat.db").read_bytes()
    (tmp_path / "copy.db").write_bytes(raw)
    with reopened(tmp_path, "copy") as copy:
        assert "BOATBOAT" in copy.notices[0]
        assert copy.origin in copy.notices[0]
        assert put(copy, draft())[0] == f"{copy.origin}-1"
    with reopened(tmp_path, "copy") as copy:
        assert copy.notices == ()
    with reopened(tmp_path) as book:
        put(book, draft())
        backup(book, tmp_path / "saved", now=NOW)
    (tmp_path / "boat.db").write_bytes(raw)
    with reopened(tmp_path) as book:
        assert book.origin != "BOATBOAT"
        assert book.latest_recorded() == NOW  # of what it was restored from


def test_list_of_origins_that_is_lost_costs_a_new_origin(tmp_path: Path) -> None:
    """Without this machine's list, or with one that cannot be read, the book goes on under a new origin."""
    made(tmp_path, origin="BOATBOAT").close()
    (tmp_path / "origins" / "BOATBOAT").write_text("{")
    with reopened(tmp_path) as book:
        assert book.origin != "BOATBOAT"


def test_dump_that_was_restored_must_be_adopted(postgres: str, tmp_path: Path) -> None:
    """A PostgreSQL book restored from a dump is read alone until it is adopted; then a new origin begins."""
    if shutil.which("pg_dump") is None or shutil.which("psql") is None:
        absent("PostgreSQL's pg_dump and psql are not installed")
    with database(postgres) as first, database(postgres) as second:
        create_book(first, origin="SERVER01", now=NOW, origins=tmp_path / "o")
        with open_book(first, now=NOW, origins=tmp_path / "o") as book:
            put(book, draft())
        _dumped(first, second)
        with open_book(second, now=NOW, origins=tmp_path / "o") as copy:
            assert len(copy.stream("gas/c1")) == 1
            with pytest.raises(ReadOnlyBook, match="adopt"):
                put(copy, draft())
        fresh = adopt(second, now=NOW, origins=tmp_path / "o")
        with open_book(second, now=NOW, origins=tmp_path / "o") as copy:
            assert put(copy, draft()) == (f"{fresh}-1",)
            assert verify(copy).problems == ()
        with open_book(first, now=NOW, origins=tmp_path / "o") as book:
            assert put(book, draft()) == ("SERVER01-2",)


def _dumped(first: str, second: str) -> None:
    plain = [address.replace("postgresql+psycopg://", "postgresql://") for address in (first, second)]
    dump = subprocess.run(["pg_dump", plain[0]], check=True, capture_output=True).stdout
    subprocess.run(["psql", "-q", "-v", "ON_ERROR_STOP=1", plain[1]], check=True, input=dump, capture_output=True)


def test_default_folder_is_beside_the_file(tmp_path: Path) -> None:
    """Without a word about it, snapshots stand beside the file."""
    assert default_folder(f"sqlite:///{tmp_path / 'boat.db'}") == tmp_path / "boat-backups"
    assert default_folder("postgresql+psycopg://x@y/z").name == "backups"
