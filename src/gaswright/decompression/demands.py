"""What a request must satisfy before a schedule is computed: every problem at once, nothing guessed."""

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

from gaswright.decompression.coefficients import COMPARTMENTS
from gaswright.decompression.request import Breath, BreathingCycle, Direction, GasChange, ScheduleRequest, Tissues
from gaswright.errors import InputError, Problem

__all__ = ["check_request", "grid_index"]

ON_GRID_M = 1e-6  # depths closer than this are the same depth [GASWRIGHT]
DEEPEST_M = 500.0  # beyond it a typing error is likelier than a dive [GASWRIGHT]
LONGEST_MIN = 4320.0  # 72 h, for one level as for the way up [GASWRIGHT]
UNITS_AT_MOST = 100_000  # of one phase of a breathing cycle [GASWRIGHT]
TEAM_AT_MOST = 6  # contract: teams of one to six


def grid_index(depth_m: float, step_m: float) -> int | None:
    """Number of grid steps from the surface to a depth, or None off the grid.

    Args:
        depth_m: depth [m]
        step_m: grid step [m]
    """
    index = round(depth_m / step_m)
    return index if abs(index * step_m - depth_m) <= ON_GRID_M else None


def check_request(request: ScheduleRequest) -> None:
    """Nothing, if the request can be scheduled.

    Args:
        request: the team's dive.

    Raises:
        InputError: with every problem found.
    """
    problems = [Problem(where, what) for where, what in _problems(request)]
    if problems:
        raise InputError(problems)


def _problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    numbers = tuple(_number_problems(request))
    yield from numbers
    yield from _team_problems(request)
    yield from _level_problems(request)
    if not numbers:
        yield from _grid_problems(request)
        yield from _change_problems(request)
        yield from _cycle_problems(request)


def _outside(where: str, value: float, unit: str, low: float, high: float) -> Iterator[tuple[str, str]]:
    if isinstance(value, bool) or not math.isfinite(value) or not low <= value <= high:
        yield where, f"{value} {unit} is not allowed, it must be {low:g} to {high:g} {unit}"


def _number_problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    place = request.place
    yield from _outside("gf_high", request.gf_high, "fraction", 0.0, 1.0)
    yield from _outside("gf_low", request.gf_low, "fraction", 0.0, 1.0)
    if request.gf_low > request.gf_high:
        yield "gf_low", f"{request.gf_low:g} is above gf_high {request.gf_high:g}; the line must not fall on the way up"
    for name in ("descent_m_min", "travel_m_min", "between_stops_m_min", "last_m_min"):
        yield from _outside(name, getattr(request, name), "m/min", 0.01, 1e6)
    if request.ascent_m_min is not None:
        yield from _outside("ascent_m_min", request.ascent_m_min, "m/min", 0.01, 1e6)
        if request.zones:
            yield "zones", "one ascent speed and zones exclude each other; give one of them"
    yield from _zone_problems(request)
    yield from _outside("stop_step_m", request.stop_step_m, "m", 0.5, 30.0)
    yield from _outside("last_stop_m", request.last_stop_m, "m", 0.5, 30.0)
    yield from _outside("stop_unit_min", request.stop_unit_min, "min", 0.016, 60.0)
    yield from _outside("switch_min", request.switch_min, "min", 0.0, 60.0)
    yield from _outside("place.surface_bar", place.surface_bar, "bar", 0.3, 1.2)
    yield from _outside("place.saturated_bar", place.saturated_bar, "bar", 0.3, 10.0)
    yield from _outside("place.bar_per_m", place.bar_per_m, "bar/m", 0.09, 0.11)
    if request.coefficient_set not in ("A", "B", "C"):
        yield "coefficient_set", f"{request.coefficient_set!r} is not allowed, it must be A, B or C"


def _zone_problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    for number, zone in enumerate(request.zones):
        yield from _outside(f"zones[{number}].from_m", zone.from_m, "m", 0.0, DEEPEST_M)
        yield from _outside(f"zones[{number}].m_min", zone.m_min, "m/min", 0.01, 1e6)
    starts = [zone.from_m for zone in request.zones]
    if starts and 0.0 not in starts:
        yield "zones", "no zone reaches the surface; one must begin at 0 m"
    if len(set(starts)) < len(starts):
        yield "zones", "two zones begin at the same depth"


def _team_problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    divers = request.divers
    if not 1 <= len(divers) <= TEAM_AT_MOST or len(set(divers)) < len(divers):
        yield "divers", f"{len(divers)} ids, it must be 1 to {TEAM_AT_MOST}, each once"
    for diver in divers:
        if diver not in request.start_gas:
            yield f"start_gas.{diver}", "nobody says what this diver breathes at the start"
        if request.tissues is not None and diver not in request.tissues:
            yield f"tissues.{diver}", "tensions are given for others but not for this diver"
    yield from _gas_problems("start_gas", request.start_gas, divers)
    for diver, tissues in (request.tissues or {}).items():
        yield from _tissue_problems(f"tissues.{diver}", tissues)


def _tissue_problems(where: str, tissues: Tissues) -> Iterator[tuple[str, str]]:
    for name, values in (("n2_bar", tissues.n2_bar), ("he_bar", tissues.he_bar)):
        if len(values) != COMPARTMENTS:
            yield f"{where}.{name}", f"{len(values)} tensions, it must be {COMPARTMENTS}"
        for value in values:
            yield from _outside(f"{where}.{name}", value, "bar", 0.0, 100.0)


