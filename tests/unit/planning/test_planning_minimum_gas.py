"""Minimum gas by its rule: two divers, the problem, the real way out to the next gas both can breathe."""

import math
from dataclasses import replace
from typing import Any

import pytest

from check import close
from gaswright.decompression.request import SegmentKind
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.physics.content import free_litres
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import ATM_BAR
from gaswright.planning.contents import contents_of
from gaswright.planning.dive import Level, PlanCylinder, Role, Settings, TeamDive, Usable
from gaswright.planning.kit import kit_of
from gaswright.planning.minimum_gas import minimum_gas_l, need_at, next_common_step
from gaswright.planning.plan import plan
from gaswright.planning.request import Route, request_of, route_of
from gaswright.planning.turn import turn_pressures_bar
from gaswright.planning.way_out import Moment, moments_of
from unit.planning.dives import POLICY, cylinder, deco, dive, diver, main

MAINS_MIX = Mixture(2100, 3500)


def route(asked: TeamDive) -> Route:
    """The route of a dive that has one."""
    found = route_of(kit_of(asked, POLICY))
    assert isinstance(found, Route)
    return found


def needs_l(asked: TeamDive, name: str) -> list[float]:
    """What one diver's mains must hold at every moment of the bottom phase."""
    kit, way = kit_of(asked, POLICY), route(asked)
    schedule = unverified_schedule(request_of(kit, way, asked.levels))
    return [need_at(kit, way, moment).free_l[name] for moment in moments_of(schedule, asked.levels)]


def test_minimum_gas_counted_by_hand() -> None:
    """No decompression, no deco gas: 60 L/min for a minute at 20 m and a straight way up at 9 m/min, over all three.

    At the last minute both breathe 30 L/min: 60 x (3.01325/1.01325) x 1, and up 20 m in 20/9 min at the mean of
    2.01325 bar, rounded by nobody.
    """
    mains = (main("m-d1", "d1", (32, 0)), main("m-d2", "d2", (32, 0)))
    asked = dive(levels=(Level(20.0, 10.0),), cylinders=mains)
    expected = 60.0 * (1.01325 + 2.0) / ATM_BAR * 1.0 + 60.0 * (1.01325 + 1.0) / ATM_BAR * (20.0 / 9.0)
    close(max(needs_l(asked, "d1")), expected, within=1e-9)
    made = plan(asked, POLICY).planned.supply["m-d1"]
    assert made.minimum_bar is not None
    held = free_litres(made.minimum_bar, 36.0, 281.15, Mixture(3200)) - free_litres(10.0, 36.0, 281.15, Mixture(3200))
    close(held, expected, within=1e-6)


def test_the_turns_at_the_switch_are_still_breathed_from_the_mains() -> None:
    """With 50 % at 21 m each of two divers breathes the mains until the end of his or her own turn there."""
    asked = dive()
    kit, way = kit_of(asked, POLICY), route(asked)
    moment = Moment(20.0, 0, 2.25, 45.0)
    ascent_min = 24.0 / 9.0
    deep = (1.01325 + 4.5) / ATM_BAR * 1.0 + (1.01325 + 3.3) / ATM_BAR * ascent_min
    turns = (1.01325 + 2.1) / ATM_BAR * (1.0 + 2.0)
    close(need_at(kit, way, moment).free_l["d1"], 60.0 * deep + 30.0 * turns, within=1e-9)


def test_the_next_gas_is_one_that_both_have() -> None:
    """The first step at which both have a cylinder counts; what only one of them carries does not."""
    asked = dive()
    lone = tuple(c for c in asked.cylinders if c.id != "e-d2")
    steps = route(replace(asked, cylinders=lone)).steps
    common = next_common_step(steps, "d1", "d2")
    assert common is not None
    close(common.depth_m, 6.0, within=0.0)
    only = next_common_step(steps, "d1", "d1")
    assert only is not None
    close(only.depth_m, 21.0, within=0.0)


