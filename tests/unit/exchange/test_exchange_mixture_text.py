"""A gas is read as the trade writes it; only the word air is air."""

import pytest

from gaswright.errors import InputError
from gaswright.exchange.mixture_text import mixture
from gaswright.physics.mixture import Mixture


@pytest.mark.parametrize(("typed", "o2_e4", "he_e4"), [
    ("air", 2095, 0), ("AIR", 2095, 0), ("21", 2100, 0), ("20.95", 2095, 0), ("oxygen", 10000, 0), ("Oxygen", 10000, 0),
    ("100", 10000, 0), ("32", 3200, 0), ("EAN32", 3200, 0), ("ean 36", 3600, 0), ("18/45", 1800, 4500),
    ("50/0", 5000, 0), ("18,2/44,6", 1820, 4460), ("18.2/44.6", 1820, 4460), (" 10 / 70 ", 1000, 7000), (32, 3200, 0),
    ("28.33", 2833, 0), ("1/99", 100, 9900), ("18 %/45 %", 1800, 4500),
])  # fmt: skip
def test_gases_are_read_exactly(typed: object, o2_e4: int, he_e4: int) -> None:
    """Words, percentages and oxygen/helium pairs become whole hundredths of a percent."""
    assert mixture(typed) == Mixture(o2_e4, he_e4)


@pytest.mark.parametrize("typed", [
    "", "0.32", "0,32", "0.18/0.45", "18/0.45", "0", "101", "60/50", "18/45/37", "EAN", "EANx", "airs", "O2", "nan",
    "inf", "-32", "18.205", "/45", "18/", "18-45", True, None, 0.32, 32.0, [], "x" * 5000, "\u0661\u0668",
])  # fmt: skip
def test_what_is_no_gas_is_refused(typed: object) -> None:
    """Fractions, impossible sums, unknown words and other types are refused; nothing else escapes."""
    with pytest.raises(InputError, match="write air, oxygen, 32, EAN32 or 18/45"):
        mixture(typed)


def test_a_fraction_is_refused_with_what_to_write() -> None:
    """0.32 is answered with: write 32."""
    with pytest.raises(InputError, match="write 32"):
        mixture("0.32")
