"""Every finding of clearance: a day that triggers it, and the nearest day that does not."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

import pytest

from gaswright.analysis.reading import Reading
from gaswright.catalogue import CATALOGUE
from gaswright.clearance.gates import clear
from gaswright.clearance.inputs import ClearanceInput, SurfaceOxygen
from gaswright.custody.fact import Kind
from gaswright.custody.standing import Unknown
from gaswright.findings import Severity
from gaswright.physics.content import gauge_bar_at_temperature
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Rig, Role, UnitSystem
from unit.clearance.day_for_tests import (
    DAY,
    NOW,
    POLICY,
    codes,
    fact,
    normal_day,
    pair_of,
    spare,
    with_dive_cylinder,
    with_known,
    with_record,
    with_standing,
    without_gas,
)

Spoil = Callable[[ClearanceInput], ClearanceInput]

# only with a switch that is off as shipped (test_clearance_history.py); by the book alone (test_services_book_day.py)
BY_POLICY = {"gas.read_again", "book.no_plan"}
PLANNING_ROOMS = ("schedule.", "supply.", "case.", "oxygen.", "narcosis.", "density.", "ppo2.", "qualification.",
                  "policy.", "window.")
PLANNING_CODES = {"plan.on_targets", "gas.no_target", "team.alone", "team.pulled_shallower", "mod.planned_use",
                  "mod.place_ppo2", "plan.entered_differs",
                  "plan.tts_moved"}
# "How severe" of the trade, as clearance judges it; what is not named there is a note. mark.* and registration follow
# from "MOD < planned use", and from a cylinder whose tests and oxygen service nobody can know.
STOPS = {f"gas.{why}" for why in Unknown} | {
    "label.missing", "label.other_cylinder", "mark.deeper_than_mod", "mark.unreadable", "mod.staging",
    "cylinder.not_oxygen_clean", "cylinder.out_of_test", "cylinder.not_registered", "plan.outdated",
    "cylinder.retired", "gas.swapped", "gas.expires_before_dive", "cylinder.same_id", "dive.other_day",
}
ASKS = {"analysis.by_another", "pair.differs", "pair.isolator", "cylinder.staged_overnight", "surface.oxygen_short",
        "team.two_alike", "team.confusable_own"}


@dataclass(frozen=True, slots=True)
class Row:
    """One code, a day that triggers it and the nearest one that does not."""

    code: str
    trigger: Spoil
    spared: Spoil

    def __str__(self) -> str:
        return self.code


def same(day: ClearanceInput) -> ClearanceInput:
    """The normal day."""
    return day


def known(cylinder: str, **changes: object) -> Spoil:
    """Change one analysis."""
    return lambda day: with_known(day, cylinder, **changes)


def standing(cylinder: str, **changes: object) -> Spoil:
    """Change one standing."""
    return lambda day: with_standing(day, cylinder, **changes)


def record(cylinder: str, **changes: object) -> Spoil:
    """Change one register entry."""
    return lambda day: with_record(day, cylinder, **changes)


def unknown(why: Unknown) -> Spoil:
    """Take one gas away."""
    return lambda day: without_gas(day, "e1", why)


def staged_at(hours_ago: float) -> Spoil:
    """Leave EAN50 under water some hours before now, which is 09:00."""
    left = fact(Kind.STAGED, "e1", NOW - timedelta(hours=hours_ago), {"place_depth_cm": 2100})
    return lambda day: replace(with_standing(day, "e1", staged=True), facts=(left,))


def hung(depth_m: float, cylinder: str = "e1") -> Spoil:
    """Plan a cylinder to be staged at a depth."""
    return lambda day: with_dive_cylinder(day, cylinder, staged=True, place_depth_m=depth_m)


def left_at(depth_cm: int) -> Spoil:
    """Leave a cylinder at a depth, whatever the plan says."""
    left = fact(Kind.STAGED, "e1", NOW - timedelta(hours=1), {"place_depth_cm": depth_cm})
    return lambda day: replace(with_standing(day, "e1", staged=True), facts=(left,))


def rig(rig_of_d1: Rig) -> Spoil:
    """Nobody says how the isolator stood; d1's rig is this."""
    def spoil(day: ClearanceInput) -> ClearanceInput:
        first, *others = day.divers
        return with_record(replace(day, divers=(replace(first, rig=rig_of_d1), *others)), "m1", isolator_open=None)
    return spoil


def pair(o2_e4: int, he_e4: int = 0) -> Spoil:
    """Make d1's EAN50 (49.6 %) and oxygen cylinder a pair; the second reads this."""
    return lambda day: pair_of(day, "e1", "o1", Mixture(o2_e4, he_e4))


