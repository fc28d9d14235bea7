"""Travel gas: from the surface to a depth at which travel and bottom gas can both be breathed."""

from dataclasses import replace

import pytest

from check import close
from gaswright.decompression.request import SegmentKind
from gaswright.physics.depth_limits import minimum_depth_m
from gaswright.planning.dive import Level, Role, TeamDive
from gaswright.planning.kit import kit_of
from gaswright.planning.plan import plan
from gaswright.planning.travel import NoOverlap, travel_switches
from unit.planning.dives import POLICY, STRICT, cylinder, dive, main


def travelling(travel: tuple[int, int], bottom: tuple[int, int] = (10, 70), leave_m: float | None = None) -> TeamDive:
    """A team of two on a hypoxic bottom gas with travel gas."""
    base = dive(depth_m=60.0)
    cylinders = [
        c for d in base.divers for c in (
            main(f"m-{d.id}", d.id, bottom), cylinder(f"t-{d.id}", d.id, Role.TRAVEL, travel, leave_depth_m=leave_m),
        )
    ]
    return replace(base, cylinders=tuple(cylinders))


def test_the_change_lies_in_the_overlap_on_the_grid() -> None:
    """50 % reaches 17 m, 10/70 needs 6.9 m: the change is at 15 m, where both can be breathed."""
    assert travel_switches(kit_of(travelling((50, 0)), POLICY)) == {15.0: ("d1", "d2")}
    assert minimum_depth_m(0.095, 0.16, STRICT) < 15.0


def test_a_narrow_overlap_is_met_at_a_whole_unit() -> None:
    """70 % reaches 9 m and is left there; 80 % reaches 7 m, off the grid, and is left there: 10/70 needs 6.9 m."""
    assert travel_switches(kit_of(travelling((70, 0)), POLICY)) == {9.0: ("d1", "d2")}
    assert travel_switches(kit_of(travelling((80, 0)), POLICY)) == {7.0: ("d1", "d2")}


def test_no_overlap_is_said_with_both_depths() -> None:
    """90 % reaches 5 m, above the 6.9 m that 10/70 needs."""
    found = travel_switches(kit_of(travelling((90, 0)), POLICY))
    assert isinstance(found, NoOverlap)
    close(found.to_m, 5.0, within=0.0)
    close(found.from_m, minimum_depth_m(0.095, 0.16, STRICT), within=1e-12)


def test_a_leave_depth_stands_and_is_judged() -> None:
    """A leave depth is used; below the travel gas's MOD, or where the bottom gas is too lean, it is a stop."""
    assert travel_switches(kit_of(travelling((50, 0), leave_m=12.0), POLICY)) == {12.0: ("d1", "d2")}
    deep, shallow = plan(travelling((50, 0), leave_m=30.0), POLICY), plan(travelling((50, 0), leave_m=3.0), POLICY)
    assert ("mod.planned_use", "t-d1") in {(f.code, f.subject.cylinder) for f in deep.findings}
    assert ("ppo2.low", "m-d1") in {(f.code, f.subject.cylinder) for f in shallow.findings}


def test_everybody_starts_on_travel_and_changes_in_turn() -> None:
    """The dive starts on travel gas; the second diver changes after the first one's turn."""
    schedule = plan(travelling((50, 0)), POLICY).planned.schedule
    assert schedule is not None
    assert {b.cylinder for b in schedule.segments[0].gas.values()} == {"t-d1", "t-d2"}
    stops = [s for s in schedule.segments if s.kind is SegmentKind.STOP and s.from_m == 15.0][:2]
    assert [(s.gas["d1"].cylinder, s.gas["d2"].cylinder) for s in stops] == [("m-d1", "t-d2"), ("m-d1", "m-d2")]


def test_travel_is_never_left_below_the_first_level() -> None:
    """On a first level of 12 m the change is made there at the latest."""
    base = replace(travelling((50, 0)), levels=(Level(12.0, 10.0), Level(60.0, 20.0)))
    assert travel_switches(kit_of(base, POLICY)) == {12.0: ("d1", "d2")}


@pytest.mark.parametrize("solve_min", [0.0, 1.0])
def test_minimum_gas_is_found_where_the_turns_are_made_on_the_level(solve_min: float) -> None:
    """Turns at the first level take time; the bottom phase begins after them, and minimum gas comes out."""
    base = replace(travelling((50, 0)), levels=(Level(12.0, 10.0), Level(60.0, 10.0)))
    gases = tuple(c for c in dive().cylinders if c.role is Role.DECO)
    base = replace(base, cylinders=(*base.cylinders, *gases))
    made = plan(replace(base, settings=replace(base.settings, solve_min=solve_min)), POLICY)
    assert made.planned.supply["m-d1"].minimum_bar is not None
    assert not [f for f in made.findings if (f.subject.case or "").startswith("broken off")]
