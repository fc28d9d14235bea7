"""Names and notes can be erased; chain and standings stay whole."""

from pathlib import Path

import pytest
from sqlalchemy import insert

from book_days import NOW, draft, made, put, standing_in
from gaswright.book import schema
from gaswright.book.bundle import export_bundle
from gaswright.book.handle import Book
from gaswright.book.merge import merge_bundle
from gaswright.book.people import Note, Person, note_of
from gaswright.book.verify import verify
from gaswright.custody.fact import Kind
from gaswright.errors import InputError, Refused

NAME, WORDS = "Ann Quite-Unlikely", "a very unlikely sentence"


def test_person_is_erased_and_the_chain_stays(book: Book) -> None:
    """Name and salt are gone, the facts still carry the id, verify and the standing are as before."""
    book.people.add("d1", NAME)
    put(book, draft(), draft(Kind.ANALYSED, rests_on=("#1",), o2_e4=1820, he_e4=4460))
    before, heads = standing_in(book), dict(book.head_hashes())
    assert book.people.name("d1") == NAME
    assert book.people.erase("d1") is True
    assert book.people.name("d1") is None
    assert book.people.all() == ()
    assert standing_in(book) == before
    assert dict(book.head_hashes()) == heads
    assert book.stream("gas/c1")[0].by == "d1"
    assert verify(book).problems == ()
    assert book.people.erase("d1") is False


def test_erased_id_is_not_given_to_somebody_else(book: Book) -> None:
    """The id of an erased person stands for them in the chain and cannot be entered again."""
    book.people.add("d1", NAME)
    book.people.erase("d1")
    with pytest.raises(Refused):
        book.people.add("d1", "Somebody Else")


def test_renamed_person_has_one_name(book: Book) -> None:
    """A new name replaces the old one; the same name again changes nothing."""
    first = book.people.add("d1", "An")
    assert book.people.add("d1", "An") == first
    book.people.add("d1", NAME)
    assert [person.name for person in book.people.all()] == [NAME]


@pytest.mark.parametrize(("person", "name"), [("", "x"), ("d1", " "), ("d1", "a\nb"), ("d1", "a\0"), ("d\ud800", "x")])
def test_person_needs_an_id_and_a_name(book: Book, person: str, name: str) -> None:
    """Empty texts and texts of two lines are refused."""
    with pytest.raises(InputError):
        book.people.add(person, name)


def test_note_is_erased_and_its_hash_stays(book: Book) -> None:
    """The text of a note is gone, the fact still carries its hash, verify holds."""
    note = note_of(WORDS)
    book.append([draft(note=note.hash)], key="k", request="r", now=NOW, notes=[note])
    assert book.note(note.hash) == WORDS
    assert book.erase_note(note.hash) is True
    assert book.note(note.hash) is None
    assert book.stream("gas/c1")[0].data == {"note": note.hash}
    assert verify(book).problems == ()
    assert book.erase_note(note.hash) is False


def test_repeated_request_keeps_no_second_note(book: Book) -> None:
    """The note of a request that came again is not kept a second time."""
    first, second = note_of(WORDS), note_of(WORDS)
    book.append([draft(note=first.hash)], key="k", request="r", now=NOW, notes=[first])
    book.append([draft(note=second.hash)], key="k", request="r", now=NOW, notes=[second])
    assert first.hash != second.hash
    assert book.note(first.hash) == WORDS
    assert book.note(second.hash) is None


def test_nothing_of_the_erased_stays_in_the_file(tmp_path: Path) -> None:
    """After erasing, neither name nor note stands anywhere in the file's bytes."""
    with made(tmp_path) as book:
        note = note_of(WORDS)
        book.people.add("d1", NAME)
        book.append([draft(note=note.hash)], key="k", request="r", now=NOW, notes=[note])
        assert NAME.encode() in (tmp_path / "boat.db").read_bytes()
        book.people.erase("d1")
        book.erase_note(note.hash)
    raw = (tmp_path / "boat.db").read_bytes()
    assert NAME.encode() not in raw
    assert WORDS.encode() not in raw


def test_merge_does_not_bring_back_the_erased(tmp_path: Path) -> None:
    """What was erased here stays away whatever another book holds, and is erased there too by our bundle."""
    with made(tmp_path, "here") as here, made(tmp_path, "there") as there:
        note = note_of(WORDS)
        there.people.add("d1", NAME)
        there.people.add("d2", "Bo")
        there.append([draft(note=note.hash)], key="k", request="r", now=NOW, notes=[note])
        export_bundle(there, tmp_path / "x", by="d1", now=NOW)
        merge_bundle(here, tmp_path / "x", now=NOW)
        assert here.people.name("d1") == NAME
        here.people.erase("d1")
        here.people.add("d2", "Bob")
        here.erase_note(note.hash)
        merge_bundle(here, tmp_path / "x", now=NOW)
        export_bundle(here, tmp_path / "y", by="d1", now=NOW)
        merge_bundle(there, tmp_path / "y", now=NOW)
        for book in (here, there):
            assert [(person.id, person.name) for person in book.people.all()] == [("d2", "Bob")]
            assert book.note(note.hash) is None
            assert verify(book).problems == ()


def test_two_books_that_entered_one_id_show_both_names(tmp_path: Path) -> None:
    """Two people under one id are not mixed up silently: both names are shown after a merge, in either order."""
    with made(tmp_path, "here") as here, made(tmp_path, "there") as there:
        here.people.add("d1", "Ann")
        there.people.add("d1", "Bo")
        export_bundle(here, tmp_path / "x", by="d1", now=NOW)
        export_bundle(there, tmp_path / "y", by="d1", now=NOW)
        merge_bundle(here, tmp_path / "y", now=NOW)
        merge_bundle(there, tmp_path / "x", now=NOW)
        assert here.people.name("d1") == there.people.name("d1") == "Ann or Bo"


def test_forged_person_with_a_used_salt_replaces_nobody(tmp_path: Path) -> None:
    """A bundle with another name under a salt that is here is refused whole."""
    with made(tmp_path, "here") as here, made(tmp_path, "there") as there:
        ann = here.people.add("d1", "Ann")
        with there.write() as connection:
            forged = Person("d1", "Forged", ann.salt)
            connection.execute(insert(schema.people).values(
                person="d1", salt=ann.salt, name="Forged", hash=forged.hash))
        export_bundle(there, tmp_path / "x", by="d1", now=NOW)
        with pytest.raises(InputError, match="same salt"):
            merge_bundle(here, tmp_path / "x", now=NOW)
        assert here.people.name("d1") == "Ann"


def test_hashes_are_salted() -> None:
    """The same words with another salt have another hash, which says nothing of the words."""
    assert Note("yes", "a").hash != Note("yes", "b").hash
    assert Person("d1", "Ann", "a").hash != Person("d1", "Ann", "b").hash
    with pytest.raises(InputError):
        note_of("a\0")