def test_a_buddy_without_the_deep_gas_needs_more() -> None:
    """If only one of two carries 50 %, both have to breathe the mains up to 6 m: minimum gas rises."""
    asked = dive()
    lone = replace(asked, cylinders=tuple(c for c in asked.cylinders if c.id != "e-d2"))
    assert max(needs_l(lone, "d1")) > 1.3 * max(needs_l(asked, "d1"))


def test_the_hungriest_buddy_counts() -> None:
    """With buddies at 30 and 40 L/min the one at 40 is added."""
    close(minimum_gas_l(100.0, [100.0, 140.0]), 240.0, within=0.0)
    close(minimum_gas_l(100.0, []), 200.0, within=0.0)


def test_every_minute_of_the_bottom_is_looked_at() -> None:
    """Ten minutes on two levels: the moments are the arrivals, every minute after them, and the ends."""
    asked = dive(levels=(Level(30.0, 6.0), Level(24.0, 4.0)))
    schedule = unverified_schedule(request_of(kit_of(asked, POLICY), route(asked), asked.levels))
    at = [(m.at_min, m.level) for m in moments_of(schedule, asked.levels)]
    expected = [1.5, 2.5, 3.5, 4.5, 5.5, 6.0, 6.0 + 6 / 9, 7.0 + 6 / 9, 8.0 + 6 / 9, 9.0 + 6 / 9, 10.0]
    assert [level for _, level in at] == [0] * 6 + [1] * 5
    for (found_min, _), expected_min in zip(at, expected, strict=True):
        close(found_min, expected_min, within=1e-9)


def test_the_largest_need_counts_though_it_is_not_the_last() -> None:
    """From 45 m up to 20 m: the largest need is that of the deep level, not of the last minute."""
    needs = needs_l(dive(levels=(Level(45.0, 15.0), Level(24.0, 10.0))), "d1")
    assert max(needs) > needs[-1]
    made = plan(dive(levels=(Level(45.0, 15.0), Level(24.0, 10.0))), POLICY).planned.supply["m-d1"]
    assert made.minimum_bar is not None
    held = free_litres(made.minimum_bar, 36.0, 281.15, MAINS_MIX) - free_litres(10.0, 36.0, 281.15, MAINS_MIX)
    close(held, max(needs), within=1e-6)


def test_under_an_overhead_the_way_back_is_counted() -> None:
    """Half an hour in and out: the largest need is in the middle, a quarter of an hour from the way up."""
    opened = dive(levels=(Level(20.0, 30.0),))
    closed = replace(opened, levels=(Level(20.0, 30.0, overhead=True),))
    way = needs_l(closed, "d1")
    middle = way.index(max(way))
    assert 13 <= middle <= 16
    back_l = 60.0 * (1.01325 + 2.0) / ATM_BAR * 14.0
    assert max(way) - max(needs_l(opened, "d1")) > 0.9 * back_l


def test_an_overhead_with_two_levels_goes_back_along_them() -> None:
    """In at 20 m, on at 30 m: the way back from 30 m leads through the time spent at 20 m."""
    levels = (Level(20.0, 10.0, overhead=True), Level(30.0, 4.0, overhead=True), Level(20.0, 30.0, overhead=True))
    asked = dive(levels=levels)
    kit, way = kit_of(asked, POLICY), route(asked)
    schedule = unverified_schedule(request_of(kit, way, levels))
    at_end = [m for m in moments_of(schedule, levels) if m.level == 1][-1]
    least_l = 60.0 * (1.01325 + 2.0) / ATM_BAR * 9.0
    assert need_at(kit, way, at_end).free_l["d1"] > least_l


