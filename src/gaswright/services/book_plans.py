"""The plan of a day as the book keeps it: the words of its trip file, in an erasable note."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import of_kind, stream_facts, unreplaced, voids
from gaswright.errors import InputError
from gaswright.exchange.trip import Trip
from gaswright.exchange.trip_reader import trip_of_bytes
from gaswright.services.book_opening import OpenBook

__all__ = ["PLANS", "DayPlan", "dived", "plan_of_day", "plans_of_day"]

PLANS, DIVES = "plan/", "dive/"


@dataclass(frozen=True, slots=True)
class DayPlan:
    """A plan that stands for a day.

    Args:
        fact: by which it was made.
        text: its trip file without rows of custody and without names.
        trip: the same, read, with the names that the book knows.
    """

    fact: Fact
    text: str
    trip: Trip


def plans_of_day(opened: OpenBook, day: date) -> tuple[Fact, ...]:
    """The plans of a day that nothing replaced or corrected, and of which a dive is still to be logged.

    Args:
        opened: the book.
        day: of the dive.
    """
    names = opened.book.streams(PLANS)
    facts = tuple(opened.book.facts(names))
    found = [fact for name in names for fact in _standing(stream_facts(facts, name))
             if fact.data.get("day") == day.isoformat()]
    return tuple(fact for fact in found if not _listed(fact) or _listed(fact) - dived(opened, fact))


def _listed(plan: Fact) -> set[object]:
    dives = plan.data.get("dives")
    return set(dives) if isinstance(dives, list) else set()


def dived(opened: OpenBook, plan: Fact) -> set[object]:
    """Ids of the dives of a plan that were logged.

    Args:
        opened: the book.
        plan: the fact by which it was made.
    """
    logged = opened.book.facts(opened.book.streams(DIVES))
    return {fact.data.get("dive") for fact in logged if fact.kind == Kind.DIVE_LOGGED and plan.id in fact.rests_on}


def _standing(stream: Sequence[Fact]) -> Sequence[Fact]:
    corrected = voids(stream)
    return [fact for fact in unreplaced(stream, of_kind(stream, Kind.PLAN_MADE)) if fact.id not in corrected]


def plan_of_day(opened: OpenBook, fact: Fact, names: Mapping[str, str]) -> DayPlan:
    """A plan read again from its note.

    Args:
        opened: the book.
        fact: by which it was made.
        names: person id to name.

    Raises:
        InputError: its note was erased, or cannot be read by this program.
    """
    text = opened.book.note(str(fact.data.get("text_sha256")))
    if text is None:
        raise InputError(f"the words of the plan {fact.id} were erased; plan the day anew")
    trip = trip_of_bytes(text.encode(), f"plan {fact.id}", opened.changes)
    divers = tuple(replace(diver, name=names.get(diver.id, diver.id)) for diver in trip.divers)
    return DayPlan(fact, text, replace(trip, divers=divers))
