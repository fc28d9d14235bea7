"""The team is cleared, a diver withdraws, a dive is logged."""

from collections.abc import Mapping

from gaswright.book.draft import Draft
from gaswright.custody.clearances import STREAM
from gaswright.custody.fact import FactId, Kind, Value
from gaswright.custody.heads import of_kind
from gaswright.errors import InputError, Problem, Refused
from gaswright.services.book_acts import Act, Done, checked_cylinder, checked_person, done_before, in_force, record
from gaswright.services.book_day import needed_facts, today
from gaswright.services.book_opening import OpenBook

__all__ = ["clear_team", "log_dive", "withdraw_diver"]

SHOWN = 3  # findings that a refusal names


def clear_team(opened: OpenBook, act: Act) -> Done:
    """The team cleared: one fact for each planned diver, resting on the plan and on that diver's analyses and labels.

    Args:
        opened: the book.
        act: the request.

    Raises:
        Refused: the team may not go; the sentence names the first findings.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    shown = today(opened)
    checked = shown.checked
    if not checked.clearance.go:
        why = "; ".join(f"{one.subject.cylinder or one.subject.diver or 'team'}: {one.text}"
                        for one in checked.clearance.findings[:SHOWN] if one.blocks or one.code == "book.no_plan")
        raise Refused(f"the team may not go and cannot be cleared: {why or 'the plan rests on targets'}")
    drafts = []
    for diver, needed in needed_facts(checked, shown.plan).items():
        if not needed:
            raise Refused(f"{diver} cannot be cleared: a cylinder of {diver} has no gas or no label")
        earlier = tuple(fact.id for fact in opened.book.stream(f"{STREAM}{diver}"))
        drafts.append(Draft(Kind.TEAM_CLEARED, f"{STREAM}{diver}", act.at, act.by, earlier, tuple(sorted(needed)),
                            {"diver": diver}, opened.zone))
    return Done(record(opened, act, drafts))


def withdraw_diver(opened: OpenBook, act: Act, diver: str) -> Done:
    """A diver withdraws: every clearance of that diver that stands ends.

    Args:
        opened: the book.
        act: the request.
        diver: person id.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    checked_person(opened.book, diver, "--withdraw")
    stream = f"{STREAM}{diver}"
    cleared = tuple(fact.id for fact in of_kind(opened.book.stream(stream), Kind.TEAM_CLEARED))
    if not cleared:
        raise InputError([Problem("--withdraw", f"{diver} was not cleared; there is nothing to withdraw")])
    draft = Draft(Kind.CLEARANCE_WITHDRAWN, stream, act.at, act.by, cleared, data={"diver": diver}, zone=opened.zone)
    return Done(record(opened, act, (draft,)))


def log_dive(
    opened: OpenBook, act: Act, dive: str, breathed: Mapping[str, int | None], *, runtime_min: int | None = None,
    deepest_cm: int | None = None,
) -> Done:
    """A dive as it was dived: what was breathed is used until its pressure is read, and the plan is done.

    Args:
        opened: the book.
        act: the request.
        dive: id of its own.
        breathed: cylinder id to the gauge pressure after it, None: not read [0.01 bar].
        runtime_min: minutes from surface to surface, None: not said.
        deepest_cm: greatest depth, None: not said.

    Raises:
        InputError: an unknown person or cylinder.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    plan = today(opened).plan
    rests_on: tuple[FactId, ...] = (plan.fact.id,) if plan else ()
    names: list[Value] = [*sorted(breathed)]
    data: dict[str, Value] = {"runtime_min": runtime_min, "deepest_cm": deepest_cm, "cylinders": names, "dive": dive}
    drafts = [Draft(Kind.DIVE_LOGGED, f"dive/{dive}", act.at, act.by, (), rests_on, data, opened.zone)]
    for cylinder, gauge_centibar in breathed.items():
        stream = checked_cylinder(opened.book, cylinder)
        drafts.append(Draft(Kind.BREATHED, f"gas/{cylinder}", act.at, act.by, (), in_force(stream),
                            {"gauge_centibar": gauge_centibar}, opened.zone))
    return Done(record(opened, act, drafts))
