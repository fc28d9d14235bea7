"""A batch laid out in flat arrays: runs that share rung and ascent speed are one lot with one set of tables."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from gaswright.decompression.batch_kernel import Answers, Model, Rows, ToLevels, WayUp, Workspace
from gaswright.decompression.batch_request import Variations, breaths_of, uses_of
from gaswright.decompression.coefficients import COMPARTMENTS, VAPOUR_BAR, coefficients
from gaswright.decompression.cycles import cycle_tables, cycles_at
from gaswright.decompression.demands import LONGEST_MIN, ON_GRID_M, grid_index
from gaswright.decompression.ladder import Piece, decay, ladder, stop_table
from gaswright.decompression.request import Breath, Direction, ProfileLevel, ScheduleRequest
from gaswright.decompression.scheduler import changes_at, events_at, forced_units
from gaswright.decompression.to_levels import start
from gaswright.physics.place import ATM_BAR

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Known", "Layout", "Lot", "answers_for", "layout", "private", "request_of", "rows_of", "workspace_for"]

Known = dict[tuple[int, float], tuple[ToLevels, WayUp]]


@dataclass(frozen=True, slots=True)
class Lot:
    """Runs whose ways up begin at the same rung and go at the same speed.

    Args:
        runs: their numbers, int64.
        way: to the levels.
        up: from the last level; the first step belongs to one of the runs and is written over.
    """

    runs: "NDArray[np.int64]"
    way: ToLevels
    up: WayUp


@dataclass(frozen=True, slots=True)
class Layout:
    """A batch as the kernel takes it.

    Args:
        request: the dive.
        variations: how the runs differ.
        model: constants of model and place.
        rows: what differs per run, for all runs.
        lots: every run once.
        halt_m: columns of the stop units, deep first [m]
    """

    request: ScheduleRequest
    variations: Variations
    model: Model
    rows: Rows
    lots: tuple[Lot, ...]
    halt_m: tuple[float, ...]


def layout(request: ScheduleRequest, variations: Variations, known: Known | None = None) -> Layout:
    """The arrays of a batch.

    Args:
        request: a request that can be scheduled as it stands.
        variations: that have passed their checks.
        known: the tables made so far for this request, by rung and ascent speed; added to.
    """
    known = {} if known is None else known
    rung = _rungs(request, variations)
    speed = np.zeros(variations.runs, np.int64) if variations.speed is None else variations.speed.astype(np.int64)
    keys = rung * len(variations.speeds) + speed
    order = np.argsort(keys, kind="stable").astype(np.int64)
    cuts = np.flatnonzero(np.diff(keys[order])) + 1
    top, last = int(rung.max()), grid_index(request.last_stop_m, request.stop_step_m) or 1
    lots = tuple(_lot(request, variations, runs, int(rung[runs[0]]), known) for runs in np.split(order, cuts))
    halt_m = tuple(round(number * request.stop_step_m, 9) for number in range(top - 1, last - 1, -1))
    return Layout(request, variations, _model(request), rows_of(request, variations, len(halt_m)), lots, halt_m)


def _rungs(request: ScheduleRequest, variations: Variations) -> "NDArray[np.int64]":
    """The grid depth at or just below each run's last level, as a number of steps, last stop at least."""
    bottom_m = (
        np.full(variations.runs, request.levels[-1].depth_m) if variations.depth_m is None
        else variations.depth_m[:, -1]
    )
    near = np.rint(bottom_m / request.stop_step_m)
    on_grid = np.abs(near * request.stop_step_m - bottom_m) <= ON_GRID_M
    below = np.where(on_grid, near, np.floor(bottom_m / request.stop_step_m) + 1.0)
    last = grid_index(request.last_stop_m, request.stop_step_m) or 1
    found: NDArray[np.int64] = np.maximum(below, last).astype(np.int64)
    return found


