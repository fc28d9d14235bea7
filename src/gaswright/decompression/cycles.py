"""Breathing cycles on the ladder: which holds at which node, the tables of the kernel, and the parts of a stop."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from gaswright.decompression.demands import ON_GRID_M
from gaswright.decompression.request import Breath, BreathingCycle, ScheduleRequest

__all__ = ["CycleClock", "CycleTables", "cycle_tables", "cycles_at"]


@dataclass(frozen=True, slots=True)
class CycleTables:
    """The cycles of a request as the kernel takes them.

    Args:
        first: index of the first phase of each cycle; one more than cycles.
        phase_end: units from the beginning of its cycle to the end of each phase.
        breaths: what each diver breathes in each phase, None: not in the cycle; phase by phase.
    """

    first: tuple[int, ...]
    phase_end: tuple[int, ...]
    breaths: tuple[Breath | None, ...]


def cycles_at(request: ScheduleRequest, depth_m: Sequence[float]) -> list[int]:
    """Index of the cycle that holds at each node but the surface, once its turns are over; -1: none.

    Args:
        request: the team's dive.
        depth_m: depths of the ladder, shape (nodes,) [m]
    """
    return [_cycle_at(request, node_m, depth_m[0]) for node_m in depth_m[:-1]]


def _cycle_at(request: ScheduleRequest, node_m: float, bottom_m: float) -> int:
    for number, cycle in enumerate(request.cycles):
        begun = node_m <= min(cycle.depth_m, bottom_m) + ON_GRID_M
        if begun and (cycle.until_m == 0.0 or node_m > cycle.until_m + ON_GRID_M):
            return number
    return -1


def cycle_tables(request: ScheduleRequest) -> CycleTables:
    """The cycles of a request, phase by phase.

    Args:
        request: the team's dive.
    """
    first, ends, breaths = [0], list[int](), list[Breath | None]()
    for cycle in request.cycles:
        first.append(first[-1] + len(cycle.phases))
        ends += accumulate(phase.units for phase in cycle.phases)
        breaths += [phase.gas.get(diver) for phase in cycle.phases for diver in request.divers]
    return CycleTables(tuple(first), tuple(ends), tuple(breaths))


class CycleClock:
    """The clock of the cycles on a way up."""

    def __init__(self, cycles: tuple[BreathingCycle, ...]) -> None:
        """Stand before the first node."""
        self._cycles = cycles
        self._holds = -1
        self._over = 0

    def parts(self, cycle: int, units: int) -> Iterator[tuple[dict[str, Breath], int]]:
        """The gases of a stop and the units of each, one after the other; without a cycle nothing.

        Args:
            cycle: index of the cycle that holds at this node, -1: none.
            units: of the stop after its turns.
        """
        if cycle != self._holds:
            self._holds, self._over = cycle, 0
        while cycle >= 0 and units > 0:
            gas, left = self._phase(self._cycles[cycle])
            taken = min(left, units)
            yield gas, taken
            units -= taken
            self._over += taken

    def _phase(self, cycle: BreathingCycle) -> tuple[dict[str, Breath], int]:
        over = self._over % sum(phase.units for phase in cycle.phases)
        for phase, end in zip(cycle.phases, accumulate(phase.units for phase in cycle.phases), strict=True):
            if over < end:
                return dict(phase.gas), end - over
        raise AssertionError  # the clock is less than the whole cycle
