"""Limits at their edges, and settings that must reach the scheduler."""

from dataclasses import replace

import pytest

from check import close
from gaswright.analysis.reading import Reading
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import ATM_BAR, Place
from gaswright.planning.contents import contents_of
from gaswright.planning.dive import Diver, Level, PlanCylinder, Role, Settings, TeamDive, Usable
from gaswright.planning.kit import kit_of
from gaswright.planning.minimum_gas import Need, need_at
from gaswright.planning.plan import plan
from gaswright.planning.request import Route, request_of, route_of
from gaswright.planning.turn import latest_leave_min
from gaswright.planning.usage import Draw
from gaswright.planning.way_out import Moment
from unit.planning.dives import POLICY, cylinder, deco, dive, diver, main


def with_main(base: TeamDive, gas: Reading) -> TeamDive:
    """The dive with the first diver's mains changed."""
    first = replace(base.cylinders[0], gas=gas)
    return replace(base, cylinders=(first, *base.cylinders[1:]))


def codes(asked: TeamDive) -> list[str]:
    """The codes of the findings on a dive."""
    return [f.code for f in plan(asked, POLICY).findings]


@pytest.mark.parametrize(("u_he_e4", "asked"), [(100, True), (0, False)])
def test_narcosis_is_judged_on_helium_less_its_uncertainty(u_he_e4: int, *, asked: bool) -> None:
    """28 % helium at 45 m is END 29.6 m; one percent less is 30.2 m: asked only if the reading is that uncertain."""
    lean = with_main(dive(team=1), gas=Reading(Mixture(2100, 2800), 0, u_he_e4))
    assert ("narcosis.end" in codes(lean)) is asked


@pytest.mark.parametrize(("surface_bar", "stopped"), [(1.16, True), (1.10, False)])
def test_the_place_is_judged_on_oxygen_plus_uncertainty_with_its_room(surface_bar: float, *, stopped: bool) -> None:
    """28.0 + 0.5 % at 39 m: 1.423 ata is above 1.40 + 0.02, 1.406 ata is not; the reading alone would be below both."""
    place = Place(surface_bar=surface_bar, water_temperature_k=281.15)
    rich_ata = 0.285 * (surface_bar + 3.9) / ATM_BAR
    assert (rich_ata > 1.42) is stopped
    assert 0.280 * (surface_bar + 3.9) / ATM_BAR < 1.42
    asked = dive(team=1, depth_m=39.0, place=place, cylinders=(main("m-d1", "d1", (28, 30)),))
    assert ("mod.place_ppo2" in codes(asked)) is stopped


def test_a_stop_on_the_mod_is_not_said_twice() -> None:
    """A gas too rich by its label is one stop, not a second one for the place."""
    asked = dive(team=1, cylinders=(main("m-d1", "d1", (32, 30)),))
    assert codes(asked).count("mod.planned_use") == 1
    assert "mod.place_ppo2" not in codes(asked)


def test_settings_reach_the_scheduler() -> None:
    """Each setting of the team stands in the request as it was given."""
    how = Settings(gf_low=45.0, gf_high=75.0, descent_m_min=15.0, ascent_m_min=8.0, stop_step_m=3.0, last_stop_m=3.0,
                   stop_unit_min=0.5, switch_min=0.25)
    kit = kit_of(dive(settings=how), POLICY)
    way = route_of(kit)
    assert isinstance(way, Route)
    asked = request_of(kit, way, kit.dive.levels)
    assert (asked.gf_low, asked.gf_high, asked.descent_m_min, asked.ascent_m_min) == (0.45, 0.75, 15.0, 8.0)
    assert (asked.stop_step_m, asked.last_stop_m, asked.stop_unit_min, asked.switch_min) == (3.0, 3.0, 0.5, 0.25)
    assert asked.place == kit.dive.place
    assert asked.divers == ("d1", "d2")


def test_turns_on_the_way_down_do_not_start_the_deco_rate() -> None:
    """The halt for the change from travel gas is breathed at the bottom rate, and so is the level after it."""
    travel = cylinder("t-d1", "d1", Role.TRAVEL, (50, 0))
    base = dive(team=1)
    base = replace(base, cylinders=(*base.cylinders, travel))
    made = plan(base, POLICY).planned
    assert made.schedule is not None
    down = [s for s in made.schedule.segments if s.gas["d1"].cylinder == "t-d1"]
    expected = sum(18.0 * (1.01325 + 0.1 * (s.from_m + s.to_m) / 2) / ATM_BAR * s.minutes for s in down)
    close(made.supply["t-d1"].used_l, expected, within=1e-9)
    hungry_deco = replace(base, divers=(replace(base.divers[0], rmv_deco_l_min=40.0),))
    after = plan(hungry_deco, POLICY).planned
    close(after.supply["m-d1"].used_l, made.supply["m-d1"].used_l, within=1e-9)


def needs_of(divers: tuple[Diver, ...]) -> dict[str, float]:
    """Minimum gas of a team at the end of its bottom phase."""
    kit = kit_of(dive(team=len(divers), divers=divers), POLICY)
    way = route_of(kit)
    assert isinstance(way, Route)
    return dict(need_at(kit, way, Moment(20.0, 0, 2.25, 45.0)).free_l)


def test_of_two_buddies_the_one_who_needs_more_counts() -> None:
    """A third diver who breathes less under stress changes nothing; one who breathes more raises everybody's need."""
    first, second = diver("d1"), diver("d2")
    calm = needs_of((first, second, diver("d3", rmv_stressed_l_min=15.0)))
    hungry = needs_of((first, second, diver("d3", rmv_stressed_l_min=45.0)))
    close(calm["d1"], needs_of((first, second))["d1"], within=1e-9)
    assert hungry["d1"] > calm["d1"]