def request_of(request: ScheduleRequest, variations: Variations, run: int) -> ScheduleRequest:
    """The request of one run: what a single schedule of that run is made from.

    A change on the way down that is deeper than every level of the run is made at its deepest level. A change of gas
    off the grid that is made at departure from the last level is made there, however deep it comes to lie.

    Args:
        request: the team's dive.
        variations: how the runs differ.
        run: which.
    """
    gas = _breaths(request, variations, run)
    levels = tuple(
        ProfileLevel(
            level.depth_m if variations.depth_m is None else float(variations.depth_m[run, number]),
            level.minutes if variations.minutes is None else float(variations.minutes[run, number]),
            {diver: gas[breath] for diver, breath in level.gas.items()},
        )
        for number, level in enumerate(request.levels)
    )
    factor = variations.speeds[0 if variations.speed is None else int(variations.speed[run])]
    return _at_speed(replace(
        request, levels=levels,
        start_gas={diver: gas[breath] for diver, breath in request.start_gas.items()},
        changes=tuple(
            replace(
                change, gas={diver: gas[breath] for diver, breath in change.gas.items()},
                depth_m=min(change.depth_m, max(level.depth_m for level in levels))
                if change.direction is Direction.DOWN else _departure_m(request, change.depth_m, levels[-1].depth_m),
            )
            for change in request.changes
        ),
        cycles=tuple(
            replace(
                cycle, depth_m=_departure_m(request, cycle.depth_m, levels[-1].depth_m),
                phases=tuple(
                    replace(phase, gas={diver: gas[breath] for diver, breath in phase.gas.items()})
                    for phase in cycle.phases
                ),
            )
            for cycle in request.cycles
        ),
    ), factor)


def _departure_m(request: ScheduleRequest, depth_m: float, bottom_m: float) -> float:
    off_grid = grid_index(depth_m, request.stop_step_m) is None or depth_m < request.last_stop_m - ON_GRID_M
    return max(depth_m, bottom_m) if off_grid else depth_m


def _breaths(request: ScheduleRequest, variations: Variations, run: int) -> dict[Breath, Breath]:
    return {
        breath: Breath(
            breath.cylinder,
            breath.o2 if variations.o2 is None else float(variations.o2[run, column]),
            breath.he if variations.he is None else float(variations.he[run, column]),
        )
        for column, breath in enumerate(breaths_of(request))
    }


def _at_speed(request: ScheduleRequest, factor: float) -> ScheduleRequest:
    if factor == 1.0:
        return request
    return replace(
        request,
        ascent_m_min=None if request.ascent_m_min is None else request.ascent_m_min * factor,
        zones=tuple(replace(zone, m_min=zone.m_min * factor) for zone in request.zones),
        travel_m_min=request.travel_m_min * factor, between_stops_m_min=request.between_stops_m_min * factor,
        last_m_min=request.last_m_min * factor,
    )


def _floats(values: Sequence[float]) -> "NDArray[np.float64]":
    return np.array(values, np.float64)


def _ints(values: Sequence[int]) -> "NDArray[np.int64]":
    return np.array(values, np.int64)


def _model(request: ScheduleRequest) -> Model:
    constants, place = coefficients(request.coefficient_set), request.place
    return Model(
        _floats([math.log(2.0) / half_min for half_min in constants.n2_half_min]),
        _floats([math.log(2.0) / half_min for half_min in constants.he_half_min]),
        _floats(constants.a_n2_bar), _floats(constants.b_n2), _floats(constants.a_he_bar), _floats(constants.b_he),
        _floats([place.surface_bar, place.bar_per_m, VAPOUR_BAR, request.gf_low, request.gf_high, ATM_BAR]),
    )


def rows_of(request: ScheduleRequest, variations: Variations, halts: int) -> Rows:
    """What differs per run, all runs; what does not is one row with a stride of 0.

    Args:
        request: the team's dive.
        variations: how the runs differ.
        halts: columns of the stop units.
    """
    breaths, divers = breaths_of(request), len(request.divers)
    o2 = _or_one_row(variations.o2, [breath.o2 for breath in breaths])
    he = _or_one_row(variations.he, [breath.he for breath in breaths])
    n2 = np.maximum(0.0, 1.0 - o2 - he)
    he = np.broadcast_to(he, n2.shape)
    depth_m = _or_one_row(variations.depth_m, [level.depth_m for level in request.levels])
    minutes = _or_one_row(variations.minutes, [level.minutes for level in request.levels])
    rmv_bottom, rmv_deco = _consumption(variations, divers)
    uses = [(use.diver, use.cylinder) for use in uses_of(request)]
    use_of = [
        uses.index((diver, breath.cylinder)) if (diver, breath.cylinder) in uses else 0
        for diver in request.divers for breath in breaths
    ]
    strides = [
        len(breaths) * (len(n2) > 1), len(request.levels) * (len(depth_m) > 1),
        len(request.levels) * (len(minutes) > 1), divers * (len(rmv_bottom) > 1),
        len(breaths), len(request.levels), len(uses), halts, int(variations.counts_gas),
    ]
    return Rows(
        np.arange(variations.runs, dtype=np.int64), _flat(n2), _flat(he), _flat(depth_m), _flat(minutes),
        _flat(rmv_bottom), _flat(rmv_deco), _ints(use_of), _ints(strides),
    )


