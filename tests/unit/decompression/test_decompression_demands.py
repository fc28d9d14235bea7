"""Requests that cannot be scheduled are refused with every problem at once."""

import math
from dataclasses import replace
from typing import Any

import pytest

from gaswright.decompression.demands import grid_index
from gaswright.decompression.request import Breath, Direction, GasChange, ProfileLevel, SpeedZone, Tissues
from gaswright.decompression.scheduler import schedule
from gaswright.errors import InputError
from gaswright.physics.place import Place
from oracles.teams import gas_for, sixty_metres

ONE = ("d1",)


def up(depth_m: float, o2: float = 0.5) -> GasChange:
    """A change on the way up."""
    return GasChange(Direction.UP, depth_m, gas_for(ONE, "deco", o2))


def down(depth_m: float) -> GasChange:
    """A change on the way down."""
    return GasChange(Direction.DOWN, depth_m, gas_for(ONE, "main", 0.2))


BAD: dict[str, dict[str, Any]] = {
    "gf_low": {"gf_low": 0.9},
    "gf_high": {"gf_high": math.nan},
    "gf_high above 1": {"gf_high": 1.2},
    "descent_m_min": {"descent_m_min": 0.0},
    "ascent_m_min": {"ascent_m_min": math.inf},
    "zones": {"zones": (SpeedZone(6.0, 9.0),)},
    "zones[0].m_min": {"zones": (SpeedZone(0.0, -1.0),)},
    "zones twice": {"zones": (SpeedZone(0.0, 3.0), SpeedZone(0.0, 9.0))},
    "zones and speed": {"zones": (SpeedZone(0.0, 3.0),), "ascent_m_min": 9.0},
    "stop_step_m": {"stop_step_m": 0.0},
    "last_stop_m": {"last_stop_m": 5.0},
    "stop_unit_min": {"stop_unit_min": 1e-6},
    "switch_min": {"switch_min": -1.0},
    "switch_min nan": {"switch_min": math.nan},
    "place.surface_bar": {"place": Place(surface_bar=0.0)},
    "place.bar_per_m": {"place": Place(bar_per_m=math.nan)},
    "coefficient_set": {"coefficient_set": "D"},
    "divers": {"divers": ()},
    "divers twice": {"divers": ("d1", "d1")},
    "start_gas.d1": {"start_gas": {}},
    "start_gas.d1.o2": {"start_gas": gas_for(ONE, "main", math.nan)},
    "start_gas.d1 sum": {"start_gas": gas_for(ONE, "main", 0.6, 0.6)},
    "start_gas.d9": {"start_gas": gas_for(("d1", "d9"), "main", 0.2)},
    "levels": {"levels": ()},
    "levels[0].depth_m": {"levels": (ProfileLevel(-3.0, 20.0),)},
    "levels[0].depth_m nan": {"levels": (ProfileLevel(math.nan, 20.0),)},
    "levels[0].minutes": {"levels": (ProfileLevel(30.0, math.inf),)},
    "levels[0].gas.d7": {"levels": (ProfileLevel(30.0, 20.0, {"d7": Breath("x", 0.2, 0.0)}),)},
    "tissues.d1": {"tissues": {}},
    "tissues.d1.n2_bar": {"tissues": {"d1": Tissues((0.79,) * 15, (0.0,) * 16)}},
    "tissues.d1.he_bar": {"tissues": {"d1": Tissues((0.79,) * 16, (math.nan,) * 16)}},
    "changes off the grid": {"changes": (up(20.0),)},
    "changes above the last stop": {"changes": (up(3.0),)},
    "changes never met": {"changes": (down(66.0),)},
    "changes up out of order": {"changes": (up(6.0), up(21.0))},
    "changes down out of order": {"changes": (down(30.0), down(9.0))},
    "changes[0].depth_m": {"changes": (up(math.nan),)},
    "changes[0].gas.d1.o2": {"changes": (up(21.0, 0.0),)},
}


@pytest.mark.parametrize("name", list(BAD))
def test_a_bad_request_is_refused_at_its_place(name: str) -> None:
    """The problem names the field, and nothing is computed."""
    with pytest.raises(InputError) as caught:
        schedule(replace(sixty_metres(), **BAD[name]))
    assert name.split(maxsplit=1)[0] in {problem.where for problem in caught.value.problems}


def test_all_problems_come_at_once() -> None:
    """Three faults, three problems."""
    with pytest.raises(InputError) as caught:
        schedule(sixty_metres(gf_low=-0.1, switch_min=math.inf, levels=(ProfileLevel(-1.0, 5.0),)))
    assert {problem.where for problem in caught.value.problems} == {"gf_low", "switch_min", "levels[0].depth_m"}


def test_depths_are_found_on_the_grid_in_metres_and_feet() -> None:
    """Multiples computed in feet fall on the grid of 3.048 m; 20 m is off the grid of 3 m."""
    for tens in range(1, 40):
        assert grid_index(tens * 10 * 0.3048, 3.048) == tens
        assert grid_index(tens * 3.0, 3.0) == tens
    assert grid_index(20.0, 3.0) is None
    assert grid_index(21.0, 3.048) is None
