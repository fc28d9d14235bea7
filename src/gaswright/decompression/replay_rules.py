"""The rules that the replay holds a segment list against: structure, speeds, and who breathes what when."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from gaswright.decompression.request import (
    Breath,
    BreathingCycle,
    GasChange,
    ScheduleRequest,
    Segment,
    SegmentKind,
)

__all__ = ["Cycles", "Turns", "Violation", "ViolationKind", "broken_structure", "speed_limit_m_min"]

SAME_M = 1e-6  # depths closer than this are the same [GASWRIGHT]
SAME_MIN = 1e-6  # times closer than this are the same [GASWRIGHT]


class ViolationKind(StrEnum):
    """Which rule a segment list breaks."""

    CEILING = "ceiling"
    GAS = "gas"
    GAP = "gap"
    SPEED = "speed"
    SWITCH = "switch"
    STOP_UNIT = "stop_unit"
    PROFILE = "profile"


Tell = Callable[[ViolationKind, float, float, str, str], None]  # kind, runtime [min], depth [m], diver, sentence


@dataclass(frozen=True, slots=True)
class Violation:
    """One broken rule.

    Args:
        kind: which.
        at_min: runtime [min]
        depth_m: depth [m]
        diver: whose, "": the team's.
        text: the sentence.
    """

    kind: ViolationKind
    at_min: float
    depth_m: float
    diver: str
    text: str

    def __str__(self) -> str:
        who = f", {self.diver}" if self.diver else ""
        return f"{self.kind.value} at {self.at_min:.2f} min, {self.depth_m:.2f} m{who}: {self.text}"


def broken_structure(request: ScheduleRequest, segments: Sequence[Segment]) -> Iterator[Violation]:
    """What makes a list no profile at all: gaps, no numbers, a diver without gas.

    Args:
        request: the dive that was asked for.
        segments: the list.
    """
    depth_m, at_min = 0.0, 0.0
    for segment in segments:
        numbers = (segment.from_m, segment.to_m, segment.start_min, segment.minutes)
        if not all(math.isfinite(number) for number in numbers) or segment.minutes <= 0.0:
            yield Violation(ViolationKind.GAP, at_min, depth_m, "", f"{numbers} is no piece of a profile")
            return
        if abs(segment.from_m - depth_m) > SAME_M or abs(segment.start_min - at_min) > SAME_MIN:
            yield Violation(ViolationKind.GAP, at_min, depth_m, "",
                            f"the next segment begins at {segment.start_min:.3f} min and {segment.from_m:g} m")
        if set(segment.gas) != set(request.divers):
            yield Violation(ViolationKind.GAP, at_min, depth_m, "", "not exactly the divers of the team have a gas")
        if not _kind_fits(segment):
            yield Violation(ViolationKind.GAP, at_min, depth_m, "",
                            f"{segment.kind.value} from {segment.from_m:g} to {segment.to_m:g} m")
        depth_m, at_min = segment.to_m, segment.end_min
    if not segments or abs(depth_m) > SAME_M:
        yield Violation(ViolationKind.PROFILE, at_min, depth_m, "", "the profile does not end at the surface")


def _kind_fits(segment: Segment) -> bool:
    if segment.kind is SegmentKind.DESCENT:
        return segment.to_m > segment.from_m
    if segment.kind is SegmentKind.ASCENT:
        return segment.to_m < segment.from_m
    return segment.to_m == segment.from_m


def speed_limit_m_min(request: ScheduleRequest, from_m: float, to_m: float, *, slow: bool) -> float:
    """The highest speed allowed everywhere between two depths [m/min].

    Args:
        request: for its speeds.
        from_m: depth [m]
        to_m: depth [m]
        slow: True once there was a stop by decompression.
    """
    if to_m > from_m:
        return request.descent_m_min
    if request.ascent_m_min is not None:
        return request.ascent_m_min
    if request.zones:
        holding = [zone for zone in request.zones if zone.from_m < from_m - SAME_M]
        deeper = [zone for zone in holding if zone.from_m > to_m + SAME_M]
        shallow = max((zone for zone in holding if zone.from_m <= to_m + SAME_M), key=lambda zone: zone.from_m)
        return min(zone.m_min for zone in [*deeper, shallow])
    if not slow:
        return request.travel_m_min
    return request.last_m_min if to_m < SAME_M else request.between_stops_m_min


class Turns:
    """Who should breathe what: the changes as their turns come."""

    def __init__(self, switch_min: float, gas: Mapping[str, Breath]) -> None:
        """Begin on these gases."""
        self.switch_min = switch_min
        self._gas = dict(gas)
        self._due: list[tuple[float, str, Breath]] = []
        self._over_min = 0.0
        self.minutes = 0.0

    def arrive(self, change: GasChange, at_min: float) -> None:
        """Nothing; the team arrives where a change is made, and its turns begin after those that still run.

        Args:
            change: the change.
            at_min: runtime [min]
        """
        begin_min = max(at_min, self._over_min) if self.minutes else at_min
        for turn, (diver, breath) in enumerate(change.gas.items()):
            self._due.append((begin_min + turn * self.switch_min, diver, breath))
        self._over_min = begin_min + len(change.gas) * self.switch_min
        self.minutes += len(change.gas) * self.switch_min

    def take(self, gas: Mapping[str, Breath], at_min: float) -> None:
        """Nothing; these gases are taken at once, after turns that begin at the same time.

        Args:
            gas: diver id to gas.
            at_min: runtime [min]
        """
        begin_min = max(at_min, self._over_min) if self.minutes else at_min
        self._due += [(begin_min, diver, breath) for diver, breath in gas.items()]

    def plan(self, gas: Mapping[str, Breath], at_min: float) -> None:
        """Nothing; these gases are to be taken at once at a runtime that is later than all before it.

        Args:
            gas: diver id to gas.
            at_min: runtime [min]
        """
        self._due += [(at_min, diver, breath) for diver, breath in gas.items()]

    def now(self, at_min: float) -> dict[str, Breath]:
        """Diver id to the gas that should be breathed at a runtime.

        Args:
            at_min: runtime [min]
        """
        while self._due and self._due[0][0] <= at_min + SAME_MIN:
            _, diver, breath = self._due.pop(0)
            self._gas[diver] = breath
        return dict(self._gas)

    def wrong(self, gas: Mapping[str, Breath], at_min: float, until_min: float) -> Iterator[tuple[str, str]]:
        """Who breathes what he or she should not, with the sentence.

        Args:
            gas: what is breathed.
            at_min: runtime at the start [min]
            until_min: runtime at the end [min]
        """
        expected = self.now(at_min)
        for diver, breath in gas.items():
            if breath != expected[diver]:
                yield diver, f"breathes {breath}, it should be {expected[diver]}"
        for due_min, diver, breath in self._due:
            if due_min < until_min - SAME_MIN and breath != gas[diver]:
                yield diver, f"the change to {breath} at {due_min:.2f} min falls inside a segment"

    def leave(self, at_min: float, depth_m: float, tell: Tell) -> None:
        """Nothing; the team leaves a depth, which it may only when the turns are over.

        Args:
            at_min: runtime [min]
            depth_m: depth [m]
            tell: takes the violation.
        """
        if self.minutes and at_min < self._over_min - SAME_MIN:
            tell(ViolationKind.SWITCH, at_min, depth_m, "", f"the turns last until {self._over_min:.2f} min")
        self.minutes = 0.0


class Cycles:
    """The breathing cycles as the team comes to them: a clock of whole units of halts, turns not counted."""

    def __init__(self, request: ScheduleRequest) -> None:
        """Stand before the way up."""
        self._to_come = list(request.cycles)
        self._holding: BreathingCycle | None = None
        self._round: list[Mapping[str, Breath]] = []
        self._unit = 0

    def arrive(self, depth_m: float) -> None:
        """Nothing; the team is at a depth of the way up: cycles end and begin here.

        Args:
            depth_m: depth [m]
        """
        if self._holding is not None and self._holding.until_m > 0.0 and depth_m <= self._holding.until_m + SAME_M:
            self._holding = None
        while self._to_come and depth_m <= self._to_come[0].depth_m + SAME_M:
            cycle = self._to_come.pop(0)
            if cycle.until_m == 0.0 or depth_m > cycle.until_m + SAME_M:
                self._holding, self._unit = cycle, 0
                self._round = [phase.gas for phase in cycle.phases for _ in range(phase.units)]

    def gases(self, units: int) -> Iterator[tuple[int, Mapping[str, Breath]]]:
        """Units of a halt at which other gases begin, from 0 after the turns, with the gases breathed from there.

        Args:
            units: of the halt, turns not counted.
        """
        before: Mapping[str, Breath] = {}
        for unit in range(units if self._holding is not None else 0):
            gas = self._round[self._unit]
            if gas != before:
                yield unit, gas
            before, self._unit = gas, (self._unit + 1) % len(self._round)