@pytest.mark.parametrize(("usable", "share"), [
    (Usable.ALL, 1.0), (Usable.HALF, 0.5), (Usable.THIRD, 1 / 3), (Usable.SIXTH, 1 / 6),
])
def test_turn_pressure_leaves_the_rest_of_the_usable_gas(usable: Usable, share: float) -> None:
    """At the turn the share of the gas above minimum gas is used, no more."""
    made = plan(dive(settings=Settings(usable=usable)), POLICY).planned.supply["m-d1"]
    assert made.minimum_bar is not None
    assert made.turn_bar is not None
    start, least, turn = (free_litres(b, 36.0, 281.15, MAINS_MIX)
                          for b in (made.start_bar, made.minimum_bar, made.turn_bar))
    close(start - turn, share * (start - least), within=1e-6)


def test_unequal_mains_turn_by_the_smaller() -> None:
    """Of two mains the one with less gas above minimum gas sets what may be used from either."""
    pair = (main("left", "d1", (21, 35), volume_l=18.0, gauge_bar=230.0),
            main("right", "d1", (21, 35), volume_l=18.0, gauge_bar=180.0))
    asked = dive(team=1)
    held = contents_of(kit_of(replace(asked, cylinders=(*pair, *asked.cylinders[1:])), POLICY))
    both = [held["left"], held["right"]]
    minimum_l = {"left": 1000.0, "right": 1000.0}
    turn = turn_pressures_bar(both, minimum_l, 1 / 3)
    used = {c.cylinder: c.start_l - free_litres(turn[c.cylinder] or 0.0, 18.0, 281.15, MAINS_MIX) for c in both}
    close(used["left"], used["right"], within=1e-6)
    close(used["right"], (held["right"].start_l - 1000.0) / 3, within=1e-6)


def test_mains_below_minimum_gas_have_no_turn_pressure() -> None:
    """Where minimum gas is not there at the start there is nothing to turn on."""
    asked = dive(team=1)
    small = main("m-d1", "d1", (21, 35), volume_l=12.0, gauge_bar=100.0)
    made = plan(replace(asked, cylinders=(small, *asked.cylinders[1:])), POLICY)
    assert made.planned.supply["m-d1"].turn_bar is None


def in_small_mains(volume_l: float, **changes: Any) -> TeamDive:  # noqa: ANN401  any field of the dive
    """The dive with mains of some size for both."""
    asked = dive(**changes)
    mains = tuple(main(f"m-{d.id}", d.id, (21, 35), volume_l=volume_l) for d in asked.divers)
    return replace(asked, cylinders=(*mains, *(c for c in asked.cylinders if not c.id.startswith("m-"))))


def short_codes(asked: TeamDive) -> set[str]:
    """The findings on minimum gas."""
    return {f.code for f in plan(asked, POLICY).findings if f.code.startswith("supply.minimum")}


def test_the_minutes_that_mend_it_do_mend_it_and_one_more_does_not() -> None:
    """Leaving as much sooner as the finding says holds minimum gas; a minute less does not."""
    asked = in_small_mains(14.0)
    (first, *_) = (f for f in plan(asked, POLICY).findings if f.code == "supply.minimum_passed")
    minutes = int(first.mend.split("leave the bottom ")[1].split(" min")[0])
    assert minutes > 0
    held = replace(asked, levels=(Level(45.0, 20.0 - minutes),))
    assert short_codes(held) == set()
    assert short_codes(replace(asked, levels=(Level(45.0, 20.0 - minutes + 1),))) != set()


def test_the_mains_that_mend_it_do_mend_it_and_a_litre_less_does_not() -> None:
    """Mains of the size that the finding names hold minimum gas; one litre smaller do not."""
    (first, *_) = (f for f in plan(in_small_mains(14.0), POLICY).findings if f.code == "supply.minimum_passed")
    volume_l = int(first.mend.split("mains of ")[1].split(" L")[0])
    assert short_codes(in_small_mains(float(volume_l))) == set()
    assert short_codes(in_small_mains(volume_l - 1.0)) != set()


