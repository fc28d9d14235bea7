"""What there is to say of one cylinder of a book, and the few facts that the sentences need."""

from collections.abc import Iterable
from datetime import datetime

from gaswright.book.canonical import id_parts
from gaswright.book.folding import standing
from gaswright.book.rows import read_fact, texts_between
from gaswright.catalogue import CATALOGUE
from gaswright.clearance.gates import clear
from gaswright.clearance.inputs import ClearanceInput
from gaswright.clearance.scope import dive_day
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.registering import register
from gaswright.custody.standing import Standing
from gaswright.errors import InputError, Problem
from gaswright.findings import Finding
from gaswright.planning.dive import Diver
from gaswright.services.book_opening import OpenBook
from gaswright.services.book_people import person_ids

__all__ = ["details", "divers_of", "fact_named", "findings_after", "initials", "standing_now", "unknown_sentence"]

MOST_DETAILS = 200  # facts followed back from one analysis
FOLLOWED = (Kind.ANALYSED, Kind.LABELS_REMOVED, Kind.LENT, Kind.RETURNED)


def standing_now(opened: OpenBook, cylinder: str) -> Standing:
    """Where a cylinder stands now.

    Args:
        opened: the book.
        cylinder: id.
    """
    now = opened.book.now(opened.now)
    return standing(opened.book, cylinder, opened.policy, zone=opened.zone, now=now)


def unknown_sentence(standing: Standing) -> str:
    """Why a gas is unknown, as a sentence.

    Args:
        standing: of a cylinder whose gas is unknown.
    """
    why = "never_analysed" if standing.why is None else standing.why.value
    return CATALOGUE[f"gas.{why}"].text.format(**{"changed": "", "fact": "?", "at": "?", "ahead": "some time"}
                                               | dict(standing.why_values))


def fact_named(opened: OpenBook, name: FactId) -> Fact:
    """The fact of an id.

    Args:
        opened: the book.
        name: as typed.

    Raises:
        InputError: there is no such fact here.
    """
    found = _fact(opened, name)
    if found is None:
        raise InputError([Problem("fact", f"there is no fact {name[:40]!r} in this book; log shows their ids")])
    return found


def _fact(opened: OpenBook, name: FactId) -> Fact | None:
    parts = id_parts(name)
    if parts is None:
        return None
    origin, number = parts
    texts = opened.book.reads(lambda connection: texts_between(connection, origin, number, number))
    return read_fact(name, texts[0]) if texts else None


def details(opened: OpenBook, standing: Standing, now: datetime) -> tuple[Fact, ...]:
    """The facts that the gates' sentences need of a cylinder: its analysis, fill and label, and what they follow.

    All of its gas is read only where it is staged, or where its analysis is of an earlier dive day.

    Args:
        opened: the book.
        standing: of the cylinder.
        now: at which it is judged; aware.
    """
    known = standing.known
    stream = f"gas/{standing.cylinder}"
    if standing.staged or (known is not None and _of_another_day(opened, known.at, now)):
        return opened.book.stream(stream)
    if known is None:
        return ()
    found: dict[FactId, Fact] = {}
    open_names = [known.analysis, known.fill, *([standing.label] if standing.label else [])]
    while open_names and len(found) < MOST_DETAILS:
        name = open_names.pop(0)
        fact = found.get(name) or _fact(opened, name)
        if fact is None or name in found or fact.stream != stream:
            continue
        found[name] = fact
        open_names += [*fact.after, *fact.rests_on] if fact.kind in FOLLOWED else []
    return tuple(found.values())


def _of_another_day(opened: OpenBook, at: datetime, now: datetime) -> bool:
    return dive_day(at, opened.zone, opened.policy) != dive_day(now, opened.zone, opened.policy)


def divers_of(opened: OpenBook, more: Iterable[str] = ()) -> tuple[Diver, ...]:
    """Everybody whom the book knows, and those whom its cylinders name, as people with cylinders.

    Args:
        opened: the book.
        more: ids that the register names.
    """
    names = person_ids(opened)
    names |= {person: person for person in more if person not in names}
    return tuple(Diver(person, name, initials(name), 20.0, 20.0) for person, name in names.items())


def initials(name: str) -> str:
    """Two letters for a label: of the first and the last word, or of the only one.

    Args:
        name: of a person.
    """
    words = [word for word in name.split() if word]
    letters = words[0][0] + words[-1][0] if len(words) > 1 else (words[0][:2] if words else "?")
    return letters.upper()


def findings_after(
    opened: OpenBook, cylinder: str, *, codes: tuple[str, ...] = ("",), without: tuple[str, ...] = ()
) -> tuple[Finding, ...]:
    """What the gates say of one cylinder after an act, without a plan.

    Args:
        opened: the book.
        cylinder: id.
        codes: beginnings of the codes that concern the act.
        without: beginnings of those that do not.
    """
    now = opened.book.now(opened.now)
    told = standing_now(opened, cylinder)
    records = register(opened.book.stream(f"register/{cylinder}"))
    divers = divers_of(opened, (diver for record in records.values() for diver in record.divers if diver != "team"))
    inputs = ClearanceInput({cylinder: told}, records, divers, opened.zone, facts=details(opened, told, now))
    found = clear(inputs, opened.policy, now).findings
    return tuple(
        finding for finding in found
        if finding.subject.cylinder == cylinder and finding.code.startswith(codes)
        and not (without and finding.code.startswith(without))
    )
