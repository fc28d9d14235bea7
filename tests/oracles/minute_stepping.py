"""A naive scheduler for tests only: the documented rules, one unit at a time, nothing clever.

Written from the rules that docs/decompression.md states, not from the kernel. At every unit of every halt it tries the
step to the next depth for every diver in turn. It knows no tables, no rows and no leader.
"""

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from gaswright.decompression.request import Breath, BreathingCycle, Direction, ScheduleRequest
from published_checks import OUTSIDE

__all__ = ["Answer", "Tissue", "answer", "stayed", "travelled"]

VAPOUR_BAR = 0.0627
NEAR = 1e-6
UNITS_AT_MOST = 20_000
Tissue = tuple[float, float]  # nitrogen, helium [bar]
Body = list[Tissue]


@cache
def table() -> list[dict[str, float]]:
    """The sixteen compartments, read from the outside table."""
    text = (OUTSIDE / "zhl16_coefficients.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    return [{name: float(value) for name, value in row.items() if name != "comp"} for row in rows if row["comp"] != "1"]


@dataclass(frozen=True, slots=True)
class Answer:
    """Minutes of every halt on the way up, anchors, tensions at the surface, and the time of the way up."""

    halts_min: list[tuple[float, float]]
    anchor_m: dict[str, float]
    bodies: dict[str, Body]
    up_min: float


def stayed(tissue: Tissue, row: Mapping[str, float], breath: Breath, ambient_bar: float, minutes: float) -> Tissue:
    """A tissue after a time at constant depth."""
    parts = []
    for bar, fraction, half_min in ((tissue[0], breath.n2, row["t_N2_min"]), (tissue[1], breath.he, row["t_He_min"])):
        inspired = (ambient_bar - VAPOUR_BAR) * fraction
        parts.append(inspired + (bar - inspired) * math.exp(-math.log(2) * minutes / half_min))
    return parts[0], parts[1]


def travelled(
    tissue: Tissue, row: Mapping[str, float], breath: Breath, from_bar: float, to_bar: float, minutes: float
) -> Tissue:
    """A tissue after a linear change of pressure: the closed form as it is printed."""
    parts = []
    for bar, fraction, half_min in ((tissue[0], breath.n2, row["t_N2_min"]), (tissue[1], breath.he, row["t_He_min"])):
        k = math.log(2) / half_min
        inspired = (from_bar - VAPOUR_BAR) * fraction
        rate = (to_bar - from_bar) / minutes * fraction
        parts.append(inspired + rate * (minutes - 1 / k) - (inspired - bar - rate / k) * math.exp(-k * minutes))
    return parts[0], parts[1]


def tolerated_bar(tissue: Tissue, row: Mapping[str, float], letter: str, gf: float) -> float:
    """The lowest ambient pressure that a tissue allows."""
    inert = tissue[0] + tissue[1]
    if inert == 0.0:
        return 0.0
    a = (row[f"a_N2_{letter}"] * tissue[0] + row["a_He"] * tissue[1]) / inert
    b = (row["b_N2"] * tissue[0] + row["b_He"] * tissue[1]) / inert
    return (inert - a * gf) / (gf / b - gf + 1)


class Dive:
    """One dive, walked through once."""

    def __init__(self, request: ScheduleRequest) -> None:
        """Stand at the surface."""
        self.request = request
        rest = ((request.place.saturated_bar - VAPOUR_BAR) * 0.7905, 0.0)
        self.bodies: dict[str, Body] = {diver: [rest] * 16 for diver in request.divers}
        if request.tissues is not None:
            self.bodies = {
                diver: list(zip(request.tissues[diver].n2_bar, request.tissues[diver].he_bar, strict=True))
                for diver in request.divers
            }
        self.gas = dict(request.start_gas)
        self.anchor_m = dict.fromkeys(request.divers, 0.0)
        self.slow = False
        self.min = 0.0
        self.cycle: BreathingCycle | None = None
        self.cycle_units = 0

    def bar(self, depth_m: float) -> float:
        """Ambient pressure."""
        return self.request.place.surface_bar + self.request.place.bar_per_m * depth_m

    def wait(self, depth_m: float, minutes: float) -> None:
        """Stay."""
        self.min += minutes
        for diver, body in self.bodies.items():
            gas = self.gas[diver]
            self.bodies[diver] = [
                stayed(t, row, gas, self.bar(depth_m), minutes) for t, row in zip(body, table(), strict=True)
            ]

    def legs(self, from_m: float, to_m: float) -> list[tuple[float, float, float]]:
        """Pieces of constant speed: from, to, minutes."""
        request = self.request
        if to_m > from_m:
            return [(from_m, to_m, (to_m - from_m) / request.descent_m_min)]
        if request.zones and request.ascent_m_min is None:
            cuts = [from_m, *sorted((z.from_m for z in request.zones if to_m < z.from_m < from_m), reverse=True), to_m]
            made = []
            for start_m, end_m in pairwise(cuts):
                middle_m = (start_m + end_m) / 2
                zone = max((z for z in request.zones if z.from_m <= middle_m), key=lambda z: z.from_m)
                made.append((start_m, end_m, (start_m - end_m) / zone.m_min))
            return made
        speed = request.ascent_m_min
        if speed is None:
            speed = request.travel_m_min
            if self.slow:
                speed = request.last_m_min if to_m == 0 else request.between_stops_m_min
        return [(from_m, to_m, (from_m - to_m) / speed)]

    def after(self, diver: str, from_m: float, to_m: float) -> Body:
        """A diver's tissues after going from one depth to another."""
        body = self.bodies[diver]
        for start_m, end_m, minutes in self.legs(from_m, to_m):
            ends = self.bar(start_m), self.bar(end_m)
            body = [
                travelled(t, row, self.gas[diver], *ends, minutes) for t, row in zip(body, table(), strict=True)
            ]
        return body

    def move(self, from_m: float, to_m: float) -> None:
        """Go."""
        self.bodies = {diver: self.after(diver, from_m, to_m) for diver in self.request.divers}
        self.min += sum(minutes for _, _, minutes in self.legs(from_m, to_m))

    def levels(self) -> None:
        """All levels."""
        request, depth_m = self.request, 0.0
        down = [change for change in request.changes if change.direction is Direction.DOWN]
        for level in request.levels:
            begin_min = self.min
            while down and depth_m < level.depth_m and down[0].depth_m <= level.depth_m + NEAR:
                change = down.pop(0)
                if change.depth_m > depth_m:
                    self.move(depth_m, change.depth_m)
                    depth_m = change.depth_m
                for diver, breath in change.gas.items():
                    self.gas[diver] = breath
                    if request.switch_min:
                        self.wait(depth_m, request.switch_min)
            if abs(depth_m - level.depth_m) > 0:
                self.move(depth_m, level.depth_m)
            depth_m = level.depth_m
            self.gas |= level.gas
            self.wait(depth_m, level.minutes - (self.min - begin_min))

    def refused(self, diver: str, gf: float, from_m: float, to_m: float) -> bool:
        """May this diver not be at the next depth with this gradient factor?"""
        letter = self.request.coefficient_set
        return any(
            tolerated_bar(tissue, row, letter, gf) > self.bar(to_m) + 1e-12
            for tissue, row in zip(self.after(diver, from_m, to_m), table(), strict=True)
        )

    def line(self, diver: str, to_m: float) -> float:
        """The gradient factor of a diver who has an anchor."""
        low, high = self.request.gf_low, self.request.gf_high
        share = (self.anchor_m[diver] - to_m) / self.anchor_m[diver]
        return low + (high - low) * share

    def held(self, from_m: float, to_m: float) -> bool:
        """Is anybody refused now? Anchors are set here."""
        anchored = [diver for diver, anchor_m in self.anchor_m.items() if anchor_m > 0]
        if any(self.refused(diver, self.line(diver, to_m), from_m, to_m) for diver in anchored):
            return True
        new = [d for d in self.anchor_m if d not in anchored and self.refused(d, self.request.gf_low, from_m, to_m)]
        for diver in new:
            self.anchor_m[diver] = from_m
        return any(self.refused(diver, self.line(diver, to_m), from_m, to_m) for diver in new)

    def turns(self, depth_m: float, bottom_m: float) -> float:
        """The minutes that the turns at a depth take, in whole units; walked."""
        request = self.request
        changes = [
            change for change in request.changes
            if change.direction is Direction.UP and abs(min(change.depth_m, bottom_m) - depth_m) < NEAR
        ]
        count = sum(len(change.gas) for change in changes)
        for change in changes:
            for diver, breath in change.gas.items():
                self.gas[diver] = breath
                self.wait(depth_m, request.switch_min)
        whole_min = math.ceil(count * request.switch_min / request.stop_unit_min - 1e-9) * request.stop_unit_min
        self.wait(depth_m, whole_min - count * request.switch_min)
        return whole_min

    def breathe_cycle(self, depth_m: float) -> None:
        """A unit of a halt begins: who is in a cycle breathes what its clock says."""
        bottom_m, found = self.request.levels[-1].depth_m, None
        for cycle in self.request.cycles:
            if cycle.until_m < depth_m - NEAR <= min(cycle.depth_m, bottom_m):
                found = cycle
        if found is not self.cycle:
            self.cycle, self.cycle_units = found, 0
        if found is None:
            return
        left = self.cycle_units % sum(phase.units for phase in found.phases)
        for phase in found.phases:
            if 0 <= left < phase.units:
                self.gas |= phase.gas
            left -= phase.units
        self.cycle_units += 1

    def up(self) -> list[tuple[float, float]]:
        """The way up: every halt with its minutes."""
        request, halts = self.request, []
        bottom_m, step_m, unit_min = request.levels[-1].depth_m, request.stop_step_m, request.stop_unit_min
        grid = [number * step_m for number in range(1000) if request.last_stop_m - NEAR <= number * step_m]
        nodes = [bottom_m, *[depth_m for depth_m in reversed(grid) if depth_m < bottom_m - NEAR], 0.0]
        steps = list(pairwise(nodes))
        two_speeds = request.ascent_m_min is None and not request.zones and any(
            speed != request.travel_m_min
            for speed in [request.last_m_min] + [request.between_stops_m_min] * (len(steps) > 1)
        )
        for from_m, to_m in steps:
            stop_min, count = self.turns(from_m, bottom_m), 0
            while self.held(from_m, to_m):
                if two_speeds and not self.slow:
                    self.slow = True
                    if stop_min > 0:
                        continue
                self.breathe_cycle(from_m)
                self.wait(from_m, unit_min)
                stop_min += unit_min
                count += 1
                assert count < UNITS_AT_MOST, "the oracle gives up"
            halts.append((from_m, stop_min))
            self.move(from_m, to_m)
        return halts


def answer(request: ScheduleRequest) -> Answer:
    """What naive stepping makes of a request."""
    dive = Dive(request)
    dive.levels()
    begin_min = dive.min
    halts = dive.up()
    return Answer(halts, dive.anchor_m, dive.bodies, dive.min - begin_min)
