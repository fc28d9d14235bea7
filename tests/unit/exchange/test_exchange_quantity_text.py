"""A quantity typed at a door is canonical and in range, or one sentence."""

import pytest

from check import close
from gaswright.errors import InputError
from gaswright.exchange.quantity_text import typed_quantity
from gaswright.units import Kind


def test_typed_quantities_are_canonical() -> None:
    """Plain text is in the system's unit; a unit wins."""
    close(typed_quantity("60", Kind.DEPTH, name="--depth"), 60.0, within=0.0)
    close(typed_quantity("200 ft", Kind.DEPTH, name="--depth"), 60.96, within=1e-9)
    close(typed_quantity("200", Kind.DEPTH, "imperial", name="--depth"), 60.96, within=1e-9)


@pytest.mark.parametrize("typed", ["-1", "301", "nan", "", "60 bar", True, "1e3"])
def test_what_is_out_of_range_or_no_quantity_is_one_sentence(typed: object) -> None:
    """The option, the value and the range are named."""
    with pytest.raises(InputError) as caught:
        typed_quantity(typed, Kind.DEPTH, name="--depth", low=0.0, high=300.0)
    assert str(caught.value).startswith("--depth: ")
    assert str(caught.value).endswith("allowed is at least 0.00 m and at most 300.00 m")
