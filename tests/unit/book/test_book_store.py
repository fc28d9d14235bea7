"""Facts in and out, in both stores: ids, keys, what is refused, who may write."""

import contextlib
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from book_days import NOW, draft, made, put, reopened
from gaswright.book.canonical import first_hash, hash_of
from gaswright.book.draft import Draft
from gaswright.book.errors import BookDamaged, BookUnavailable, KeyReused, ReadOnlyBook
from gaswright.book.handle import Book
from gaswright.book.store import create_book, open_book
from gaswright.custody.fact import Kind
from gaswright.errors import InputError


def test_numbers_follow_each_other(book: Book) -> None:
    """Ids count from 1 under the book's origin, over requests of one and of several facts."""
    assert put(book, draft()) == ("K7Q2M9XA-1",)
    assert put(book, draft(stream="gas/c2"), draft(stream="gas/c3")) == ("K7Q2M9XA-2", "K7Q2M9XA-3")
    assert book.streams("gas/") == ("gas/c1", "gas/c2", "gas/c3")


def test_fact_comes_back_whole(book: Book) -> None:
    """What was drafted stands in the fact, with id, key, act and the machine's time of recording."""
    late = NOW + timedelta(minutes=3, microseconds=7)
    put(book, draft(by="d2", gauge_centibar=23000, typed="23,0", note="Größe 😀 \0 \n"), key="k1", now=late)
    (fact,) = book.stream("gas/c1")
    assert (fact.id, fact.kind, fact.by, fact.key, fact.act) == ("K7Q2M9XA-1", Kind.FILLED, "d2", "k1", "k1")
    assert (fact.at, fact.recorded) == (NOW, late)
    assert fact.data == {"gauge_centibar": 23000, "typed": "23,0", "note": "Größe 😀 \0 \n"}


def test_facts_of_one_request_name_each_other_by_place(book: Book) -> None:
    """"#1" is the first fact of the same request, in after, rests_on and voids; a later one cannot be named."""
    ids = put(book, draft(), draft(Kind.ANALYSED, rests_on=("#1",)), draft(Kind.CORRECTED, voids="#2"),
              draft(after=("#1",)))
    facts = book.stream("gas/c1")
    assert facts[1].rests_on == (ids[0],)
    assert facts[2].data["voids"] == ids[1]
    assert facts[3].after == (ids[0],)
    with pytest.raises(InputError):
        put(book, draft(after=("#1",)))


def test_repeated_request_gives_the_first_ids(book: Book) -> None:
    """Same key and request: the first ids again, whatever times and heads were filled in; nothing is added."""
    first = put(book, draft(), draft(stream="gas/c2"), key="k", request="fill c1 c2")
    again = put(book, draft(at=NOW + timedelta(hours=1)), key="k", request="fill c1 c2")
    assert again == first
    assert len(list(book.facts())) == 2


def test_key_of_another_request_is_refused(book: Book) -> None:
    """Same key and another request is refused, naming the fact; nothing is recorded."""
    put(book, draft(), key="k", request="one")
    with pytest.raises(KeyReused) as refusal:
        put(book, draft(), key="k", request="two")
    assert (refusal.value.key, refusal.value.first) == ("k", "K7Q2M9XA-1")
    assert len(book.stream("gas/c1")) == 1


def test_keys_that_begin_alike_are_different(book: Book) -> None:
    """A key that another one begins with is another key."""
    put(book, draft(), draft(), key="k", request="one")
    assert put(book, draft(), key="k2", request="two") == ("K7Q2M9XA-3",)
    assert put(book, draft(), key="k", request="one") == ("K7Q2M9XA-1", "K7Q2M9XA-2")


