"""Permits: what withholds a label, what withholds slates, and what a sheet code tells apart."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from gaswright.analysis.reading import Reading
from gaswright.clearance.gates import clear
from gaswright.clearance.inputs import ClearanceInput
from gaswright.clearance.leave import label_mods, label_permit, sheet_permit
from gaswright.clearance.permits import LabelPermit, SheetPermit
from gaswright.clearance.sheet_code import ALPHABET, CODE_LENGTH, sheet_code_of
from gaswright.custody.standing import Unknown
from gaswright.errors import InputError, Refused
from gaswright.findings import Finding, Rule, Severity, Subject
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Basis, UnitSystem
from unit.clearance.day_for_tests import (
    DAY,
    DIVERS,
    NOW,
    POLICY,
    ZONE,
    codes,
    normal_day,
    with_dive_cylinder,
    with_known,
    with_plan_findings,
    with_record,
    with_standing,
    without_gas,
)


def label(day: ClearanceInput, cylinder: str = "e1", **changes: Any) -> LabelPermit | tuple[Finding, ...]:  # noqa: ANN401
    """Ask for leave to print one cylinder's labels on a day."""
    given: dict[str, Any] = {
        "zone": ZONE, "now": NOW, "units": UnitSystem.METRIC, "planned": True,
        "mod": label_mods(day, POLICY).get(cylinder), "analyst_initials": "IN",
    }
    return label_permit(day.standings[cylinder], day.register.get(cylinder), DIVERS[:1], POLICY, **given | changes)


def permitted(day: ClearanceInput, cylinder: str = "e1", **changes: Any) -> LabelPermit:  # noqa: ANN401
    """The permit, which must be given."""
    permit = label(day, cylinder, **changes)
    assert isinstance(permit, LabelPermit)
    return permit


def sheets(day: ClearanceInput) -> SheetPermit | tuple[Finding, ...]:
    """Ask for leave to print the team's slates and cards on a day."""
    return sheet_permit(day, clear(day, POLICY, NOW), POLICY, trip_name="Hollow Mill quarry", day=DAY)


def released(day: ClearanceInput) -> SheetPermit:
    """The permit, which must be given."""
    permit = sheets(day)
    assert isinstance(permit, SheetPermit)
    return permit


def stop(code: str, **subject: str) -> Finding:
    """A stop of planning."""
    return Finding(code, Severity.STOP, Subject(**subject), "why", "mend", Rule("r", "s"))  # type: ignore[arg-type]


def test_a_label_permit_says_what_the_record_says() -> None:
    """ID on metal, gas, MOD, pressure, initials and local time come from the record."""
    permit = permitted(normal_day())
    assert permit.id_on_metal == "5201"
    assert permit.reading.mixture == Mixture(4960)
    assert (permit.mod.metres, permit.mod.feet) == (21, 70)
    assert permit.gauge_bar is not None
    assert (permit.initials, permit.analysed_by, permit.diver_names) == ("IN", "IN", "Ines")
    assert permit.analysed_at.isoformat() == "2027-05-14T08:00:00+02:00"
    assert permit.breathable
    assert permit.planned


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        *((lambda day, why=why: without_gas(day, "e1", why), f"gas.{why}") for why in Unknown),
        (lambda day: with_known(day, "e1", expires=NOW), "gas.expired"),
        (lambda day: with_known(day, "e1", at=NOW + timedelta(hours=1)), "gas.in_the_future"),
        (lambda day: with_standing(day, "e1", frozen=True), "gas.frozen"),
        (lambda day: with_record(day, "e1", tested_until=DAY - timedelta(days=1)), "cylinder.out_of_test"),
        (lambda day: with_record(day, "e1", oxygen_clean=False), "cylinder.not_oxygen_clean"),
        (lambda day: replace(day, register={}), "cylinder.not_registered"),
    ],
)
def test_a_label_is_withheld(spoil: Callable[[ClearanceInput], ClearanceInput], code: str) -> None:
    """Each reason alone withholds the label, and is named."""
    findings = label(spoil(normal_day()))
    assert not isinstance(findings, LabelPermit)
    assert codes(findings) == {code}


