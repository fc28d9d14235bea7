"""Repetitive dives: tissues and oxygen carried over surface intervals, altitude, and the time to fly or drive."""

import math
from dataclasses import replace

import pytest
from scipy.integrate import solve_ivp

from check import close
from gaswright.decompression.ceiling_limits import ceiling_bar
from gaswright.decompression.coefficients import VAPOUR_BAR, coefficients
from gaswright.decompression.request import Tissues
from gaswright.decompression.surface_interval import tissues_after
from gaswright.errors import InputError, RangeError
from gaswright.physics.mixture import AIR
from gaswright.physics.place import Place, surface_bar_at
from gaswright.planning.afterwards import LONGEST_H, hours_until
from gaswright.planning.around import Before, resting_tissues
from gaswright.planning.carried import before_next
from gaswright.planning.dive import Level, Plan, Settings, TeamDive
from gaswright.planning.kit import kit_of
from gaswright.planning.plan import plan
from unit.planning.dives import POLICY, STRICT, deco, dive

PLAIN = replace(dive(), settings=Settings(cases=()))


def after(first: TeamDive, interval_min: float, second: TeamDive, days: int = 0) -> Plan:
    """The plan of a dive after another."""
    return plan(second, POLICY, before_next(first, plan(first, POLICY), interval_min, days, second.place))


def tts_min(made: Plan) -> float:
    """The TTS of the planned dive."""
    assert made.planned.schedule is not None
    return made.planned.schedule.tts_min


def test_tissues_at_the_surface_follow_the_differential_equation() -> None:
    """Air at the surface: dp/dt = ln 2 / T (p_inspired - p), solved by scipy, for nitrogen and helium."""
    made = plan(PLAIN, POLICY).planned.schedule
    assert made is not None
    held = made.tissues["d1"]
    rested = tissues_after(held, 95.0, STRICT)
    half = coefficients("C")
    inspired = (STRICT.surface_bar - VAPOUR_BAR) * AIR.n2
    for halves, before, now, to_bar in (
        (half.n2_half_min, held.n2_bar, rested.n2_bar, inspired), (half.he_half_min, held.he_bar, rested.he_bar, 0.0),
    ):
        rates = [math.log(2.0) / h for h in halves]
        solved = solve_ivp(
            lambda _, p, rates=rates, to_bar=to_bar: [r * (to_bar - x) for r, x in zip(rates, p, strict=True)],
            (0.0, 95.0), before, rtol=1e-10, atol=1e-12,
        )
        for mine, theirs in zip(now, solved.y[:, -1], strict=True):
            close(mine, float(theirs), within=1e-7)


@pytest.mark.parametrize("minutes", [-1.0, math.nan, math.inf, 1e9])
def test_a_time_that_is_none_is_refused(minutes: float) -> None:
    """A negative, endless or absurd interval is refused."""
    with pytest.raises(RangeError):
        tissues_after(resting_tissues(STRICT), minutes, STRICT)


def test_a_second_dive_is_longer_and_the_sooner_the_longer() -> None:
    """The same dive after 1 h takes longer on the way up than after 4 h, and that longer than the first."""
    first, soon, late = plan(PLAIN, POLICY), after(PLAIN, 60.0, PLAIN), after(PLAIN, 240.0, PLAIN)
    assert tts_min(soon) > tts_min(late) >= tts_min(first)


def test_after_a_month_it_is_a_first_dive_again() -> None:
    """Nothing is left: stop by stop the schedule of a fresh team."""
    first, late = plan(PLAIN, POLICY), after(PLAIN, 30 * 1440.0, PLAIN, days=30)
    assert first.planned.schedule is not None
    assert late.planned.schedule is not None
    assert [(s.to_m, round(s.minutes, 6)) for s in first.planned.schedule.segments] == [
        (s.to_m, round(s.minutes, 6)) for s in late.planned.schedule.segments]


def test_who_made_no_earlier_dive_is_rested() -> None:
    """A diver who joins for the second dive begins saturated with air; the one who dived does not."""
    alone = replace(dive(team=1), settings=Settings(cases=()))
    brought = before_next(alone, plan(alone, POLICY), 60.0, 0, STRICT)
    assert set(brought.tissues) == {"d1"}
    fresh = plan(replace(PLAIN, before=Before(60.0, {"d1": resting_tissues(STRICT)}, {})), POLICY)
    assert tts_min(plan(PLAIN, POLICY, brought)) >= tts_min(fresh)