@pytest.mark.parametrize("wrong", [
    Draft("filled", "gas/c1", NOW, "d1"), Draft("cylinder.filled", "c1", NOW, "d1"),
    Draft("cylinder.filled", "gas/", NOW, "d1"), Draft("cylinder.filled", "gas/c\n1", NOW, "d1"),
    Draft("cylinder.filled", "gas/c1", NOW.replace(tzinfo=None), "d1"), Draft("cylinder.filled", "gas/c1", NOW, "d\0"),
    Draft("cylinder.filled", "gas/c1", NOW, "d1", zone="Mars/Base"),
    Draft("cylinder.filled", "gas/c1", NOW, "d1", version=0),
    Draft("cylinder.filled", "gas/c1", NOW, "d1", data={"o2": 18.2}),  # type: ignore[dict-item]
    Draft("cylinder.filled", "gas/c1", NOW, "d1", data={"x": "y" * 300_000}),
    Draft("cylinder.filled", "gas/" + "c" * 300, NOW, "d1"), Draft("cylinder.filled", "gas/\ud800", NOW, "d1"),
])
def test_draft_that_is_no_fact_is_refused_with_all_its_request(book: Book, wrong: Draft) -> None:
    """One draft that cannot be a fact refuses the whole request: the book is as it was."""
    with pytest.raises(InputError):
        put(book, draft(), wrong)
    assert list(book.facts()) == []


@pytest.mark.parametrize("key", ["", "a#2", "a\n", "k" * 201])
def test_key_must_be_one(book: Book, key: str) -> None:
    """An empty key, one with the sign for places, and one of two lines are refused."""
    with pytest.raises(InputError):
        book.append([draft()], key=key, request="r", now=NOW)


def test_empty_request_is_refused(book: Book) -> None:
    """No draft, or a clock without an offset, records nothing."""
    with pytest.raises(InputError):
        book.append([], key="k", request="r", now=NOW)
    with pytest.raises(InputError):
        book.append([draft()], key="k", request="r", now=NOW.replace(tzinfo=None))


def test_chain_is_what_anyone_computes(book: Book) -> None:
    """Each hash is over the one before it and the stored text; the head is the last."""
    put(book, draft(), draft())
    hash_ = first_hash("K7Q2M9XA")
    with book.engine.connect() as connection:
        rows = connection.execute(text("SELECT number, previous, hash, text FROM facts ORDER BY number")).all()
    for _, previous, stored, body in rows:
        assert previous == hash_
        hash_ = hash_of(previous, body)
        assert stored == hash_
    assert book.head_hashes() == {"K7Q2M9XA": (2, hash_)}


def test_stored_facts_can_be_checked_by_a_stranger(book: Book) -> None:
    """The facts of streams as they stand, each with its hash and the one before: enough to recompute both."""
    put(book, draft(), draft(stream="gas/c2"), draft())
    stored = book.stored(["gas/c2", "gas/c1", "gas/c2"])
    assert [fact.id for fact in stored] == ["K7Q2M9XA-1", "K7Q2M9XA-2", "K7Q2M9XA-3"]
    assert [fact.previous for fact in stored] == [first_hash("K7Q2M9XA"), stored[0].hash, stored[1].hash]
    assert all(fact.hash == hash_of(fact.previous, fact.text) for fact in stored)
    assert book.stored(["gas/none"]) == ()


@pytest.mark.parametrize("statement", [
    "UPDATE facts SET text = 'x' WHERE number = 1", "DELETE FROM facts WHERE number = 2", "DELETE FROM facts",
    "INSERT INTO facts SELECT origin, 4, previous, hash, stream, kind, recorded, 'x', text FROM facts WHERE number = 2",
    "INSERT INTO facts SELECT origin, 3, previous, hash, stream, kind, recorded, 'x', text FROM facts WHERE number = 2",
    "INSERT INTO facts SELECT 'ZZZZZZZZ', 1, previous, hash, stream, kind, recorded, 'x', text FROM facts LIMIT 1",
])
def test_store_itself_refuses_to_change_facts(book: Book, statement: str) -> None:
    """Whoever writes past the program cannot change, delete, skip a number or follow a wrong predecessor."""
    put(book, draft(), draft())
    with pytest.raises(DBAPIError), book.engine.begin() as connection:
        connection.execute(text(statement))
    assert len(book.stream("gas/c1")) == 2


