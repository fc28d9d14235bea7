"""The book opened with its own policy and time zone."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from gaswright.book.folding import custody_folding
from gaswright.book.handle import Book
from gaswright.book.machine import default_url
from gaswright.book.rows import known_origins
from gaswright.book.store import open_book
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import unreplaced, voids
from gaswright.exchange.policy_file import policy_of, user_policy_changes
from gaswright.policy import Policy

__all__ = ["POLICY_STREAM", "OpenBook", "book_url", "judging", "opened", "policy_facts"]

POLICY_STREAM = "policy/book"
MILLIONTH = 1_000_000  # policy values stand in facts as integers of a millionth of their unit


@dataclass(frozen=True, slots=True)
class OpenBook:
    """A book with what it judges by.

    Args:
        book: open, folding by the same policy and zone.
        policy: shipped, changed by the book and by the user's file.
        zone: IANA name.
        changes: what was changed, by name.
        now: of the machine when it was opened; aware.
    """

    book: Book
    policy: Policy
    zone: str
    changes: Mapping[str, float]
    now: datetime


def book_url(given: str | None) -> str:
    """The address of the book: as given, else the user's own.

    Args:
        given: an address; None or empty: not given.
    """
    return given or default_url()


@contextmanager
def opened(
    url: str, *, now: datetime, read_only: bool = False, policy_path: Path | None = None, origins: Path | None = None
) -> Iterator[OpenBook]:
    """The book, open until the end of the block.

    Args:
        url: of the book.
        now: of the machine; aware.
        read_only: for reading alone.
        policy_path: a policy file of the user's own, None.
        origins: folder of this machine's list of origins, None: the user's.

    Raises:
        InputError: there is no book, or it cannot be read.
        Refused: it is damaged.
    """
    with open_book(url, read_only=read_only, now=now, origins=origins) as book:
        yield judging(book, now, policy_path)


def judging(book: Book, now: datetime, policy_path: Path | None = None) -> OpenBook:
    """An open book with its policy and zone.

    Args:
        book: open.
        now: of the machine; aware.
        policy_path: a policy file of the user's own, None.
    """
    zone, changes = _of_book(policy_facts(book))
    changes |= user_policy_changes(policy_path) if policy_path else {}
    policy = policy_of(changes)
    return OpenBook(replace(book, folding=custody_folding(policy, zone)), policy, zone, changes, now)


def policy_facts(book: Book) -> tuple[Fact, ...]:
    """The changes of policy that stand in this book: its own; another book's policy is not followed.

    Args:
        book: open.
    """
    own = set(book.reads(lambda connection: known_origins(connection, own=True)))
    stream = book.stream(POLICY_STREAM)
    mine = [fact for fact in stream if fact.kind == Kind.POLICY_CHANGED and fact.id.partition("-")[0] in own]
    corrected = voids(stream)
    return tuple(fact for fact in unreplaced(stream, mine) if fact.id not in corrected)


def _of_book(facts: tuple[Fact, ...]) -> tuple[str, dict[str, float]]:
    """Zone and changed values of the latest change; a book without any is judged by the shipped policy in UTC."""
    zone, changes = "UTC", {}
    for fact in facts:
        said = fact.data.get("zone")
        zone = said if isinstance(said, str) and said else zone
        values = fact.data.get("changes")
        for name, value in (values.items() if isinstance(values, dict) else ()):
            if isinstance(value, int):
                changes[name] = value / MILLIONTH
    return zone, changes
