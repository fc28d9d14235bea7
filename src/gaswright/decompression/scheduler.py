"""The schedule of a team: way down, levels and way up, every one of them passed by the verifier before it leaves."""

import math
from dataclasses import dataclass, replace

from gaswright.decompression import kernel
from gaswright.decompression.coefficients import COMPARTMENTS, VAPOUR_BAR, coefficients
from gaswright.decompression.cycles import CycleClock, cycle_tables, cycles_at
from gaswright.decompression.demands import LONGEST_MIN, ON_GRID_M, check_request
from gaswright.decompression.ladder import Ladder, decay, ladder, stop_table
from gaswright.decompression.request import (
    Breath,
    Direction,
    GasChange,
    Impossible,
    Schedule,
    ScheduleImpossible,
    ScheduleRequest,
    SegmentKind,
    Tissues,
    Unverified,
)
from gaswright.decompression.to_levels import Walk, start, to_levels
from gaswright.decompression.track import Track
from gaswright.decompression.verifier import replay

__all__ = ["Event", "changes_at", "events_at", "forced_units", "schedule", "unverified_schedule"]

SAME_BAR = 1e-9  # scheduler and verifier agree on a tension within this [GASWRIGHT]


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happens at a halt: a wait, then a diver's change of gas.

    Args:
        wait_min: before the change [min]
        diver: index of the diver, -1: nobody.
        breath: what is breathed from then on.
    """

    wait_min: float
    diver: int
    breath: Breath


NOBODYS = Breath("", 1.0, 0.0)


def schedule(request: ScheduleRequest) -> Schedule:
    """The schedule of a team, passed by the replay verifier.

    Args:
        request: the team's dive.

    Raises:
        InputError: the request cannot be scheduled as it stands; holds every problem.
        ScheduleImpossible: no schedule exists.
        Unverified: the verifier does not pass the schedule that was made; it must not be used.
    """
    made = unverified_schedule(request)
    seen = replay(request, made.segments)
    wrong = [str(violation) for violation in seen.violations]
    wrong += [f"anchor of {diver} is {depth_m:g} m here and {seen.anchor_m[diver]:g} m in the replay"
              for diver, depth_m in made.anchor_m.items() if abs(depth_m - seen.anchor_m[diver]) > ON_GRID_M]
    wrong += [f"tensions of {diver} differ from the replay"
              for diver in request.divers if _apart_bar(made.tissues[diver], seen.tissues[diver]) > SAME_BAR]
    if wrong:
        raise Unverified(tuple(wrong))
    return replace(made, worst_gf=seen.worst_gf)


def unverified_schedule(request: ScheduleRequest) -> Schedule:
    """The same schedule before the verifier has seen it: for runs in bulk, never for paper.

    Args:
        request: the team's dive.

    Raises:
        InputError: the request cannot be scheduled as it stands; holds every problem.
        ScheduleImpossible: no schedule exists.
    """
    check_request(request)
    walk = start(request)
    to_levels(request, walk)
    levels_end_min = walk.track.runtime_min
    anchor_m = _way_up(request, walk)
    segments = walk.track.segments()
    runtime_min = segments[-1].end_min
    tissues = {diver: _tissues_of(walk, number) for number, diver in enumerate(request.divers)}
    return Schedule(segments, anchor_m, runtime_min - levels_end_min, runtime_min, tissues)


def _apart_bar(one: Tissues, other: Tissues) -> float:
    pairs = zip(one.n2_bar + one.he_bar, other.n2_bar + other.he_bar, strict=True)
    return max(abs(first - second) for first, second in pairs)


def _tissues_of(walk: Walk, number: int) -> Tissues:
    rows = slice(number * COMPARTMENTS, (number + 1) * COMPARTMENTS)
    return Tissues(tuple(walk.n2_bar[rows]), tuple(walk.he_bar[rows]))


def _way_up(request: ScheduleRequest, walk: Walk) -> dict[str, float]:
    rungs = ladder(request)
    events = [events_at(request, changes) for changes in changes_at(request, rungs)]
    steps = len(events)
    units, anchor = [0] * steps, [-1] * len(request.divers)
    forced = [forced_units(request, at_node) for at_node in events]
    slow_node = _run_kernel(request, walk, rungs, events, forced, units, anchor)
    if slow_node >= 0:
        _record(request, walk.track, rungs, events, units, slow_node)
    if slow_node < 0 or walk.track.leg_min > LONGEST_MIN:
        raise ScheduleImpossible(
            Impossible.TOO_LONG,
            f"the way up from {rungs.depth_m[0]:g} m takes more than {LONGEST_MIN / 60:g} h; plan a shorter or "
            "shallower dive, richer gases, or faster ascent speeds",
            depth_m=rungs.depth_m[0], at_min=walk.track.runtime_min - walk.track.leg_min,
        )
    return {
        diver: rungs.depth_m[node] if node >= 0 else 0.0
        for diver, node in zip(request.divers, anchor, strict=True)
    }


def changes_at(request: ScheduleRequest, rungs: Ladder) -> list[list[GasChange]]:
    """The changes of every node but the surface; those deeper than the last level are made at departure from it.

    Args:
        request: the team's dive.
        rungs: its ladder.
    """
    at_node: list[list[GasChange]] = [[] for _ in rungs.pieces]
    for change in request.changes:
        if change.direction is Direction.UP:
            node = 0
            while rungs.depth_m[node] > change.depth_m + ON_GRID_M:
                node += 1
            at_node[node].append(change)
    return at_node


def events_at(request: ScheduleRequest, changes: list[GasChange]) -> list[Event]:
    """The turns at a halt one after the other, and the wait to the end of its last whole unit.

    Args:
        request: the team's dive.
        changes: made at this halt.
    """
    events: list[Event] = []
    turn_min = 0.0
    for change in changes:
        for diver, breath in change.gas.items():
            events.append(Event(turn_min, request.divers.index(diver), breath))
            turn_min = request.switch_min
    if events and request.switch_min > 0.0:
        waited_min = (len(events) - 1) * request.switch_min
        rest_min = _whole_units(len(events), request) * request.stop_unit_min - waited_min
        events.append(Event(rest_min, -1, NOBODYS))
    return events


def _whole_units(turns: int, request: ScheduleRequest) -> int:
    return math.ceil(turns * request.switch_min / request.stop_unit_min - 1e-9)


def forced_units(request: ScheduleRequest, events: list[Event]) -> int:
    """Whole units that the turns at a halt take.

    Args:
        request: the team's dive.
        events: of this halt.
    """
    return _whole_units(sum(1 for event in events if event.diver >= 0), request)


def _run_kernel(
    request: ScheduleRequest, walk: Walk, rungs: Ladder, events: list[list[Event]], forced: list[int],
    units: list[int], anchor: list[int],
) -> int:
    constants = coefficients(request.coefficient_set)
    stops = stop_table(request.stop_unit_min, request.coefficient_set)
    flat = [event for at_node in events for event in at_node]
    waits = [decay(event.wait_min, request.coefficient_set) for event in flat]
    first = [0]
    for at_node in events:
        first.append(first[-1] + len(at_node))
    rows = len(walk.n2_bar)
    tables, cycles = rungs.tables, cycle_tables(request)
    return kernel.way_up(
        walk.n2_bar, walk.he_bar, len(request.divers), walk.f_n2, walk.f_he,
        rungs.ambient_bar, forced, first, [event.diver for event in flat],
        [event.breath.n2 for event in flat], [event.breath.he for event in flat],
        [e for wait in waits for e in wait[0]], [e for wait in waits for e in wait[1]],
        cycles_at(request, rungs.depth_m), cycles.first, cycles.phase_end,
        [-1.0 if breath is None else breath.n2 for breath in cycles.breaths],
        [-1.0 if breath is None else breath.he for breath in cycles.breaths],
        tables.e_n2, tables.e_he, tables.k_n2, tables.k_he, rungs.slow_at,
        stops.e_n2, stops.e_he, stops.units, int(LONGEST_MIN / request.stop_unit_min),
        constants.a_n2_bar, constants.b_n2, constants.a_he_bar, constants.b_he,
        request.gf_low, request.gf_high, VAPOUR_BAR,
        [0.0] * rows, [0.0] * rows, units, anchor,
    )


def _record(
    request: ScheduleRequest, track: Track, rungs: Ladder, events: list[list[Event]], units: list[int], slow_node: int
) -> None:
    """Write the way up into the track: at each node the turns and the stop, then the step."""
    clock, holds = CycleClock(request.cycles), cycles_at(request, rungs.depth_m)
    for node, at_node in enumerate(events):
        depth_m, left_min = rungs.depth_m[node], units[node] * request.stop_unit_min
        for event in at_node:
            track.stay(SegmentKind.STOP, depth_m, event.wait_min)
            left_min -= event.wait_min
            if event.diver >= 0:
                track.breathe({request.divers[event.diver]: event.breath})
        for gas, part in clock.parts(holds[node], units[node] - forced_units(request, at_node)):
            track.breathe(gas)
            track.stay(SegmentKind.STOP, depth_m, part * request.stop_unit_min)
            left_min -= part * request.stop_unit_min
        track.stay(SegmentKind.STOP, depth_m, left_min)
        for from_m, to_m, m_min in (rungs.slow_pieces if node >= slow_node else rungs.pieces)[node]:
            track.travel(SegmentKind.ASCENT, from_m, to_m, m_min)