def test_who_sits_out_a_dive_rests_through_it() -> None:
    """One who dived in the morning and not at noon has rested the noon dive and both intervals."""
    morning = plan(PLAIN, POLICY)
    alone = replace(dive(team=1), settings=Settings(cases=()), before=before_next(PLAIN, morning, 60.0, 0, STRICT))
    noon = plan(alone, POLICY)
    assert noon.printed is not None
    assert morning.printed is not None
    brought = before_next(alone, noon, 30.0, 0, STRICT)
    away_min = 60.0 + noon.printed.runtime_min + 30.0
    rested = tissues_after(morning.printed.tissues["d2"], away_min, STRICT)
    for mine, theirs in zip(brought.tissues["d2"].n2_bar, rested.n2_bar, strict=True):
        close(mine, theirs, within=1e-9)


def test_three_dives_carry_all_the_way() -> None:
    """What the first leaves reaches the third through the second: tissues, and each dive's oxygen at its own time."""
    one = plan(PLAIN, POLICY)
    second = replace(PLAIN, before=before_next(PLAIN, one, 60.0, 0, STRICT))
    two = plan(second, POLICY)
    third = before_next(second, two, 900.0, 1, STRICT)
    doses = third.doses["d1"]
    assert [dose.days_ago for dose in doses] == [1, 1]
    printed = two.printed
    assert printed is not None
    close(doses[0].ended_min, 900.0, within=1e-9)
    close(doses[1].ended_min, 900.0 + printed.runtime_min + 60.0, within=1e-9)
    close(doses[1].otu, one.planned.oxygen["d1"].otu, within=1e-9)
    assert third.tissues["d1"].n2_bar[15] > before_next(PLAIN, one, 900.0, 1, STRICT).tissues["d1"].n2_bar[15]


def test_a_dive_without_a_schedule_leaves_nothing_to_build_on() -> None:
    """Tissues after a dive that cannot be made are unknown: refused, not guessed."""
    impossible = replace(PLAIN, levels=(Level(60.0, 30.0), Level(6.0, 10.0)))
    with pytest.raises(InputError, match="no schedule"):
        before_next(impossible, plan(impossible, POLICY), 60.0, 0, STRICT)


def test_a_dose_beyond_the_table_leaves_nothing_to_build_on() -> None:
    """Oxygen at 9 m passes the table: the dose is unknown, so the next dive is refused."""
    rich = replace(PLAIN, cylinders=tuple(
        deco("o-d1", "d1", (100, 0), switch_depth_m=9.0) if c.id == "o-d1" else c for c in PLAIN.cylinders))
    with pytest.raises(InputError, match="leaves the oxygen table"):
        before_next(rich, plan(rich, POLICY), 60.0, 0, STRICT)


def test_oxygen_adds_up_in_the_answer() -> None:
    """Two dives 3 h apart: single as alone, 24 h and OTU as the sum; 1 h apart the single exposure adds up too."""
    alone = plan(PLAIN, POLICY).planned.oxygen["d1"]
    far, near = (after(PLAIN, minutes, PLAIN).planned.oxygen["d1"] for minutes in (180.0, 60.0))
    close(alone.single_percent, alone.cns_percent, within=1e-9)
    close(far.single_percent, far.cns_percent, within=1e-9)
    close(far.day_percent, far.day_own_percent + alone.day_own_percent, within=1e-9)
    close(far.day_otu, far.otu + alone.otu, within=1e-9)
    close(near.single_percent, near.cns_percent + alone.cns_percent, within=1e-9)


# ---- altitude ---------------------------------------------------------------------------------------------------


