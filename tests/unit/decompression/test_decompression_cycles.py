"""Breathing cycles: oxygen breaks and shared cylinders, as the scheduler makes them and the verifier knows them."""

from dataclasses import replace

import pytest

from check import close
from gaswright.decompression.replay_rules import ViolationKind
from gaswright.decompression.request import (
    Breath,
    BreathingCycle,
    CyclePhase,
    Direction,
    GasChange,
    ProfileLevel,
    Schedule,
    ScheduleRequest,
    SegmentKind,
)
from gaswright.decompression.scheduler import schedule
from gaswright.decompression.verifier import replay
from gaswright.errors import InputError
from oracles.teams import gas_for, on_the_way_up, sixty_metres, stop_minutes

OXYGEN, BACK = Breath("d1-oxygen", 1.0, 0.0), Breath("d1-main", 0.18, 0.45)


def breaks(oxygen: int = 12, back: int = 6) -> BreathingCycle:
    """Oxygen from 6 m on, with breaks on the back gas."""
    return BreathingCycle(6.0, (CyclePhase(oxygen, {"d1": OXYGEN}), CyclePhase(back, {"d1": BACK})))


def at(request: ScheduleRequest, made: Schedule, depth_m: float) -> list[tuple[float, str]]:
    """Minutes and cylinder of d1, piece by piece, at one halt of the way up."""
    return [
        (round(piece.minutes, 6), piece.gas["d1"].cylinder) for piece in on_the_way_up(request, made)
        if piece.kind is SegmentKind.STOP and abs(piece.from_m - depth_m) < 1e-6
    ]


def test_oxygen_breaks_come_after_whole_units_and_are_part_of_the_stop() -> None:
    """12 min of oxygen counted after the turn, 6 of back gas, and so on; the stop is longer than without breaks."""
    plain, request = sixty_metres(), sixty_metres(cycles=(breaks(),))
    made = schedule(request)
    parts = at(request, made, 6.0)
    assert parts[:2] == [(13.0, "d1-oxygen"), (6.0, "d1-main")]  # one minute of the turn, then twelve of the cycle
    assert parts[2][1] == "d1-oxygen"
    close(sum(minutes for minutes, _ in parts), stop_minutes(request, made)[6.0], within=1e-9)
    assert stop_minutes(request, made)[6.0] > stop_minutes(plain, schedule(plain))[6.0]


def test_the_step_is_made_on_the_gas_of_the_last_unit() -> None:
    """Nobody changes gas only to leave."""
    for oxygen in range(1, 14):
        request = sixty_metres(cycles=(breaks(oxygen, 3),))
        pieces = on_the_way_up(request, schedule(request))
        assert pieces[-1].gas == pieces[-2].gas


def test_a_cycle_that_never_comes_to_its_second_phase_changes_nothing() -> None:
    """Breaks after a hundred minutes of a stop of twenty: the schedule without them."""
    plain, request = sixty_metres(), sixty_metres(cycles=(breaks(100, 5),))
    assert schedule(request).segments == schedule(plain).segments


def test_the_clock_goes_on_from_halt_to_halt() -> None:
    """Halts of one minute each at 6 m and 3 m count on one clock: it does not begin again at 3 m."""
    request = sixty_metres(last_stop_m=3.0, cycles=(breaks(8, 4),))
    made = schedule(request)
    units = [
        cylinder for depth_m in (6.0, 3.0) for minutes, cylinder in at(request, made, depth_m)
        for _ in range(round(minutes))
    ][1:]
    assert units == [("d1-oxygen" if number % 12 < 8 else "d1-main") for number in range(len(units))]
    assert len(at(request, made, 3.0)) > 1


def test_two_divers_share_a_cylinder_in_turns() -> None:
    """From 21 m on d1 and d2 breathe one cylinder by turns of 3 min; at 6 m each takes oxygen."""
    shared = Breath("d1-deco", 0.5, 0.0)
    back = gas_for(("d1", "d2"), "main", 0.18, 0.45)
    cycle = BreathingCycle(21.0, (
        CyclePhase(3, {"d1": shared, "d2": back["d2"]}), CyclePhase(3, {"d1": back["d1"], "d2": shared}),
    ), until_m=6.0)
    request = sixty_metres(2)
    request = replace(request, changes=request.changes[1:], cycles=(cycle,))
    made = schedule(request)
    for piece in on_the_way_up(request, made):
        on_it = sum(breath == shared for breath in piece.gas.values())
        if piece.kind is SegmentKind.STOP and 6.0 < piece.from_m <= 21.0:
            assert on_it == 1
    whole = schedule(replace(request, cycles=(), changes=(
        GasChange(Direction.UP, 21.0, gas_for(("d1", "d2"), "deco", 0.5)), *request.changes,
    )))
    assert made.tts_min > whole.tts_min


