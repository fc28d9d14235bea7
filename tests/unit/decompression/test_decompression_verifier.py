"""The verifier finds every kind of broken rule, and nothing in a schedule that keeps them."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from check import close
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
from gaswright.decompression.scheduler import schedule, unverified_schedule
from gaswright.decompression.verifier import replay
from oracles.tampering import shifted, with_minutes
from oracles.teams import gas_for, sixty_metres

Pieces = tuple[Segment, ...]


def kinds(request: ScheduleRequest, segments: Pieces) -> set[ViolationKind]:
    """The kinds of violation that a replay finds."""
    return {violation.kind for violation in replay(request, segments).violations}


def last_stop(segments: Pieces) -> int:
    """Index of the last stop."""
    return max(number for number, piece in enumerate(segments) if piece.kind is SegmentKind.STOP)


def test_a_schedule_passes_and_its_anchor_and_tissues_are_found_again() -> None:
    """No violation; the walk finds the scheduler's anchors and tensions by itself."""
    request = sixty_metres(3)
    made = unverified_schedule(request)
    seen = replay(request, made.segments)
    assert seen.violations == ()
    assert seen.anchor_m == made.anchor_m
    for diver in request.divers:
        for found, kept in zip(seen.tissues[diver].n2_bar, made.tissues[diver].n2_bar, strict=True):
            close(found, kept, within=1e-9)


def test_a_stop_shortened_by_its_unit_breaks_the_ceiling() -> None:
    """One minute less at the last stop surfaces above GF high."""
    request = sixty_metres()
    segments = schedule(request).segments
    number = last_stop(segments)
    short = with_minutes(segments, number, segments[number].minutes - 1.0)
    assert ViolationKind.CEILING in kinds(request, short)


def test_a_longer_stop_is_no_violation() -> None:
    """Staying a whole minute longer than needed at the last stop breaks nothing."""
    request = sixty_metres()
    segments = schedule(request).segments
    number = last_stop(segments)
    assert kinds(request, with_minutes(segments, number, segments[number].minutes + 1.0)) == set()


def test_a_stop_that_is_not_whole_units_is_found() -> None:
    """Half a minute more is not a whole minute."""
    request = sixty_metres()
    segments = schedule(request).segments
    number = last_stop(segments)
    longer = with_minutes(segments, number, segments[number].minutes + 0.5)
    assert kinds(request, longer) == {ViolationKind.STOP_UNIT}


def _gap_in_time(segments: Pieces) -> Pieces:
    return (*segments[:3], *shifted(segments[3:], 0.5))


def _gap_in_depth(segments: Pieces) -> Pieces:
    return (*segments[:2], replace(segments[2], from_m=59.0), *segments[3:])


def _diver_without_gas(segments: Pieces) -> Pieces:
    return (replace(segments[0], gas={}), *segments[1:])


def _descent_upwards(segments: Pieces) -> Pieces:
    return (*segments[:2], replace(segments[2], kind=SegmentKind.DESCENT), *segments[3:])


def _not_a_number(segments: Pieces) -> Pieces:
    return (replace(segments[0], minutes=float("nan")), *segments[1:])


@pytest.mark.parametrize(
    "tamper", [_gap_in_time, _gap_in_depth, _diver_without_gas, _descent_upwards, _not_a_number]
)
def test_a_list_that_is_no_profile_is_found(tamper: Callable[[Pieces], Pieces]) -> None:
    """Gaps, missing gas, a descent that rises, and numbers that are none."""
    request = sixty_metres()
    assert ViolationKind.GAP in kinds(request, tamper(schedule(request).segments))


def test_a_profile_that_does_not_surface_is_found() -> None:
    """Without its last segment, and without any."""
    request = sixty_metres()
    assert kinds(request, schedule(request).segments[:-1]) == {ViolationKind.PROFILE}
    assert kinds(request, ()) == {ViolationKind.PROFILE}


def test_a_gas_that_no_change_allows_is_found() -> None:
    """Breathing the deco gas on the bottom, and never switching to it."""
    request = sixty_metres()
    segments = schedule(request).segments
    deco, main = gas_for(("d1",), "deco", 0.5), gas_for(("d1",), "main", 0.18, 0.45)
    assert ViolationKind.GAS in kinds(request, (segments[0], replace(segments[1], gas=deco), *segments[2:]))
    never = tuple(replace(piece, gas=main if piece.gas == deco else piece.gas) for piece in segments)
    assert ViolationKind.GAS in kinds(request, never)


