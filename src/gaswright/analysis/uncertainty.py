"""How sure a reading is: components by the GUM, added in squares, expanded by k = 2."""

import math
from collections.abc import Sequence

from gaswright.errors import RangeError

__all__ = ["COVERAGE_FACTOR", "combined", "expanded_u_e4", "rectangular"]

COVERAGE_FACTOR = 2.0  # [GASWRIGHT] physics: U = 2u, about 95 %


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value known only to lie within plus or minus a half-width, a/sqrt 3.

    Args:
        half_width: in the unit of the answer [any].

    Raises:
        RangeError: negative, or no number.

    Source: JCGM100, 4.3.7.
    """
    return _size("half-width", half_width) / math.sqrt(3.0)


def combined(components: Sequence[float]) -> float:
    """Combined standard uncertainty of independent components: the root of the sum of their squares.

    Args:
        components: standard uncertainties in one unit, sensitivities included [any].

    Raises:
        RangeError: one of them is negative, or no number.

    Source: JCGM100, 5.1.2.
    """
    return math.hypot(*(_size("standard uncertainty", component) for component in components))


def expanded_u_e4(components_percent: Sequence[float]) -> int:
    """Expanded uncertainty U = 2u of a reading, rounded up to hundredths of a percent [e-4].

    Args:
        components_percent: standard uncertainties in percent of gas [%].

    Raises:
        RangeError: one of them is negative, or no number.

    Source: JCGM100, 6.2.1.
    """
    u_e4 = COVERAGE_FACTOR * combined(components_percent) * 100
    return math.ceil(u_e4 - 1e-9)  # the room keeps an exact whole whole


def _size(name: str, value: float) -> float:
    if not 0.0 <= value < math.inf:
        raise RangeError(name, value, "", 0.0, math.inf)
    return value
