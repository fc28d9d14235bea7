"""Answers to what a door asked: load, compute, and put into the JSON shapes."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from gaswright.clearance.answers import answered
from gaswright.clearance.inputs import answers_of
from gaswright.exchange.answer_types import StandingAnswer
from gaswright.exchange.answers import (
    check_answer,
    demo_answer,
    doctor_answer,
    json_text,
    papers_answer,
    plan_answer,
)
from gaswright.exchange.policy_file import shipped_policy
from gaswright.exchange.trip_reader import read_trip
from gaswright.findings import Finding
from gaswright.planning.dive import Plan
from gaswright.services.board import BoardRow, board_rows
from gaswright.services.checking import Checked, check_day, local_moment, other_plans
from gaswright.services.day import Day, day_of
from gaswright.services.demo import DemoDay
from gaswright.services.papers import Papers

__all__ = [
    "check_answer_text", "checked_trip", "demo_answer_text", "doctor_answer_text", "papers_answer_text",
    "plan_answer_text", "plan_findings",
]  # fmt: skip


def checked_trip(trip_path: Path, policy_path: Path | None, moment: datetime | None) -> Checked:
    """A trip file judged at a moment; one without offset is local to the trip; None is the clock.

    Args:
        trip_path: the file.
        policy_path: the user's policy file, None.
        moment: when, None: now.

    Raises:
        InputError: the file cannot be read.
    """
    trip = read_trip(trip_path, policy_path)
    now = datetime.now(UTC) if moment is None else local_moment(moment, trip.zone)
    return check_day(day_of(trip, now), now)


def plan_findings(day: Day, plan: Plan) -> Sequence[Finding]:
    """The findings of a plan with the file's answers applied.

    Args:
        day: as loaded.
        plan: of its dive.
    """
    return answered(plan.findings, answers_of(day.facts))


def plan_answer_text(day: Day, plan: Plan) -> str:
    """The answer of `plan` as JSON text.

    Args:
        day: as loaded.
        plan: of its dive.
    """
    before = None if day.dive is None else day.dive.before
    return json_text(plan_answer(
        day.trip, plan, day.trip.policy, plan_findings(day, plan), dive=None if day.row is None else day.row.id,
        others=other_plans(day), interval_min=None if before is None else before.interval_min,
    ))


def check_answer_text(checked: Checked) -> str:
    """The answer of `check` as JSON text.

    Args:
        checked: a day judged.
    """
    return json_text(_check(checked))


def _check(checked: Checked) -> dict[str, object]:
    standings = [_standing(row) for row in board_rows(checked)]
    return check_answer(
        checked.day.trip, standings, checked.clearance.findings, go=checked.clearance.go, now=checked.now
    )


def _standing(row: BoardRow) -> StandingAnswer:
    return StandingAnswer(
        id=row.cylinder, serial=row.serial, diver=", ".join(row.divers), standing=row.standing, hold=row.hold,
        o2=row.o2, he=row.he, mod_m=row.mod_m, mod_ft=row.mod_ft, why=row.why or None,
    )  # fmt: skip


def papers_answer_text(checked: Checked, papers: Papers, written: Sequence[Path]) -> str:
    """The answer of `papers` as JSON text.

    Args:
        checked: a day judged.
        papers: made.
        written: their files.
    """
    kinds = [(str(path), papers.kinds[path.name]) for path in written]
    withheld = [(one.kind, one.subject, one.findings) for one in papers.withheld]
    return json_text(papers_answer(checked.day.trip, kinds, withheld, go=checked.clearance.go))


def demo_answer_text(days: Sequence[DemoDay]) -> str:
    """The answer of `demo` as JSON text.

    Args:
        days: as they ran.
    """
    files = [str(path) for demo in days for path in (demo.trip_file, *demo.written)]
    return json_text(demo_answer(shipped_policy(), files, [_check(demo.checked) for demo in days]))


def doctor_answer_text(check_ups: Sequence[tuple[str, bool, str]]) -> str:
    """The answer of `doctor` as JSON text.

    Args:
        check_ups: name, whether it is well, and the sentence.
    """
    return json_text(doctor_answer(shipped_policy(), check_ups))
