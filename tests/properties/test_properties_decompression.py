"""What must hold for every team, gas, place and setting: decompression by properties and by a naive oracle."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st

from check import close
from gaswright.decompression.ceiling_limits import ceiling_bar, tolerated_bar, weighted
from gaswright.decompression.coefficients import coefficients
from gaswright.decompression.kernel import go, stay
from gaswright.decompression.ladder import decay, travel_table
from gaswright.decompression.replay_body import Body, Rates
from gaswright.decompression.replay_rules import ViolationKind
from gaswright.decompression.request import (
    Breath,
    Direction,
    GasChange,
    ProfileLevel,
    Schedule,
    ScheduleImpossible,
    ScheduleRequest,
    SegmentKind,
    Unverified,
)
from gaswright.decompression.scheduler import schedule, unverified_schedule
from gaswright.decompression.verifier import replay
from gaswright.physics.place import Place
from oracles.minute_stepping import answer
from oracles.tampering import with_minutes
from oracles.team_dives import team_dives, tenths
from oracles.teams import on_the_way_up, stop_minutes

tensions_bar = st.floats(0.0, 8.0)
fractions = st.floats(0.0, 1.0)
STEPPED_MIN = 150.0  # a longer way up takes the oracle, second by second, more steps than it makes


def made_or_not(request: ScheduleRequest, make: Callable[[ScheduleRequest], Schedule] = schedule) -> Schedule:
    """The schedule; a dive that has none is not counted."""
    try:
        return make(request)
    except ScheduleImpossible:
        reject()


def must_agree(request: ScheduleRequest, made: Schedule) -> None:
    """Stop minutes, anchors, time of the way up and tensions are those of naive stepping."""
    naive = answer(request)
    halts = stop_minutes(request, made)
    expected = {round(depth_m, 6): minutes for depth_m, minutes in naive.halts_min if minutes > 0.0}
    assert set(halts) == set(expected)
    for depth_m, minutes in expected.items():
        close(halts[depth_m], minutes, within=1e-6, why=f"stop at {depth_m} m")
    close(made.tts_min, naive.up_min, within=1e-6)
    for diver in request.divers:
        close(made.anchor_m[diver], naive.anchor_m[diver], within=1e-6, why=f"anchor of {diver}")
        tissues = made.tissues[diver]
        for (n2, he), n2_bar, he_bar in zip(naive.bodies[diver], tissues.n2_bar, tissues.he_bar, strict=True):
            close(n2_bar, n2, within=1e-9)
            close(he_bar, he, within=1e-9)


@settings(max_examples=150)
@given(team_dives())
def test_whole_minutes_pass_the_verifier_and_agree_with_naive_stepping(request: ScheduleRequest) -> None:
    """Random teams of one to six: no violation, and the leader finds what stepping every minute finds."""
    must_agree(request, made_or_not(request))


@settings(max_examples=25)
@given(team_dives(seconds=True, most_divers=2, most_levels=2))
def test_whole_seconds_pass_the_verifier_and_agree_with_naive_stepping(request: ScheduleRequest) -> None:
    """The same with stops of whole seconds, on ways up that the oracle can step second by second."""
    made = made_or_not(request)
    assume(made.tts_min < STEPPED_MIN)
    must_agree(request, made)


@settings(max_examples=80)
@given(team_dives(wild=True, most_divers=3))
def test_the_leader_is_exact_without_monotony(request: ScheduleRequest) -> None:
    """Gases that bring helium back make tensions rise and fall at a stop; the answer is still that of stepping."""
    must_agree(request, made_or_not(request, unverified_schedule))


@settings(max_examples=80)
@given(team_dives(wild=True, most_divers=2))
def test_wild_gases_pass_or_are_refused_for_the_ceiling_alone(request: ScheduleRequest) -> None:
    """The replay passes a schedule on any gases, or names a ceiling broken while staying at one depth."""
    made = made_or_not(request, unverified_schedule)
    seen = replay(request, made.segments)
    assert {violation.kind for violation in seen.violations} <= {ViolationKind.CEILING}
    if seen.violations:
        with pytest.raises(Unverified):
            schedule(request)


def forced_units(request: ScheduleRequest, depth_m: float) -> float:
    """Units that the turns at a depth take."""
    bottom_m = request.levels[-1].depth_m
    count = sum(
        len(change.gas) for change in request.changes
        if change.direction is Direction.UP and abs(min(change.depth_m, bottom_m) - depth_m) < 1e-6
    )
    whole = 0
    while whole * request.stop_unit_min < count * request.switch_min - 1e-9:
        whole += 1
    return whole


def leave_at_travel_speed(request: ScheduleRequest, made: Schedule, number: int) -> Schedule:
    """With its first stop taken out whole, a team would still be at travel speed: so it leaves."""
    piece = made.segments[number + 1]
    single = request.ascent_m_min is not None or bool(request.zones)
    if single or piece.kind is not SegmentKind.ASCENT:
        return made
    fast_min = (piece.from_m - piece.to_m) / request.travel_m_min
    return replace(made, segments=with_minutes(made.segments, number + 1, fast_min))


@settings(max_examples=100)
@given(team_dives(most_divers=4))
def test_every_stop_shortened_by_its_unit_breaks_a_ceiling(request: ScheduleRequest) -> None:
    """No stop is a unit longer than needed, apart from the minimum that turns force."""
    made = made_or_not(request)
    halts = stop_minutes(request, made)
    up = on_the_way_up(request, made)
    held = [depth_m for depth_m, minutes in halts.items()
            if minutes / request.stop_unit_min > forced_units(request, depth_m) + 0.5]
    for number, piece in enumerate(made.segments):
        last_of_halt = number + 1 < len(made.segments) and made.segments[number + 1].kind is not SegmentKind.STOP
        if piece not in up or piece.kind is not SegmentKind.STOP or not last_of_halt:
            continue
        depth_m = round(piece.from_m, 6)
        if depth_m not in held:
            continue
        whole = made
        if depth_m == held[0] and halts[depth_m] < 1.5 * request.stop_unit_min:
            whole = leave_at_travel_speed(request, made, number)
        short = with_minutes(whole.segments, number, piece.minutes - request.stop_unit_min)
        kinds = {violation.kind for violation in replay(request, short).violations}
        assert ViolationKind.CEILING in kinds, f"the stop at {depth_m} m is a unit too long"


@settings(max_examples=60)
@given(team_dives(most_divers=4))
def test_the_order_of_divers_without_turns_changes_nothing(request: ScheduleRequest) -> None:
    """All at once: who is named first has no effect on stops, anchors or tensions (apart from rounding)."""
    request = replace(request, switch_min=0.0)
    made = made_or_not(request)
    other = schedule(replace(request, divers=tuple(reversed(request.divers))))
    assert stop_minutes(request, made) == stop_minutes(request, other)
    assert made.anchor_m == other.anchor_m
    for diver in request.divers:
        one, two = made.tissues[diver], other.tissues[diver]
        for bar, same_bar in zip(one.n2_bar + one.he_bar, two.n2_bar + two.he_bar, strict=True):
            close(bar, same_bar, within=1e-9)


@given(st.lists(tensions_bar, min_size=16, max_size=16), st.lists(tensions_bar, min_size=16, max_size=16))
def test_gf_zero_allows_no_supersaturation(n2_bar: list[float], he_bar: list[float]) -> None:
    """The ceiling at GF 0 is the deepest inert tension, whatever the gases."""
    highest_bar = max(n2 + he for n2, he in zip(n2_bar, he_bar, strict=True))
    close(ceiling_bar(n2_bar, he_bar, coefficients("C"), 0.0), highest_bar, within=1e-12)


@given(tensions_bar, st.floats(0.2, 1.8), st.floats(0.4, 0.97))
def test_gf_one_is_the_bare_model(inert_bar: float, a_bar: float, b: float) -> None:
    """(tension - a) b [BUHLMANN]."""
    close(tolerated_bar(inert_bar, a_bar, b, 1.0), (inert_bar - a_bar) * b, within=1e-9)


@given(tensions_bar, st.floats(0.2, 1.8), st.floats(0.4, 0.97), fractions, fractions)
def test_a_lower_gradient_factor_never_allows_more(
    inert_bar: float, a_bar: float, b: float, one: float, other: float
) -> None:
    """Wherever a tension is above ambient at all, the tolerated pressure falls as the gradient factor rises."""
    low, high = min(one, other), max(one, other)
    deep, shallow = tolerated_bar(inert_bar, a_bar, b, low), tolerated_bar(inert_bar, a_bar, b, high)
    assert shallow <= deep + 1e-12


@given(tensions_bar, tensions_bar, st.integers(0, 15))
def test_limits_of_a_mixture_lie_between_those_of_its_gases(n2: float, he: float, c: int) -> None:
    """a and b of helium and nitrogen are the two ends."""
    assume(n2 + he > 1e-9)
    constants = coefficients("C")
    a_bar = weighted(n2, he, constants.a_n2_bar[c], constants.a_he_bar[c])
    assert constants.a_n2_bar[c] - 1e-9 <= a_bar <= constants.a_he_bar[c] + 1e-9
    b = weighted(n2, he, constants.b_n2[c], constants.b_he[c])
    assert constants.b_he[c] - 1e-9 <= b <= constants.b_n2[c] + 1e-9


@given(tensions_bar, tensions_bar, fractions, fractions, st.floats(0.1, 60.0), st.floats(0.05, 0.95))
def test_the_result_does_not_depend_on_the_size_of_the_steps(
    n2: float, he: float, oxygen: float, share: float, minutes: float, cut: float
) -> None:
    """One piece or two, at rest or on the way up, in kernel and replay: the same tensions."""
    breath = Breath("c", oxygen, (1.0 - oxygen) * share)
    from_m, to_m = 30.0, 3.0
    middle_m = from_m + (to_m - from_m) * cut
    m_min = (from_m - to_m) / minutes
    body = Body(Rates(coefficients("C")), (n2,) * 16, (he,) * 16)
    whole = body.after_travel(breath, 4.0, 1.3, minutes).after_stay(breath, 1.3, minutes)
    parts = body.after_travel(breath, 4.0, 4.0 - 2.7 * cut, minutes * cut)
    parts = parts.after_travel(breath, 4.0 - 2.7 * cut, 1.3, minutes * (1.0 - cut))
    parts = parts.after_stay(breath, 1.3, minutes * cut).after_stay(breath, 1.3, minutes * (1.0 - cut))
    once = walked([((from_m, to_m, m_min),)], [minutes], n2, he, breath)
    twice = walked(
        [((from_m, middle_m, m_min),), ((middle_m, to_m, m_min),)], [minutes * cut, minutes * (1.0 - cut)],
        n2, he, breath,
    )
    for c in range(16):
        close(parts.n2_bar[c], whole.n2_bar[c], within=1e-10)
        close(parts.he_bar[c], whole.he_bar[c], within=1e-10)
    for one_bar, two_bar in zip(once, twice, strict=True):
        close(two_bar, one_bar, within=1e-10)


def walked(
    moves: list[tuple[tuple[float, float, float], ...]], waits_min: list[float], n2: float, he: float, breath: Breath
) -> list[float]:
    """The 32 tensions after changes of depth and then waits, by the kernel."""
    rows_n2, rows_he = [n2] * 16, [he] * 16
    for pieces in moves:
        steps = travel_table(pieces, Place(), "C")
        go(rows_n2, rows_he, 1, [breath.n2], [breath.he], steps.e_n2, steps.e_he, steps.k_n2, steps.k_he, 0)
    for wait_min in waits_min:
        stay(rows_n2, rows_he, 1, [breath.n2], [breath.he], 1.2, *decay(wait_min, "C"), 0)
    return rows_n2 + rows_he


@st.composite
def falling_gas_dives(draw: st.DrawFn) -> ScheduleRequest:
    """One diver, one level, and gases of which neither inert part rises on the way up; whole seconds."""
    chain: list[tuple[float, float, float]] = [(0.0, draw(tenths(18, 32, 100)), 0.0)]
    level_m = float(draw(st.integers(15, 60)))
    if draw(st.booleans()):
        chain += [(21.0, 0.5, 0.0)] * (level_m > 21.0) + [(6.0, 1.0, 0.0)]
    changes = tuple(
        GasChange(Direction.UP, depth_m, {"d1": Breath(f"{o2}", o2, he)}) for depth_m, o2, he in chain[1:]
    )
    return ScheduleRequest(
        ("d1",), {"d1": Breath("main", *chain[0][1:])}, (ProfileLevel(level_m, float(draw(st.integers(8, 40)))),),
        changes, Place(), gf_low=draw(tenths(10, 80, 100)), gf_high=draw(tenths(80, 100, 100)),
        stop_unit_min=1.0 / 60.0, ascent_m_min=9.0,
    )


def room_min(made: Schedule, request: ScheduleRequest) -> float:
    """One unit per halt: a stop ends on whole units from its own arrival, so a unit may be lost at each."""
    return request.stop_unit_min * (len(stop_minutes(request, made)) + 1)


def later(request: ScheduleRequest, by_m: float, by_min: float) -> ScheduleRequest:
    """The dive deeper or longer."""
    level = request.levels[0]
    return replace(request, levels=(ProfileLevel(level.depth_m + by_m, level.minutes + by_min),))


@settings(max_examples=60)
@given(falling_gas_dives(), tenths(1, 20, 100))
def test_a_lower_gf_high_never_surfaces_earlier(request: ScheduleRequest, by: float) -> None:
    """With the same GF low; beyond the unit that may be lost at a halt."""
    lower = replace(request, gf_high=max(request.gf_low, request.gf_high - by))
    made, stricter = made_or_not(request, unverified_schedule), made_or_not(lower, unverified_schedule)
    assert stricter.runtime_min >= made.runtime_min - room_min(made, request)


@settings(max_examples=60)
@given(falling_gas_dives(), tenths(1, 20, 100))
def test_a_lower_flat_line_never_surfaces_earlier(request: ScheduleRequest, by: float) -> None:
    """GF low = GF high, both lowered."""
    flat = replace(request, gf_low=request.gf_high)
    lower = replace(request, gf_low=request.gf_high - by, gf_high=request.gf_high - by)
    made, stricter = made_or_not(flat, unverified_schedule), made_or_not(lower, unverified_schedule)
    assert stricter.runtime_min >= made.runtime_min - room_min(made, flat)


@settings(max_examples=60)
@given(falling_gas_dives(), st.sampled_from([0.0, 1.0, 3.0]), st.sampled_from([0.0, 1.0, 5.0]))
def test_deeper_or_longer_never_shortens_the_way_up(request: ScheduleRequest, by_m: float, by_min: float) -> None:
    """On a flat line, or on a sloping one whose anchor stays; beyond the unit that may be lost at a halt."""
    for base in (replace(request, gf_low=request.gf_high), request):
        made = made_or_not(base, unverified_schedule)
        more = made_or_not(later(base, by_m, by_min), unverified_schedule)
        if base.gf_low == base.gf_high or made.anchor_m == more.anchor_m:
            assert more.tts_min >= made.tts_min - room_min(made, base)


def test_a_lower_gf_low_can_surface_earlier() -> None:
    """Why "more conservative" is said of GF high only: from a deeper anchor the line is flatter and allows more.

    65 m, 50 min on air by these rules: GF 29/80 anchors at 39 m, GF 30/80 at 36 m, and the first surfaces sooner.
    """
    made = [
        unverified_schedule(ScheduleRequest(
            ("d1",), {"d1": Breath("main", 0.21, 0.0)}, (ProfileLevel(65.0, 50.0),), (), Place(),
            gf_low=gf_low, gf_high=0.8, stop_unit_min=1.0 / 60.0,
        ))
        for gf_low in (0.29, 0.30)
    ]
    assert [item.anchor_m["d1"] for item in made] == [39.0, 36.0]
    assert made[0].runtime_min < made[1].runtime_min


def test_a_longer_dive_can_be_up_sooner_where_its_anchor_is_deeper() -> None:
    """Why "longer" is said of an anchor that stays: a minute more moves the anchor from 9 to 12 m.

    28 m on 28 %, oxygen at 6 m, GF 20/70: the deeper anchor gives a flatter line.
    """
    found = [
        unverified_schedule(ScheduleRequest(
            ("d1",), {"d1": Breath("main", o2, 0.0)}, (ProfileLevel(28.0, minutes),),
            (
                GasChange(Direction.UP, 21.0, {"d1": Breath("deco", 0.5, 0.0)}),
                GasChange(Direction.UP, 6.0, {"d1": Breath("oxygen", 1.0, 0.0)}),
            ),
            Place(), gf_low=0.2, gf_high=0.7, stop_unit_min=1.0 / 60.0, ascent_m_min=speed_m_min,
        ))
        for o2 in (0.21, 0.28, 0.32) for speed_m_min in (None, 9.0) for minutes in (40.0, 41.0)
    ]
    pairs = list(zip(found[::2], found[1::2], strict=True))
    sooner = [(one, more) for one, more in pairs if more.tts_min < one.tts_min - 1.0 / 60.0]
    assert sooner
    assert all(more.anchor_m["d1"] > one.anchor_m["d1"] for one, more in sooner)


def test_set_c_is_longer_than_b_and_b_than_a() -> None:
    """A smaller a never shortens the way up; flat line."""
    made = {
        name: schedule(ScheduleRequest(
            ("d1",), {"d1": Breath("main", 0.21, 0.0)}, (ProfileLevel(40.0, 30.0),), (), Place(),
            gf_low=0.9, gf_high=0.9, coefficient_set=name,
        )).tts_min
        for name in ("A", "B", "C")
    }
    assert made["A"] < made["B"] < made["C"]