def test_the_largest_need_so_far_sets_the_time_to_leave() -> None:
    """The mains must hold the largest need so far: a smaller need later does not give more time on the bottom."""
    kit = kit_of(dive(team=1), POLICY)
    held = [contents_of(kit)["m-d1"]]
    most_l = held[0].available_l
    needs = [Need(Moment(float(n), 0, 0.0, 45.0), {"d1": share * most_l}) for n, share in enumerate((0.5, 0.9, 0.1))]
    drawn = {"m-d1": (Draw(1.0, 1.0, 0.2 * most_l),)}
    latest = latest_leave_min("d1", needs, held, {"m-d1": 1.0}, drawn)
    assert latest is not None
    close(latest, 1.0, within=0.0)
    scarce = {"m-d1": (Draw(-1.0, 1.0, 0.6 * most_l),)}
    assert latest_leave_min("d1", needs, held, {"m-d1": 1.0}, scarce) is None


def test_a_leaner_gas_is_no_gift() -> None:
    """Mains two percent leaner than the gas they would replace are not given: the schedule needs that oxygen."""
    base = dive()
    base = replace(base, cylinders=tuple(c for c in base.cylinders if c.id != "e-d2"))
    small: PlanCylinder = main("m-d1", "d1", (23, 33), volume_l=12.0, gauge_bar=205.0)
    lean = replace(base, cylinders=(small, *base.cylinders[1:]))
    alike = replace(base, cylinders=(replace(small, gas=base.cylinders[0].gas), *base.cylinders[1:]))
    judged = {f.subject.case: f.code for f in plan(lean, POLICY).findings if f.code.startswith("case.")}
    helped = {f.subject.case: f.code for f in plan(alike, POLICY).findings if f.code.startswith("case.")}
    assert judged["lost 21 m gas"] == "case.cannot_finish"
    assert helped["lost 21 m gas"] == "case.diver_alone"


def test_two_divers_out_of_gas_do_not_help_each_other() -> None:
    """Where both run out of mains at the switch neither gives the other deco gas: the longer dive is a stop."""
    asked = dive(levels=(Level(45.0, 20.0), Level(21.0, 5.0)), settings=Settings(cases=("longer",)))
    mains = tuple(main(f"m-{d.id}", d.id, (21, 35), volume_l=13.5) for d in asked.divers)
    asked = replace(asked, cylinders=(*mains, *(c for c in asked.cylinders if c.role is Role.DECO)))
    made = plan(asked, POLICY)
    longer = made.cases[1]
    assert longer.supply["m-d1"].short_l > 0.0
    assert longer.supply["m-d2"].short_l > 0.0
    assert {f.code for f in made.findings if f.subject.case == "longer"} == {"case.cannot_finish"}


def test_without_a_schedule_the_deepest_level_counts() -> None:
    """Of two levels the deeper one judges the gas, also where the profile has no schedule."""
    asked = dive(team=1, levels=(Level(45.0, 20.0), Level(20.0, 0.5)), cylinders=(main("m-d1", "d1", (30, 30)),))
    made = plan(asked, POLICY)
    assert made.planned.schedule is None
    (stop,) = (f for f in made.findings if f.code == "mod.planned_use")
    assert stop.subject.depth_m == 45.0


def test_the_end_of_the_oxygen_table_is_said_once_for_each_diver() -> None:
    """Two cases that both leave the table are one stop for each diver, naming the first of them."""
    asked = dive(settings=Settings(deeper_m=30.0))
    made = [f for f in plan(asked, POLICY).findings if f.code == "oxygen.above_table"]
    assert [(f.subject.diver, f.subject.case) for f in made] == [("d1", "deeper"), ("d2", "deeper")]


def test_a_gas_shallower_than_the_last_stop_is_named() -> None:
    """Oxygen allowed from 3 m is never breathed by a team whose last stop is at 6 m, and a note says why."""
    base = dive(team=1)
    shallow = deco("o-d1", "d1", (100, 0), switch_depth_m=3.0)
    made = plan(replace(base, cylinders=(*base.cylinders[:2], shallow)), POLICY)
    (note,) = (f for f in made.findings if f.code == "supply.not_breathed")
    assert "from 3 m, the last stop is at 6 m" in note.text


def test_a_bottom_stage_keeps_half_and_the_reserve_or_two_thirds() -> None:
    """Trade: bottom stages half plus 15 bar, or thirds (common practice, no source): which one is a setting."""
    base = dive(levels=(Level(45.0, 20.0, cylinder="s-d1"),))
    stages = tuple(cylinder(f"s-{d}", d, Role.STAGE, (21, 35), volume_l=31.0, gauge_bar=200.0) for d in ("d1", "d2"))
    asked = replace(base, cylinders=(*base.cylinders, *stages))

    def codes(rule: Usable) -> list[str]:
        made = plan(replace(asked, settings=Settings(cases=(), stage_usable=rule)), POLICY)
        left_bar = made.planned.supply["s-d1"].end_bar
        assert 115.0 < left_bar < 200.0 * 2 / 3
        return [f.text for f in made.findings if f.code == "supply.stage_reserve"]

    assert codes(Usable.HALF) == []
    texts = codes(Usable.THIRD)
    assert len(texts) == 2
    assert "two thirds stay (134 bar)" in texts[0]