def _consumption(variations: Variations, divers: int) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Both rates as rows per diver: one row that holds for all runs, or a row per run."""
    if variations.rmv_bottom_l_min is None or variations.rmv_deco_l_min is None:
        return np.zeros((1, divers)), np.zeros((1, divers))
    both = np.atleast_2d(variations.rmv_bottom_l_min), np.atleast_2d(variations.rmv_deco_l_min)
    rows = max(len(both[0]), len(both[1]))
    return np.broadcast_to(both[0], (rows, divers)), np.broadcast_to(both[1], (rows, divers))


def _or_one_row(array: "NDArray[np.float64] | None", row: Sequence[float]) -> "NDArray[np.float64]":
    return np.array([row], np.float64) if array is None else array


def _flat(array: "NDArray[np.float64]") -> "NDArray[np.float64]":
    return np.array(array, np.float64, order="C").reshape(-1)  # a copy that can be written: one type for the compiler


def _lot(
    request: ScheduleRequest, variations: Variations, runs: "NDArray[np.int64]", rung: int, known: Known
) -> Lot:
    """The tables of a lot: on the gases of the request, at the depth and speed of the first of its runs."""
    first = int(runs[0])
    key = rung, variations.speeds[0 if variations.speed is None else int(variations.speed[first])]
    if key not in known:
        one = request_of(request, replace(variations, o2=None, he=None), first)
        column = {breath: number for number, breath in enumerate(breaths_of(request))}
        known[key] = _to_levels(one, request, column), _way_up(one, column)
    return Lot(runs, *known[key])


def _to_levels(one: ScheduleRequest, request: ScheduleRequest, column: Mapping[Breath, int]) -> ToLevels:
    begin = start(one)
    down = [change for change in request.changes if change.direction is Direction.DOWN]
    turns = [list(change.gas.items()) for change in down]
    taken = [list(level.gas.items()) for level in request.levels]
    zone_m, zone_m_min = _zones(one, (one.ascent_m_min or one.travel_m_min))
    turn_e_n2, turn_e_he = decay(one.switch_min, one.coefficient_set)
    return ToLevels(
        _floats(begin.n2_bar), _floats(begin.he_bar), _ints([column[one.start_gas[diver]] for diver in one.divers]),
        _floats([change.depth_m for change in down]), *_grouped(one, turns, column), *_grouped(one, taken, column),
        _floats(turn_e_n2), _floats(turn_e_he), _floats([0.0]), _floats([one.descent_m_min]),
        zone_m, zone_m_min, _floats([one.switch_min]),
    )


def _grouped(
    one: ScheduleRequest, groups: list[list[tuple[str, Breath]]], column: Mapping[Breath, int]
) -> "tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]":
    """Where each group begins, then diver and gas of every member."""
    first = np.cumsum([0, *(len(group) for group in groups)])
    flat = [member for group in groups for member in group]
    return (
        _ints([int(number) for number in first]),
        _ints([one.divers.index(diver) for diver, _ in flat]), _ints([column[breath] for _, breath in flat]),
    )


def _zones(one: ScheduleRequest, single_m_min: float) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Zones of ascent speed, deep first: those of the request, or one with a single speed."""
    if one.ascent_m_min is not None or not one.zones:
        return _floats([0.0]), _floats([single_m_min])
    zones = sorted(one.zones, key=lambda zone: -zone.from_m)
    return _floats([zone.from_m for zone in zones]), _floats([zone.m_min for zone in zones])


