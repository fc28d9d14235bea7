"""The one way in which physics refuses a number: outside the range in which its equation holds, NaN included."""

from gaswright.errors import RangeError

__all__ = ["DEPTH_MAX_FT", "DEPTH_MAX_M", "in_range"]

DEPTH_MAX_M = 500.0  # [GASWRIGHT] deeper than any dive: a larger number is a slip of the pen
DEPTH_MAX_FT = 1650.0  # [GASWRIGHT] the same in feet of the label convention, 33 ft per 10 m


def in_range(name: str, value: float, unit: str, low: float, high: float, action: str = "") -> float:
    """The value itself, refused outside its range; NaN and infinity are outside every range [unit].

    Args:
        name: the quantity as the sentence says it.
        value: the number to judge [unit].
        unit: unit of value, low and high.
        low: lowest value allowed [unit].
        high: highest value allowed [unit].
        action: what the person can do about it.

    Raises:
        RangeError: the value is below low, above high or not a number.
    """
    if not low <= value <= high:
        raise RangeError(name, value, unit, low, high, action)
    return value
