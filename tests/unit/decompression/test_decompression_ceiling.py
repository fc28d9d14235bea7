"""Ceilings: the two limits of the gradient factor, the line, and the curve for the picture."""

import pytest

from check import close
from gaswright.decompression.ceiling import ceiling_curve
from gaswright.decompression.ceiling_limits import ceiling_bar, line_ceiling_bar, tolerated_bar, weighted
from gaswright.decompression.coefficients import coefficients
from gaswright.decompression.kernel import line_gf
from gaswright.decompression.request import ProfileLevel, Segment
from gaswright.decompression.scheduler import schedule
from gaswright.errors import InputError, RangeError
from oracles.teams import sixty_metres

N2_BAR = tuple(2.9 - 0.12 * c for c in range(16))
HE_BAR = tuple(2.0 - 0.12 * c for c in range(16))


def depth_at(segments: tuple[Segment, ...], at_min: float) -> float:
    """Depth at a runtime."""
    for piece in segments:
        if at_min <= piece.end_min + 1e-9:
            share = (at_min - piece.start_min) / piece.minutes
            return piece.from_m + (piece.to_m - piece.from_m) * share
    return 0.0


def test_at_gf_zero_the_ceiling_is_the_deepest_inert_tension() -> None:
    """No supersaturation is allowed: ambient pressure must hold the highest tension."""
    highest_bar = max(n2 + he for n2, he in zip(N2_BAR, HE_BAR, strict=True))
    close(ceiling_bar(N2_BAR, HE_BAR, coefficients("C"), 0.0), highest_bar, within=1e-12)


def test_at_gf_one_the_ceiling_is_that_of_the_bare_model() -> None:
    """(tension - a) b, the highest of the sixteen [BUHLMANN]."""
    constants = coefficients("C")
    bare_bar = max(
        (n2 + he - weighted(n2, he, constants.a_n2_bar[c], constants.a_he_bar[c]))
        * weighted(n2, he, constants.b_n2[c], constants.b_he[c])
        for c, (n2, he) in enumerate(zip(N2_BAR, HE_BAR, strict=True))
    )
    close(ceiling_bar(N2_BAR, HE_BAR, constants, 1.0), bare_bar, within=1e-12)


def test_a_tissue_of_one_gas_has_the_limits_of_that_gas() -> None:
    """Helium alone and nitrogen alone: the weights leave one gas's a and b."""
    assert weighted(2.0, 0.0, 0.4, 0.6) == 0.4
    assert weighted(0.0, 2.0, 0.4, 0.6) == 0.6
    close(tolerated_bar(2.0, 0.4, 0.9, 1.0), (2.0 - 0.4) * 0.9, within=1e-12)


@pytest.mark.parametrize(("anchor_bar", "scale"), [(1.31, 0.47), (2.2, 0.6), (4.0, 0.75)])
def test_the_ceiling_of_the_line_is_where_the_line_is_met(anchor_bar: float, scale: float) -> None:
    """At the ceiling the gradient factor of that depth is exactly used up by the leading compartment."""
    constants = coefficients("C")
    n2_bar, he_bar = tuple(scale * bar for bar in N2_BAR), tuple(scale * bar for bar in HE_BAR)
    found_bar = line_ceiling_bar(n2_bar, he_bar, constants, 0.3, 0.8, anchor_bar, 1.013)
    gf = line_gf(0.3, 0.8, anchor_bar, 1.013, min(found_bar, anchor_bar))
    assert found_bar > 1.013
    close(ceiling_bar(n2_bar, he_bar, constants, gf), found_bar, within=1e-9)


def test_a_schedule_stays_at_or_below_its_ceiling() -> None:
    """On the way up the team is never above its ceiling, and at the end the ceiling is the surface."""
    request = sixty_metres(3)
    made = schedule(request)
    curve = ceiling_curve(request, made, 0.5)
    assert max(ceiling_m for _, ceiling_m in curve) > 20.0
    for at_min, ceiling_m in curve:
        if at_min >= 25.0:
            assert 0.0 <= ceiling_m <= depth_at(made.segments, at_min) + 1e-6
    close(curve[-1][0], made.runtime_min, within=1e-9)
    assert curve[-1][1] == 0.0


def test_the_curve_has_every_minute_and_every_end_of_a_segment() -> None:
    """Whole minutes and segment ends, in order, each once."""
    request = sixty_metres(levels=(ProfileLevel(30.0, 20.0),), changes=())
    made = schedule(request)
    times_min = [at_min for at_min, _ in ceiling_curve(request, made)]
    assert times_min == sorted(set(times_min))
    assert {piece.end_min for piece in made.segments} <= set(times_min)
    for minute in range(int(made.runtime_min)):
        close(min(times_min, key=lambda at_min: abs(at_min - minute)), float(minute), within=1e-9)


def test_a_useless_distance_of_points_is_refused() -> None:
    """Zero would never end."""
    request = sixty_metres()
    made = schedule(request)
    with pytest.raises(RangeError):
        ceiling_curve(request, made, 0.0)


def test_an_unknown_set_is_refused() -> None:
    """Only A, B and C exist."""
    with pytest.raises(InputError):
        coefficients("D")
