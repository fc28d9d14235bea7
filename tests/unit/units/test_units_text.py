"""Numbers become text with a unit on every one, rounded to the side that is asked for."""

import pytest

from check import close
from gaswright.units import (
    METRE_PER_FOOT,
    Kind,
    QuantityError,
    amount_text,
    depth_text,
    minutes_text,
    percent_text,
    plain_number,
    plain_unit,
    pressure_text,
    rate_text,
    shown_text,
    temperature_text,
    volume_text,
)


@pytest.mark.parametrize(("depth_m", "system", "rounding", "text"), [
    (21.34, "metric", "down", "21 m"),
    (21.0, "metric", "down", "21 m"),
    (20.999, "metric", "down", "20 m"),
    (4.1, "metric", "up", "5 m"),
    (4.0, "metric", "up", "4 m"),
    (4.5, "metric", "nearest", "5 m"),
    # 10 ft steps of the stop grid come back whole, whatever binary floats make of them
    *[(steps * 10 * METRE_PER_FOOT, "imperial", rounding, f"{steps * 10} ft")
      for steps in range(1, 31) for rounding in ("down", "up", "nearest")],
    (21.34, "imperial", "down", "70 ft"),
    (21.33, "imperial", "down", "69 ft"),
    (0.0, "metric", "up", "0 m"),
])  # fmt: skip
def test_depths_are_whole_and_carry_their_unit(depth_m: float, system: str, rounding: str, text: str) -> None:
    """A depth is shown in whole metres or feet, down for a MOD, up for a minimum depth."""
    assert depth_text(depth_m, system, rounding) == text


def test_pressures_volumes_rates_and_temperatures_carry_their_unit() -> None:
    """Every text names its unit; gas needed goes up, gas available down."""
    assert pressure_text(180.2, "metric", "up") == "181 bar"
    assert pressure_text(180.9, "metric", "down") == "180 bar"
    assert pressure_text(180.9, "imperial", "down") == "2623 psi"
    assert volume_text(1200.4, rounding="up") == "1201 L"
    assert volume_text(2265.35, "imperial", "nearest") == "80 cu ft"
    assert rate_text(18.0) == "18 L/min"
    assert rate_text(18.0, "imperial") == "0.64 cu ft/min"
    assert temperature_text(281.15) == "8 C"
    assert temperature_text(281.15, "imperial") == "46 F"


def test_percent_has_its_decimals_and_no_more() -> None:
    """Percent is shown as it was read, at most two decimals."""
    assert [percent_text(e4) for e4 in (1820, 5000, 2095, 5, 10000)] == ["18.2 %", "50 %", "20.95 %", "0.05 %", "100 %"]


@pytest.mark.parametrize(("minutes", "rounding", "text"), [
    (5.0, "nearest", "5 min"), (4.5, "nearest", "4 min 30 s"), (4.501, "up", "4 min 31 s"),
    (4.51, "down", "4 min 30 s"), (1 / 60, "up", "0 min 1 s"), (59.9999999, "up", "60 min"), (0.0, "nearest", "0 min"),
])  # fmt: skip
def test_minutes_show_seconds_only_where_needed(minutes: float, rounding: str, text: str) -> None:
    """Whole minutes stand alone; others carry their seconds."""
    assert minutes_text(minutes, rounding) == text


def test_what_is_not_finite_or_not_a_rounding_is_refused() -> None:
    """Neither NaN nor infinity nor an unknown rounding ever becomes text."""
    for value in (float("nan"), float("inf")):
        with pytest.raises(QuantityError):
            depth_text(value)
        with pytest.raises(QuantityError):
            minutes_text(value)
    with pytest.raises(QuantityError):
        depth_text(3.0, "metric", "sideways")
    with pytest.raises(QuantityError):
        depth_text(3.0, "fathoms")


def test_decimals_and_plain_numbers() -> None:
    """A table may ask for decimals or for the bare number in the shown unit."""
    assert amount_text(1.25, Kind.DEPTH, decimals=1, rounding="down") == "1.2 m"
    assert plain_unit(Kind.RATE, "imperial") == "cu ft/min"
    close(plain_number(60.96, Kind.DEPTH, "imperial"), 200.0, within=1e-9)


def test_a_value_is_shown_short_whatever_it_is() -> None:
    """A problem never repeats pages of what was typed, and never fails to show it."""
    assert [shown_text(value) for value in (True, False, 3)] == ["true", "false", "3"]
    assert shown_text("x" * 500).endswith("...")
    assert len(shown_text(["y" * 500])) <= 40
    assert shown_text(10**5000) == "a number of thousands of digits"
