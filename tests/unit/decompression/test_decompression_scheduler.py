"""The scheduler's rules one by one, on plain dives."""

from dataclasses import replace

import pytest

from check import close
from gaswright.decompression.request import (
    Breath,
    Direction,
    GasChange,
    Impossible,
    ProfileLevel,
    Schedule,
    ScheduleImpossible,
    ScheduleRequest,
    SegmentKind,
    SpeedZone,
    Tissues,
    Unverified,
)
from gaswright.decompression.scheduler import schedule
from oracles.teams import gas_for, on_the_way_up, sixty_metres, stop_minutes


def speeds_m_min(request: ScheduleRequest, made: Schedule) -> list[tuple[float, float, float]]:
    """From, to and speed of every ascent on the way up."""
    return [
        (piece.from_m, piece.to_m, round((piece.from_m - piece.to_m) / piece.minutes, 6))
        for piece in on_the_way_up(request, made) if piece.kind is SegmentKind.ASCENT
    ]


def test_segments_run_from_surface_to_surface_without_gaps() -> None:
    """Every segment begins where and when the one before ended, and the sums agree."""
    request = sixty_metres(3)
    made = schedule(request)
    assert made.segments[0].from_m == made.segments[-1].to_m == 0.0
    for before, after in zip(made.segments, made.segments[1:], strict=False):
        assert before.to_m == after.from_m
        close(after.start_min, before.end_min, within=1e-9)
        assert (before.kind, before.gas) != (after.kind, after.gas) or before.kind is SegmentKind.ASCENT
    close(made.runtime_min, sum(piece.minutes for piece in made.segments), within=1e-9)
    close(made.tts_min, made.runtime_min - 25.0, within=1e-9)


def test_level_minutes_include_the_travel_to_it() -> None:
    """60 m at 20 m/min takes 3 of the 25 min."""
    descent, level = schedule(sixty_metres()).segments[:2]
    assert (descent.kind, descent.to_m, descent.minutes) == (SegmentKind.DESCENT, 60.0, 3.0)
    assert (level.kind, level.minutes) == (SegmentKind.LEVEL, 22.0)


def test_default_speeds_are_nine_then_three_then_one() -> None:
    """9 m/min to the first stop, 3 between stops, 1 from the last; common practice, no source."""
    request = sixty_metres()
    made = schedule(request)
    first_m = max(stop_minutes(request, made))
    for from_m, to_m, m_min in speeds_m_min(request, made):
        assert m_min == (9.0 if from_m > first_m else 1.0 if to_m == 0.0 else 3.0)


def test_a_dive_without_stops_goes_up_at_travel_speed() -> None:
    """No stop by decompression: 9 m/min to the surface."""
    request = sixty_metres(levels=(ProfileLevel(12.0, 5.0),), changes=())
    made = schedule(request)
    assert speeds_m_min(request, made) == [(12.0, 0.0, 9.0)]
    assert made.anchor_m == {"d1": 0.0}


def test_a_refusal_anchors_even_where_the_wait_comes_to_zero() -> None:
    """GF low refuses the step from 6 m, the line allows it at once: an anchor without a stop, and no slower ascent."""
    request = sixty_metres(levels=(ProfileLevel(18.0, 10.0),), changes=())
    made = schedule(request)
    assert made.anchor_m == {"d1": 6.0}
    assert speeds_m_min(request, made) == [(18.0, 0.0, 9.0)]


def test_a_halt_for_a_switch_alone_does_not_slow_the_ascent() -> None:
    """The speed stays 9 m/min after a switch at which nobody had to decompress."""
    request = sixty_metres(levels=(ProfileLevel(24.0, 6.0),))
    made = schedule(request)
    assert stop_minutes(request, made) == {21.0: 1.0, 6.0: 1.0}
    assert {m_min for _, _, m_min in speeds_m_min(request, made)} == {9.0}


def test_one_speed_holds_everywhere() -> None:
    """`ascent_m_min` overrides the default."""
    request = sixty_metres(ascent_m_min=10.0)
    assert {m_min for _, _, m_min in speeds_m_min(request, schedule(request))} == {10.0}