def test_the_bottom_is_left_while_minimum_gas_is_in_hand() -> None:
    """The latest time to leave is the planned one where gas holds, and earlier where it does not."""
    close(plan(dive(), POLICY).latest_leave_min, 20.0, within=1e-9)
    assert plan(in_small_mains(14.0), POLICY).latest_leave_min < 20.0


def test_pressure_needed_is_rounded_up_and_pressure_left_down() -> None:
    """The sentence never shows less needed or more left than there is."""
    made = plan(in_small_mains(14.0), POLICY)
    supply = made.planned.supply["m-d1"]
    assert supply.minimum_bar is not None
    (first, *_) = (f for f in made.findings if f.code == "supply.minimum_passed")
    left, needed = (int(part.split(" bar")[0].split()[-1]) for part in first.text.split(", below"))
    assert needed == math.ceil(supply.minimum_bar)
    schedule = made.planned.schedule
    assert schedule is not None
    assert left >= math.floor(supply.end_bar)


def test_stops_on_the_way_out_are_counted() -> None:
    """A dive with stops below the first common gas needs more than the ascent alone."""
    asked = dive(levels=(Level(45.0, 40.0),))
    only_oxygen: tuple[PlanCylinder, ...] = tuple(c for c in asked.cylinders if not c.id.startswith("e-"))
    asked = replace(asked, cylinders=only_oxygen)
    schedule = plan(asked, POLICY).planned.schedule
    assert schedule is not None
    deep_stops = sum(s.minutes for s in schedule.segments if s.kind is SegmentKind.STOP and s.from_m > 6.0)
    assert deep_stops > 5.0
    assert max(needs_l(asked, "d1")) > 60.0 * 1.6 * deep_stops


def test_a_gas_used_both_ways_counts_only_from_its_switch_on_the_way_up() -> None:
    """Travel gas that serves the way up too is no gas in hand at depth: minimum gas is that of the same gas as deco."""
    asked = dive()
    mains = tuple(c for c in asked.cylinders if c.role is Role.MAIN)
    both = tuple(cylinder(f"t-{d.id}", d.id, Role.TRAVEL, (50, 0), switch_depth_m=15.0) for d in asked.divers)
    gases = tuple(deco(f"e-{d.id}", d.id, switch_depth_m=15.0) for d in asked.divers)
    travelled = max(needs_l(replace(asked, cylinders=(*mains, *both)), "d1"))
    close(travelled, max(needs_l(replace(asked, cylinders=(*mains, *gases)), "d1")), within=0.05 * travelled)


def test_two_steps_at_one_depth_are_one_gas_in_hand() -> None:
    """With 50 % and 80 % both taken on leaving 9 m, minimum gas ends at that switch, not at the surface."""
    asked = dive(levels=(Level(9.0, 30.0),))
    more = replace(asked, cylinders=(*asked.cylinders, *(deco(f"f-{d.id}", d.id, (80, 0)) for d in asked.divers)))
    close(max(needs_l(more, "d1")), max(needs_l(asked, "d1")), within=1e-9)


def test_a_team_of_one_is_counted_twice() -> None:
    """A diver alone has no buddy to count; his or her own need is counted for two."""
    asked = dive(team=1, levels=(Level(20.0, 10.0),), cylinders=(main("m-d1", "d1", (32, 0)),))
    pair = dive(levels=(Level(20.0, 10.0),), cylinders=(main("m-d1", "d1", (32, 0)), main("m-d2", "d2", (32, 0))))
    close(max(needs_l(asked, "d1")), max(needs_l(pair, "d1")), within=1e-9)


def test_stressed_rates_are_those_of_the_divers() -> None:
    """A diver at 40 L/min stressed raises the buddy's minimum gas as well as the own."""
    hungry = dive(divers=(diver("d1"), diver("d2", rmv_stressed_l_min=40.0)))
    assert max(needs_l(hungry, "d1")) > max(needs_l(dive(), "d1"))
