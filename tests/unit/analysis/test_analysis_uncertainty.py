"""Uncertainty by components."""

import math

import pytest
from scipy import stats

from check import close
from gaswright.analysis.uncertainty import combined, expanded_u_e4, rectangular
from gaswright.errors import RangeError


def test_rectangular_is_the_standard_deviation_of_a_uniform_value() -> None:
    """The standard uncertainty of bounds +-a is the standard deviation of a uniform distribution (scipy)."""
    close(rectangular(0.5), float(stats.uniform(-0.5, 1.0).std()), within=1e-12)


def test_components_add_in_squares() -> None:
    """Independent components of 3 and 4 combine to 5; none at all to 0."""
    close(combined([3.0, 4.0]), 5.0, within=1e-12)
    close(combined([]), 0.0, within=0.0)


@pytest.mark.parametrize(("components", "u_e4"), [
    ([0.25], 50), ([0.15, 0.2], 50), ([0.2501], 51), ([], 0),
])
def test_expanded_uncertainty_is_twice_and_rounded_up(components: list[float], u_e4: int) -> None:
    """U = 2u in hundredths of a percent, never rounded down."""
    assert expanded_u_e4(components) == u_e4


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf])
def test_component_that_is_no_size_is_refused(bad: float) -> None:
    """A negative or infinite component, or one that is no number, is refused."""
    with pytest.raises(RangeError):
        rectangular(bad)
    with pytest.raises(RangeError):
        combined([0.1, bad])
