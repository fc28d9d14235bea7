"""The place of a dive."""

import math
from itertools import pairwise

import pytest

from check import close
from gaswright.errors import InputError, RangeError
from gaswright.physics.place import ATM_BAR, EN13319_BAR_PER_M, Place, bar_per_m_of, surface_bar_at


def test_sea_level_is_one_standard_atmosphere() -> None:
    """At altitude 0 the standard atmosphere has exactly 1.01325 bar (ISO 2533)."""
    close(surface_bar_at(0.0), 1.01325, within=0.0)


def test_pressure_falls_with_altitude() -> None:
    """Every 100 m higher the standard pressure is lower."""
    pressures = [surface_bar_at(float(altitude)) for altitude in range(-500, 5001, 100)]
    assert all(lower > higher for lower, higher in pairwise(pressures))


@pytest.mark.parametrize("altitude_m", [-500.1, 5000.1, math.nan, math.inf, -math.inf])
def test_altitude_outside_its_range_is_refused(altitude_m: float) -> None:
    """An altitude outside -500 to 5000 m, or none at all, is refused with value and range, never clamped."""
    with pytest.raises(RangeError) as caught:
        surface_bar_at(altitude_m)
    assert caught.type is RangeError
    assert (caught.value.low, caught.value.high, caught.value.unit) == (-500.0, 5000.0, "m")


@pytest.mark.parametrize(
    ("water", "expected"),
    [
        ("en13319", 0.1),  # EN 13319, from memory: 10 m shown = 1 bar
        ("salt", 0.1005181625),  # 1025 kg/m3 x 9.80665 m/s2, arithmetic
        ("fresh", 0.0980665),  # 1000 kg/m3 x 9.80665 m/s2, arithmetic
        (1030, 0.101008495),  # the same
    ],
)
def test_one_metre_of_each_water(water: str | float, expected: float) -> None:
    """A named water, or a density, gives density times standard gravity; gauges their own convention."""
    close(bar_per_m_of(water), expected, within=1e-12)


@pytest.mark.parametrize("water", ["Salt", "sea", "", "1025", True])
def test_an_unknown_water_is_refused(water: str | float) -> None:
    """A word that is not one of the three, or a truth value, is refused and the allowed ones are named."""
    with pytest.raises(InputError, match=r'"en13319", "salt", "fresh"') as caught:
        bar_per_m_of(water)
    assert caught.type is InputError


@pytest.mark.parametrize("water", [989.9, 1040.1, 1.025, 0, math.nan, math.inf])
def test_a_density_outside_its_range_is_refused(water: float) -> None:
    """A density that is no water (g/cm3 instead of kg/m3, say) is refused."""
    with pytest.raises(RangeError) as caught:
        bar_per_m_of(water)
    assert caught.type is RangeError


def test_ambient_pressure_is_surface_plus_water() -> None:
    """Thirty metres shown are 3 bar more than the surface, at any altitude (EN 13319)."""
    close(Place().ambient_bar(30.0), ATM_BAR + 3.0, within=1e-12)
    close(Place(0.8, EN13319_BAR_PER_M).ambient_bar(30.0), 3.8, within=1e-12)
