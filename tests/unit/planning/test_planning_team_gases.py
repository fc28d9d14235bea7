"""Cylinders of one step are one team gas, at the depth its shallowest member allows."""

from dataclasses import replace

from check import close
from gaswright.decompression.request import Direction
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Level, PlanCylinder, Role, Settings, TeamDive, UnitSystem
from gaswright.planning.kit import kit_of
from gaswright.planning.plan import plan
from gaswright.planning.team_gases import Step, floor_to_grid_m, steps_up
from unit.planning.dives import POLICY, cylinder, deco, dive, main

EAN50 = Mixture(5000)


def steps_of(*cylinders: PlanCylinder, team: int = 2, units: UnitSystem = UnitSystem.METRIC) -> tuple[Step, ...]:
    """The steps of a team with these cylinders and mains."""
    base = dive(team=team, units=units)
    mains = tuple(main(f"m-{d.id}", d.id, (21, 35)) for d in base.divers)
    return steps_up(kit_of(replace(base, cylinders=(*mains, *cylinders)), POLICY))


def test_the_target_groups_and_the_reading_sets_the_depth() -> None:
    """Two cylinders meant as 50 % are one step; the one that reads 53 % pulls it to 18 m for both."""
    (step,) = steps_of(deco("a", "d1", target=EAN50), deco("b", "d2", (53, 0), target=EAN50))
    assert step.breathed == {"d1": "a", "d2": "b"}
    close(step.depth_m, 18.0, within=0.0)
    assert step.pulling == ("b",)
    close(step.would_be_m, 21.0, within=0.0)


def test_readings_group_where_there_is_no_target() -> None:
    """Without targets, 50 % and 53 % are two steps, each pulling nobody."""
    steps = steps_of(deco("a", "d1"), deco("b", "d2", (53, 0)))
    assert [(s.depth_m, dict(s.breathed), s.pulling) for s in steps] == [
        (21.0, {"d1": "a"}, ()), (18.0, {"d2": "b"}, ()),
    ]


def test_an_explicit_depth_groups_and_stands() -> None:
    """An explicit switch depth joins the step of that depth, also deeper than the MOD, where a finding stops it."""
    (step,) = steps_of(deco("a", "d1", switch_depth_m=21.0), deco("b", "d2", (60, 0), switch_depth_m=21.0))
    close(step.depth_m, 21.0, within=0.0)
    assert step.pulling == ()


def test_the_first_of_two_is_breathed_and_the_other_is_a_spare() -> None:
    """Two cylinders of one diver in one step: the first listed is breathed, both belong to the step."""
    (step,) = steps_of(deco("a", "d1"), deco("b", "d1"), team=1)
    assert (step.breathed, step.cylinders) == ({"d1": "a"}, ("a", "b"))


def test_a_staged_cylinder_is_taken_no_deeper_than_its_place() -> None:
    """50 % hung at 12 m is taken there, not at 21 m."""
    (step,) = steps_of(deco("a", "d1", staged=True, place_depth_m=12.0), team=1)
    close(step.depth_m, 12.0, within=0.0)


def test_turns_follow_the_card() -> None:
    """The order of the turns is the order of the divers, not of the cylinders."""
    (step,) = steps_of(deco("b", "d2"), deco("a", "d1"))
    assert tuple(step.breathed) == ("d1", "d2")


def test_an_imperial_team_switches_on_its_own_grid() -> None:
    """EAN50 is switched at 70 ft and oxygen at 20 ft by an imperial team."""
    base = dive(units=UnitSystem.IMPERIAL, settings=Settings(stop_step_m=3.048, last_stop_m=6.096))
    found = [s.depth_m / 0.3048 for s in steps_up(kit_of(base, POLICY))]
    close(found[0], 70.0, within=1e-9)
    close(found[1], 20.0, within=1e-9)
    assert plan(base, POLICY).planned.completed


def test_grid_depths_survive_binary_rounding() -> None:
    """Seven steps of 10 ft stay seven; a depth between two steps goes to the shallower one."""
    close(floor_to_grid_m(70 * 0.3048, 3.048), 21.336, within=1e-9)
    close(floor_to_grid_m(20.9, 3.0), 18.0, within=0.0)


def test_switches_stand_in_the_order_in_which_they_are_met() -> None:
    """Travel gas is left on the way down first, then the deep and the shallow gas of the way up."""
    base = dive(team=1)
    travel = cylinder("t-d1", "d1", Role.TRAVEL, (50, 0))
    made = plan(replace(base, cylinders=(*base.cylinders, travel)), POLICY)
    assert [(g.direction, g.depth_m) for g in made.team_gases] == [
        (Direction.DOWN, 15.0), (Direction.UP, 21.0), (Direction.UP, 6.0),
    ]


def test_a_step_deeper_than_the_last_level_is_made_on_leaving_it() -> None:
    """From a level at 12 m, 50 % is taken there: nobody goes down to 21 m for it."""
    base = dive(levels=(Level(12.0, 30.0),))
    schedule = plan(base, POLICY).planned.schedule
    assert schedule is not None
    first = next(s for s in schedule.segments if s.gas["d1"].cylinder == "e-d1")
    close(first.from_m, 12.0, within=0.0)


def test_a_stage_with_a_switch_depth_serves_the_way_up() -> None:
    """A stage with a switch depth is a step of the way up; without one it is not."""
    stage = cylinder("s", "d1", Role.STAGE, (50, 0), switch_depth_m=15.0)
    assert [s.breathed for s in steps_of(stage, team=1)] == [{"d1": "s"}]
    assert steps_of(replace(stage, switch_depth_m=None), team=1) == ()


def test_a_shared_cylinder_serves_each_of_its_divers() -> None:
    """One cylinder for two divers is one step with two turns, and gives what both take."""
    base = dive()
    own = tuple(c for c in base.cylinders if not c.id.startswith("o-"))
    shared: TeamDive = replace(base, cylinders=(*own, deco("o", "d1 d2", (100, 0))))
    separate, together = plan(base, POLICY).planned.supply, plan(shared, POLICY).planned.supply
    close(together["o"].used_l, separate["o-d1"].used_l + separate["o-d2"].used_l, within=1e-9)