def test_a_label_depends_on_its_cylinder_alone() -> None:
    """Another's analyst, a missing label, a shut isolator or a stop of the team do not withhold it."""
    day = with_known(with_standing(normal_day(), "e1", label=None), "e1", by="d2", accepted_by=("d2",))
    day = with_plan_findings(with_record(without_gas(day, "e2", Unknown.LENT), "e1", isolator_open=False),
                             stop("supply.minimum_gas", cylinder="m1"))
    assert permitted(day).sheet_code == permitted(normal_day()).sheet_code


def test_a_note_about_a_test_date_does_not_withhold_a_label() -> None:
    """Only stops withhold."""
    assert permitted(with_record(normal_day(), "e1", tested_until=None)).cylinder == "e1"


def test_suit_gas_is_not_for_breathing() -> None:
    """The permit of a suit cylinder says so."""
    assert not permitted(with_record(normal_day(), "e1", role="suit"), mod=None).breathable


def test_a_mod_deeper_than_the_reading_allows_is_refused() -> None:
    """No caller prints a deeper MOD than the analysis in force gives; a shallower one may be printed."""
    with pytest.raises(Refused):
        label(normal_day(), mod=LabelMod(160, 24, 70))
    with pytest.raises(Refused):
        label(normal_day(), mod=LabelMod(160, 21, 80))
    with pytest.raises(Refused):
        label(normal_day(), "m1", mod=LabelMod(160, 75, 240))
    assert permitted(normal_day(), mod=LabelMod(140, 18, 50)).mod.metres == 18


def test_a_label_needs_a_clock_with_an_offset() -> None:
    """An age cannot be judged by a time without offset."""
    with pytest.raises(InputError):
        label(normal_day(), now=NOW.replace(tzinfo=None))


def test_two_readings_print_the_richer_one_s_percentage_and_mod() -> None:
    """The label shows the reading that gives the MOD."""
    day = normal_day()
    known = day.standings["e1"].known
    assert known is not None
    rich = replace(known.rich, mixture=Mixture(5040))
    rich_day = with_known(day, "e1", rich=replace(rich, mixture=Mixture(5140)))
    permit = permitted(with_known(day, "e1", rich=rich))
    assert permit.reading.mixture == Mixture(5040)
    assert label_mods(rich_day, POLICY)["e1"].metres == 18
    assert codes(clear(rich_day, POLICY, NOW).findings) == {"plan.outdated"}


def test_sheets_show_the_label_s_mod_also_where_the_plan_was_more_careful() -> None:
    """One MOD on paper: the one that hangs on the cylinder."""
    day = with_dive_cylinder(normal_day(), "m1", gas=Reading(Mixture(1820, 4460), 200, 100))
    assert released(day).mods["m1"] == label_mods(day, POLICY)["m1"]


def test_sheets_are_released_on_a_normal_day() -> None:
    """Divers, IDs on the metal, MODs and go are those of the day."""
    permit = released(normal_day())
    assert permit.go
    assert not permit.plan_only
    assert permit.ids_on_metal["o3"] == "6303"
    assert permit.mods["o3"].metres == 6
    assert permit.divers == DIVERS


def test_an_unanswered_ask_does_not_withhold_sheets_but_they_do_not_say_go() -> None:
    """Only stops withhold."""
    assert not released(with_record(normal_day(), "m1", isolator_open=False)).go


@pytest.mark.parametrize("why", [why for why in Unknown if why is not Unknown.FROZEN])
def test_unknown_gas_alone_gives_plan_only(why: Unknown) -> None:
    """The slates are planned on the target, say PLAN ONLY and are never go; no MOD is made of a target."""
    day = with_plan_findings(without_gas(normal_day(), "e1", why), stop("supply.pressure_unknown", cylinder="e1"))
    permit = released(day)
    assert permit.plan_only
    assert not permit.go
    assert "e1" not in permit.mods
    assert permit.mods["e2"].metres == 21


def test_a_plan_on_targets_is_plan_only_whatever_the_standings_say() -> None:
    """A plan that calls itself a plan on targets prints PLAN ONLY."""
    day = normal_day()
    assert day.plan is not None
    permit = released(replace(day, plan=replace(day.plan, basis=Basis.TARGET)))
    assert permit.plan_only
    assert not permit.go


