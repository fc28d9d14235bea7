"""The log of a book: who did what, when, in the order in which machines took it down."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from gaswright.book.canonical import fact_of, id_parts
from gaswright.book.rows import heads_of, texts_between
from gaswright.book.upcasts import current
from gaswright.custody.fact import Fact
from gaswright.services.book_acts import checked_cylinder
from gaswright.services.book_opening import OpenBook
from gaswright.services.book_people import person_ids

__all__ = ["Entry", "log"]

HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Entry:
    """One fact as the log shows it.

    Args:
        fact: free text put back where it was not erased.
        name: of who did it, None where it was erased or never came here.
    """

    fact: Fact
    name: str | None


def log(opened: OpenBook, *, cylinder: str | None = None, limit: int = 50) -> tuple[Entry, ...]:
    """The latest facts, oldest first; for showing only: no rule uses this order.

    Args:
        opened: the book.
        cylinder: id; None: everything.
        limit: how many, at least 1.

    Raises:
        InputError: there is no such cylinder.
    """
    found = _latest(opened, limit) if cylinder is None else _of_cylinder(opened, cylinder)
    names = person_ids(opened)
    shown = sorted(found, key=lambda fact: (fact.recorded, *(id_parts(fact.id) or ("", 0))))[-limit:]
    return tuple(Entry(_with_notes(opened, fact), names.get(fact.by)) for fact in shown)


def _of_cylinder(opened: OpenBook, cylinder: str) -> tuple[Fact, ...]:
    gas = checked_cylinder(opened.book, cylinder)
    return (*opened.book.stream(f"register/{cylinder}"), *gas)


def _latest(opened: OpenBook, limit: int) -> list[Fact]:
    """The last of each origin: among them are the last of all, for one origin records in the order of its clock."""
    links = opened.book.reads(heads_of)
    texts = [text for origin, (number, _) in links.items() for text in opened.book.reads(
        lambda connection, origin=origin, number=number: texts_between(  # type: ignore[misc]
            connection, origin, max(1, number - limit + 1), number))]
    return [current(fact_of(text)) for text in texts]


def _with_notes(opened: OpenBook, fact: Fact) -> Fact:
    """The fact with its free texts in the place of their hashes, where they were not erased."""
    texts: Mapping[str, str | None] = {
        name: opened.book.note(value) for name, value in fact.data.items()
        if name.endswith("_sha256") and isinstance(value, str) and HASH.fullmatch(value) and name != "name_sha256"
    }
    shown = {name.removesuffix("_sha256"): text for name, text in texts.items() if text is not None}
    return replace(fact, data={**{k: v for k, v in fact.data.items() if k not in texts or texts[k] is None}, **shown})