def test_just_arrived_is_longer_than_acclimatised() -> None:
    """At 2000 m a team that comes from sea level brings nitrogen: its way up takes longer than a resident team's."""
    low_bar = surface_bar_at(2000.0)
    arrived = Place(surface_bar=low_bar, water_temperature_k=281.15)
    at_home = replace(arrived, saturated_bar=low_bar)
    new, old = (plan(replace(PLAIN, place=place), POLICY) for place in (arrived, at_home))
    assert tts_min(new) >= tts_min(old)
    assert new.planned.schedule is not None
    assert old.planned.schedule is not None
    pairs = zip(new.planned.schedule.tissues["d1"].n2_bar, old.planned.schedule.tissues["d1"].n2_bar, strict=True)
    assert all(one > other for one, other in list(pairs)[8:])


def test_the_same_depth_is_a_deeper_dive_at_altitude() -> None:
    """At altitude a depth counts as a deeper one (US Navy Diving Manual Rev 4 table 9-3): the way up is longer."""
    high = Place(surface_bar=surface_bar_at(2000.0), water_temperature_k=281.15, saturated_bar=surface_bar_at(2000.0))
    shallow = replace(PLAIN, levels=(Level(33.0, 25.0),))
    assert tts_min(plan(replace(shallow, place=high), POLICY)) > tts_min(plan(shallow, POLICY))


# ---- afterwards -------------------------------------------------------------------------------------------------


def test_flying_waits_at_least_the_hours_of_the_policy() -> None:
    """24 h, better 48 h after a decompression dive (Aviat Space Environ Med 1990;61(12):1130-8)."""
    when = plan(PLAIN, POLICY).afterwards["d1"]
    assert (when.fly_h, when.fly_better_h) == (24.0, 48.0)
    assert when.fly_tissues_h is not None
    assert 0.0 < when.fly_tissues_h < 24.0


def test_a_dive_without_stops_waits_the_shorter_hours() -> None:
    """No halt on the way up: both figures are the 24 h."""
    easy = replace(PLAIN, levels=(Level(12.0, 10.0),), cylinders=PLAIN.cylinders[:1] + PLAIN.cylinders[3:4])
    when = plan(easy, POLICY).afterwards["d1"]
    assert (when.fly_h, when.fly_better_h) == (24.0, 24.0)


def test_the_hour_of_the_tissues_is_the_first_that_the_ceiling_allows() -> None:
    """An hour sooner the ceiling at the team's GF low lies above the cabin's pressure, at the hour it does not."""
    kit = kit_of(PLAIN, POLICY)
    made = plan(PLAIN, POLICY).planned.schedule
    assert made is not None
    held = made.tissues["d1"]
    hours = hours_until(kit, held, POLICY.cabin_bar)
    assert hours is not None

    def ceiling(after_h: float) -> float:
        rested = tissues_after(held, after_h * 60.0, STRICT)
        return ceiling_bar(rested.n2_bar, rested.he_bar, coefficients("C"), 0.3)

    assert ceiling(hours) <= POLICY.cabin_bar < ceiling(hours - 1.0)


def test_gas_that_comes_in_later_is_looked_at() -> None:
    """Empty tissues allow 0.5 bar at once and no longer once they have filled with air: that is no hour to name."""
    empty = Tissues((0.0,) * 16, (0.0,) * 16)
    kit = kit_of(replace(PLAIN, settings=Settings(gf_low=10.0, cases=())), POLICY)
    assert ceiling_bar(empty.n2_bar, empty.he_bar, coefficients("C"), 0.1) < 0.5
    assert hours_until(kit, empty, 0.5) is None


def test_a_pass_is_asked_of_the_tissues_and_a_higher_one_takes_longer() -> None:
    """No pass, no hours; a pass of 2000 m takes at least as long as one of 1000 m."""
    assert plan(PLAIN, POLICY).afterwards["d1"].pass_h is None
    low, high = (
        plan(replace(PLAIN, pass_bar=surface_bar_at(m)), POLICY).afterwards["d1"].pass_h for m in (1000.0, 2000.0)
    )
    assert low is not None
    assert high is not None
    assert 0.0 < low <= high


def test_a_pass_that_no_hour_allows_has_none() -> None:
    """Air at sea level leaves more than half an atmosphere of nitrogen: no rest there allows 0.4 bar."""
    kit = kit_of(PLAIN, POLICY)
    made = plan(PLAIN, POLICY).planned.schedule
    assert made is not None
    assert hours_until(kit, made.tissues["d1"], 0.4) is None
    assert LONGEST_H == 72
