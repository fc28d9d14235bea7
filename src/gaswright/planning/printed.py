"""The schedule as a slate says it: every halt left on a whole minute of runtime, and replayed as such.

A slate gives the runtime at which a depth is left, in whole minutes. Rounding each one up leaves deeper halts later
than scheduled, and what was taken up there can make a shallower halt too short. So the rounded rows are replayed, and
the halt before a violation is stretched until none is left. The gradient lines are those of the schedule: waiting
longer must not move an anchor.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from gaswright.decompression.replay_rules import Violation, ViolationKind
from gaswright.decompression.request import Schedule, ScheduleRequest, Segment, SegmentKind
from gaswright.decompression.verifier import replay

__all__ = ["printed_schedule"]

STRETCHES = 120  # more than any dive has needed (two, in a trial of 72 dives)
SAME_M = 1e-6
SAME_MIN = 1e-6
BEFORE_THE_WAY_UP = frozenset({SegmentKind.DESCENT, SegmentKind.LEVEL})
# Whole minutes of runtime are not whole units of a stop; the travel between halts is that of the verified schedule.
BREAKS = frozenset(ViolationKind) - {ViolationKind.STOP_UNIT, ViolationKind.SPEED}


def printed_schedule(request: ScheduleRequest, schedule: Schedule) -> Schedule | None:
    """The schedule with every halt left on a whole minute (or second), passed by the verifier; None if none passes.

    Args:
        request: what was scheduled.
        schedule: its schedule.
    """
    unit_min = 1.0 if request.stop_unit_min >= 1 else 1.0 / 60.0
    longer: dict[float, float] = {}
    for _ in range(STRETCHES):
        segments = tuple(_on_whole_units(schedule.segments, longer, unit_min))
        seen = replay(request, segments, anchor_m=schedule.anchor_m)
        broken = [violation for violation in seen.violations if violation.kind in BREAKS]
        if not broken:
            late_min = segments[-1].end_min - schedule.runtime_min
            return replace(
                schedule, segments=segments, runtime_min=segments[-1].end_min, worst_gf=seen.worst_gf,
                tts_min=schedule.tts_min + late_min, tissues=seen.tissues,
            )  # fmt: skip
        halt_m = _halt_to_stretch(segments, min(broken, key=lambda violation: violation.at_min))
        if halt_m is None:
            return None
        longer[halt_m] = longer.get(halt_m, 0.0) + unit_min
    return None


def _halt_to_stretch(segments: Sequence[Segment], broken: Violation) -> float | None:
    """Depth of the halt before a ceiling, or of the halt itself where a turn was cut short; None: there is none."""
    halts = sorted({segment.from_m for segment in segments if segment.kind is SegmentKind.STOP})
    if broken.kind is ViolationKind.CEILING:
        return next((depth_m for depth_m in halts if depth_m > broken.depth_m + SAME_M), None)
    return next((depth_m for depth_m in halts if abs(depth_m - broken.depth_m) < SAME_M), None)


def _on_whole_units(segments: Sequence[Segment], longer: dict[float, float], unit_min: float) -> Iterable[Segment]:
    """The segments with the end of every halt of the way up moved to a whole unit, then by what it is stretched."""
    now_min = added_min = 0.0
    bottom = max(at for at, segment in enumerate(segments) if segment.kind in BEFORE_THE_WAY_UP)
    for at, segment in enumerate(segments):
        following = segments[at + 1] if at + 1 < len(segments) else None
        minutes = segment.minutes
        halted = at > bottom and segment.kind is SegmentKind.STOP
        if halted and (following is None or following.kind is not SegmentKind.STOP):
            added_min += longer.get(segment.from_m, 0.0)
            minutes = max(math.ceil(segment.end_min / unit_min - SAME_MIN) * unit_min + added_min - now_min, 0.0)
        if minutes > 0:
            yield replace(segment, start_min=now_min, minutes=minutes)
        now_min += minutes
