"""What a person types becomes canonical numbers; what has two readings is refused."""

from decimal import Decimal

import pytest

from check import close
from gaswright.units import (
    BAR_PER_PSI,
    LITRE_PER_CUBIC_FOOT,
    METRE_PER_FOOT,
    Kind,
    QuantityError,
    capacity_water_volume_l,
    is_cubic_feet,
    parse_number,
    percent_e4,
    quantity,
)


def test_constants_are_those_of_the_foot_the_inch_and_the_pound() -> None:
    """The three constants follow from the international foot, inch, pound and standard gravity.

    Source: NIST Special Publication 811, appendix B (from memory): 1 ft = 0.3048 m, 1 lb = 0.45359237 kg,
    g = 9.80665 m/s2, all exact.
    """
    inch_m = METRE_PER_FOOT / 12
    close(BAR_PER_PSI, 0.45359237 * 9.80665 / inch_m**2 / 1e5, within=5e-11)
    close(LITRE_PER_CUBIC_FOOT, METRE_PER_FOOT**3 * 1000, within=1e-12)


@pytest.mark.parametrize(("typed", "number"), [
    (3, 3.0), (3.5, 3.5), (Decimal("18.20"), 18.2), ("3,5", 3.5), ("3.5", 3.5), (" 12 ", 12.0), ("-2", -2.0),
    ("+.5", 0.5), (",5", 0.5), ("0,125", 0.125), ("2000", 2000.0), ("1.000", 1.0),
])  # fmt: skip
def test_numbers_are_read_with_comma_or_point(typed: object, number: float) -> None:
    """A number, or its text with a decimal comma or point, is read as it says."""
    close(parse_number(typed), number, within=0.0)


@pytest.mark.parametrize("typed", [
    True, False, "", "  ", None, [], {}, float("nan"), float("inf"), Decimal("nan"), Decimal("-inf"), "nan", "inf",
    "1e3", "0x10", "1_000", "1.2.3", "1,234.5", "3,000", "-12,000", "٣", "3 4", 10**400, "9" * 60, "--1", "5-",
])  # fmt: skip
def test_what_is_no_number_is_refused(typed: object) -> None:
    """A bool, nothing, NaN, infinity, words and numbers with two readings are refused."""
    with pytest.raises(QuantityError):
        parse_number(typed)


@pytest.mark.parametrize(("typed", "kind", "system", "canonical", "within"), [
    # international foot, exact
    ("200 ft", Kind.DEPTH, "metric", 60.96, 1e-12),
    (200, Kind.DEPTH, "imperial", 60.96, 1e-12),
    ("60 m", Kind.DEPTH, "imperial", 60.0, 0.0),
    (60, Kind.DEPTH, "metric", 60.0, 0.0),
    # 3000 psi is printed as 207 bar on cylinders (common practice, no source)
    ("3000 psi", Kind.PRESSURE, "metric", 207.0, 0.5),
    ("3,5 bar", Kind.PRESSURE, "imperial", 3.5, 0.0),
    ("1013.25 hPa", Kind.PRESSURE, "metric", 1.01325, 1e-12),
    # 32 F = 0 C and 212 F = 100 C, by definition of the scale; 46 F is 7.8 C
    ("32 F", Kind.TEMPERATURE, "metric", 273.15, 1e-9),
    (212, Kind.TEMPERATURE, "imperial", 373.15, 1e-9),
    ("46 °F", Kind.TEMPERATURE, "metric", 280.928, 1e-3),
    ("8 C", Kind.TEMPERATURE, "imperial", 281.15, 1e-9),
    ("-40 F", Kind.TEMPERATURE, "metric", 233.15, 1e-9),
    ("1 cu ft", Kind.VOLUME, "metric", 28.316846592, 1e-12),
    ("1 ft3/min", Kind.RATE, "metric", 28.316846592, 1e-12),
    ("0.75 cu ft/min", Kind.RATE, "metric", 21.2376, 1e-4),
    (18, Kind.RATE, "metric", 18.0, 0.0),
    # USN ascent rate, 30 ft/min
    ("30 ft/min", Kind.SPEED, "metric", 9.144, 1e-12),
    ("90 s", Kind.MINUTES, "metric", 1.5, 1e-12),
    ("2 h", Kind.MINUTES, "imperial", 120.0, 0.0),
    ("18,2 %", Kind.PERCENT, "metric", 18.2, 1e-12),
    ("1346 ft", Kind.ALTITUDE, "metric", 410.26, 1e-2),
    (0.5, Kind.PLAIN, "imperial", 0.5, 0.0),
])  # fmt: skip
def test_a_plain_number_is_the_systems_and_a_unit_wins(
    typed: object, kind: Kind, system: str, canonical: float, within: float
) -> None:
    """A plain number is read in the system's unit; a text with a unit is read as it says, in any system."""
    close(quantity(typed, kind, system), canonical, within=within)


