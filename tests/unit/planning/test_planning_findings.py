"""Every finding that planning can make: one dive that makes it, one dive just inside the rule that does not."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import gaswright.planning
from gaswright.catalogue import CATALOGUE
from gaswright.decompression.request import Schedule, ScheduleRequest, Unverified
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning import casework
from gaswright.planning.around import Before, PastDose
from gaswright.planning.dive import Basis, Level, PlanCylinder, Role, Settings, TeamDive
from gaswright.planning.plan import plan
from gaswright.policy import Policy
from unit.planning.dives import POLICY, STRICT, cylinder, deco, dive, main, tightened

Asked = tuple[TeamDive, Policy]


def with_cylinder(changed: PlanCylinder, base: TeamDive | None = None) -> TeamDive:
    """The dive with one cylinder in place of the one of the same id, or added."""
    base = dive() if base is None else base
    others = [changed if c.id == changed.id else c for c in base.cylinders]
    return replace(base, cylinders=tuple(others if changed in others else (*others, changed)))


def with_mains(gas: tuple[int, int], base: TeamDive | None = None, **changes: float) -> TeamDive:
    """The dive with other mains for everybody."""
    base = dive() if base is None else base
    for diver in base.divers:
        base = with_cylinder(main(f"m-{diver.id}", diver.id, gas, **changes), base)
    return base


def with_diver(**changes: Any) -> TeamDive:  # noqa: ANN401  any field of the type
    """The dive with the first diver changed."""
    base = dive()
    first = replace(base.divers[0], **changes)
    return replace(base, divers=(first, *base.divers[1:]))


def with_settings(base: TeamDive | None = None, **changes: Any) -> TeamDive:  # noqa: ANN401  any field of the type
    """The dive with other settings."""
    return replace(dive() if base is None else base, settings=replace(Settings(), **changes))


def on_stages(volume_l: float) -> TeamDive:
    """The dive with its level on bottom stages of some size."""
    base = replace(dive(), levels=(Level(45.0, 20.0, cylinder="s-d1"),))
    for name in ("d1", "d2"):
        base = with_cylinder(cylinder(f"s-{name}", name, Role.STAGE, (21, 35), volume_l=volume_l), base)
    return base


def travelling(bottom: tuple[int, int], travel: tuple[int, int]) -> TeamDive:
    """The dive with a hypoxic bottom gas and a travel gas."""
    base = with_mains(bottom)
    for name in ("d1", "d2"):
        base = with_cylinder(cylinder(f"t-{name}", name, Role.TRAVEL, travel), base)
    return base


def helium_after_nitrogen(o2: int, he: int) -> TeamDive:
    """Two hours on air at 30 m, then a gas with or without helium at 9 m."""
    gases = (main("m-d1", "d1", (21, 0), volume_l=200.0), deco("e-d1", "d1", (o2, he), switch_depth_m=9.0))
    return dive(team=1, depth_m=30.0, minutes=120.0, cylinders=gases, settings=Settings(cases=()))


def after_a_dive(*doses: PastDose) -> TeamDive:
    """The dive after others; the tissues are rested."""
    return replace(dive(), before=Before(180.0, {}, {"d1": doses}))


def wished(mains: tuple[int, int]) -> TeamDive:
    """The dive with every target known: the mains aimed at this gas, the deco gases at what they read."""
    base = dive()
    aims = {Role.MAIN: Mixture(mains[0] * 100, mains[1] * 100)}
    return replace(base, cylinders=tuple(
        replace(one, target=aims.get(one.role, one.gas.mixture)) for one in base.cylinders if one.gas is not None
    ))


CLEAR = dive()
LOW, HIGH = Place(surface_bar=1.013, water_temperature_k=281.15), Place(surface_bar=1.05, water_temperature_k=281.15)
PRESSED = Place(surface_bar=1.2, water_temperature_k=281.15)
EAN50 = Mixture(5000)

TRIGGERS: dict[str, Asked] = {
    "schedule.ceiling": (replace(dive(), levels=(Level(60.0, 30.0), Level(6.0, 10.0))), POLICY),
    "schedule.level_too_short": (dive(minutes=1.0), POLICY),
    "schedule.no_overlap": (travelling((8, 70), (80, 0)), POLICY),
    "schedule.no_gas": (with_cylinder(main("m-d1", "d1", None)), POLICY),
    "schedule.too_long": (with_settings(ascent_m_min=0.01), POLICY),
    "schedule.unverified": (helium_after_nitrogen(30, 70), POLICY),
    "plan.on_targets": (with_cylinder(deco("e-d1", "d1", basis=Basis.TARGET, gauge_bar=None)), POLICY),
    "gas.no_target": (with_cylinder(deco("e-d1", "d1", None)), POLICY),
    "plan.tts_moved": (wished((30, 35)), POLICY),
    "team.alone": (dive(team=1), POLICY),
    "team.pulled_shallower": (with_cylinder(deco("e-d2", "d2", (53, 0), target=EAN50)), POLICY),
    "supply.pressure_unknown": (with_cylinder(deco("e-d1", "d1", gauge_bar=None)), POLICY),
    "supply.minimum_gas": (with_mains((21, 35), volume_l=12.0, gauge_bar=100.0), POLICY),
    "supply.minimum_passed": (with_mains((21, 35), volume_l=14.0, gauge_bar=230.0), POLICY),
    "supply.runs_out": (with_cylinder(deco("e-d1", "d1", gauge_bar=12.0)), POLICY),
    "supply.deco_reserve": (with_cylinder(deco("o-d2", "d2", (100, 0), gauge_bar=29.0)), POLICY),
    "supply.stage_reserve": (on_stages(16.0), POLICY),
    "supply.not_breathed": (with_cylinder(deco("x-d1", "d1")), POLICY),
    "case.cannot_finish": (with_cylinder(deco("e-d1", "d1", gauge_bar=30.0), dive(team=1)), POLICY),
    "case.diver_alone": (with_cylinder(main("m-d1", "d1", (21, 35), volume_l=12.0, gauge_bar=205.0)), POLICY),
    "case.two_failures": (with_mains((21, 35), volume_l=12.0, gauge_bar=230.0), POLICY),
    "oxygen.above_table": (with_cylinder(deco("o-d1", "d1", (100, 0), switch_depth_m=9.0)), POLICY),
    "oxygen.at_edge": (dive(place=HIGH), POLICY),
    "oxygen.cns_ask": (CLEAR, tightened(cns_note_percent=10.0, cns_ask_percent=20.0)),
    "oxygen.cns_note": (CLEAR, tightened(cns_note_percent=20.0)),
    "oxygen.day_ask": (after_a_dive(PastDose(0, 180.0, 60.0, 0.3, 0.95, 80.0)), POLICY),
    "oxygen.day_note": (after_a_dive(PastDose(0, 180.0, 60.0, 0.3, 0.75, 80.0)), POLICY),
    "oxygen.repex": (after_a_dive(PastDose(1, 1200.0, 60.0, 0.3, 0.3, 1400.0)), POLICY),
    "oxygen.no_break": (CLEAR, tightened(oxygen_period_min=5.0)),
    "narcosis.end": (with_mains((21, 25)), POLICY),
    "density.note": (with_mains((21, 30)), POLICY),
    "density.ask": (with_mains((21, 5)), POLICY),
    "mod.planned_use": (with_mains((26, 30)), POLICY),
    "mod.place_ppo2": (with_mains((28, 30), dive(depth_m=39.0, place=PRESSED)), POLICY),
    "ppo2.low": (with_mains((16, 50)), POLICY),
    "ppo2.low_note": (with_mains((18, 45)), POLICY),
    "qualification.depth": (with_diver(max_depth_m=40.0), POLICY),
    "qualification.o2": (with_diver(max_o2_e4=5000), POLICY),
    "qualification.helium": (with_diver(helium=False), POLICY),
    "policy.loosened": (CLEAR, tightened(end_limit_m=40.0)),
}

# Just inside the rule; a code that is not here has the clear dive as its counterpart.
NEAR_MISSES: dict[str, Asked] = {
    "plan.tts_moved": (wished((23, 35)), POLICY),
    "schedule.ceiling": (replace(dive(), levels=(Level(45.0, 20.0), Level(21.0, 10.0))), POLICY),
    "schedule.level_too_short": (dive(minutes=2.25), POLICY),
    "schedule.no_overlap": (travelling((10, 70), (50, 0)), POLICY),
    "schedule.too_long": (with_settings(ascent_m_min=3.0), POLICY),
    "schedule.unverified": (helium_after_nitrogen(50, 0), POLICY),
    "plan.on_targets": (with_cylinder(deco("x-d3", "d3", basis=Basis.TARGET, gauge_bar=None)), POLICY),
    "gas.no_target": (with_cylinder(cylinder("x-d1", "d1", Role.SUIT, None)), POLICY),
    "team.pulled_shallower": (with_cylinder(deco("e-d2", "d2", (51, 0), target=EAN50)), POLICY),
    "supply.pressure_unknown": (with_cylinder(cylinder("x-d1", "d1", Role.SUIT, (21, 0), gauge_bar=None)), POLICY),
    "supply.minimum_passed": (with_mains((21, 35), volume_l=20.0, gauge_bar=230.0), POLICY),
    "supply.minimum_gas": (with_mains((21, 35), volume_l=14.0, gauge_bar=230.0), POLICY),
    "supply.deco_reserve": (with_cylinder(deco("o-d2", "d2", (100, 0), gauge_bar=40.0)), POLICY),
    "supply.stage_reserve": (on_stages(32.0), POLICY),
    "case.cannot_finish": (with_cylinder(deco("e-d1", "d1", gauge_bar=90.0), dive(team=1)), POLICY),
    "case.diver_alone": (with_cylinder(main("m-d1", "d1", (21, 35), volume_l=18.0, gauge_bar=230.0)), POLICY),
    "oxygen.at_edge": (dive(place=LOW), POLICY),
    "oxygen.cns_ask": (CLEAR, tightened(cns_note_percent=20.0, cns_ask_percent=28.0)),
    "oxygen.cns_note": (CLEAR, tightened(cns_note_percent=28.0)),
    "oxygen.day_ask": (after_a_dive(PastDose(1, 1450.0, 60.0, 0.3, 0.95, 80.0)), POLICY),
    "oxygen.day_note": (after_a_dive(PastDose(0, 180.0, 60.0, 0.3, 0.4, 80.0)), POLICY),
    "oxygen.repex": (after_a_dive(PastDose(1, 1200.0, 60.0, 0.3, 0.3, 1300.0)), POLICY),
    "oxygen.no_break": (CLEAR, tightened(oxygen_period_min=11.0)),
    "narcosis.end": (with_mains((21, 30)), POLICY),
    "density.ask": (with_mains((21, 25)), POLICY),
    "mod.planned_use": (with_mains((24, 35)), POLICY),
    "mod.place_ppo2": (with_mains((28, 30), dive(depth_m=39.0, place=STRICT)), POLICY),
    "ppo2.low": (with_mains((17, 45)), POLICY),
    "ppo2.low_note": (with_mains((19, 45)), POLICY),
    "qualification.depth": (with_diver(max_depth_m=45.0), POLICY),
    "qualification.o2": (with_diver(max_o2_e4=10_000), POLICY),
    "qualification.helium": (with_diver(helium=True), POLICY),
    "policy.loosened": (CLEAR, tightened(end_limit_m=29.0)),
}

# modules that judge a reading against a plan that is held; their codes are tested with them
OF_A_READING = frozenset({
    "booklet", "changes", "entered", "gas_choice", "held_plan", "plan_b", "robustness", "verdict", "window",
    "window_rules",
})
def codes(asked: Asked) -> set[str]:
    """The codes of the findings on a dive."""
    return {f.code for f in plan(*asked).findings}


def emitted_codes() -> set[str]:
    """Every code of the catalogue that stands in the source of planning."""
    folder = Path(gaswright.planning.__file__).parent
    texts = [path.read_text(encoding="utf-8") for path in folder.glob("*.py") if path.stem not in OF_A_READING]
    return {code for text in texts for code in re.findall(r'"([a-z]+\d?\.[a-z_0-9]+)"', text) if code in CATALOGUE}


def test_the_list_of_codes_is_complete() -> None:
    """Each code in the source of planning has a dive that makes it, and no dive is kept for a code that is gone."""
    assert emitted_codes() == set(TRIGGERS)
    assert set(NEAR_MISSES) <= set(TRIGGERS)


def test_the_clear_dive_has_no_finding() -> None:
    """The dive on which the others are built clears, so that what they show is their own."""
    assert plan(CLEAR, POLICY).findings == ()


@pytest.mark.parametrize("code", sorted(TRIGGERS))
def test_finding_is_made(code: str) -> None:
    """The dive just outside the rule makes the finding, with a sentence, a mend and the source of its rule."""
    made = [f for f in plan(*TRIGGERS[code]).findings if f.code == code]
    assert made
    assert all(f.text and f.mend and f.rule.source for f in made)
    assert all("{" not in f.text + f.mend for f in made)


@pytest.mark.parametrize("code", sorted(TRIGGERS))
def test_finding_is_not_made(code: str) -> None:
    """The dive just inside the rule does not make it."""
    assert code not in codes(NEAR_MISSES.get(code, (CLEAR, POLICY)))


def test_schedule_unverified_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """A schedule that does not pass its replay is a stop, and the plan has no schedule."""
    def broken(_: ScheduleRequest) -> Schedule:
        raise Unverified(("a violation",))
    monkeypatch.setattr(casework, "schedule", broken)
    made = plan(CLEAR, POLICY)
    assert [f.code for f in made.findings] == ["schedule.unverified"]
    assert made.planned.schedule is None
