"""Mixtures, narcosis, density and consumption."""

import math

import pytest

from check import close
from gaswright.errors import InputError, RangeError
from gaswright.physics.consumption import used_l
from gaswright.physics.density import density_g_l, molar_mass_g_mol
from gaswright.physics.mixture import AIR, Mixture
from gaswright.physics.narcosis import (
    ead_ft,
    ead_m,
    end_nitrogen_only_ft,
    end_nitrogen_only_m,
    end_oxygen_narcotic_ft,
    end_oxygen_narcotic_m,
)
from gaswright.physics.place import ATM_BAR

TRIMIX = Mixture(1800, 4500)


@pytest.mark.parametrize(("o2_e4", "he_e4"), [(0, 0), (-1, 0), (2100, -1), (10_001, 0), (5_001, 5_000)])
def test_an_impossible_mixture_is_refused(o2_e4: int, he_e4: int) -> None:
    """No oxygen, a negative part or more than the whole is no breathing gas."""
    with pytest.raises(InputError) as caught:
        Mixture(o2_e4, he_e4)
    assert caught.type is InputError


@pytest.mark.parametrize(
    ("mixture", "name"),
    [
        (Mixture(9800), "OXYGEN"),
        (Mixture(9799), "97.99 %"),
        (Mixture(4960), "49.6 %"),
        (Mixture(5000), "50 %"),
        (Mixture(1820, 4460), "18.2/44.6"),
        (AIR, "20.95 %"),
    ],
)
def test_a_gas_is_named_by_what_was_read(mixture: Mixture, name: str) -> None:
    """The name shows every digit read, and oxygen is spelled out from 98 %."""
    assert mixture.name == name


def test_fractions_add_up_to_one() -> None:
    """Nitrogen is exactly the rest."""
    close(TRIMIX.o2 + TRIMIX.he + TRIMIX.n2, 1.0, within=1e-15)
    close(TRIMIX.n2, 0.37, within=1e-15)


def test_only_the_strict_convention_counts_oxygen() -> None:
    """EAN32 is as narcotic as air with oxygen counted, less without (published formulas)."""
    close(end_oxygen_narcotic_m(Mixture(3200), 30.0), 30.0, within=1e-12)
    close(end_nitrogen_only_m(Mixture(3200), 30.0), 24.43, within=0.005)


def test_feet_and_metres_agree() -> None:
    """At depths that are the same in ata the equivalent depths are the same in ata."""
    close(end_oxygen_narcotic_ft(TRIMIX, 198.0) / 33, end_oxygen_narcotic_m(TRIMIX, 60.0) / 10, within=1e-12)
    close(end_nitrogen_only_ft(TRIMIX, 198.0) / 33, end_nitrogen_only_m(TRIMIX, 60.0) / 10, within=1e-12)
    close(ead_ft(Mixture(3600), 99.0) / 33, ead_m(Mixture(3600), 30.0) / 10, within=1e-12)


def test_no_equivalent_depth_lies_above_the_surface() -> None:
    """Heliox is never narcotic by nitrogen, and a helium mix at the surface is less so than air: 0."""
    close(end_nitrogen_only_m(Mixture(2100, 7900), 90.0), 0.0, within=0.0)
    close(end_oxygen_narcotic_m(TRIMIX, 0.0), 0.0, within=0.0)


@pytest.mark.parametrize("depth", [-0.1, 1650.1, math.nan, math.inf])
def test_a_depth_that_cannot_be_is_refused(depth: float) -> None:
    """A negative, endless or missing depth is refused by every equivalent depth."""
    for equivalent in (end_oxygen_narcotic_m, end_nitrogen_only_m, ead_m, end_oxygen_narcotic_ft,
                       end_nitrogen_only_ft, ead_ft):
        with pytest.raises(RangeError) as caught:
            equivalent(AIR, depth)
        assert caught.type is RangeError


def test_air_weighs_what_it_weighs() -> None:
    """Air is its two gases, argon counted as nitrogen; real air is 28.96 g/mol (from memory): argon costs 0.4 %."""
    close(molar_mass_g_mol(AIR), 0.2095 * 31.998 + 0.7905 * 28.014, within=1e-9)
    close(molar_mass_g_mol(AIR), 28.96, within=28.96 * 0.005)


def test_density_of_air_at_0_c_and_one_atmosphere() -> None:
    """Air at 0 C and 1 atm is 1.293 g/L in physics tables (from memory); argon costs 0.4 %."""
    close(density_g_l(AIR, ATM_BAR), 1.293, within=0.0065, why="0.0052 for argon, 0.0008 real gas, 0.0005 printed")


def test_helium_thins_a_gas() -> None:
    """18/45 at 60 m is lighter than air at 39 m, the depth of the upper published limit."""
    assert density_g_l(TRIMIX, 7.0) < density_g_l(AIR, 4.9)


@pytest.mark.parametrize("absolute_bar", [-0.1, 60.1, math.nan])
def test_density_outside_its_range_is_refused(absolute_bar: float) -> None:
    """A pressure that no diver breathes at is refused."""
    with pytest.raises(RangeError) as caught:
        density_g_l(AIR, absolute_bar)
    assert caught.type is RangeError


def test_consumption_is_counted_in_litres_at_one_atmosphere() -> None:
    """At the standard atmosphere a minute uses the RMV; at four times the pressure four times as much."""
    close(used_l(20.0, ATM_BAR, 1.0), 20.0, within=1e-12)
    close(used_l(20.0, 4 * ATM_BAR, 10.0), 800.0, within=1e-9)
    close(used_l(20.0, 4.0, 0.0), 0.0, within=0.0)


@pytest.mark.parametrize(
    ("rmv", "ambient", "minutes"),
    [
        (-1.0, 1.0, 1.0), (501.0, 1.0, 1.0), (20.0, -1.0, 1.0), (20.0, 61.0, 1.0), (20.0, 1.0, -1.0),
        (20.0, 1.0, math.nan),
    ],
)
def test_consumption_outside_its_ranges_is_refused(rmv: float, ambient: float, minutes: float) -> None:
    """A negative, endless or missing rate, pressure or time is refused."""
    with pytest.raises(RangeError) as caught:
        used_l(rmv, ambient, minutes)
    assert caught.type is RangeError
