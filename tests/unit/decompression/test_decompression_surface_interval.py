"""Tissues between dives, and when they tolerate a lower pressure."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from check import close
from gaswright.decompression.ceiling_limits import ceiling_bar
from gaswright.decompression.coefficients import VAPOUR_BAR, coefficients
from gaswright.decompression.request import Tissues
from gaswright.decompression.scheduler import schedule
from gaswright.decompression.surface_interval import minutes_until_tolerated, tissues_after
from gaswright.errors import InputError, RangeError
from gaswright.physics.place import Place, surface_bar_at
from oracles.teams import sixty_metres

SEA = Place()
AFTER = schedule(sixty_metres()).tissues["d1"]


def test_an_interval_agrees_with_an_ode_solver() -> None:
    """Three hours on air at 0.9 bar: the tensions that scipy's solve_ivp finds."""
    constants = coefficients("C")
    rates = math.log(2.0) / np.array(constants.n2_half_min + constants.he_half_min)
    inspired = (0.9 - VAPOUR_BAR) * np.repeat([0.7905, 0.0], 16)
    start = np.array(AFTER.n2_bar + AFTER.he_bar)
    end = solve_ivp(lambda _, bar: rates * (inspired - bar), (0.0, 180.0), start, rtol=1e-10, atol=1e-12).y[:, -1]
    then = tissues_after(AFTER, 180.0, Place(surface_bar=0.9))
    for actual, expected in zip(then.n2_bar + then.he_bar, end, strict=True):
        close(actual, float(expected), within=1e-7)


def test_two_intervals_are_one() -> None:
    """40 min and then 50 are 90."""
    parts, whole = tissues_after(tissues_after(AFTER, 40.0, SEA), 50.0, SEA), tissues_after(AFTER, 90.0, SEA)
    for part, bar in zip(parts.n2_bar + parts.he_bar, whole.n2_bar + whole.he_bar, strict=True):
        close(part, bar, within=1e-12)


def test_no_time_changes_nothing_and_a_long_time_ends_saturated_with_air() -> None:
    """0 min: the same tensions; ten weeks: air at the surface, no helium."""
    assert tissues_after(AFTER, 0.0, SEA) == AFTER
    then = tissues_after(AFTER, 100_000.0, SEA)
    for n2_bar, he_bar in zip(then.n2_bar, then.he_bar, strict=True):
        close(n2_bar, (SEA.surface_bar - VAPOUR_BAR) * 0.7905, within=1e-9)
        close(he_bar, 0.0, within=1e-9)


def test_a_longer_interval_never_lengthens_the_next_dive() -> None:
    """The same dive again after 1, 2, 4, 12 hours, and fresh: shorter or equal each time."""
    ways_up = [
        schedule(sixty_metres(tissues={"d1": tissues_after(AFTER, 60.0 * hours, SEA)})).tts_min
        for hours in (1, 2, 4, 12, 1000)
    ]
    assert ways_up == sorted(ways_up, reverse=True)
    assert ways_up[-1] < ways_up[0]
    close(ways_up[-1], schedule(sixty_metres()).tts_min, within=1e-9)


def test_the_pass_is_tolerated_at_the_minute_found_and_not_the_minute_before() -> None:
    """A pass of 2000 m after the dive: the first minute whose ceiling allows it, and all after it."""
    lower_bar, constants = surface_bar_at(2000.0), coefficients("C")
    minutes = minutes_until_tolerated(AFTER, SEA, lower_bar, gf=0.8)
    assert minutes is not None
    assert minutes > 0
    for minute in (minutes, minutes + 1, minutes + 60, minutes + 600):
        then = tissues_after(AFTER, minute, SEA)
        assert ceiling_bar(then.n2_bar, then.he_bar, constants, 0.8) <= lower_bar
    then = tissues_after(AFTER, minutes - 1, SEA)
    assert ceiling_bar(then.n2_bar, then.he_bar, constants, 0.8) > lower_bar


def test_a_higher_pass_or_a_lower_gradient_factor_never_comes_sooner() -> None:
    """500, 1500, 2500 m; gradient factors 1.0, 0.8, 0.6."""
    by_height = [minutes_until_tolerated(AFTER, SEA, surface_bar_at(m), gf=0.8) or 0 for m in (500.0, 1500.0, 2500.0)]
    assert by_height == sorted(by_height)
    by_gf = [minutes_until_tolerated(AFTER, SEA, surface_bar_at(1500.0), gf=gf) or 0 for gf in (1.0, 0.8, 0.6)]
    assert by_gf == sorted(by_gf)
    assert by_gf[0] < by_gf[-1]


def test_a_pressure_that_is_never_tolerated_has_no_minute() -> None:
    """Half a bar at GF 1 % from tissues saturated at sea level: not in three days."""
    rest = tissues_after(AFTER, 100_000.0, SEA)
    assert minutes_until_tolerated(rest, SEA, 0.5, gf=0.01) is None


def test_the_surface_itself_is_tolerated_at_once_after_a_dive() -> None:
    """The schedule surfaced within GF high, so 0 min."""
    assert minutes_until_tolerated(AFTER, SEA, SEA.surface_bar, gf=0.8) == 0


@pytest.mark.parametrize("minutes", [-1.0, math.nan, math.inf, 1e6])
def test_times_out_of_range_are_refused(minutes: float) -> None:
    """Negative, no number, endless, ten years."""
    with pytest.raises(RangeError):
        tissues_after(AFTER, minutes, SEA)


def test_tensions_and_settings_out_of_range_are_refused() -> None:
    """Fifteen compartments, NaN, a pressure above the surface's, GF 0, no such set."""
    with pytest.raises(InputError):
        tissues_after(Tissues(AFTER.n2_bar[1:], AFTER.he_bar), 1.0, SEA)
    with pytest.raises(InputError):
        tissues_after(Tissues((math.nan, *AFTER.n2_bar[1:]), AFTER.he_bar), 1.0, SEA)
    with pytest.raises(RangeError):
        minutes_until_tolerated(AFTER, SEA, 1.2, gf=0.8)
    with pytest.raises(RangeError):
        minutes_until_tolerated(AFTER, SEA, 0.8, gf=0.0)
    with pytest.raises(InputError):
        minutes_until_tolerated(AFTER, SEA, 0.8, gf=0.8, coefficient_set="D")