def _gas_problems(where: str, gas: Mapping[str, Breath], divers: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for diver, breath in gas.items():
        place = f"{where}.{diver}"
        if diver not in divers:
            yield place, "there is no such diver in the team"
        yield from _outside(f"{place}.o2", breath.o2, "fraction", 0.001, 1.0)
        yield from _outside(f"{place}.he", breath.he, "fraction", 0.0, 0.999)
        if breath.o2 + breath.he > 1.0 + 1e-9:
            yield place, f"oxygen {breath.o2:g} and helium {breath.he:g} are more than the whole"


def _level_problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    if not request.levels:
        yield "levels", "there is no level; give at least one"
    for number, level in enumerate(request.levels):
        yield from _outside(f"levels[{number}].depth_m", level.depth_m, "m", 0.5, DEEPEST_M)
        yield from _outside(f"levels[{number}].minutes", level.minutes, "min", 0.0, LONGEST_MIN)
        yield from _gas_problems(f"levels[{number}].gas", level.gas, request.divers)


def _grid_problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    index = grid_index(request.last_stop_m, request.stop_step_m)
    if index is None or index < 1:
        yield "last_stop_m", (
            f"{request.last_stop_m:g} m is not on the stop grid of {request.stop_step_m:g} m; give a multiple of it"
        )


def _change_problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    for number, change in enumerate(request.changes):
        where = f"changes[{number}]"
        yield from _outside(f"{where}.depth_m", change.depth_m, "m", 0.1, DEEPEST_M)
        yield from _gas_problems(f"{where}.gas", change.gas, request.divers)
    depths_m = [level.depth_m for level in request.levels] + [change.depth_m for change in request.changes]
    if not request.levels or not all(math.isfinite(depth_m) for depth_m in depths_m):
        return
    down = [change for change in request.changes if change.direction is Direction.DOWN]
    up = [change for change in request.changes if change.direction is Direction.UP]
    deepest_m = max(level.depth_m for level in request.levels)
    if any(change.depth_m > deepest_m + ON_GRID_M for change in down):
        yield "changes", f"a change on the way down is deeper than the deepest level ({deepest_m:g} m): it never comes"
    if any(later.depth_m < sooner.depth_m for sooner, later in pairwise(down)):
        yield "changes", "changes on the way down must stand in the order in which they are met, shallow first"
    if any(later.depth_m > sooner.depth_m for sooner, later in pairwise(up)):
        yield "changes", "changes on the way up must stand in the order in which they are met, deep first"
    for change in up:
        yield from _off_grid(change, request)


def _off_grid(change: GasChange, request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    if change.depth_m >= request.levels[-1].depth_m - ON_GRID_M:
        return
    if grid_index(change.depth_m, request.stop_step_m) is None or change.depth_m < request.last_stop_m - ON_GRID_M:
        yield "changes", (
            f"the change at {change.depth_m:g} m on the way up is not at a stop: the grid is {request.stop_step_m:g} m "
            f"and the last stop {request.last_stop_m:g} m"
        )


def _cycle_problems(request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    for number, cycle in enumerate(request.cycles):
        where = f"cycles[{number}]"
        yield from _outside(f"{where}.depth_m", cycle.depth_m, "m", 0.5, DEEPEST_M)
        yield from _outside(f"{where}.until_m", cycle.until_m, "m", 0.0, DEEPEST_M)
        yield from _phase_problems(where, cycle, request.divers)
        if request.levels and math.isfinite(cycle.depth_m) and math.isfinite(request.levels[-1].depth_m):
            yield from _cycle_place_problems(where, cycle, request)
    for sooner, later in pairwise(request.cycles):
        if sooner.until_m < later.depth_m - ON_GRID_M:
            yield "cycles", "breathing cycles must stand deep first, and each must end where the next begins, or deeper"


def _phase_problems(where: str, cycle: BreathingCycle, divers: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    if not cycle.phases or any(set(phase.gas) != set(cycle.phases[0].gas) for phase in cycle.phases):
        yield f"{where}.phases", "it needs phases, and every phase must name the same divers"
    for number, phase in enumerate(cycle.phases):
        place = f"{where}.phases[{number}]"
        if type(phase.units) is not int or not 1 <= phase.units <= UNITS_AT_MOST:
            yield f"{place}.units", f"{phase.units} is not allowed, it must be a whole number 1 to {UNITS_AT_MOST}"
        if not phase.gas:
            yield f"{place}.gas", "it names no diver"
        yield from _gas_problems(f"{place}.gas", phase.gas, divers)


def _cycle_place_problems(where: str, cycle: BreathingCycle, request: ScheduleRequest) -> Iterator[tuple[str, str]]:
    bottom_m = request.levels[-1].depth_m
    begin_m = min(cycle.depth_m, bottom_m)
    if cycle.until_m >= cycle.depth_m - ON_GRID_M:
        yield f"{where}.until_m", f"{cycle.until_m:g} m is not above {cycle.depth_m:g} m, where the cycle begins"
    if begin_m < bottom_m - ON_GRID_M and (
        grid_index(begin_m, request.stop_step_m) is None or begin_m < request.last_stop_m - ON_GRID_M
    ):
        yield f"{where}.depth_m", (
            f"{begin_m:g} m is not at a stop: the grid is {request.stop_step_m:g} m and the last stop "
            f"{request.last_stop_m:g} m"
        )
    in_cycle = {diver for phase in cycle.phases for diver in phase.gas}
    for change in request.changes:
        inside = cycle.until_m + ON_GRID_M < min(change.depth_m, bottom_m) < begin_m - ON_GRID_M
        if change.direction is Direction.UP and inside and in_cycle & set(change.gas):
            yield where, (
                f"the change at {change.depth_m:g} m falls inside the cycle of the same divers; end the cycle there "
                "with until_m"
            )