def test_replacing_a_fact_is_refused(tmp_path: Path) -> None:
    """SQLite's INSERT OR REPLACE does not get past the triggers."""
    with made(tmp_path) as book:
        put(book, draft())
        with pytest.raises(DBAPIError), book.engine.begin() as connection:
            connection.exec_driver_sql("INSERT OR REPLACE INTO facts SELECT origin, number, previous, hash, stream, "
                                       "kind, recorded, key, 'x' FROM facts")
        assert book.stream("gas/c1")[0].data == {}


def test_facts_are_in_order_of_origin_and_number(book: Book) -> None:
    """All facts, or those of named streams, come by number; streams that do not exist have none."""
    put(book, draft(stream="gas/c2"), draft(stream="gas/c1"), draft(stream="gas/c10"))
    assert [fact.id[9:] for fact in book.facts()] == ["1", "2", "3"]
    assert [fact.id[9:] for fact in book.facts(["gas/c2", "gas/c10", "gas/c2"])] == ["1", "3"]
    assert list(book.facts([])) == []
    assert book.stream("gas/none") == ()
    assert book.streams("register/") == ()


def test_names_of_streams_sort_by_code_points(book: Book) -> None:
    """Both stores sort names as their code points do, not as a language does."""
    names = ("gas/B", "gas/a", "gas/z", "gas/ä", "gas/😀")
    put(book, *(draft(stream=name) for name in reversed(names)))
    assert book.streams() == names


def test_latest_recorded_is_of_the_own_origin(book: Book) -> None:
    """The book's time is its machine's clock, or its latest recording if the clock went back."""
    assert book.latest_recorded() is None
    assert book.now(NOW) == NOW
    late = NOW + timedelta(hours=2)
    put(book, draft(), now=late)
    put(book, draft(), now=NOW)
    assert book.latest_recorded() == late
    assert book.now(NOW) == late
    assert book.now(late + timedelta(hours=1)) == late + timedelta(hours=1)
    assert book.stream("gas/c1")[1].recorded == NOW


def test_facts_outlive_the_program(url: str, tmp_path: Path) -> None:
    """What was recorded is there when the book is opened again, under the same origin."""
    origin = create_book(url, now=NOW, origins=tmp_path / "o")
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        put(book, draft())
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        assert (book.origin, book.notices, book.read_only_because) == (origin, (), None)
        assert put(book, draft()) == (f"{origin}-2",)


def test_book_for_reading_records_nothing(url: str, tmp_path: Path) -> None:
    """A book opened for reading gives facts and rows, refuses every entry, and so does its store."""
    create_book(url, now=NOW, origins=tmp_path / "o")
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        put(book, draft())
    with open_book(url, read_only=True, now=NOW, origins=tmp_path / "none") as book:
        assert len(book.stream("gas/c1")) == 1
        row = book.standing_row("gas/c1")
        assert row is not None
        assert row.count == 1
        with pytest.raises(ReadOnlyBook):
            put(book, draft())
        with pytest.raises(ReadOnlyBook):
            book.people.add("d1", "Ann")
        with pytest.raises(BookUnavailable), book.write() as connection:
            connection.execute(text("DELETE FROM streams"))


def test_book_is_not_made_twice(url: str, tmp_path: Path) -> None:
    """Where a book is no other is made, and it stays as it was."""
    origin = create_book(url, now=NOW, origins=tmp_path / "o")
    with pytest.raises(InputError):
        create_book(url, now=NOW, origins=tmp_path / "o")
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        assert book.origin == origin


@pytest.mark.parametrize("address", [
    "", "book.db", "sqlite://", "sqlite:///:memory:", "mysql://x/y", "sqlite+aiosqlite:///x",
    "sqlite:///x.db?mode=memory", "postgresql+asyncpg://x/y", "http://[",
])
def test_address_that_is_no_store_is_refused(address: str) -> None:
    """Only a file for SQLite and psycopg for PostgreSQL are addresses of a book."""
    with pytest.raises(InputError):
        open_book(address, now=NOW)


@pytest.mark.parametrize("origin", ["", "K7Q2M9X", "k7q2m9xa", "K7Q2M9XAB", "K7Q2M9X-"])
def test_origin_is_eight_letters(origin: str, tmp_path: Path) -> None:
    """An origin that ids could not be read from makes no book; an empty one is drawn."""
    address = f"sqlite:///{tmp_path / 'b.db'}"
    if not origin:
        assert len(create_book(address, origin=origin, now=NOW, origins=tmp_path / "o")) == 8
        return
    with pytest.raises(InputError):
        create_book(address, origin=origin, now=NOW, origins=tmp_path / "o")
    assert not (tmp_path / "b.db").exists()


