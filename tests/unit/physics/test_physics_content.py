"""What a cylinder holds."""

import math

import pytest

from check import close
from gaswright.errors import RangeError
from gaswright.physics.content import (
    GAUGE_MAX_BAR,
    GAUGE_MIN_BAR,
    ContentExhausted,
    free_litres,
    gauge_bar_after,
    gauge_bar_at_temperature,
    gauge_bar_holding,
    gauge_bar_of,
    moles,
)
from gaswright.physics.mixture import AIR, Mixture

TRIMIX = Mixture(1800, 4500)
ROOM_K = 293.15


def test_an_empty_cylinder_still_holds_one_atmosphere() -> None:
    """At 0 bar on the gauge a 12 L cylinder holds about 12 free litres."""
    close(free_litres(0.0, 12.0, ROOM_K, AIR), 12.0, within=0.01)


@pytest.mark.parametrize("temperature_k", [255.0, 281.15, 313.15, 335.0])
def test_free_litres_are_at_the_cylinders_own_temperature(temperature_k: float) -> None:
    """A cylinder open to the standard atmosphere holds its own volume in free litres, cold or warm."""
    close(free_litres(0.0, 12.0, temperature_k, AIR), 12.0, within=0.02)


def test_vacuum_holds_nothing() -> None:
    """At -1.01325 bar on the gauge there is no gas at all."""
    close(moles(GAUGE_MIN_BAR, 12.0, ROOM_K, AIR), 0.0, within=0.0)


def test_twice_the_volume_holds_twice_the_gas() -> None:
    """Content is proportional to water volume."""
    close(moles(200.0, 24.0, ROOM_K, AIR), 2 * moles(200.0, 12.0, ROOM_K, AIR), within=1e-9)


def test_real_trimix_at_232_bar_is_far_from_ideal() -> None:
    """18/45 at 232 bar holds 11 to 13 % less than an ideal gas would (Z 1.13, independent reference code)."""
    ideal_l = (232.0 + 1.01325) / 1.01325 * 24.0
    close(1.0 - free_litres(232.0, 24.0, ROOM_K, TRIMIX) / ideal_l, 0.12, within=0.01)


def test_using_nothing_changes_nothing() -> None:
    """The pressure after a use of 0 litres is the pressure before, up to the end of the range."""
    for gauge_bar in (0.0, 10.0, 232.0, GAUGE_MAX_BAR):
        close(gauge_bar_after(gauge_bar, 0.0, 12.0, ROOM_K, AIR), gauge_bar, within=1e-6)


def test_gas_below_ambient_pressure_is_not_subtracted() -> None:
    """Using 6 of the 12 free litres of an empty cylinder leaves half an atmosphere inside: a negative gauge."""
    close(gauge_bar_after(0.0, 6.0, 12.0, ROOM_K, AIR), -0.507, within=0.001)


def test_using_more_than_is_there_is_refused() -> None:
    """The refusal carries the free litres that are missing."""
    there_l = free_litres(100.0, 12.0, ROOM_K, AIR)
    with pytest.raises(ContentExhausted, match="lacks 250 free litres") as caught:
        gauge_bar_after(100.0, there_l + 250.0, 12.0, ROOM_K, AIR)
    assert caught.type is ContentExhausted
    close(caught.value.missing_l, 250.0, within=1e-6)


def test_a_hot_fill_settles_lower() -> None:
    """Air filled to 232 bar at 40 C reads less at 20 C, and by more than an ideal gas would: its Z falls too.

    The number is compared with CoolProp beside the equation of state.
    """
    ideal_bar = 233.01325 * ROOM_K / 313.15 - 1.01325
    assert 0.0 < gauge_bar_at_temperature(232.0, 313.15, ROOM_K, AIR) < ideal_bar


def test_a_temperature_and_back_is_the_same_cylinder() -> None:
    """Warming a closed cylinder and cooling it again gives the pressure back."""
    warm_bar = gauge_bar_at_temperature(200.0, 281.15, 313.15, TRIMIX)
    close(gauge_bar_at_temperature(warm_bar, 313.15, 281.15, TRIMIX), 200.0, within=1e-7)


def test_pressure_holding_is_the_inverse_of_free_litres() -> None:
    """The pressure that holds what a cylinder holds is the cylinder's pressure."""
    close(gauge_bar_holding(free_litres(180.0, 11.1, 281.15, TRIMIX), 11.1, 281.15, TRIMIX), 180.0, within=1e-7)


def test_what_does_not_fit_is_refused() -> None:
    """An amount of gas that would need more than 310 bar absolute is refused, by density and by pressure."""
    for amount in (150.0, 1_000.0):
        with pytest.raises(RangeError, match="does not fit") as caught:
            gauge_bar_of(amount, 12.0, ROOM_K, AIR)
        assert caught.type is RangeError


@pytest.mark.parametrize(
    ("gauge_bar", "volume_l", "temperature_k"),
    [
        (-1.02, 12.0, ROOM_K), (309.0, 12.0, ROOM_K), (math.nan, 12.0, ROOM_K), (3000.0, 12.0, ROOM_K),
        (200.0, 0.0, ROOM_K), (200.0, -12.0, ROOM_K), (200.0, math.inf, ROOM_K),
        (200.0, 12.0, 20.0), (200.0, 12.0, 340.1), (200.0, 12.0, math.nan),
    ],
)
def test_content_outside_its_ranges_is_refused(gauge_bar: float, volume_l: float, temperature_k: float) -> None:
    """A pressure in psi, no volume, or degrees Celsius where kelvin belong, is refused by every function of content."""
    for content in (moles, free_litres):
        with pytest.raises(RangeError) as caught:
            content(gauge_bar, volume_l, temperature_k, AIR)
        assert caught.type is RangeError


@pytest.mark.parametrize("amount", [-1.0, math.nan, math.inf])
def test_an_amount_that_cannot_be_is_refused(amount: float) -> None:
    """Negative or endless amounts are refused, in moles and in litres."""
    with pytest.raises(RangeError):
        gauge_bar_of(amount, 12.0, ROOM_K, AIR)
    with pytest.raises(RangeError):
        gauge_bar_holding(amount, 12.0, ROOM_K, AIR)
    with pytest.raises(RangeError):
        gauge_bar_after(100.0, amount, 12.0, ROOM_K, AIR)
