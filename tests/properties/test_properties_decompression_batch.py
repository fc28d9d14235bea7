"""What must hold for every team dive in bulk and for every breathing cycle."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from check import close
from gaswright.decompression.batch import run_many
from gaswright.decompression.batch_draws import normals
from gaswright.decompression.batch_request import Variations, breaths_of
from gaswright.decompression.replay_rules import ViolationKind
from gaswright.decompression.request import ScheduleImpossible, ScheduleRequest, SegmentKind, Tissues
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.decompression.surface_interval import tissues_after
from gaswright.decompression.verifier import replay
from gaswright.physics.place import Place
from oracles.minute_stepping import answer
from oracles.team_dives import cycle_dives, team_dives
from oracles.teams import on_the_way_up, stop_minutes


def jittered(request: ScheduleRequest, runs: int, seed: int) -> Variations:
    """Gases, depths, minutes, speeds and consumption of every run a little different."""
    gases, levels = breaths_of(request), len(request.levels)
    drawn = normals(seed, 0, runs, 2 * len(gases) + 2 * levels + 1)
    he = np.clip(np.array([gas.he for gas in gases]) + 0.01 * drawn[:, :len(gases)], 0.0, 0.9)
    o2 = np.clip(np.array([gas.o2 for gas in gases]) + 0.01 * drawn[:, len(gases):2 * len(gases)], 0.01, 1.0 - he)
    depth_m = np.array([level.depth_m for level in request.levels]) + 2.0 * drawn[:, -1 - levels:-1]
    minutes = np.array([level.minutes for level in request.levels]) + drawn[:, -1 - 2 * levels:-1 - levels]
    speed = np.clip(np.floor(drawn[:, -1] + 1.5), 0, 2).astype(np.int64)
    rate = np.full(len(request.divers), 18.0)
    return Variations(
        runs, o2, he, np.maximum(depth_m, 1.0), np.maximum(minutes, 0.0), (0.8, 1.0, 1.3), speed, rate, 0.8 * rate,
    )


@settings(max_examples=25)
@given(st.one_of(team_dives(most_divers=3), cycle_dives()), st.integers(0, 2**32))
def test_compiled_and_plain_one_thread_and_two_have_the_same_bits(request: ScheduleRequest, seed: int) -> None:
    """Any team, gases, place, settings and cycles, everything varied: every number of every run."""
    pytest.importorskip("numba")
    variations = jittered(request, 12, seed)
    results = [
        run_many(request, variations, stops=True, verify=0, compiled=compiled, workers=workers)
        for compiled, workers in ((False, 1), (True, 1), (True, 2))
    ]
    for name in ("outcome", "tts_min", "runtime_min", "anchor_m", "used_l", "stop_min", "bottom_wait_min"):
        plain, one, two = (getattr(result, name).tobytes() for result in results)
        assert plain == one == two, name


@settings(max_examples=25)
@given(st.one_of(team_dives(most_divers=3), cycle_dives()), st.integers(0, 2**32))
def test_every_run_is_the_schedule_of_its_own_request(request: ScheduleRequest, seed: int) -> None:
    """Stops, anchors, times and reasons of runs are those of one schedule each, where the verifier passes it."""
    falling = all(gas.he == 0.0 for gas in breaths_of(request))
    assume(falling)  # helium that comes back may lift a tension at rest: then the verifier refuses, rightly
    variations = jittered(request, 6, seed)
    variations = replace(variations, he=np.zeros_like(variations.he))
    result = run_many(request, variations, stops=True, verify=6)
    assert result.verified == int(result.feasible.sum())


@settings(max_examples=60)
@given(cycle_dives())
def test_cycles_agree_with_naive_stepping_and_are_known_to_the_verifier(request: ScheduleRequest) -> None:
    """The leader finds what asking at every unit finds, and the replay finds no fault but a ceiling at rest."""
    must_agree_with_stepping(request)


@settings(max_examples=10)
@given(cycle_dives(seconds=True, most_divers=2))
def test_cycles_of_seconds_agree_with_naive_stepping(request: ScheduleRequest) -> None:
    """The same with stops of whole seconds."""
    must_agree_with_stepping(request)


def must_agree_with_stepping(request: ScheduleRequest) -> None:
    """Stops, anchors and tensions of the scheduler, the oracle and the replay are the same."""
    try:
        made = unverified_schedule(request)
    except ScheduleImpossible:
        return
    assume(made.tts_min < 5_000 * request.stop_unit_min)  # longer is for faster programs than the oracle
    naive, halts = answer(request), stop_minutes(request, made)
    expected = {round(depth_m, 6): minutes for depth_m, minutes in naive.halts_min if minutes > 0.0}
    assert set(halts) == set(expected)
    for depth_m, minutes in expected.items():
        close(halts[depth_m], minutes, within=1e-6, why=f"stop at {depth_m} m")
    seen = replay(request, made.segments)
    assert {violation.kind for violation in seen.violations} <= {ViolationKind.CEILING}
    for diver in request.divers:
        close(made.anchor_m[diver], naive.anchor_m[diver], within=1e-6)
        close(seen.anchor_m[diver], naive.anchor_m[diver], within=1e-6)
        tissues = made.tissues[diver]
        for (n2, he), n2_bar, he_bar in zip(naive.bodies[diver], tissues.n2_bar, tissues.he_bar, strict=True):
            close(n2_bar, n2, within=1e-9)
            close(he_bar, he, within=1e-9)


@settings(max_examples=60)
@given(cycle_dives(most_divers=2))
def test_a_stop_with_cycles_has_no_unit_too_many(request: ScheduleRequest) -> None:
    """A halt without its last unit breaks a limit: somebody could not have left before."""
    try:
        made = unverified_schedule(request)
    except ScheduleImpossible:
        return
    forced = sum(len(change.gas) for change in request.changes) * request.switch_min
    up = on_the_way_up(request, made)
    for piece, step in pairwise(up):
        longer = piece.minutes > forced + 1.5 * request.stop_unit_min
        if piece.kind is not SegmentKind.STOP or step.kind is not SegmentKind.ASCENT or not longer:
            continue
        cut = made.segments.index(piece)
        short = replace(piece, minutes=piece.minutes - request.stop_unit_min)
        rest = tuple(
            replace(after, start_min=after.start_min - request.stop_unit_min) for after in made.segments[cut + 1:]
        )
        seen = replay(request, (*made.segments[:cut], short, *rest))
        assert ViolationKind.CEILING in {violation.kind for violation in seen.violations}


@given(
    st.lists(st.floats(0.0, 5.0), min_size=32, max_size=32), st.floats(0.0, 2000.0), st.floats(0.0, 2000.0),
    st.floats(0.6, 1.05),
)
def test_time_at_the_surface_goes_towards_air_and_adds_up(
    bars: list[float], first_min: float, second_min: float, surface_bar: float
) -> None:
    """Every tension lies between where it was and saturation with air; two intervals are one."""
    place, before = Place(surface_bar=surface_bar), Tissues(tuple(bars[:16]), tuple(bars[16:]))
    after = tissues_after(before, first_min, place)
    air_bar = (surface_bar - 0.0627) * 0.7905
    for start_bar, end_bar in zip(before.n2_bar, after.n2_bar, strict=True):
        assert min(start_bar, air_bar) - 1e-12 <= end_bar <= max(start_bar, air_bar) + 1e-12
    for start_bar, end_bar in zip(before.he_bar, after.he_bar, strict=True):
        assert 0.0 <= end_bar <= start_bar
    twice, once = tissues_after(after, second_min, place), tissues_after(before, first_min + second_min, place)
    for part, whole in zip(twice.n2_bar + twice.he_bar, once.n2_bar + once.he_bar, strict=True):
        close(part, whole, within=1e-12)
