"""Names and free text: in tables from which they can be erased; the chain knows person ids and hashes alone."""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, delete, insert, select

from gaswright.book.schema import erased, notes, people
from gaswright.errors import InputError, Refused

__all__ = [
    "Note", "Person", "added_person", "erased_marks", "erased_note", "erased_person", "kept_notes", "kept_people",
    "marked", "note_of", "note_text", "people_of", "stored_notes",
]


@dataclass(frozen=True, slots=True, order=True)
class Person:
    """One person as somebody entered them; two entries of one id are both shown.

    Args:
        id: that stands in the chain.
        name: erasable.
        salt: random, hex.
    """

    id: str
    name: str
    salt: str

    @property
    def hash(self) -> str:
        """SHA-256 of salt, id and name, hex."""
        return _hash(self.salt, f"{self.id}\n{self.name}")


@dataclass(frozen=True, slots=True, order=True)
class Note:
    """Free text of which the chain holds the hash alone.

    Args:
        text: erasable.
        salt: random, hex.
    """

    text: str
    salt: str

    @property
    def hash(self) -> str:
        """SHA-256 of salt and text, hex: what stands in the data of a fact."""
        return _hash(self.salt, self.text)


def _hash(salt: str, text: str) -> str:
    return hashlib.sha256((salt + text).encode()).hexdigest()


def note_of(text: str) -> Note:
    """A note with a fresh salt; put its hash in a draft and hand it to `append` with the drafts.

    Args:
        text: free.

    Raises:
        InputError: it holds a NUL or half a letter.
    """
    _check("note", text)
    return Note(text, secrets.token_hex(16))


def _check(what: str, text: str) -> None:
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise InputError(f"the {what} holds half a letter that UTF-8 cannot write") from error
    if "\0" in text:
        raise InputError(f"the {what} holds a NUL character")


def people_of(connection: Connection) -> tuple[Person, ...]:
    """Every entry, by id and name."""
    found = connection.execute(select(people.c.person, people.c.name, people.c.salt))
    return tuple(sorted(Person(*row) for row in found))


def stored_notes(connection: Connection) -> tuple[Note, ...]:
    """Every note."""
    return tuple(sorted(Note(*row) for row in connection.execute(select(notes.c.text, notes.c.salt))))


def note_text(connection: Connection, hash_: str) -> str | None:
    """The text behind a hash, None if it was erased or never came here."""
    return connection.execute(select(notes.c.text).where(notes.c.hash == hash_)).scalar()


def erased_marks(connection: Connection) -> tuple[str, ...]:
    """What was erased, sorted."""
    return tuple(sorted(connection.execute(select(erased.c.mark)).scalars()))


def _person_mark(id: str) -> str:  # noqa: A002  the field is called id
    return f"person/{id}"


def added_person(connection: Connection, id: str, name: str) -> Person:  # noqa: A002  the field is called id
    """The person, entered or renamed; an earlier name of the same id is erased.

    Raises:
        InputError: id or name is empty or not one line.
        Refused: the id was erased; it stands for somebody else.
    """
    for what, text in (("person id", id), ("name", name)):
        _check(what, text)
        if not text.strip() or any(ord(letter) < 32 for letter in text):
            raise InputError(f"the {what} {text!r} must be one line that is not empty")
    if _person_mark(id) in erased_marks(connection):
        raise Refused(f"the person {id} was erased; the id stays theirs in the chain; choose another")
    earlier = [person for person in people_of(connection) if person.id == id]
    if any(person.name == name for person in earlier):
        return next(person for person in earlier if person.name == name)
    marked(connection, [f"name/{person.hash}" for person in earlier])
    person = Person(id, name, secrets.token_hex(16))
    kept_people(connection, [person])
    return person


def erased_person(connection: Connection, id: str) -> bool:  # noqa: A002  the field is called id
    """True if there was an entry of the person; their names are gone, here and after every merge."""
    there = any(person.id == id for person in people_of(connection))
    marked(connection, [_person_mark(id)])
    return there


def erased_note(connection: Connection, hash_: str) -> bool:
    """True if the note was here; it is gone, here and after every merge."""
    there = note_text(connection, hash_) is not None
    marked(connection, [f"note/{hash_}"])
    return there


def marked(connection: Connection, marks: Sequence[str]) -> None:
    """Nothing; what the marks name is erased afterwards and stays so."""
    new = set(marks) - set(erased_marks(connection))
    if new:
        connection.execute(insert(erased), [{"mark": mark} for mark in sorted(new)])
    for mark in sorted(new):
        kind, _, name = mark.partition("/")
        gone = {"person": delete(people).where(people.c.person == name),
                "name": delete(people).where(people.c.hash == name),
                "note": delete(notes).where(notes.c.hash == name)}
        if kind in gone:
            connection.execute(gone[kind])


def kept_people(connection: Connection, entries: Sequence[Person]) -> None:
    """Nothing; the entries that are new and were not erased stand in the table afterwards."""
    if not entries:
        return
    marks, here = set(erased_marks(connection)), set(people_of(connection))
    names = {(person.id, person.salt): person.name for person in here}
    if forged := [person.id for person in entries if names.get((person.id, person.salt), person.name) != person.name]:
        raise InputError(f"the person {forged[0]} has another name under the same salt: one of the two was altered")
    new = sorted(person for person in set(entries) - here
                 if not marks & {_person_mark(person.id), f"name/{person.hash}"})
    if new:
        connection.execute(insert(people), [
            {"person": person.id, "salt": person.salt, "name": person.name, "hash": person.hash} for person in new])


def kept_notes(connection: Connection, entries: Sequence[Note]) -> None:
    """Nothing; the notes that are new and were not erased stand in the table afterwards."""
    if not entries:
        return
    marks = set(erased_marks(connection))
    here = set(connection.execute(select(notes.c.hash)).scalars())
    new = {note.hash: note for note in entries if note.hash not in here and f"note/{note.hash}" not in marks}
    if new:
        connection.execute(insert(notes), [
            {"hash": key, "salt": note.salt, "text": note.text} for key, note in sorted(new.items())])
