"""The track of a team: pieces put down one after the other, read back as segments."""

from collections.abc import Mapping

from gaswright.decompression.demands import ON_GRID_M
from gaswright.decompression.request import Breath, Segment, SegmentKind

__all__ = ["Track"]

SHORTEST_MIN = 1e-9  # a shorter piece is the rest of a float subtraction, not a time [GASWRIGHT]
Piece = tuple[SegmentKind, float, float, float, Mapping[str, Breath], float, int]


class Track:
    """The pieces of a profile; pieces of one leg that go on alike are one segment."""

    def __init__(self, gas: Mapping[str, Breath]) -> None:
        """Start at the surface at runtime 0 on these gases."""
        self.gas: dict[str, Breath] = dict(gas)
        self.runtime_min = 0.0
        self.leg_min = 0.0
        self._leg = 0
        self._pieces: list[Piece] = []

    def new_leg(self) -> None:
        """Nothing; what follows is never joined to what came before."""
        self._leg += 1
        self.leg_min = 0.0

    def breathe(self, gas: Mapping[str, Breath]) -> None:
        """Nothing; these divers breathe these gases from now on."""
        if any(self.gas[diver] != breath for diver, breath in gas.items()):
            self.gas = self.gas | dict(gas)

    def travel(self, kind: SegmentKind, from_m: float, to_m: float, m_min: float) -> None:
        """Nothing; the team goes from one depth to another.

        Args:
            kind: descent or ascent.
            from_m: depth [m]
            to_m: depth [m]
            m_min: speed [m/min]
        """
        self._put(kind, from_m, to_m, abs(to_m - from_m) / m_min, m_min)

    def stay(self, kind: SegmentKind, depth_m: float, minutes: float) -> None:
        """Nothing; the team stays, unless the time is nothing.

        Args:
            kind: level or stop.
            depth_m: depth [m]
            minutes: how long [min]
        """
        if minutes > SHORTEST_MIN:
            self._put(kind, depth_m, depth_m, minutes, 0.0)

    def _put(self, kind: SegmentKind, from_m: float, to_m: float, minutes: float, m_min: float) -> None:
        self.runtime_min += minutes
        self.leg_min += minutes
        piece = (kind, from_m, to_m, minutes, self.gas, m_min, self._leg)
        if self._pieces and _go_on(self._pieces[-1], piece):
            before = self._pieces.pop()
            joined_min = abs(to_m - before[1]) / m_min if m_min else before[3] + minutes
            piece = (kind, before[1], to_m, joined_min, self.gas, m_min, self._leg)
        self._pieces.append(piece)

    def segments(self) -> tuple[Segment, ...]:
        """The segments from the surface to where the track is."""
        made, start_min = [], 0.0
        for kind, from_m, to_m, minutes, gas, _, _ in self._pieces:
            made.append(Segment(kind, from_m, to_m, start_min, minutes, gas))
            start_min = made[-1].end_min
        return tuple(made)


def _go_on(before: Piece, after: Piece) -> bool:
    same_way = before[0] is after[0] and before[5] == after[5] and before[6] == after[6]
    return same_way and before[4] == after[4] and abs(before[2] - after[1]) <= ON_GRID_M