def test_a_cycle_deeper_than_the_last_level_begins_at_departure() -> None:
    """The last level is 30 m: a cycle for 36 m holds from there, as one for 30 m does, and is breathed at the halts."""
    phases = (CyclePhase(2, {"d1": Breath("d1-rich", 0.36, 0.0)}), CyclePhase(1, {"d1": BACK}))
    levels = (ProfileLevel(60.0, 25.0), ProfileLevel(30.0, 6.0))
    made = [
        schedule(sixty_metres(levels=levels, changes=(), cycles=(BreathingCycle(depth_m, phases),)))
        for depth_m in (36.0, 30.0)
    ]
    assert made[0].segments == made[1].segments
    assert {piece.gas["d1"].cylinder for piece in made[0].segments} == {"d1-main", "d1-rich"}


@pytest.mark.parametrize("other", [
    BreathingCycle(6.0, (CyclePhase(11, {"d1": OXYGEN}), CyclePhase(6, {"d1": BACK}))),
    BreathingCycle(6.0, (CyclePhase(12, {"d1": OXYGEN}), CyclePhase(5, {"d1": BACK}))),
    BreathingCycle(6.0, (CyclePhase(12, {"d1": OXYGEN}), CyclePhase(6, {"d1": Breath("d1-deco", 0.5, 0.0)}))),
])
def test_the_verifier_knows_the_cycle_by_itself(other: BreathingCycle) -> None:
    """Segments made for another cycle than the one asked for breathe the wrong gas."""
    request = sixty_metres(cycles=(breaks(),))
    made = schedule(replace(request, cycles=(other,)))
    assert ViolationKind.GAS in {violation.kind for violation in replay(request, made.segments).violations}


def test_the_verifier_refuses_segments_without_the_breaks() -> None:
    """Oxygen breathed through where breaks are asked for is a violation."""
    request = sixty_metres(cycles=(breaks(),))
    made = schedule(replace(request, cycles=()))
    assert ViolationKind.GAS in {violation.kind for violation in replay(request, made.segments).violations}


WRONG = {
    "no phase": BreathingCycle(6.0, ()),
    "no units": BreathingCycle(6.0, (CyclePhase(0, {"d1": OXYGEN}),)),
    "half units": BreathingCycle(6.0, (CyclePhase(1.5, {"d1": OXYGEN}),)),  # type: ignore[arg-type]  # the case itself
    "no diver": BreathingCycle(6.0, (CyclePhase(1, {}),)),
    "a stranger": BreathingCycle(6.0, (CyclePhase(1, {"d9": OXYGEN}),)),
    "two teams": BreathingCycle(6.0, (CyclePhase(1, {"d1": OXYGEN}), CyclePhase(1, {}))),
    "no such gas": BreathingCycle(6.0, (CyclePhase(1, {"d1": Breath("x", 0.8, 0.4)}),)),
    "off the grid": BreathingCycle(7.0, (CyclePhase(1, {"d1": OXYGEN}),)),
    "above the last stop": BreathingCycle(3.0, (CyclePhase(1, {"d1": OXYGEN}),)),
    "ends below": BreathingCycle(6.0, (CyclePhase(1, {"d1": OXYGEN}),), until_m=9.0),
    "a change inside": BreathingCycle(9.0, (CyclePhase(1, {"d1": OXYGEN}),)),
}


@pytest.mark.parametrize("cycle", WRONG.values(), ids=WRONG)
def test_cycles_that_make_no_sense_are_refused(cycle: BreathingCycle) -> None:
    """Each fault of a cycle is an input error that names it."""
    with pytest.raises(InputError) as caught:
        schedule(sixty_metres(cycles=(cycle,)))
    assert all(problem.where.startswith("cycles[0]") for problem in caught.value.problems)


def test_two_cycles_must_not_hold_at_one_depth() -> None:
    """The first still holds where the second begins."""
    one = BreathingCycle(21.0, (CyclePhase(1, {"d1": BACK}),), until_m=3.0)
    with pytest.raises(InputError):
        schedule(sixty_metres(changes=(), cycles=(breaks(), one)))
    with pytest.raises(InputError):
        schedule(sixty_metres(changes=(), cycles=(one, breaks(), replace(breaks(), depth_m=9.0))))