def test_zones_split_the_ascent_at_their_borders() -> None:
    """12 m/min down from 40 m, 9 down from 10 m (off the grid), 3 above."""
    request = sixty_metres(zones=(SpeedZone(0.0, 3.0), SpeedZone(10.0, 9.0), SpeedZone(40.0, 12.0)))
    for from_m, to_m, m_min in speeds_m_min(request, schedule(request)):
        assert m_min == (12.0 if to_m >= 40.0 else 9.0 if to_m >= 10.0 else 3.0)
        assert not to_m < 10.0 < from_m
        assert not to_m < 40.0 < from_m


def test_divers_take_their_turns_one_after_the_other() -> None:
    """At 21 m diver k breathes the new gas k minutes after arrival; the stop lasts at least three minutes."""
    request = sixty_metres(3)
    pieces = [piece for piece in on_the_way_up(request, schedule(request)) if piece.from_m == piece.to_m == 21.0]
    on_deco = [sum(breath.o2 == 0.5 for breath in piece.gas.values()) for piece in pieces]
    assert on_deco[:3] == [1, 2, 3]
    assert [piece.minutes for piece in pieces[:2]] == [1.0, 1.0]
    assert sum(piece.minutes for piece in pieces) >= 3.0
    assert pieces[0].gas["d1"].o2 == 0.5


def test_turns_end_on_whole_units() -> None:
    """Three turns of 0.5 min force a stop of two whole minutes."""
    request = sixty_metres(3, switch_min=0.5, levels=(ProfileLevel(24.0, 6.0),))
    assert stop_minutes(request, schedule(request)) == {21.0: 2.0, 6.0: 2.0}


def test_all_at_once_forces_no_stop() -> None:
    """With `switch_min` 0 the gas changes in passing and the segments split there."""
    request = sixty_metres(2, switch_min=0.0, levels=(ProfileLevel(24.0, 6.0),))
    made = schedule(request)
    assert stop_minutes(request, made) == {}
    assert speeds_m_min(request, made) == [(24.0, 21.0, 9.0), (21.0, 6.0, 9.0), (6.0, 0.0, 9.0)]
    assert [piece.gas["d2"].o2 for piece in on_the_way_up(request, made)] == [0.18, 0.5, 1.0]


def test_a_change_deeper_than_the_last_level_is_made_at_departure() -> None:
    """The last level is 15 m: the change for 21 m is made there, after its minutes."""
    request = sixty_metres(levels=(ProfileLevel(40.0, 10.0), ProfileLevel(15.0, 10.0)))
    made = schedule(request)
    first = on_the_way_up(request, made)[0]
    assert (first.kind, first.from_m, first.to_m) == (SegmentKind.STOP, 15.0, 15.0)
    assert first.gas["d1"].o2 == 0.5
    close(first.start_min, 20.0, within=1e-9)


def test_a_diver_who_is_not_in_a_change_stays_on_the_old_gas() -> None:
    """Only d1 switches at 21 m; one turn, one minute at least."""
    request = sixty_metres(2)
    change = GasChange(Direction.UP, 21.0, {"d1": Breath("d1-deco", 0.5, 0.0)})
    made = schedule(replace(request, changes=(change,)))
    at_21 = next(piece for piece in on_the_way_up(request, made) if piece.from_m == piece.to_m == 21.0)
    assert (at_21.gas["d1"].o2, at_21.gas["d2"].o2) == (0.5, 0.18)


def test_travel_gas_pauses_on_the_way_down() -> None:
    """Two divers change at 12 m going down: a stop of two turns inside the minutes of the level."""
    team = ("d1", "d2")
    request = sixty_metres(2, start_gas=gas_for(team, "travel", 0.36))
    down = GasChange(Direction.DOWN, 12.0, gas_for(team, "main", 0.18, 0.45))
    made = schedule(replace(request, changes=(down, *request.changes)))
    pieces = [(piece.kind, piece.from_m, piece.to_m) for piece in made.segments[:5]]
    assert pieces == [
        (SegmentKind.DESCENT, 0.0, 12.0), (SegmentKind.STOP, 12.0, 12.0), (SegmentKind.STOP, 12.0, 12.0),
        (SegmentKind.DESCENT, 12.0, 60.0), (SegmentKind.LEVEL, 60.0, 60.0),
    ]
    assert [breath.o2 for breath in made.segments[1].gas.values()] == [0.18, 0.36]
    close(made.segments[4].end_min, 25.0, within=1e-9)