@pytest.mark.parametrize(("typed", "kind"), [
    ("200 psi", Kind.DEPTH), ("200 furlong", Kind.DEPTH), ("ft", Kind.DEPTH), ("200 .", Kind.DEPTH),
    ("5 m", Kind.PLAIN), ("5 .", Kind.PLAIN),
    ("3000 bar psi", Kind.PRESSURE), ("60 60", Kind.DEPTH), ("nan m", Kind.DEPTH),
    (True, Kind.DEPTH), ("2,900 psi", Kind.PRESSURE), (Decimal("1e309"), Kind.MINUTES),
    ("5 %", Kind.TEMPERATURE),
])  # fmt: skip
def test_a_unit_of_another_kind_is_refused(typed: object, kind: Kind) -> None:
    """A quantity with a unit of another kind, with none that is known, or beyond a float is refused."""
    with pytest.raises(QuantityError):
        quantity(typed, kind, "metric")


def test_an_unknown_unit_system_is_refused() -> None:
    """Only metric and imperial exist."""
    with pytest.raises(QuantityError, match="write metric or imperial"):
        quantity(5, Kind.DEPTH, "nautical")


@pytest.mark.parametrize(("capacity_cu_ft", "working_psi", "water_l", "within"), [
    # an "80 cu ft, 3000 psi" cylinder holds about 11.1 L of water (common practice, no source)
    (80.0, 3000.0, 11.1, 0.05),
    # US Navy Diving Manual Rev 4 p. 7-14: scf per atm is the floodable volume; 0.399 cu ft gives
    # 3000 / 14.7 * 0.399 = 81.43 scf, so 81.43 scf at 3000 psi is 0.399 cu ft = 11.298 L (14.7 psi is rounded)
    (81.43, 3000.0, 0.399 * 28.3168, 0.005),
])  # fmt: skip
def test_capacity_becomes_water_volume(
    capacity_cu_ft: float, working_psi: float, water_l: float, within: float
) -> None:
    """A cylinder named by its capacity has the water volume of an ideal gas at its working pressure."""
    capacity_l = quantity(f"{capacity_cu_ft} cu ft", Kind.CAPACITY)
    close(capacity_water_volume_l(capacity_l, quantity(working_psi, Kind.PRESSURE, "imperial")), water_l, within=within)


def test_capacity_without_working_pressure_is_refused() -> None:
    """No water volume follows from a capacity at no pressure."""
    for working_bar in (0.0, -200.0, float("nan")):
        with pytest.raises(QuantityError):
            capacity_water_volume_l(2265.0, working_bar)


def test_litres_are_water_volume_in_any_system() -> None:
    """Only cubic feet mean free gas: plain numbers of an imperial diver, or a text that says so."""
    assert is_cubic_feet(80, "imperial")
    assert is_cubic_feet("80 cu ft", "metric")
    assert not is_cubic_feet("12 L", "imperial")
    assert not is_cubic_feet(12, "metric")


@pytest.mark.parametrize(("typed", "part_e4"), [
    (32, 3200), (18.2, 1820), (Decimal("20.95"), 2095), ("18,2", 1820), ("50.60 %", 5060), (100, 10000), (0, 0),
    (1, 100), (28.33, 2833), (57.01, 5701),
])  # fmt: skip
def test_percent_is_kept_exactly(typed: object, part_e4: int) -> None:
    """Percent with two decimals becomes whole hundredths, with no trace of binary floats."""
    assert percent_e4(typed) == part_e4


@pytest.mark.parametrize("typed", [0.32, "0,32", 0.999, Decimal("0.5"), "0.5 %"])
def test_a_fraction_is_refused_with_a_hint(typed: object) -> None:
    """A value between 0 and 1 percent looks like a fraction; the sentence says what to write instead."""
    with pytest.raises(QuantityError, match=r"looks like a fraction; write \d+"):
        percent_e4(typed)


@pytest.mark.parametrize("typed", [18.205, "18,205", 100.01, -1, True, "NaN", float("nan"), "", "32 m", 101])
def test_percent_out_of_range_or_too_fine_is_refused(typed: object) -> None:
    """More than two decimals, less than 0 or more than 100 percent, and what is no number are refused."""
    with pytest.raises(QuantityError):
        percent_e4(typed)
