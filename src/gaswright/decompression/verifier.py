"""The replay of a segment list: walked again by separate code, with everything in it that breaks a rule.

Exact steps at constant depth, looked at from both ends and every minute; steps of 1 m on the way up. The gradient line
is found again from this walk. Nothing here is shared with the scheduler but the coefficients and the types.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from gaswright.decompression.coefficients import VAPOUR_BAR, coefficients
from gaswright.decompression.replay_body import Body, Rates
from gaswright.decompression.replay_rules import (
    Cycles,
    Turns,
    Violation,
    ViolationKind,
    broken_structure,
    speed_limit_m_min,
)
from gaswright.decompression.request import (
    Breath,
    Direction,
    GasChange,
    GradientUse,
    ScheduleRequest,
    Segment,
    Tissues,
)
from gaswright.physics.mixture import AIR

__all__ = ["Replay", "replay"]

SAME_M = 1e-6  # depths closer than this are the same [GASWRIGHT]
SAME_MIN = 1e-6  # times closer than this are the same [GASWRIGHT]
SAME_GF = 1e-9  # room for rounding in a gradient factor [GASWRIGHT]
STEP_M = 1.0  # steps on the way up [GASWRIGHT] physics


@dataclass(frozen=True, slots=True)
class Replay:
    """What the verifier found.

    Args:
        worst_gf: the highest gradient factor used per halt on the way up, and at the surface, per diver.
        violations: every broken rule; empty: the list has passed.
        anchor_m: diver id to the anchor of the line as this walk found it; empty if it could not be walked [m]
        tissues: diver id to the tensions at the end; empty if it could not be walked.
    """

    worst_gf: tuple[GradientUse, ...]
    violations: tuple[Violation, ...]
    anchor_m: Mapping[str, float]
    tissues: Mapping[str, Tissues]


def replay(
    request: ScheduleRequest, segments: Sequence[Segment], *, anchor_m: Mapping[str, float] | None = None
) -> Replay:
    """What a separate walk through the segments finds.

    Args:
        request: the dive that was asked for.
        segments: from the surface to the surface.
        anchor_m: diver id to an anchor that is given, for segments that follow a schedule with longer halts; None:
            the walk finds the anchors by the rule [m].
    """
    broken = tuple(broken_structure(request, segments))
    if broken:
        return Replay((), broken, {}, {})
    walk = _Walk(request, anchor_m)
    up_from_min = walk.levels(segments)
    walk.way_up([segment for segment in segments if segment.start_min >= up_from_min - SAME_MIN])
    return Replay(
        tuple(walk.worst.values()), tuple(walk.violations), walk.anchor_m,
        {diver: body.tissues for diver, body in walk.bodies.items()},
    )


class _Walk:
    """The state of one replay."""

    def __init__(self, request: ScheduleRequest, anchor_m: Mapping[str, float] | None) -> None:
        self.request = request
        self.given = anchor_m is not None
        rates = Rates(coefficients(request.coefficient_set))
        rest_bar = (request.place.saturated_bar - VAPOUR_BAR) * AIR.n2
        rest = Tissues((rest_bar,) * len(rates.rows), (0.0,) * len(rates.rows))
        at_start = request.tissues or dict.fromkeys(request.divers, rest)
        self.bodies = {
            diver: Body(rates, at_start[diver].n2_bar, at_start[diver].he_bar) for diver in request.divers
        }
        self.anchor_m = dict(anchor_m or dict.fromkeys(request.divers, 0.0))
        self.turns = Turns(request.switch_min, {diver: request.start_gas[diver] for diver in request.divers})
        self.cycles = Cycles(request)
        self.slow = False
        self.worst: dict[tuple[float, str], GradientUse] = {}
        self.violations: list[Violation] = []
        self._told: set[tuple[str, str, int]] = set()

    # ---- rules -------------------------------------------------------------------------------------------------

    def bar(self, depth_m: float) -> float:
        """Absolute pressure at a depth [bar]."""
        return self.request.place.ambient_bar(depth_m)

    def gf(self, diver: str, depth_m: float) -> float:
        """The gradient factor that holds for a diver at a depth; pressure is linear in depth [fraction]."""
        low, high, anchor_m = self.request.gf_low, self.request.gf_high, self.anchor_m[diver]
        if anchor_m == 0.0 or depth_m >= anchor_m:
            return low
        return high - (high - low) * depth_m / anchor_m

    def tell(self, kind: ViolationKind, at_min: float, depth_m: float, diver: str, text: str) -> None:
        """Nothing; a violation is noted, once per metre, diver and kind."""
        key = (kind.value, diver, round(depth_m))
        if key not in self._told:
            self._told.add(key)
            self.violations.append(Violation(kind, at_min, depth_m, diver, text))

    def look(self, at_min: float, depth_m: float, halt_m: float | None = None) -> None:
        """Nothing; every diver is held against the gradient factor of this depth."""
        ambient_bar = self.bar(depth_m)
        for diver, body in self.bodies.items():
            used, allowed = body.use(ambient_bar), self.gf(diver, depth_m)
            if used > allowed + SAME_GF:
                self.tell(ViolationKind.CEILING, at_min, depth_m, diver,
                          f"uses {100 * used:.2f} % of the limit, allowed are {100 * allowed:.2f} %")
            if halt_m is not None:
                before = self.worst.get((halt_m, diver))
                if before is None or 100.0 * used > before.gf_percent:
                    self.worst[halt_m, diver] = GradientUse(halt_m, 100.0 * used, diver)

    # ---- moves -------------------------------------------------------------------------------------------------

    def breathe(self, segment: Segment, at_min: float, until_min: float, depth_m: float) -> None:
        """Nothing; the gas of a segment is held against what the changes allow."""
        for diver, text in self.turns.wrong(segment.gas, at_min, until_min):
            self.tell(ViolationKind.GAS, at_min, depth_m, diver, text)

    def stay(self, segment: Segment, marks_min: Sequence[float], halt_m: float | None) -> Iterator[float]:
        """The runtime at each mark inside a segment at constant depth, after everybody has got there."""
        self.breathe(segment, segment.start_min, segment.end_min, segment.from_m)
        at_min, ambient_bar = segment.start_min, self.bar(segment.from_m)
        self.look(at_min, segment.from_m, halt_m)
        for mark_min in marks_min:
            self._exchange(segment.gas, ambient_bar, ambient_bar, mark_min - at_min)
            at_min = mark_min
            self.look(at_min, segment.from_m, halt_m)
            yield at_min

    def travel(self, segment: Segment, from_m: float, to_m: float, at_min: float) -> float:
        """The runtime after a part of a segment that changes depth; on the way up in steps of 1 m."""
        m_min = abs(segment.to_m - segment.from_m) / segment.minutes
        self.turns.leave(at_min, from_m, self.tell)
        self.breathe(segment, at_min, at_min + abs(to_m - from_m) / m_min, from_m)
        limit_m_min = speed_limit_m_min(self.request, from_m, to_m, slow=self.slow)
        if m_min > limit_m_min * (1.0 + 1e-6):
            self.tell(ViolationKind.SPEED, at_min, from_m, "", f"{m_min:.2f} m/min, allowed are {limit_m_min:g} m/min")
        steps = max(1, math.ceil((from_m - to_m) / STEP_M - SAME_M))
        for step in range(steps):
            start_m = from_m + (to_m - from_m) * step / steps
            end_m = from_m + (to_m - from_m) * (step + 1) / steps
            self._exchange(segment.gas, self.bar(start_m), self.bar(end_m), abs(end_m - start_m) / m_min)
            if to_m < from_m:
                self.look(at_min + abs(end_m - from_m) / m_min, end_m)
        return at_min + abs(to_m - from_m) / m_min

    def _exchange(self, gas: Mapping[str, Breath], from_bar: float, to_bar: float, minutes: float) -> None:
        for diver, body in self.bodies.items():
            if from_bar == to_bar:
                self.bodies[diver] = body.after_stay(gas[diver], from_bar, minutes)
            else:
                self.bodies[diver] = body.after_travel(gas[diver], from_bar, to_bar, minutes)

    # ---- levels ------------------------------------------------------------------------------------------------

    def levels(self, segments: Sequence[Segment]) -> float:
        """The runtime at the end of the last level, after walking there."""
        changes = [change for change in self.request.changes if change.direction is Direction.DOWN]
        end_min, depth_m, rest = 0.0, 0.0, list(segments)
        for level in self.request.levels:
            begin_min, end_min, from_m = end_min, end_min + level.minutes, depth_m
            there = abs(depth_m - level.depth_m) <= SAME_M
            if there:
                self.turns.take(level.gas, begin_min)
            while rest and rest[0].end_min <= end_min + SAME_MIN:
                segment = rest.pop(0)
                depth_m = segment.to_m
                changes = self._to_level(segment, changes)
                if not there and abs(depth_m - level.depth_m) <= SAME_M:
                    there = True
                    self.turns.take(level.gas, segment.end_min)
                if not min(from_m, level.depth_m) - SAME_M <= depth_m <= max(from_m, level.depth_m) + SAME_M:
                    self.tell(ViolationKind.PROFILE, segment.end_min, depth_m, "",
                              f"{depth_m:g} m is not on the way to the level at {level.depth_m:g} m")
            if abs(depth_m - level.depth_m) > SAME_M or (rest and rest[0].start_min < end_min - SAME_MIN):
                self.tell(ViolationKind.PROFILE, begin_min, level.depth_m, "",
                          f"the level at {level.depth_m:g} m is not held until {end_min:g} min")
        self.turns.leave(end_min, depth_m, self.tell)
        return end_min

    def _to_level(self, segment: Segment, changes: list[GasChange]) -> list[GasChange]:
        """The changes on the way down that are still to come after a segment."""
        if segment.from_m == segment.to_m:
            for _ in self.stay(segment, _minute_marks(segment), None):
                pass
            return changes
        at_min, at_m = segment.start_min, segment.from_m
        while changes and segment.to_m > at_m and changes[0].depth_m <= segment.to_m + SAME_M:
            change, changes = changes[0], changes[1:]
            to_m = min(change.depth_m, segment.to_m)
            if to_m > at_m:
                at_min, at_m = self.travel(segment, at_m, to_m, at_min), to_m
            self.turns.arrive(change, at_min)
        if segment.to_m != at_m:
            self.travel(segment, at_m, segment.to_m, at_min)
        return changes

    # ---- way up ------------------------------------------------------------------------------------------------

    def way_up(self, segments: Sequence[Segment]) -> None:
        """Nothing; every node of the way up is judged: halts, anchors, the step to the next node."""
        nodes = _nodes(self.request)
        changes = [change for change in self.request.changes if change.direction is Direction.UP]
        rest = list(segments)
        at_min = rest[0].start_min if rest else 0.0
        for node_m, next_m in pairwise(nodes):
            while changes and changes[0].depth_m >= node_m - SAME_M:
                self.turns.arrive(changes.pop(0), at_min)
            self.cycles.arrive(node_m)
            stays = []
            while rest and rest[0].from_m == rest[0].to_m and abs(rest[0].from_m - node_m) <= SAME_M:
                stays.append(rest.pop(0))
            self._halt(stays, at_min, node_m, next_m)
            at_min = stays[-1].end_min if stays else at_min
            at_m = node_m
            while rest and rest[0].to_m < rest[0].from_m and at_m > next_m + SAME_M:
                to_m = max(rest[0].to_m, next_m)
                at_min, at_m = self.travel(rest[0], at_m, to_m, at_min), to_m
                if rest[0].to_m >= to_m - SAME_M:
                    rest.pop(0)
            if at_m > next_m + SAME_M:
                self.tell(ViolationKind.PROFILE, at_min, at_m, "", f"the way up does not go on from {at_m:g} m")
                return
        self.look(at_min, 0.0, 0.0)
        if rest:
            self.tell(ViolationKind.PROFILE, at_min, 0.0, "", "something follows after the surface")

    def _halt(self, stays: Sequence[Segment], arrive_min: float, node_m: float, next_m: float) -> None:
        """Nothing; the team halts at a node (or passes it), and is asked at every whole unit after its turns."""
        unit_min = self.request.stop_unit_min
        forced = math.ceil(self.turns.minutes / unit_min - 1e-9)
        units = (stays[-1].end_min - arrive_min) / unit_min if stays else 0.0
        if abs(units - round(units)) * unit_min > SAME_MIN or round(units) < forced:
            self.tell(ViolationKind.STOP_UNIT, arrive_min, node_m, "",
                      f"the stop takes {units * unit_min:g} min: whole units of {unit_min:g} min, at least {forced}")
        if forced == 0 and round(units) > 0:
            self._ask(0, round(units), node_m, next_m, self.turns.now(arrive_min))
        for number, cycle_gas in self.cycles.gases(round(units) - forced):
            self.turns.plan(cycle_gas, arrive_min + (forced + number) * unit_min)
        for segment in stays:
            asked = self._asking() and forced < units
            for at_min in self.stay(segment, _unit_marks(segment, arrive_min, unit_min if asked else None), node_m):
                unit = (at_min - arrive_min) / unit_min
                if abs(unit - round(unit)) * unit_min < SAME_MIN and forced <= round(unit) < round(units):
                    self._ask(round(unit), round(units), node_m, next_m, segment.gas)
        gas = stays[-1].gas if stays else self.turns.now(arrive_min)
        self._ask(round(units), round(units), node_m, next_m, gas)

    def _asking(self) -> bool:
        """True while an answer can change something: a diver without an anchor, or the first stop still to come."""
        return not self.slow or 0.0 in self.anchor_m.values()

    def _ask(self, unit: int, units: int, node_m: float, next_m: float, gas: Mapping[str, Breath]) -> None:
        """Nothing; may the team leave now? Who is refused by GF low is anchored; a refusal begins the slow speeds."""
        if self.given or not self._asking() or not self._refused(node_m, next_m, gas) or self.slow:
            return
        self.slow = True
        if unit > 0 or units == 0:
            self._refused(node_m, next_m, gas)

    def _refused(self, node_m: float, next_m: float, gas: Mapping[str, Breath]) -> bool:
        arrived = {}
        for diver in sorted(self.bodies, key=lambda diver: self.anchor_m[diver] == 0.0):
            if self.anchor_m[diver] == 0.0:
                break
            arrived[diver] = self._at_next(diver, node_m, next_m, gas[diver])
            if arrived[diver] > self.gf(diver, next_m) + SAME_GF:
                return True
        refused = False
        for diver in [diver for diver, anchor_m in self.anchor_m.items() if anchor_m == 0.0]:
            used = self._at_next(diver, node_m, next_m, gas[diver])
            if used > self.request.gf_low + SAME_GF:
                self.anchor_m[diver] = node_m
                refused = refused or used > self.gf(diver, next_m) + SAME_GF
        return refused

    def _at_next(self, diver: str, node_m: float, next_m: float, breath: Breath) -> float:
        """The gradient factor that a diver would use on arrival at the next node [fraction]."""
        body, at_m = self.bodies[diver], node_m
        bounds_m = sorted({next_m, *(zone.from_m for zone in self.request.zones if next_m < zone.from_m < node_m)})
        for to_m in reversed(bounds_m):
            m_min = speed_limit_m_min(self.request, at_m, to_m, slow=self.slow)
            body = body.after_travel(breath, self.bar(at_m), self.bar(to_m), (at_m - to_m) / m_min)
            at_m = to_m
        return body.use(self.bar(next_m))


def _nodes(request: ScheduleRequest) -> list[float]:
    """Last level, the depths of the stop grid above it down to the last stop, surface [m]."""
    nodes_m = [request.levels[-1].depth_m]
    number = math.floor((nodes_m[0] - SAME_M) / request.stop_step_m)
    while number * request.stop_step_m > request.last_stop_m - SAME_M:
        nodes_m.append(number * request.stop_step_m)
        number -= 1
    return [*nodes_m, 0.0]


def _minute_marks(segment: Segment) -> list[float]:
    whole = math.ceil(segment.minutes - SAME_MIN)
    return [segment.start_min + minute for minute in range(1, whole)] + [segment.end_min]


def _unit_marks(segment: Segment, arrive_min: float, unit_min: float | None) -> list[float]:
    """Every whole unit of the stop inside the segment, or every minute, and its end [min]."""
    if unit_min is None:
        return _minute_marks(segment)
    first = math.floor((segment.start_min - arrive_min + SAME_MIN) / unit_min) + 1
    marks_min, number = [], first
    while arrive_min + number * unit_min < segment.end_min - SAME_MIN:
        marks_min.append(arrive_min + number * unit_min)
        number += 1
    return [*marks_min, segment.end_min]