def surface(oxygen_l: float | None) -> Spoil:
    """Change the oxygen on board."""
    return lambda day: replace(day, surface=SurfaceOxygen(oxygen_l, 60.0, 3))


def second_ean50(day: ClearanceInput) -> ClearanceInput:
    """Turn d1's oxygen into a second EAN50."""
    return with_record(with_known(day, "o1", mixture=Mixture(5020)), "o1", target_o2_e4=5000)


def second_ean50_as_a_pair(day: ClearanceInput) -> ClearanceInput:
    """The two EAN50 are a pair, which is judged as a pair."""
    return with_record(with_record(second_ean50(day), "o1", pair="left and right"), "e1", pair="left and right")


def staged_too(day: ClearanceInput) -> ClearanceInput:
    """The second EAN50 is staged, not carried."""
    return with_dive_cylinder(second_ean50(day), "o1", staged=True)


def planned_on(o2_e4: int) -> Spoil:
    """Plan d1's EAN50 on another reading than the one in force."""
    def spoil(day: ClearanceInput) -> ClearanceInput:
        gas = day.standings["e1"].known
        assert gas is not None
        return with_dive_cylinder(day, "e1", gas=replace(gas.reading, mixture=Mixture(o2_e4)))
    return spoil


def read_before(cylinder: str, o2_e4: int) -> Spoil:
    """The analysis in force (49.6 %) replaced an earlier one of the same fill."""
    def spoil(day: ClearanceInput) -> ClearanceInput:
        first = fact(Kind.ANALYSED, cylinder, NOW - timedelta(hours=2), {"o2_e4": o2_e4, "he_e4": 0}, "first")
        second = fact(Kind.ANALYSED, cylinder, NOW - timedelta(hours=1), {"o2_e4": 4960, "he_e4": 0},
                      f"{cylinder}-analysis")
        facts = (replace(first, rests_on=("f",)), replace(second, rests_on=("f",), after=("first",)))
        return replace(day, facts=(*day.facts, *facts))
    return spoil


def filled_to(gauge_centibar: int) -> Spoil:
    """The fill that e1's analysis measured was recorded at this pressure."""
    filled = fact(Kind.FILLED, "e1", NOW - timedelta(hours=3), {"gauge_centibar": gauge_centibar}, "e1-fill")
    return lambda day: replace(day, facts=(*day.facts, filled))


def in_water(temperature_k: float) -> Spoil:
    """The dive's water is this warm; e1 was read at 15 C."""
    def spoil(day: ClearanceInput) -> ClearanceInput:
        assert day.dive is not None
        place = replace(day.dive.place, water_temperature_k=temperature_k)
        return with_known(replace(day, dive=replace(day.dive, place=place)), "e1", temperature_centi_k=28_815)
    return spoil


def starting(hours: float) -> Spoil:
    """The dive starts this many hours from now; e1 vouches for 17 hours."""
    return lambda day: replace(day, start=NOW + timedelta(hours=hours), day=None)


