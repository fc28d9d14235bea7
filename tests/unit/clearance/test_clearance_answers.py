"""Answers: what they cover, when they count, and that they never lift a stop; and the word go."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from gaswright.catalogue import CATALOGUE
from gaswright.clearance.answers import answered, answers_in_force
from gaswright.clearance.gates import clear
from gaswright.clearance.inputs import Answer, ClearanceInput, answers_of
from gaswright.custody.fact import Kind
from gaswright.custody.standing import Unknown
from gaswright.errors import InputError
from gaswright.findings import Finding, Rule, Severity, Subject
from gaswright.planning.dive import Basis
from unit.clearance.day_for_tests import (
    NOW,
    POLICY,
    ZONE,
    fact,
    normal_day,
    with_known,
    with_plan_findings,
    with_record,
    with_standing,
    without_gas,
)

RULE = Rule("a rule", "a source")


def answer(code: str, subject: str = "", *, by: str = "d1", at: datetime = NOW) -> Answer:
    """An answer given now by Ines."""
    return Answer(code, subject, by, at, "known to the team")


def ask(code: str = "narcosis.end", severity: Severity = Severity.ASK, **subject: str) -> Finding:
    """A finding that asks."""
    return Finding(code, severity, Subject(**subject), "why", "mend", RULE)  # type: ignore[arg-type]


def shut_isolators() -> ClearanceInput:
    """A day on which the isolators of d1 and d2 were shut: two asks of one code."""
    return with_record(with_record(normal_day(), "m1", isolator_open=False), "m2", isolator_open=False)


def go(day: ClearanceInput, *answers: Answer) -> bool:
    """Whether the day goes with these answers."""
    return clear(replace(day, answers=answers), POLICY, NOW).go


def test_an_unanswered_ask_forbids_and_its_answer_frees() -> None:
    """An ask blocks until a named person has answered it; the finding then names that person."""
    day = with_record(normal_day(), "m1", isolator_open=False)
    assert not go(day)
    clearance = clear(replace(day, answers=(answer("pair.isolator", "m1", by="d2"),)), POLICY, NOW)
    assert clearance.go
    assert [finding.answered_by for finding in clearance.findings] == ["d2"]


def test_an_answer_without_subject_covers_like_findings() -> None:
    """One answer covers every ask of its code; one with a subject covers that subject only."""
    assert go(shut_isolators(), answer("pair.isolator"))
    assert not go(shut_isolators(), answer("pair.isolator", "m1"))
    assert go(shut_isolators(), answer("pair.isolator", "m1"), answer("pair.isolator", "m2"))


def test_an_answer_covers_only_its_own_code() -> None:
    """An answer to another question answers nothing."""
    assert not go(shut_isolators(), answer("team.two_alike"))


@pytest.mark.parametrize(
    ("named", "covers"),
    [("", True), ("d1", True), ("m1", True), ("d1 m1", True), ("m1, d1", True), ("deeper and longer", True),
     ("d1, deeper and longer", True), ("a rule", True), ("deeper", False), ("d2", False), ("d1 m2", False),
     ("m1, d2", False)],
)
def test_all_that_an_answer_names_must_be_the_finding_s(named: str, covers: bool) -> None:  # noqa: FBT001  a table
    """Diver, cylinder, case and setting: an answer about one case does not cover a worse one."""
    finding = ask(diver="d1", cylinder="m1", case="deeper and longer")
    (found,) = answered((finding,), (answer("narcosis.end", named),))
    assert (found.answered_by == "d1") is covers


@pytest.mark.parametrize("severity", [Severity.STOP, Severity.NOTE])
def test_an_answer_never_covers_a_stop_or_a_note(severity: Severity) -> None:
    """Only asks are answered."""
    (found,) = answered((ask(severity=severity),), (answer("narcosis.end"),))
    assert found.answered_by is None


def test_answers_never_lift_a_stop() -> None:
    """With every code answered, a day with a stop does not go."""
    day = with_standing(normal_day(), "e1", label=None, label_serial_matches=None)
    assert not go(day, *(answer(code) for code in CATALOGUE))


@pytest.mark.parametrize(
    ("given_at", "counts"),
    [(NOW, True), (NOW + timedelta(seconds=1), False), (NOW - timedelta(hours=5), True),
     (NOW - timedelta(hours=5, seconds=1), False)],
)
def test_an_answer_counts_on_its_dive_day_from_its_time_on(given_at: datetime, counts: bool) -> None:  # noqa: FBT001
    """Not in the future, and not from before 04:00 local, when the dive day began; now is 09:00."""
    kept = answers_in_force((answer("pair.isolator", at=given_at),), POLICY, zone=ZONE, now=NOW)
    assert bool(kept) is counts


def test_an_answer_by_nobody_does_not_count() -> None:
    """An ask wants a named person."""
    assert not go(shut_isolators(), answer("pair.isolator", by=" "))


def test_a_plan_cannot_answer_its_own_asks() -> None:
    """An ask that arrives as answered is asked again."""
    finding = replace(ask(diver="d1"), answered_by="d1")
    assert not go(with_plan_findings(normal_day(), finding))
    assert go(with_plan_findings(normal_day(), finding), answer("narcosis.end"))


def test_answers_are_read_from_facts_and_corrected_ones_are_not() -> None:
    """A corrected answer answers nothing."""
    said = fact(Kind.ANSWERED, "m1", NOW, {"code": "pair.isolator", "subject": "m1", "text": "was open"}, "A-1")
    said = replace(said, stream="answer/1")
    voided = replace(fact(Kind.CORRECTED, "m1", NOW, {"voids": "A-1", "reason": "not seen"}, "A-2"), stream="answer/1")
    assert [(one.code, one.subject, one.by) for one in answers_of((said,))] == [("pair.isolator", "m1", "d1")]
    assert answers_of((said, voided)) == ()


def test_go_needs_a_plan_with_a_schedule_on_analysed_gas() -> None:
    """No plan, no schedule, or a plan on targets: never go, even without a finding."""
    day = normal_day()
    assert day.plan is not None
    unscheduled = replace(day.plan, cases=(replace(day.plan.planned, schedule=None),))
    assert go(day)
    for plan in (None, unscheduled, replace(day.plan, cases=()), replace(day.plan, basis=Basis.TARGET)):
        assert not go(replace(day, plan=plan))


@pytest.mark.parametrize(("severity", "goes"), [(Severity.STOP, False), (Severity.ASK, False), (Severity.NOTE, True)])
def test_planning_s_findings_count(severity: Severity, goes: bool) -> None:  # noqa: FBT001  a table
    """A stop or ask of the plan forbids, a note does not; all are shown."""
    finding = ask(severity=severity, diver="d1")
    day = with_plan_findings(normal_day(), finding, finding)
    assert clear(day, POLICY, NOW).findings == (finding,)
    assert go(day) is goes


def test_an_unknown_gas_is_never_go_whatever_the_plan_says() -> None:
    """Unknown gas stops even if the plan calls itself analysed."""
    day = without_gas(normal_day(), "e1", Unknown.FILLED_SINCE)
    assert day.plan is not None
    assert not go(replace(day, plan=replace(day.plan, basis=Basis.ANALYSED)))


def test_a_normal_day_with_one_shared_analyser_asks_at_most_once_per_diver() -> None:
    """Where Ines analysed one cylinder of each buddy, each buddy has one ask, and only the buddy can answer it."""
    day = normal_day()
    for cylinder in ("e2", "e3"):
        day = with_known(day, cylinder, by="d1", accepted_by=("d1",))
    asks = [finding for finding in clear(day, POLICY, NOW).findings if finding.severity is Severity.ASK]
    assert [finding.subject.diver for finding in asks] == ["d2", "d3"]
    assert not go(day, answer("analysis.by_another"))
    assert not go(day, answer("analysis.by_another", by="d2"))
    assert go(day, answer("analysis.by_another", by="d2"), answer("analysis.by_another", by="d3"))


def test_a_clock_without_zone_is_refused() -> None:
    """A time that does not say its offset cannot judge an age."""
    with pytest.raises(InputError):
        clear(normal_day(), POLICY, NOW.replace(tzinfo=None))


def test_an_unknown_zone_is_refused() -> None:
    """A zone that does not exist names no local day."""
    with pytest.raises(InputError):
        clear(replace(normal_day(), zone="Europe/Nowhere"), POLICY, NOW)
