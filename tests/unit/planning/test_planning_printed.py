"""What a slate says is itself a schedule that the verifier passes."""

import math
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from gaswright.decompression.replay_rules import ViolationKind
from gaswright.decompression.request import (
    Breath,
    Direction,
    GasChange,
    ProfileLevel,
    ScheduleRequest,
    Segment,
    SegmentKind,
)
from gaswright.decompression.scheduler import schedule
from gaswright.decompression.verifier import replay
from gaswright.physics.place import Place
from gaswright.planning.printed import printed_schedule


def request(depth_m: float, minutes: float, ascent_m_min: float | None, switch_min: float) -> ScheduleRequest:
    """Two divers with two deco gases."""
    divers = ("a", "b")
    back = {d: Breath(f"{d}-main", 0.18, 0.45) for d in divers}
    half = {d: Breath(f"{d}-50", 0.5, 0.0) for d in divers}
    oxygen = {d: Breath(f"{d}-oxygen", 1.0, 0.0) for d in divers}
    return ScheduleRequest(
        divers, back, (ProfileLevel(depth_m, minutes),),
        (GasChange(Direction.UP, 21.0, half), GasChange(Direction.UP, 6.0, oxygen)),
        Place(), ascent_m_min=ascent_m_min, switch_min=switch_min,
    )  # fmt: skip


def halts_left_min(segments: tuple[Segment, ...]) -> list[float]:
    """Runtimes at which the halts of the way up are left."""
    return [
        segment.end_min
        for segment, following in pairwise(segments)
        if segment.kind is SegmentKind.STOP and following.kind is not SegmentKind.STOP
    ]


@settings(max_examples=40)
@given(
    depth_m=st.integers(36, 75),
    minutes=st.integers(15, 40),
    ascent_m_min=st.sampled_from([None, 6.0, 9.0, 10.0]),
    switch_min=st.sampled_from([0.0, 1.0]),
)
def test_every_printed_row_is_left_on_a_whole_minute_and_passes_the_replay(
    depth_m: int, minutes: int, ascent_m_min: float | None, switch_min: float
) -> None:
    """No halt is left earlier than scheduled, each on a whole minute, and the replay finds no broken rule."""
    asked = request(depth_m, minutes, ascent_m_min, switch_min)
    made = schedule(asked)
    printed = printed_schedule(asked, made)
    assert printed is not None
    kinds = {violation.kind for violation in replay(asked, printed.segments, anchor_m=made.anchor_m).violations}
    assert kinds <= {ViolationKind.STOP_UNIT, ViolationKind.SPEED}
    left, scheduled = halts_left_min(printed.segments), halts_left_min(made.segments)
    assert len(left) == len(scheduled)
    assert all(abs(at_min - round(at_min)) < 1e-6 for at_min in left)
    assert all(late_min >= early_min - 1e-6 for late_min, early_min in zip(left, scheduled, strict=True))
    assert printed.runtime_min - made.runtime_min < 6.0


def test_rounding_alone_is_not_enough() -> None:
    """There are dives whose rounded rows break the ceiling: the replay is not there for nothing."""
    broken = 0
    for depth_m, minutes in ((45, 25), (51, 30), (57, 25), (60, 30), (66, 20), (72, 25)):
        asked = request(depth_m, minutes, 9.0, 0.0)
        made = schedule(asked)
        now_min, rounded = 0.0, []
        for segment in made.segments:
            stop = segment.kind is SegmentKind.STOP
            length_min = math.ceil(segment.end_min - 1e-6) - now_min if stop else segment.minutes
            rounded.append(
                Segment(segment.kind, segment.from_m, segment.to_m, now_min, length_min, segment.gas)
            )
            now_min += length_min
        seen = replay(asked, tuple(piece for piece in rounded if piece.minutes > 0), anchor_m=made.anchor_m)
        broken += any(violation.kind is ViolationKind.CEILING for violation in seen.violations)
    assert broken > 0


def test_a_dive_without_stops_is_printed_as_it_is() -> None:
    """Nothing is added where nothing is halted."""
    asked = request(15.0, 20.0, 9.0, 0.0)
    single = ScheduleRequest(("a",), {"a": Breath("m", 0.32, 0.0)}, asked.levels, (), Place())
    made = schedule(single)
    printed = printed_schedule(single, made)
    assert printed is not None
    assert printed.segments == made.segments