ROWS = (
    Row("gas.swapped", known("m1", mixture=Mixture(4460, 1820)), known("m1", mixture=Mixture(1820, 4460))),
    Row("gas.swapped", known("m1", mixture=Mixture(4200, 2100)), known("m1", mixture=Mixture(4199, 2101))),
    Row("gas.expires_before_dive", starting(17.1), starting(16.9)),
    Row("analysis.temperature_far", in_water(308.16), in_water(308.14)),
    Row("fill.pressure_far", filled_to(26_700), filled_to(26_600)),
    Row("cylinder.same_id", record("e1", serial="Y5203"), record("e1", serial="Y5213")),
    Row("dive.other_day", lambda day: replace(day, day=DAY + timedelta(days=1)), same),
    Row("dive.other_day", starting(24.0), starting(1.0)),
    *(Row(f"gas.{why}", unknown(why), same) for why in Unknown if why is not Unknown.FROZEN),
    Row("gas.never_analysed", lambda day: replace(day, standings={
        name: one for name, one in day.standings.items() if name != "e1"}), same),
    Row("gas.never_analysed", standing("e1", known=None), same),
    Row("gas.expired", known("e1", expires=NOW), known("e1", expires=NOW + timedelta(seconds=1))),
    Row("gas.in_the_future", known("e1", at=NOW + timedelta(minutes=5, seconds=1)),
        known("e1", at=NOW + timedelta(minutes=5))),
    Row("gas.frozen", standing("e1", frozen=True), same),
    Row("gas.frozen", unknown(Unknown.FROZEN), unknown(Unknown.LENT)),
    Row("gas.frozen", lambda day: with_standing(with_record(spare(day, "e1"), "s9", role="suit"), "s9", frozen=True),
        lambda day: with_record(spare(day, "e1"), "s9", role="suit")),
    Row("gas.two_readings", known("e1", notes=("gas.two_readings",)), same),
    Row("analysis.by_another", known("e1", by="d2", accepted_by=("d2",)),
        known("e1", by="d2", accepted_by=("d1", "d2"))),
    Row("analysis.by_another", lambda day: with_dive_cylinder(day, "e1", divers=("d1", "d2")),
        lambda day: with_known(with_dive_cylinder(day, "e1", divers=("d1", "d2")), "e1", accepted_by=("d1", "d2"))),
    Row("analysis.by_another", known("e1", by="d3", accepted_by=()), known("e1", accepted_by=())),
    Row("fill.out_of_tolerance", known("e1", mixture=Mixture(5101)), known("e1", mixture=Mixture(5100))),
    Row("fill.out_of_tolerance", known("m1", mixture=Mixture(1800, 4299)), known("m1", mixture=Mixture(1800, 4300))),
    Row("fill.out_of_tolerance", lambda day: replace(day, facts=(
        fact(Kind.FILLED, "e1", NOW, {"target_o2_e4": 3200, "target_he_e4": 0}, "e1-fill"),)), same),
    Row("label.missing", standing("e1", label=None, label_serial_matches=None), same),
    Row("label.missing", standing("e1", label=None, label_serial_matches=None), unknown(Unknown.FILLED_SINCE)),
    Row("label.other_cylinder", standing("e1", label_serial_matches=False), same),
    Row("mark.deeper_than_mod", record("e1", permanent_mark="22 m"), record("e1", permanent_mark="21 m")),
    Row("mark.deeper_than_mod", record("e1", permanent_mark="71 ft"), record("e1", permanent_mark="70 ft")),
    Row("mark.unreadable", record("e1", permanent_mark="21"), record("e1", permanent_mark="21m")),
    Row("mark.not_analysis", record("e1", permanent_mark="21 m"), record("e1", permanent_mark="21,5 m")),
    Row("mod.staging", hung(21.01), hung(21.0)),
    Row("mod.staging", left_at(2101), left_at(2100)),
    Row("mod.staging", lambda day: replace(hung(71 * 0.3048)(day), units=UnitSystem.IMPERIAL),
        lambda day: replace(hung(70 * 0.3048)(day), units=UnitSystem.IMPERIAL)),
    Row("pair.differs_note", pair(5011), pair(5010)),
    Row("pair.differs_note", pair(4909), pair(4910)),
    Row("pair.differs", pair(5061), pair(5060)),
    Row("pair.differs", pair(4960, 201), pair(4960, 200)),
    Row("pair.isolator", record("m1", isolator_open=False), same),
    Row("pair.isolator", record("m1", isolator_open=False), record("m1", isolator_open=False, pair="both posts")),
    Row("pair.isolator_unknown", rig(Rig.DOUBLES), rig(Rig.SINGLE)),
    Row("plan.outdated", planned_on(4950), planned_on(4960)),
    Row("plan.outdated", known("e1", rich=Reading(Mixture(5120), 50, 100)),
        known("e1", rich=Reading(Mixture(5100), 50, 100))),
    Row("cylinder.not_registered", lambda day: replace(day, register={
        name: one for name, one in day.register.items() if name != "e1"}), same),
    Row("cylinder.not_oxygen_clean", lambda day: with_record(with_known(day, "e1", mixture=Mixture(3951)), "e1",
                                                             oxygen_clean=False, target_o2_e4=None),
        lambda day: with_record(with_known(day, "e1", mixture=Mixture(3950)), "e1", oxygen_clean=False,
                                target_o2_e4=4000)),
    Row("cylinder.not_oxygen_clean", lambda day: with_record(unknown(Unknown.LENT)(day), "e1", oxygen_clean=False),
        unknown(Unknown.LENT)),
    Row("cylinder.not_oxygen_clean", lambda day: with_record(day, "e1", oxygen_clean=False, target_o2_e4=3200), same),
    Row("cylinder.not_oxygen_clean", lambda day: with_record(with_known(day, "e1", mixture=Mixture(3200)), "e1",
                                                             oxygen_clean=False, target_o2_e4=5000), same),
    Row("cylinder.out_of_test", record("e1", tested_until=DAY - timedelta(days=1)), record("e1", tested_until=DAY)),
    Row("cylinder.out_of_test", record("e1", visual_until=DAY - timedelta(days=1)), record("e1", visual_until=DAY)),
    Row("cylinder.test_soon", record("e1", visual_until=DAY + timedelta(days=30)),
        record("e1", visual_until=DAY + timedelta(days=31))),
    Row("cylinder.test_unknown", record("e1", tested_until=None), same),
    Row("cylinder.retired", record("e1", retired=True), same),
    Row("gas.oxygen_falls", read_before("e1", 5031), read_before("e1", 5030)),  # both U 0.5 %: root sum 0.707 %
    Row("cylinder.over_pressure", known("m1", gauge_centibar=24_100, temperature_centi_k=30_315),
        known("m1", gauge_centibar=23_900, temperature_centi_k=30_315)),
    Row("cylinder.over_pressure", known("m1", gauge_centibar=23_201, temperature_centi_k=None),
        known("m1", gauge_centibar=23_200, temperature_centi_k=None)),
    Row("cylinder.over_pressure", known("m1", gauge_centibar=32_000, temperature_centi_k=30_315), same),
    Row("cylinder.staged_overnight", staged_at(5.01), staged_at(5.0)),
    Row("cylinder.staged_overnight", lambda day: with_known(with_standing(day, "e1", staged=True), "e1",
                                                            at=NOW - timedelta(hours=20)),
        standing("e1", staged=True)),
    Row("surface.oxygen_short", surface(2699.0), surface(2700.0)),
    Row("surface.oxygen_unknown", surface(None), same),
    Row("surface.oxygen_unknown", lambda day: replace(day, surface=None),
        lambda day: replace(day, surface=None, dive=None)),
    Row("team.two_alike", second_ean50, staged_too),
    Row("team.two_alike", second_ean50, second_ean50_as_a_pair),
    Row("team.confusable_own", known("m1", mixture=Mixture(2100, 4460)), known("m1", mixture=Mixture(2110, 4460))),
    Row("team.confusable", known("m1", mixture=Mixture(1920, 4460)), known("m1", mixture=Mixture(1890, 4460))),
)