def test_a_level_gas_is_taken_at_arrival() -> None:
    """A bottom stage named for a level is breathed there, not on the way."""
    stage = {"d1": Breath("stage", 0.21, 0.35)}
    made = schedule(sixty_metres(levels=(ProfileLevel(60.0, 25.0, stage),)))
    assert [piece.gas["d1"].cylinder for piece in made.segments[:2]] == ["d1-main", "stage"]


def test_a_bottom_off_the_grid_goes_to_the_next_shallower_grid_depth() -> None:
    """From 58.4 m the halts are multiples of 3 m, and the anchor too."""
    request = sixty_metres(levels=(ProfileLevel(58.4, 25.0),))
    made = schedule(request)
    assert all(depth_m % 3.0 == 0.0 for depth_m in stop_minutes(request, made))
    assert made.anchor_m["d1"] % 3.0 == 0.0 < made.anchor_m["d1"]


def test_a_refusal_at_the_bottom_is_a_wait_there_and_anchors_there() -> None:
    """A last level of 29.5 m just below the ceiling: the step to 27 m is refused at the bottom itself."""
    request = sixty_metres(levels=(ProfileLevel(60.0, 25.0), ProfileLevel(29.5, 3.5)))
    made = schedule(request)
    assert made.anchor_m == {"d1": 29.5}
    first = on_the_way_up(request, made)[0]
    assert (first.kind, first.from_m, first.to_m) == (SegmentKind.STOP, 29.5, 29.5)


def test_each_diver_has_an_anchor_of_his_or_her_own() -> None:
    """A diver on a leaner, helium-rich gas is anchored deeper than one on a rich gas."""
    team = ("d1", "d2")
    gas = {"d1": Breath("d1-main", 0.16, 0.6), "d2": Breath("d2-main", 0.30, 0.1)}
    made = schedule(sixty_metres(2, start_gas=gas, levels=(ProfileLevel(40.0, 20.0),), changes=(
        GasChange(Direction.UP, 6.0, gas_for(team, "oxygen", 1.0)),
    )))
    assert made.anchor_m["d1"] > made.anchor_m["d2"] > 0.0


def test_feet_grid_stops_are_multiples_of_ten_feet() -> None:
    """10 ft is 3.048 m; a change typed as 70 ft falls on the grid."""
    request = sixty_metres(
        stop_step_m=3.048, last_stop_m=20 * 0.3048, levels=(ProfileLevel(200 * 0.3048, 25.0),),
        changes=(
            GasChange(Direction.UP, 70 * 0.3048, gas_for(("d1",), "deco", 0.5)),
            GasChange(Direction.UP, 20 * 0.3048, gas_for(("d1",), "oxygen", 1.0)),
        ),
    )
    halts = stop_minutes(request, schedule(request))
    assert {21.336, 6.096} <= set(halts)
    for depth_m in halts:
        close(depth_m / 3.048, round(depth_m / 3.048), within=1e-6)


def test_stops_are_whole_units() -> None:
    """Whole minutes, or whole seconds."""
    for unit_min in (1.0, 1.0 / 60.0):
        request = sixty_metres(stop_unit_min=unit_min)
        for minutes in stop_minutes(request, schedule(request)).values():
            close(minutes / unit_min, round(minutes / unit_min), within=1e-6)


def test_tissues_at_the_start_are_used() -> None:
    """A second dive on the tensions of a first one has more decompression than the first."""
    first = schedule(sixty_metres())
    second = schedule(sixty_metres(tissues=first.tissues))
    assert second.tts_min > first.tts_min


