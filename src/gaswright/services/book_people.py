"""The first person of a book, and the others."""

from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from gaswright.book.appending import appended, check_request
from gaswright.book.draft import Draft
from gaswright.book.errors import BookUnavailable
from gaswright.book.people import added_person
from gaswright.book.store import create_book, open_book
from gaswright.custody.fact import Kind, Value
from gaswright.errors import InputError, Problem
from gaswright.services.book_acts import Act, Done, checked_person, done_before
from gaswright.services.book_opening import POLICY_STREAM, OpenBook, judging

__all__ = ["add_person", "init_book", "person_ids"]


def init_book(
    url: str, act: Act, *, name: str, zone: str, now: datetime, origin: str | None = None, origins: Path | None = None,
) -> Done:
    """A new book whose first fact enters its first person, and whose second says its time zone.

    The same request under the same key gives the first ids again.

    Args:
        url: of a store that holds no book yet.
        act: its `by` is the first person.
        name: of that person.
        zone: IANA name.
        now: of the machine; aware.
        origin: eight letters, None: drawn at random.
        origins: folder of this machine's list of origins, None: the user's.

    Raises:
        InputError: there is a book already, or a name or the zone cannot be.
    """
    _checked_zone(zone)
    _checked_id(act.by)
    there, done = _made_before(url, act, now, origins)
    if done is not None:
        return done
    if not there:
        create_book(url, origin=origin, now=now, origins=origins)
    with open_book(url, now=now, origins=origins) as book:
        data: dict[str, Value] = {"zone": zone, "changes": {}}
        policy = Draft(Kind.POLICY_CHANGED, POLICY_STREAM, act.at, act.by, data=data, zone=zone)
        return _entered(judging(book, now), act, act.by, name, zone, (policy,))


def _made_before(url: str, act: Act, now: datetime, origins: Path | None) -> tuple[bool, Done | None]:
    """True if an empty book is there (its first entry never came); and what the same request gave before."""
    try:
        with open_book(url, read_only=True, now=now, origins=origins) as book:
            return not book.head_hashes() and not book.people.all(), done_before(judging(book, now), act)
    except BookUnavailable:
        return False, None
    except InputError as error:
        if "no book in this database" in str(error):
            return False, None
        raise


def _checked_zone(zone: str) -> None:
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError([Problem("--zone", f"{zone!r} is not a time zone; give an IANA name such as Europe/Berlin")]
                         ) from error


def add_person(opened: OpenBook, act: Act, person: str, name: str) -> Done:
    """A person entered, or renamed: the chain holds the id and a hash, the name stands where it can be erased.

    Args:
        opened: the book.
        act: the request.
        person: new id.
        name: erasable.

    Raises:
        InputError: an id or name that cannot be, or an unknown `by`.
        Refused: the id was erased.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    return _entered(opened, act, _checked_id(person), name, opened.zone, ())


def _checked_id(person: str) -> str:
    ok = 0 < len(person) <= 32 and person[0].isalnum() and all(c.isalnum() or c in "._-" for c in person)
    if not ok or not person.isascii() or person in {"team", "unknown"}:
        raise InputError([Problem("person", f"{person[:40]!r} is no id; an id has 1 to 32 letters, digits, points, "
                                  "dashes or underscores and begins with a letter or digit; team and unknown are kept "
                                  "for other meanings")])
    return person


def _entered(
    opened: OpenBook, act: Act, person: str, name: str, zone: str, more: tuple[Draft, ...]
) -> Done:
    book = opened.book
    book.must_be_writable()
    with book.write() as connection:
        entered = added_person(connection, person, name)
        data: dict[str, Value] = {"id": person, "name_sha256": entered.hash}
        drafts = (Draft(Kind.PERSON_ADDED, f"person/{person}", act.at, act.by, data=data, zone=zone), *more)
        check_request(drafts, act.key)
        ids, _ = appended(connection, drafts, key=act.key, request=act.request, now=opened.now, folding=book.folding)
    return Done(ids)


def person_ids(opened: OpenBook) -> dict[str, str]:
    """Person id to name, by id.

    Args:
        opened: the book.
    """
    found: dict[str, str] = {}
    for person in opened.book.people.all():
        found[person.id] = f"{found[person.id]} or {person.name}" if person.id in found else person.name
    return found


