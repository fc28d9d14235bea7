"""Plan B: every cell is the plan of that dive."""

from dataclasses import replace

import pytest

from gaswright.errors import InputError
from gaswright.findings import Severity
from gaswright.planning.dive import Level
from gaswright.planning.plan import plan
from gaswright.planning.plan_b import one_level, plan_b
from unit.planning.dives import POLICY, deco, dive, main

DEPTHS_M, MINUTES = (30.0, 42.0, 54.0), (10.0, 20.0, 40.0)
SMALL = dive(team=1, cylinders=(main("m-d1", "d1", (21, 35), volume_l=24.0), deco("e-d1", "d1")))


def test_every_cell_is_the_plan_of_that_dive() -> None:
    """Stops, asks, TTS and runtime of a cell are those of a plan made alone."""
    made = plan_b(SMALL, POLICY, DEPTHS_M, MINUTES)
    assert (made.depths_m, made.minutes) == (DEPTHS_M, MINUTES)
    for cells, depth_m in zip(made.rows, DEPTHS_M, strict=True):
        for cell, minutes in zip(cells, MINUTES, strict=True):
            alone = plan(replace(SMALL, levels=(Level(depth_m, minutes),)), POLICY)
            stops = [one for one in alone.findings if one.severity is Severity.STOP]
            assert (cell.depth_m, cell.minutes) == (depth_m, minutes)
            assert cell.holds == (not stops)
            assert cell.stop is None or cell.stop in stops
            assert set(cell.asks) == {one.code for one in alone.findings if one.severity is Severity.ASK}
            assert cell.tts_min == (alone.planned.schedule.tts_min if alone.planned.schedule else None)


def test_the_map_has_both_kinds_and_names_the_rule() -> None:
    """Short and shallow holds; long is stopped by minimum gas; too deep for the MOD by the MOD."""
    made = plan_b(SMALL, POLICY, (30.0, 63.0), (10.0, 60.0))
    assert made.rows[0][0].holds
    assert made.rows[0][1].stop is not None
    assert made.rows[0][1].stop.code.startswith(("supply.", "case."))
    assert made.rows[1][0].stop is not None
    assert made.rows[1][0].stop.code == "mod.planned_use"


def test_what_is_stopped_for_gas_stays_stopped_when_longer() -> None:
    """Along each depth nothing holds after a dive that gas has stopped."""
    for cells in plan_b(SMALL, POLICY, DEPTHS_M, (5.0, 15.0, 25.0, 35.0, 45.0)).rows:
        held = [cell.holds for cell in cells]
        assert held == sorted(held, reverse=True)


def test_a_dive_of_several_levels_becomes_one_on_the_gas_of_the_deepest() -> None:
    """The level keeps cylinder and overhead of the deepest, with the new depth and time."""
    several = replace(SMALL, levels=(Level(20.0, 5.0), Level(45.0, 9.0, "m-d1", overhead=True), Level(30.0, 4.0)))
    assert one_level(several, 33.0, 12.0).levels == (Level(33.0, 12.0, "m-d1", overhead=True),)


def test_progress_is_told_cell_by_cell() -> None:
    """Every cell is announced once, in order."""
    told: list[tuple[int, int]] = []
    plan_b(SMALL, POLICY, (30.0,), (5.0, 10.0), lambda done, of: told.append((done, of)))
    assert told == [(1, 2), (2, 2)]


@pytest.mark.parametrize("size", [(0, 1), (1, 0), (50, 50)])
def test_a_map_of_no_or_too_many_cells_is_refused(size: tuple[int, int]) -> None:
    """1 to 2,000 cells."""
    with pytest.raises(InputError, match="2,000"):
        plan_b(SMALL, POLICY, [30.0] * size[0], [10.0] * size[1])


def test_of_several_stops_the_one_nearest_to_its_cause_is_named() -> None:
    """70 m for an hour on 21/35 is too deep and runs out: the MOD is named."""
    stops = {one.code for one in plan(one_level(SMALL, 70.0, 60.0), POLICY).findings if one.severity is Severity.STOP}
    cell = plan_b(SMALL, POLICY, (70.0,), (60.0,)).rows[0][0]
    assert len(stops) > 1
    assert cell.stop is not None
    assert cell.stop.code == "mod.planned_use"