def test_missing_book_is_named(tmp_path: Path) -> None:
    """A file that is not there, and a server that does not answer, are named in one sentence."""
    with pytest.raises(BookUnavailable, match=r"no book at .*absent\.db"):
        open_book(f"sqlite:///{tmp_path / 'absent.db'}", now=NOW)
    with pytest.raises(BookUnavailable, match="cannot be used"):
        open_book(f"postgresql+psycopg://x:secret@/db?host={tmp_path}", now=NOW)


def test_password_is_never_told(tmp_path: Path) -> None:
    """The sentence about a server that does not answer holds no password."""
    with pytest.raises(BookUnavailable) as refusal:
        open_book(f"postgresql+psycopg://x:secret@/db?host={tmp_path}", now=NOW)
    assert "secret" not in str(refusal.value)


def test_file_that_is_no_book_is_refused(tmp_path: Path) -> None:
    """A text, and a database of something else, are no books."""
    (tmp_path / "letter.db").write_text("Dear all, " * 500)
    with pytest.raises(BookDamaged):
        open_book(f"sqlite:///{tmp_path / 'letter.db'}", now=NOW)
    (tmp_path / "empty.db").touch()
    with pytest.raises(InputError, match="there is no book in this database"):
        open_book(f"sqlite:///{tmp_path / 'empty.db'}", now=NOW)


def test_connections_are_set_for_durability(tmp_path: Path) -> None:
    """Every SQLite connection has the settings without which a fact may be lost or its trace stay."""
    with made(tmp_path) as book, book.engine.connect() as connection:
        settings = {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in (
            "journal_mode", "synchronous", "foreign_keys", "secure_delete", "busy_timeout")}
        strict = connection.exec_driver_sql("SELECT count(*) FROM pragma_table_list "
                                            "WHERE schema = 'main' AND strict = 1").scalar()
    assert settings == {"journal_mode": "delete", "synchronous": 3, "foreign_keys": 1, "secure_delete": 1,
                        "busy_timeout": 5000}
    assert strict == 7


def test_newer_book_is_read_and_not_written(url: str, tmp_path: Path) -> None:
    """A book with a schema that this program does not know is read, and says why nothing can be recorded."""
    create_book(url, now=NOW, origins=tmp_path / "o")
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        put(book, draft())
        with book.write() as connection:
            connection.execute(text("UPDATE alembic_version SET version_num = '0099'"))
    with open_book(url, now=NOW, origins=tmp_path / "o") as book:
        assert len(book.stream("gas/c1")) == 1
        with pytest.raises(ReadOnlyBook, match=r"newer program.*0099.*update"):
            put(book, draft())


def test_unknown_kinds_are_kept(book: Book) -> None:
    """A kind and a version of a newer program are kept as they are, and make the stream unknown."""
    put(book, draft("cylinder.painted", colour="none"), Draft(Kind.FILLED, "gas/c1", NOW, "d1", version=7))
    first, second = book.stream("gas/c1")
    assert (first.kind, first.data, second.version) == ("cylinder.painted", {"colour": "none"}, 7)


def test_writer_holds_the_book_before_it_reads(tmp_path: Path) -> None:
    """A writing transaction has the file from its first moment: no other can begin between its reading and writing."""
    with made(tmp_path) as book, contextlib.closing(sqlite3.connect(tmp_path / "boat.db", timeout=0)) as other:
        with book.write(), pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        other.execute("BEGIN IMMEDIATE")


def test_two_handles_of_one_book_take_turns(tmp_path: Path) -> None:
    """Two open handles of one file number their facts without a gap."""
    with made(tmp_path) as first, reopened(tmp_path) as second:
        ids = [put(book, draft())[0] for book in (first, second, first, second)]
    assert [name[9:] for name in ids] == ["1", "2", "3", "4"]