def judged(day: ClearanceInput) -> set[str]:
    """The codes found on a day."""
    return codes(clear(day, POLICY, NOW).findings)


def test_a_normal_day_has_no_finding_and_goes() -> None:
    """Mains of 18.2/44.6, EAN50 and oxygen, analysed and labelled by their divers: nothing to ask, go."""
    clearance = clear(normal_day(), POLICY, NOW)
    assert clearance.findings == ()
    assert clearance.go


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_fault_is_found(row: Row) -> None:
    """The spoilt day says the code."""
    assert row.code in judged(row.trigger(normal_day()))


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_the_nearest_faultless_day_is_spared(row: Row) -> None:
    """The day just inside the limit does not say the code."""
    assert row.code not in judged(row.spared(normal_day()))


def test_every_code_of_the_catalogue_is_planning_s_or_triggered_here() -> None:
    """Each code has one room that emits it, and each of clearance's is triggered by a row."""
    planning = {code for code in CATALOGUE if code.startswith(PLANNING_ROOMS)} | PLANNING_CODES
    triggered = {row.code for row in ROWS}
    assert planning.isdisjoint(triggered)
    assert planning | triggered | BY_POLICY == set(CATALOGUE)


@pytest.mark.parametrize("code", sorted({row.code for row in ROWS}))
def test_severity_is_that_of_the_trade(code: str) -> None:
    """Stop, ask or note as the table of the trade has it."""
    expected = Severity.STOP if code in STOPS else Severity.ASK if code in ASKS else Severity.NOTE
    assert CATALOGUE[code].severity is expected


@pytest.mark.parametrize("row", ROWS, ids=str)
def test_a_finding_says_why_what_mends_it_and_by_which_rule(row: Row) -> None:
    """No placeholder is left open, and a source stands beside the rule."""
    for finding in clear(row.trigger(normal_day()), POLICY, NOW).findings:
        assert finding.text
        assert finding.mend
        assert finding.rule.source
        assert "{" not in finding.text + finding.mend


def test_findings_come_stops_first_then_asks_then_notes() -> None:
    """The top line shows what forbids the dive."""
    day = with_known(with_standing(normal_day(), "e3", label=None), "m1", accepted_by=("d2",), by="d2")
    day = with_record(day, "m1", tested_until=None)
    severities = [finding.severity for finding in clear(day, POLICY, NOW).findings]
    assert severities == [Severity.STOP, Severity.ASK, Severity.NOTE]