def test_a_turn_taken_too_early_is_found() -> None:
    """Both divers on the new gas at arrival, although turns are one after the other."""
    request = sixty_metres(2)
    segments = schedule(request).segments
    both = gas_for(request.divers, "deco", 0.5)
    early = tuple(
        replace(piece, gas=both) if piece.from_m == piece.to_m == 21.0 else piece for piece in segments
    )
    assert kinds(request, early) == {ViolationKind.GAS}


def test_a_switch_that_is_left_before_its_turns_are_over_is_found() -> None:
    """Two turns need two minutes; one is not enough."""
    request = sixty_metres(2, levels=(ProfileLevel(24.0, 6.0),))
    segments = schedule(request).segments
    number = next(n for n, piece in enumerate(segments) if piece.gas["d2"].o2 == 0.5)
    cut = (*segments[:number], *shifted(segments[number + 1:], -1.0))
    assert {ViolationKind.SWITCH, ViolationKind.STOP_UNIT} <= kinds(request, cut)


def test_turns_on_the_way_down_are_not_left_early() -> None:
    """A pause for two turns cut to one."""
    team = ("d1", "d2")
    down = GasChange(Direction.DOWN, 12.0, gas_for(team, "main", 0.18, 0.45))
    request = sixty_metres(2, start_gas=gas_for(team, "travel", 0.36))
    request = replace(request, changes=(down, *request.changes))
    segments = schedule(request).segments
    level = segments[4]
    longer = replace(level, start_min=level.start_min - 1.0, minutes=level.minutes + 1.0)
    cut = (*segments[:2], *shifted(segments[3:4], -1.0), longer, *segments[5:])
    assert ViolationKind.SWITCH in kinds(request, cut)


def test_an_ascent_too_fast_is_found() -> None:
    """The first ascent at twice its speed."""
    request = sixty_metres()
    segments = schedule(request).segments
    assert ViolationKind.SPEED in kinds(request, with_minutes(segments, 2, segments[2].minutes / 2))


def test_a_level_that_is_not_held_is_found() -> None:
    """Leaving the bottom a minute early, or never getting there."""
    request = sixty_metres()
    segments = schedule(request).segments
    assert ViolationKind.PROFILE in kinds(request, with_minutes(segments, 1, segments[1].minutes - 1.0))
    deeper = replace(request, levels=(ProfileLevel(66.0, 25.0),))
    assert ViolationKind.PROFILE in kinds(deeper, segments)


def test_a_level_above_the_ceiling_is_found() -> None:
    """A hand-made profile that stays at 9 m after 25 min at 60 m."""
    request = sixty_metres(changes=())
    gas, reach_min = request.start_gas, 25.0 + 51.0 / 9.0
    segments = (
        Segment(SegmentKind.DESCENT, 0.0, 60.0, 0.0, 3.0, gas),
        Segment(SegmentKind.LEVEL, 60.0, 60.0, 3.0, 22.0, gas),
        Segment(SegmentKind.ASCENT, 60.0, 9.0, 25.0, 51.0 / 9.0, gas),
        Segment(SegmentKind.LEVEL, 9.0, 9.0, reach_min, 85.0 - reach_min, gas),
        Segment(SegmentKind.ASCENT, 9.0, 0.0, 85.0, 1.0, gas),
    )
    two = replace(request, levels=(ProfileLevel(60.0, 25.0), ProfileLevel(9.0, 60.0)))
    found = replay(two, segments).violations
    assert any(violation.kind is ViolationKind.CEILING and violation.at_min < 40.0 for violation in found)


def test_a_violation_reads_as_a_sentence_with_time_depth_and_diver() -> None:
    """What planning shows names kind, runtime, depth and diver."""
    request = sixty_metres()
    segments = schedule(request).segments
    wrong = (replace(segments[0], gas={"d1": Breath("x", 0.21, 0.0)}), *segments[1:])
    text = str(replay(request, wrong).violations[0])
    assert text.startswith("gas at 0.00 min, 0.00 m, d1: breathes")
