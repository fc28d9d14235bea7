"""The rows of one diver's slate, folded from the verified schedule: plain data, nothing of the page."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from gaswright.decompression.request import Schedule, Segment, SegmentKind
from gaswright.planning.dive import Settings

__all__ = ["SlateRow", "SlateSwitch", "rounded_down_min", "rounded_up_min", "slate_lines", "surface_min"]

_SLACK_MIN = 1e-6  # a sum of floats that should be whole may miss it by this much


@dataclass(frozen=True, slots=True)
class SlateRow:
    """One depth at which the diver stays.

    Args:
        leave_min: runtime when leaving, rounded up to the unit of the slate [min].
        depth_m: depth [m].
        there_min: time there, the way to it included: the columns add up [min].
        cylinder: id of the cylinder breathed.
    """

    leave_min: float
    depth_m: float
    there_min: float
    cylinder: str


@dataclass(frozen=True, slots=True)
class SlateSwitch:
    """A change to another cylinder, made at a depth; it stands before the row of the gas.

    Args:
        depth_m: depth [m].
        cylinder: id of the cylinder changed to.
    """

    depth_m: float
    cylinder: str


def rounded_up_min(runtime_min: float, settings: Settings) -> float:
    """A runtime, rounded up to whole minutes, or to seconds where stops are counted in parts of a minute [min].

    Args:
        runtime_min: runtime [min].
        settings: whose stop unit decides.
    """
    per_min = 1 if settings.stop_unit_min >= 1 else 60
    return math.ceil((runtime_min - _SLACK_MIN) * per_min) / per_min


def rounded_down_min(runtime_min: float, settings: Settings) -> float:
    """A latest runtime, rounded down in the same unit [min].

    Args:
        runtime_min: runtime [min].
        settings: whose stop unit decides.
    """
    per_min = 1 if settings.stop_unit_min >= 1 else 60
    return math.floor((runtime_min + _SLACK_MIN) * per_min) / per_min


def surface_min(schedule: Schedule, settings: Settings) -> float:
    """Runtime at the surface, rounded up [min].

    Args:
        schedule: of the team.
        settings: whose stop unit decides.
    """
    return rounded_up_min(schedule.runtime_min, settings)


def slate_lines(schedule: Schedule, diver: str, settings: Settings) -> tuple[SlateRow | SlateSwitch, ...]:
    """Rows and switches of one diver in the order of the dive.

    No depth is left earlier than in the schedule: runtimes are rounded up, and the minutes there are their
    differences, so that rounding never adds up. Waiting for one's turn at a switch counts to the row of the new gas.

    Args:
        schedule: of the team.
        diver: id.
        settings: unit of a stop and minutes per diver at a switch.
    """
    turns_min = settings.switch_min * len(schedule.segments[0].gas) + _SLACK_MIN
    return tuple(_lines(schedule.segments, diver, settings, turns_min))


def _lines(segments: Sequence[Segment], diver: str, settings: Settings, turns_min: float
           ) -> Iterator[SlateRow | SlateSwitch]:
    breathed, left_min = segments[0].gas[diver].cylinder, 0.0
    for (level, depth_m, _), group in groupby(segments, key=_stay):
        for cylinder, end_min in _gases(list(group), diver, breathed, turns_min if level else 0.0):
            if cylinder != breathed:
                yield SlateSwitch(depth_m, cylinder)
                breathed = cylinder
            if level:
                leave_min = rounded_up_min(end_min, settings)
                yield SlateRow(leave_min, depth_m, leave_min - left_min, cylinder)
                left_min = leave_min


def _stay(piece: Segment) -> tuple[bool, float, bool]:
    """What pieces of one row share: staying, the depth, and being a stop rather than a level."""
    return piece.from_m == piece.to_m, piece.from_m, piece.kind is SegmentKind.STOP


def _gases(pieces: Sequence[Segment], diver: str, arrived_with: str, turns_min: float) -> list[tuple[str, float]]:
    """The cylinders breathed at one depth with the runtime at which each ends; a wait for the turn is folded away."""
    runs = [(cylinder, list(run)) for cylinder, run in groupby(pieces, key=lambda piece: piece.gas[diver].cylinder)]
    first_cylinder, first = runs[0]
    waited = first_cylinder == arrived_with and first[-1].end_min - first[0].start_min <= turns_min
    if waited and len(runs) > 1:
        runs = runs[1:]
    return [(cylinder, run[-1].end_min) for cylinder, run in runs]