@pytest.mark.parametrize(("read", "own"), [("X5202", "not on X5201"), ("5202", "not on 5201")])
def test_the_label_finding_names_what_was_read_from_the_metal(read: str, own: str) -> None:
    """The sentence says which cylinder carries the label, and which should, in the same length."""
    applied = fact(Kind.LABEL_APPLIED, "e1", NOW, {"serial_read": read}, "e1-label")
    day = replace(with_standing(normal_day(), "e1", label_serial_matches=False), facts=(applied,))
    text = next(f.text for f in clear(day, POLICY, NOW).findings if f.code == "label.other_cylinder")
    assert read in text
    assert own in text


def test_the_label_finding_says_so_where_nothing_was_recorded() -> None:
    """Without the fact the sentence still says that it is another cylinder's."""
    day = with_standing(normal_day(), "e1", label_serial_matches=False)
    text = next(f.text for f in clear(day, POLICY, NOW).findings if f.code == "label.other_cylinder")
    assert "another cylinder" in text


def test_a_frozen_cylinder_is_judged_no_further() -> None:
    """What is kept as evidence needs neither an acceptance nor a label that agrees with a mark."""
    day = with_known(normal_day(), "e1", by="d2", accepted_by=("d2",))
    day = with_record(with_standing(day, "e1", frozen=True, label=None), "e1", permanent_mark="30 m")
    assert judged(day) == {"gas.frozen"}


def test_an_unplanned_diver_s_cylinder_is_judged_for_custody_only() -> None:
    """A mate on another dive must have known and labelled gas; staging, asks and confusion are not the team's."""
    day = spare(normal_day(), "e1", divers=("d9",), permanent_mark=None)
    assert judged(day) == set()
    assert judged(with_standing(day, "s9", label=None)) == {"label.missing"}
    assert judged(with_standing(day, "s9", known=None, why=Unknown.LENT)) == {"gas.lent"}
    assert not clear(with_standing(day, "s9", label=None), POLICY, NOW).go


@pytest.mark.parametrize("role", ["suit", "surface"])
def test_suit_gas_and_surface_oxygen_need_no_analysis_to_go(role: str) -> None:
    """They are never in a schedule: register, tests, oxygen service and pressure are judged, not their gas."""
    day = with_standing(spare(normal_day(), "e1", role=role), "s9", known=None, why=Unknown.NEVER_ANALYSED, label=None)
    assert judged(day) == set()
    assert judged(with_record(day, "s9", oxygen_clean=False)) == {"cylinder.not_oxygen_clean"}
    assert judged(with_record(day, "s9", tested_until=DAY - timedelta(days=1))) == {"cylinder.out_of_test"}
    assert judged(with_standing(day, "s9", label_serial_matches=False)) == {"label.other_cylinder"}


def test_a_test_date_must_hold_on_the_day_of_the_dive() -> None:
    """A check made a week ahead already says that the test will have run out."""
    day = with_record(normal_day(), "e1", tested_until=DAY - timedelta(days=1))
    early = NOW - timedelta(days=7)
    assert "cylinder.out_of_test" in codes(clear(day, POLICY, early).findings)


def test_the_day_is_the_zone_s_not_utc_s() -> None:
    """At 23:30 UTC it is already tomorrow in Vienna, and a test that ran out today is out."""
    day = replace(with_record(normal_day(), "e1", tested_until=DAY), day=None)
    late = NOW.replace(hour=23, minute=30)
    assert "cylinder.out_of_test" in codes(clear(day, POLICY, late).findings)


@pytest.mark.parametrize("o2_percent", [10, 18, 21, 32, 50, 100])
def test_working_pressure_at_21_c_keeps_five_quarters_at_55_c(o2_percent: int) -> None:
    """Settled at 232 bar at 21 C, no breathing gas passes 5/4 of it at 55 C (49 CFR 173.301a): one gate suffices."""
    for he_percent in range(0, 101 - o2_percent, 10):
        hot_bar = gauge_bar_at_temperature(232.0, 294.15, 328.15, Mixture(o2_percent * 100, he_percent * 100))
        assert hot_bar < 232.0 * 5 / 4


def test_two_mains_of_one_diver_are_compared_whether_anybody_calls_them_a_pair_or_not() -> None:
    """Independent mains that differ by more than 1 % of oxygen ask, without a `pair` in the register."""
    day = with_record(normal_day(), "e1", role="main")
    day = with_dive_cylinder(with_known(day, "e1", mixture=Mixture(1930, 4460)), "e1", role=Role.MAIN)
    assert "pair.differs" in judged(day)
    near = with_dive_cylinder(with_known(day, "e1", mixture=Mixture(1850, 4460)), "e1", role=Role.MAIN)
    assert not {"pair.differs", "pair.differs_note"} & judged(near)
