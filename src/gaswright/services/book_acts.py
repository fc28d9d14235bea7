"""What every act on the book needs: who, when, under which key; and what came of it."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from gaswright.book.canonical import parsed, request_hash
from gaswright.book.draft import KEY_PART, Draft, check_key
from gaswright.book.errors import KeyReused
from gaswright.book.handle import Book
from gaswright.book.people import Note
from gaswright.book.rows import texts_of_key
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.heads import heads, unreplaced_analyses
from gaswright.errors import InputError, Problem
from gaswright.findings import Finding
from gaswright.services.book_opening import OpenBook

__all__ = [
    "Act", "Done", "checked_cylinder", "checked_person", "done_before", "head_ids", "in_force", "nearest", "record",
]


@dataclass(frozen=True, slots=True)
class Act:
    """Who does what, when, under which key.

    Args:
        by: person id.
        at: when it happened, by its author; aware.
        key: of the request: 128 random bits as text.
        request: what was typed.
        heads: of the cylinder's gas, as its author saw them; None: as they are now.
    """

    by: str
    at: datetime
    key: str
    request: str
    heads: tuple[FactId, ...] | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """What came of an act.

    Args:
        ids: of its facts, durable.
        findings: what there is to say of it.
    """

    ids: tuple[FactId, ...]
    findings: tuple[Finding, ...] = ()


def done_before(opened: OpenBook, act: Act) -> Done | None:
    """What came of a request that was recorded under the same key before; None if the key is new.

    Args:
        opened: the book.
        act: the request.

    Raises:
        KeyReused: the key stands for another request.
        InputError: it is no key.
    """
    check_key(act.key)
    texts = opened.book.reads(lambda connection: texts_of_key(connection, act.key, KEY_PART))
    bodies = [parsed(text) for text in texts]
    ids = tuple(str(body["id"]) for body in bodies)
    if any(body["request"] != request_hash(act.request) for body in bodies):
        raise KeyReused(act.key, ids[0])
    return Done(ids) if ids else None


def record(opened: OpenBook, act: Act, drafts: Sequence[Draft], notes: Sequence[Note] = ()) -> tuple[FactId, ...]:
    """The ids of the drafts' facts, durable: one transaction.

    Args:
        opened: the book.
        act: the request.
        drafts: of it.
        notes: free texts whose hashes stand in the drafts.
    """
    return opened.book.append(drafts, key=act.key, request=act.request, now=opened.now, notes=notes)


def nearest(name: str, known: Iterable[str], what: str) -> str:
    """The end of a sentence about a name that is not known: the nearest ones, or what to do.

    Args:
        name: as typed.
        known: what could have been meant.
        what: the command that adds one.
    """
    names = sorted(set(known))
    near = difflib.get_close_matches(name[:60], names, n=3, cutoff=0.4)
    if near:
        return f"nearest is {' or '.join(near)}"
    return f"known are {', '.join(names[:20])}" if names else f"none is known yet; {what}"


def checked_person(book: Book, person: str, where: str = "--by") -> str:
    """The id of a person whom the book knows.

    Args:
        book: open.
        person: as typed.
        where: the option it was typed in.

    Raises:
        InputError: nobody has this id; the sentence names the nearest.
    """
    people = book.people.all()
    if any(one.id == person for one in people):
        return person
    by_name = [f"{one.id} ({one.name})" for one in people if one.name.casefold() == person.casefold()]
    hint = f"meant is {by_name[0]}; give the id" if by_name else nearest(
        person, [one.id for one in people], "book init registers the first")
    raise InputError([Problem(where, f"there is no person {person!r}; {hint}; people add enters a new one")])


def checked_cylinder(book: Book, cylinder: str) -> tuple[Fact, ...]:
    """The facts of a registered cylinder's gas.

    Args:
        book: open.
        cylinder: id.

    Raises:
        InputError: there is no such cylinder; the sentence names the nearest.
    """
    names = book.streams("register/")
    if f"register/{cylinder}" not in names:
        known = [name.removeprefix("register/") for name in names]
        hint = nearest(cylinder, known, "cylinder add registers one")
        raise InputError([Problem("cylinder", f"there is no cylinder {cylinder!r}; {hint}")])
    return book.stream(f"gas/{cylinder}")


def head_ids(act: Act, stream: Sequence[Fact]) -> tuple[FactId, ...]:
    """The heads that a gas-changing fact names: those its author saw.

    Args:
        act: may say which.
        stream: facts of the cylinder's gas.
    """
    return act.heads if act.heads is not None else tuple(fact.id for fact in heads(stream))


def in_force(stream: Sequence[Fact]) -> tuple[FactId, ...]:
    """The analyses on the heads that nothing replaced or corrected.

    Args:
        stream: facts of the cylinder's gas.
    """
    corrected = {fact.data.get("voids") for fact in stream if fact.kind == Kind.CORRECTED}
    found = [fact.id for head in heads(stream) for fact in unreplaced_analyses(stream, head)]
    return tuple(dict.fromkeys(name for name in found if name not in corrected))