def _way_up(one: ScheduleRequest, column: Mapping[Breath, int]) -> WayUp:
    rungs, tables = ladder(one), ladder(one).tables
    events = [events_at(one, changes) for changes in changes_at(one, rungs)]
    flat = [event for at_node in events for event in at_node]
    waits = [decay(event.wait_min, one.coefficient_set) for event in flat]
    cycles, stops = cycle_tables(one), stop_table(one.stop_unit_min, one.coefficient_set)
    steps = rungs.pieces + rungs.slow_pieces
    slow_m_min = one.last_m_min if len(rungs.depth_m) == 2 else one.between_stops_m_min
    fast, slow = _zones(one, one.ascent_m_min or one.travel_m_min), _zones(one, one.ascent_m_min or slow_m_min)
    return WayUp(
        _floats(rungs.depth_m), _floats(rungs.ambient_bar), _ints([forced_units(one, at_node) for at_node in events]),
        _ints([0, *(int(number) for number in np.cumsum([len(at_node) for at_node in events]))]),
        _ints([event.diver for event in flat]),
        _ints([column[event.breath] if event.diver >= 0 else 0 for event in flat]),
        _floats([event.wait_min for event in flat]),
        _floats([e for wait in waits for e in wait[0]]), _floats([e for wait in waits for e in wait[1]]),
        _ints(cycles_at(one, rungs.depth_m)), _ints(cycles.first), _ints(cycles.phase_end),
        _ints([-1 if breath is None else column[breath] for breath in cycles.breaths]),
        _floats(tables.e_n2), _floats(tables.e_he), _floats(tables.k_n2), _floats(tables.k_he),
        _floats([sum(_minutes(piece) for piece in step) for step in steps]),
        _floats([sum(one.place.ambient_bar((piece[0] + piece[1]) / 2.0) * _minutes(piece) for piece in step)
                 for step in steps]),
        _floats(stops.e_n2), _floats(stops.e_he), *fast, *slow,
        _ints([rungs.slow_at, stops.units, int(LONGEST_MIN / one.stop_unit_min)]),
        _floats([one.stop_unit_min, LONGEST_MIN]),
    )


def _minutes(piece: Piece) -> float:
    return abs(piece[1] - piece[0]) / piece[2]


def private(up: WayUp) -> WayUp:
    """The tables of a way up with those that runs write over as copies of their own.

    Args:
        up: the tables of a lot.
    """
    names = ("node_bar", "e_n2", "e_he", "k_n2", "k_he", "step_min", "step_bar_min")
    return up._replace(**{name: np.array(getattr(up, name)) for name in names})


def workspace_for(plan: Layout, lot: Lot) -> Workspace:
    """Working space for runs of a lot; no table is kept in it yet.

    Args:
        plan: the batch.
        lot: the lot.
    """
    divers, levels = len(plan.request.divers), len(plan.request.levels)
    rows, pieces = divers * COMPARTMENTS, levels + len(lot.way.down_m)
    nodes, events, phases = len(lot.up.node_m), len(lot.up.event_slot), len(lot.up.phase_slot)
    floats = [rows] * 4 + [divers] * 2
    after = [events] * 2 + [phases] * 2 + [len(uses_of(plan.request))]
    kept = [pieces] * 4 + [pieces * COMPARTMENTS] * 4 + [levels] + [levels * COMPARTMENTS] * 2
    return Workspace(
        *(np.full(size, -1.0) for size in floats), *(np.zeros(size, np.int64) for size in (divers, nodes, divers)),
        *(np.full(size, -1.0) for size in after + kept),
    )


def answers_for(plan: Layout, runs: int) -> Answers:
    """Room for the answers of some runs, filled with -1.

    Args:
        plan: the batch.
        runs: how many.
    """
    divers = len(plan.request.divers)
    uses, halts = len(uses_of(plan.request)), len(plan.halt_m)
    return Answers(
        np.full(runs, -1, np.int64), np.full(runs, -1.0), np.full(runs, -1.0), np.full(runs * divers, -1.0),
        np.full(runs * uses, -1.0), np.full(runs * halts, -1, np.int64), np.full(runs, -1, np.int64),
    )
