"""Erasing a person or a note: the text goes, the chain and every standing stay."""

import re
from dataclasses import dataclass

from gaswright.book.draft import Draft
from gaswright.book.people import erased_marks, note_of
from gaswright.custody.fact import Fact, FactId, Value
from gaswright.errors import InputError, Problem, Refused
from gaswright.exchange.records import NOTE_ERASED, PERSON_ERASED
from gaswright.services.book_acts import Act, Done, checked_person, done_before, nearest, record
from gaswright.services.book_opening import OpenBook
from gaswright.services.records import fact_by_id

__all__ = ["Erased", "erase_note", "erase_person"]

_HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Erased:
    """What came of it.

    Args:
        done: the facts that say so.
        count: texts that were here and are gone.
    """

    done: Done
    count: int


def erase_person(opened: OpenBook, act: Act, person: str, reason: str) -> Erased:
    """A person erased: the name is gone here and from what is merged later; the id stays in the chain.

    Args:
        opened: the book.
        act: the request.
        person: id.
        reason: why; a note that can be erased itself.

    Raises:
        InputError: nobody has this id, or no reason was given.
        Refused: nobody else is in the book, so nobody could record any more.
    """
    if (done := done_before(opened, act)) is not None:
        return Erased(done, 0)
    checked_person(opened.book, act.by)
    _checked_reason(reason)
    known = {one.id for one in opened.book.people.all()}
    if person not in known and f"person/{person}" not in opened.book.reads(erased_marks):
        raise InputError([Problem("person", f"there is no person {person!r}; {nearest(person, known, 'people add')}")])
    if known == {person}:
        raise Refused(f"{person} is the only person in this book: nobody could record anything any more; "
                      "enter another one with people add first")
    gone = opened.book.people.erase(person)
    done = _recorded(opened, act, PERSON_ERASED, f"person/{person}", {"id": person}, reason)
    return Erased(done, int(gone))


def erase_note(opened: OpenBook, act: Act, note: str, reason: str) -> Erased:
    """A note erased: its text is gone here and from what is merged later; the chain keeps its hash.

    Args:
        opened: the book.
        act: the request.
        note: its hash, or the id of a fact: every note of that fact.
        reason: why; a note that can be erased itself.

    Raises:
        InputError: there is no such note or fact, or no reason was given.
    """
    if (done := done_before(opened, act)) is not None:
        return Erased(done, 0)
    hashes = (note,) if _HASH.fullmatch(note) else _hashes_of(opened, note)
    checked_person(opened.book, act.by)
    _checked_reason(reason)
    marks = set(opened.book.reads(erased_marks))
    if not any(opened.book.note(one) is not None or f"note/{one}" in marks for one in hashes):
        raise InputError([Problem("note", f"there is no note {note[:64]!r} in this book; give its hash, or the id of "
                                  "a fact that has one")])
    gone = [opened.book.erase_note(one) for one in hashes]
    done = _recorded(opened, act, NOTE_ERASED, f"note/{hashes[0]}", {"hashes": list(hashes)}, reason)
    return Erased(done, sum(gone))


def _hashes_of(opened: OpenBook, fact: FactId) -> tuple[str, ...]:
    """The hashes in the data of a fact that could be of notes."""
    found: Fact | None = fact_by_id(opened.book, fact)
    if found is None:
        raise InputError([Problem("note", f"{fact[:64]!r} is neither the hash of a note (64 hexadecimal digits) nor "
                                  "the id of a fact in this book")])
    values = (value for _, value in sorted(found.data.items()))
    hashes = tuple(value for value in values if isinstance(value, str) and _HASH.fullmatch(value))
    if not hashes:
        raise InputError([Problem("note", f"the fact {fact} holds no note")])
    return hashes


def _checked_reason(reason: str) -> None:
    if not reason.strip():
        raise InputError([Problem("--reason", "is empty; say why it is erased")])


def _recorded(
    opened: OpenBook, act: Act, kind: str, stream: str, data: dict[str, Value], reason: str
) -> Done:
    """The fact that something was erased; recorded after it is gone, so that no fact says what is not so.

    If the power goes between the two, the same request again records it.
    """
    note = note_of(reason.strip())
    draft = Draft(kind, stream, act.at, act.by, data={**data, "reason_sha256": note.hash}, zone=opened.zone)
    return Done(record(opened, act, (draft,), (note,)))
