"""Plan and check of a day: one call each, the clock as an argument."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from gaswright.clearance.gates import clear
from gaswright.clearance.gates_sense import swapped_in_dive
from gaswright.clearance.inputs import Clearance, ClearanceInput, SurfaceOxygen, answers_of
from gaswright.custody.standing import Rung, Unknown
from gaswright.errors import InputError
from gaswright.planning.dive import Plan
from gaswright.planning.plan import plan
from gaswright.services.day import Day, day_of

__all__ = ["Checked", "check_day", "clearance_input", "local_moment", "other_plans", "plan_day", "standing_words"]


@dataclass(frozen=True, slots=True)
class Checked:
    """A day judged at a moment.

    Args:
        day: folded at that moment.
        plan: None where nothing is planned.
        inputs: what the gates were given.
        clearance: what they said.
        now: the moment; aware.
    """

    day: Day
    plan: Plan | None
    inputs: ClearanceInput
    clearance: Clearance
    now: datetime


def local_moment(moment: datetime, zone: str) -> datetime:
    """A moment with its zone: one without offset is local to the trip.

    Args:
        moment: aware or not.
        zone: IANA name of the trip's time zone.
    """
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=ZoneInfo(zone))


def plan_day(day: Day) -> Plan:
    """The plan of the day's dive.

    Args:
        day: as loaded.

    Raises:
        InputError: the file has no level, so there is nothing to plan.
    """
    if day.dive is None:
        raise InputError(f"{day.trip.file}: nothing to plan; add a [[level]] with depth and minutes")
    made = plan(day.dive, day.trip.policy)
    return replace(made, findings=(*made.findings, *swapped_in_dive(day.dive, day.trip.policy)))


def other_plans(day: Day) -> Mapping[str, Plan]:
    """Id of each other dive of the file to its plan.

    Args:
        day: as loaded.

    Raises:
        InputError: one of them cannot be built on the dive before it.
    """
    others = [row for row in day.trip.dives if day.row is not None and row.id != day.row.id]
    return {row.id: plan_day(day_of(day.trip, None, row.id)) for row in others}


def clearance_input(day: Day, planned: Plan | None) -> ClearanceInput:
    """What the gates need to know of a day.

    Args:
        day: folded at the moment of the check.
        planned: its plan, None where nothing is planned.
    """
    trip, surface = day.trip, day.trip.surface
    return ClearanceInput(
        standings=day.standings,
        register=day.register,
        divers=trip.divers,
        zone=trip.zone,
        dive=day.dive,
        plan=planned,
        day=trip.day,
        surface=None if surface is None else SurfaceOxygen(surface.oxygen_l, surface.ride_min, surface.persons),
        answers=answers_of(day.facts),
        facts=day.facts,
        units=trip.units,
        start=None if day.row is None else day.row.start,
    )


def check_day(day: Day, now: datetime) -> Checked:
    """The day's standings, findings and go at a moment.

    Args:
        day: folded at the same moment.
        now: aware.
    """
    planned = None if day.dive is None else plan_day(day)
    inputs = clearance_input(day, planned)
    return Checked(day, planned, inputs, clear(inputs, day.trip.policy, now), now)


def standing_words(checked: Checked) -> Mapping[str, str]:
    """Cylinder id to the word of its standing.

    Labelled becomes cleared where nothing holds its divers back. Filled is said only of a fill that waits for its
    first analysis; where an analysis is there and does not vouch, the word is unknown.

    Args:
        checked: a day judged.
    """
    held = _held_divers(checked)
    return {identity: _word(checked, identity, held) for identity in checked.day.standings}


def _word(checked: Checked, identity: str, held: frozenset[str]) -> str:
    standing = checked.day.standings[identity]
    if standing.rung is Rung.LABELLED and not held & set(checked.day.register[identity].divers):
        return Rung.CLEARED.value
    if standing.rung is Rung.FILLED and standing.why is not Unknown.NEVER_ANALYSED:
        return Rung.UNKNOWN.value
    return standing.rung.value


def _held_divers(checked: Checked) -> frozenset[str]:
    """Divers whom a blocking finding concerns: by name, by a cylinder of theirs, or as one of the team."""
    everyone = frozenset(diver.id for diver in checked.day.trip.divers)
    if checked.plan is None or checked.plan.basis != "analysed":
        return everyone
    held: set[str] = set()
    for finding in checked.clearance.findings:
        if not finding.blocks:
            continue
        subject = finding.subject
        if subject.diver is None and subject.cylinder is None:
            return everyone
        record = checked.day.register.get(subject.cylinder or "")
        held |= {subject.diver} if subject.diver else set(record.divers if record else everyone)
    return frozenset(held)
