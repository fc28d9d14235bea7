"""Clearance on random days: faults only take go away, and answers never lift a stop."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from gaswright.catalogue import CATALOGUE
from gaswright.clearance.gates import clear
from gaswright.clearance.inputs import Answer, ClearanceInput
from gaswright.clearance.leave import label_mods, label_permit
from gaswright.clearance.permits import LabelPermit
from gaswright.custody.standing import Unknown
from gaswright.findings import Severity
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import UnitSystem
from unit.clearance.day_for_tests import (
    DAY,
    NOW,
    POLICY,
    normal_day,
    with_dive_cylinder,
    with_known,
    with_record,
    with_standing,
    without_gas,
)

Fault = Callable[[ClearanceInput, str], ClearanceInput]

STOPS: tuple[Fault, ...] = (
    *(lambda day, cylinder, why=why: without_gas(day, cylinder, why) for why in Unknown),
    lambda day, cylinder: with_standing(day, cylinder, label=None, label_serial_matches=None),
    lambda day, cylinder: with_standing(day, cylinder, label_serial_matches=False),
    lambda day, cylinder: with_standing(day, cylinder, frozen=True),
    lambda day, cylinder: with_record(day, cylinder, tested_until=DAY - timedelta(days=1)),
    lambda day, cylinder: with_record(day, cylinder, oxygen_clean=False, target_o2_e4=8000, target_he_e4=0),
    lambda day, cylinder: replace(day, register={k: v for k, v in day.register.items() if k != cylinder}),
)
OTHERS: tuple[Fault, ...] = (
    lambda day, cylinder: with_record(day, cylinder, tested_until=None, permanent_mark="3 m")
    if cylinder in day.register else day,
    lambda day, cylinder: with_record(day, cylinder, isolator_open=False) if cylinder in day.register else day,
    lambda day, cylinder: with_dive_cylinder(day, cylinder, divers=("d1", "d2", "d3")),
    lambda day, cylinder: with_dive_cylinder(day, cylinder, staged=True, place_depth_m=4.0),
    lambda day, _: replace(day, surface=None),
)
CYLINDERS = st.sampled_from(sorted(normal_day().register))
STOP_FAULTS = st.tuples(st.sampled_from(STOPS), CYLINDERS)
MILD_FAULTS = st.lists(st.tuples(st.sampled_from(OTHERS), CYLINDERS), max_size=4)
ANSWERS = st.lists(
    st.builds(Answer, st.sampled_from(sorted(CATALOGUE)), st.sampled_from(["", "d1", "m1", "d2"]),
              st.sampled_from(["d1", "d3"]), st.just(NOW), st.just("seen")), max_size=8,
)


def spoilt(faults: list[tuple[Fault, str]], answers: list[Answer]) -> ClearanceInput:
    """The normal day with faults and answers."""
    day = normal_day()
    for fault, cylinder in faults:
        day = fault(day, cylinder)
    return replace(day, answers=tuple(answers))


@given(MILD_FAULTS, STOP_FAULTS, ANSWERS)
def test_a_stop_always_takes_go_away(
    mild: list[tuple[Fault, str]], stop: tuple[Fault, str], answers: list[Answer]
) -> None:
    """Whatever else is wrong and whatever is answered: with a fault that stops, the team does not go."""
    clearance = clear(spoilt([*mild, stop], answers), POLICY, NOW)
    assert not clearance.go
    assert any(finding.severity is Severity.STOP for finding in clearance.findings)


@given(MILD_FAULTS, ANSWERS)
def test_answers_only_mark_asks(mild: list[tuple[Fault, str]], answers: list[Answer]) -> None:
    """The same findings with and without answers, apart from who answered an ask."""
    unanswered = clear(spoilt(mild, []), POLICY, NOW).findings
    marked = clear(spoilt(mild, answers), POLICY, NOW).findings
    assert tuple(replace(finding, answered_by=None) for finding in marked) == unanswered
    assert all(finding.severity is Severity.ASK for finding in marked if finding.answered_by)


@given(MILD_FAULTS)
def test_go_is_no_stop_and_no_open_ask(mild: list[tuple[Fault, str]]) -> None:
    """On a plan on analysed gas, go says exactly that nothing blocks."""
    clearance = clear(spoilt(mild, []), POLICY, NOW)
    assert clearance.go is not any(finding.blocks for finding in clearance.findings)


@given(MILD_FAULTS, ANSWERS)
def test_everything_answered_goes_unless_stopped(mild: list[tuple[Fault, str]], answers: list[Answer]) -> None:
    """Answering every code frees a day without a stop, and only such a day."""
    all_answers = answers + [Answer(code, "", by, NOW, "seen") for code in CATALOGUE for by in ("d1", "d2", "d3")]
    clearance = clear(spoilt(mild, all_answers), POLICY, NOW)
    assert clearance.go is not any(finding.severity is Severity.STOP for finding in clearance.findings)


@given(st.integers(1600, 10_000), st.integers(1600, 10_000))
def test_label_codes_follow_the_reading(first_e4: int, second_e4: int) -> None:
    """Equal readings give equal codes and MODs; another reading gives another code (20 bits: checked, not proved)."""
    permits = [label_of(o2_e4) for o2_e4 in (first_e4, second_e4)]
    if first_e4 == second_e4:
        assert permits[0] == permits[1]
    elif permits[0].sheet_code == permits[1].sheet_code:
        assert label_of(first_e4 - 1).sheet_code != label_of(second_e4 - 1).sheet_code


def label_of(o2_e4: int) -> LabelPermit:
    """The permit for EAN50's cylinder with another reading."""
    day = with_known(normal_day(), "e1", mixture=Mixture(o2_e4))
    permit = label_permit(
        day.standings["e1"], day.register["e1"], day.divers[:1], POLICY, zone=day.zone, now=NOW,
        units=UnitSystem.METRIC, planned=True, mod=label_mods(day, POLICY)["e1"], analyst_initials="IN",
    )
    assert isinstance(permit, LabelPermit)
    return permit