@pytest.mark.parametrize(
    "spoil",
    [
        lambda day: with_standing(day, "e1", label=None, label_serial_matches=None),
        lambda day: with_standing(day, "e1", frozen=True),
        lambda day: with_record(without_gas(day, "e1", Unknown.LENT), "m1", tested_until=DAY - timedelta(days=1)),
        lambda day: with_plan_findings(day, stop("supply.minimum_gas", cylinder="m1")),
        lambda day: with_plan_findings(day, stop("supply.pressure_unknown", cylinder="m1")),
        lambda day: with_plan_findings(without_gas(day, "e1", Unknown.LENT),
                                       stop("supply.pressure_unknown", cylinder="m1")),
        lambda day: with_plan_findings(day, stop("gas.no_target", cylinder="m1")),
    ],
)
def test_any_other_stop_withholds_sheets(spoil: Callable[[ClearanceInput], ClearanceInput]) -> None:
    """A stop beside unknown gas, or any stop alone, is named and nothing is released."""
    findings = sheets(spoil(normal_day()))
    assert not isinstance(findings, SheetPermit)
    assert findings
    assert all(finding.severity is Severity.STOP for finding in findings)


def test_sheets_need_a_plan_with_a_schedule() -> None:
    """Nothing planned, nothing to print."""
    day = normal_day()
    assert day.plan is not None
    unscheduled = replace(day.plan, cases=(replace(day.plan.planned, schedule=None),))
    for nothing in (replace(day, plan=None), replace(day, dive=None), replace(day, plan=unscheduled)):
        with pytest.raises(Refused):
            sheets(nothing)


def test_a_code_is_short_and_cannot_be_misread() -> None:
    """Five characters, none of which resembles a digit or another one, as written or upside down."""
    assert len(ALPHABET) == len(set(ALPHABET)) == 16
    assert not set(ALPHABET) & set("0O1IL2Z5S6G8B9QUVW37")
    code = sheet_code_of("any record")
    assert len(code) == CODE_LENGTH
    assert set(code) <= set(ALPHABET)


def test_a_code_is_the_first_bits_of_a_sha_256() -> None:
    """SHA-256 of "abc" begins ba7816bf (FIPS 180-2, appendix B.1, from memory): its first five digits are the code."""
    assert sheet_code_of("abc") == "".join(ALPHABET[int(digit, 16)] for digit in "ba781")


@pytest.mark.parametrize(
    "change",
    [
        lambda day: with_known(day, "e1", mixture=Mixture(4961)),
        lambda day: with_known(day, "e1", gauge_centibar=19_900),
        lambda day: with_known(day, "e1", at=NOW - timedelta(minutes=59)),
        lambda day: with_record(day, "e1", serial="X7777"),
        lambda day: with_known(day, "e1", rich=replace(day.standings["e1"].known.rich, u_o2_e4=49)),
    ],
)
def test_another_record_gives_another_label_code(change: Callable[[ClearanceInput], ClearanceInput]) -> None:
    """Reading, pressure, time and ID move the code; the same record asked twice does not."""
    assert permitted(normal_day()).sheet_code == permitted(normal_day()).sheet_code
    assert permitted(change(normal_day())).sheet_code != permitted(normal_day()).sheet_code


def test_other_units_and_another_mod_give_another_label_code() -> None:
    """What the label prints moves its code."""
    seen = {permitted(normal_day()).sheet_code, permitted(normal_day(), units=UnitSystem.IMPERIAL).sheet_code,
            permitted(normal_day(), mod=LabelMod(140, 18, 50)).sheet_code}
    assert len(seen) == 3


def test_another_reading_gives_another_sheet_code_and_an_answer_does_not() -> None:
    """Slates made from another reading, ID or plan carry another code; go does not move it."""
    day = normal_day()
    assert day.plan is not None
    others = (
        with_known(day, "e1", mixture=Mixture(4970)), with_record(day, "e1", serial="X7777"),
        replace(day, plan=replace(day.plan, latest_leave_min=28.0)),
        with_known(with_dive_cylinder(day, "m1", gas=Reading(Mixture(1820, 4460), 150, 100)), "m1",
                   rich=Reading(Mixture(1900, 4460), 50, 100)),
        replace(day, plan=replace(day.plan, cases=(replace(day.plan.planned, name="longer"),))),
    )
    seen = {released(other).sheet_code for other in others} | {released(day).sheet_code}
    assert len(seen) == 6
    assert released(with_record(day, "m1", isolator_open=False)).sheet_code == released(day).sheet_code