def test_every_halt_reports_the_gradient_factor_used() -> None:
    """One figure per halt and diver, none above GF high, the surface among them."""
    request = sixty_metres(2)
    made = schedule(request)
    used = {(use.depth_m, use.diver): use.gf_percent for use in made.worst_gf}
    assert {depth_m for depth_m, _ in used} == {*stop_minutes(request, made), 0.0}
    assert len(used) == 2 * len({depth_m for depth_m, _ in used})
    assert 0.0 <= max(used.values()) <= 80.0 + 1e-6


def test_a_level_above_the_ceiling_is_impossible() -> None:
    """After 25 min at 60 m nobody may stay at 9 m; the error says who, where, when, and the ceiling."""
    request = sixty_metres(levels=(ProfileLevel(60.0, 25.0), ProfileLevel(9.0, 20.0)))
    with pytest.raises(ScheduleImpossible) as caught:
        schedule(request)
    error = caught.value
    assert (error.reason, error.depth_m, error.diver) == (Impossible.LEVEL_ABOVE_CEILING, 9.0, "d1")
    assert error.ceiling_m is not None
    assert error.ceiling_m > 9.0
    close(error.at_min, 25.0 + 51.0 / 9.0, within=1e-9)


def test_a_level_shorter_than_its_travel_is_impossible() -> None:
    """Two minutes do not reach 60 m at 20 m/min; exactly three do."""
    with pytest.raises(ScheduleImpossible) as caught:
        schedule(sixty_metres(levels=(ProfileLevel(60.0, 2.0),)))
    assert (caught.value.reason, caught.value.depth_m) == (Impossible.LEVEL_TOO_SHORT, 60.0)
    assert schedule(sixty_metres(levels=(ProfileLevel(60.0, 3.0),))).runtime_min > 3.0


def test_a_way_up_of_more_than_three_days_is_impossible() -> None:
    """Saturated at 40 m on air, or at a speed of a centimetre a minute: refused, and soon."""
    air = gas_for(("d1",), "main", 0.21)
    long = sixty_metres(start_gas=air, changes=(), levels=(ProfileLevel(40.0, 4000.0),), gf_low=0.1, gf_high=0.1)
    for request in (long, sixty_metres(ascent_m_min=0.01)):
        with pytest.raises(ScheduleImpossible) as caught:
            schedule(request)
        assert caught.value.reason is Impossible.TOO_LONG


def test_a_gas_that_never_lets_go_is_too_long() -> None:
    """Tissues that no stop can clear on this gas end in a refusal, not in an endless loop."""
    hot = Tissues((9.0,) * 16, (0.0,) * 16)
    request = sixty_metres(changes=(), tissues={"d1": hot}, stop_unit_min=1.0 / 60.0, gf_low=0.0, gf_high=0.0)
    with pytest.raises(ScheduleImpossible) as caught:
        schedule(request)
    assert caught.value.reason is Impossible.TOO_LONG


def test_counter_diffusion_above_the_limit_is_not_passed_on() -> None:
    """Helium taken after hours on air at one depth lifts the tension above GF low at rest: the replay refuses it."""
    air, heliox = gas_for(("d1",), "air", 0.21), gas_for(("d1",), "heliox", 0.21, 0.79)
    levels = (ProfileLevel(36.0, 600.0), ProfileLevel(33.0, 30.0, heliox))
    with pytest.raises(Unverified) as caught:
        schedule(sixty_metres(start_gas=air, changes=(), levels=levels, gf_low=0.2))
    assert any("ceiling" in sentence for sentence in caught.value.violations)


def test_a_wait_for_another_diver_is_no_refusal() -> None:
    """At 12 m d2 would be refused on arrival, but d1 holds the team there anyway; when d1 is clear, so is d2."""
    gas = {"d1": Breath("d1-main", 0.21, 0.0), "d2": Breath("d2-main", 0.32, 0.0)}
    request = sixty_metres(2, start_gas=gas, changes=(), levels=(ProfileLevel(39.0, 30.0),))
    alone = replace(request, divers=("d2",), start_gas={"d2": gas["d2"]})
    made = schedule(request)
    assert made.anchor_m == {"d1": 18.0, "d2": 9.0}
    assert stop_minutes(request, made)[12.0] > 0.0
    assert schedule(alone).anchor_m["d2"] > 0.0
