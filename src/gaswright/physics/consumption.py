"""Gas breathed over a piece of a dive, in free litres."""

from gaswright.physics.place import ATM_BAR
from gaswright.physics.ranges import in_range

__all__ = ["used_l"]

RMV_MAX_L_MIN = 500.0  # [GASWRIGHT] several divers at their stressed rate; above it is a slip of the pen
AMBIENT_MAX_BAR = 60.0  # [GASWRIGHT] deeper than any dive
DURATION_MAX_MIN = 100_000.0  # [GASWRIGHT] ten weeks


def used_l(rmv_l_min: float, mean_ambient_bar: float, minutes: float) -> float:
    """Free gas breathed over a piece of constant or evenly changing depth, at 1.01325 bar [L].

    Args:
        rmv_l_min: respiratory minute volume at ambient pressure, 0 to 500 [L/min].
        mean_ambient_bar: mean absolute pressure over the piece, 0 to 60 [bar].
        minutes: its duration, 0 to 100000 [min].

    Raises:
        RangeError: a number is outside these ranges.

    Source: [USN4] p. 8-3: V = (D + 33) / 33 x rate x time.
    """
    in_range("RMV", rmv_l_min, "L/min", 0.0, RMV_MAX_L_MIN)
    in_range("ambient pressure", mean_ambient_bar, "bar", 0.0, AMBIENT_MAX_BAR)
    in_range("duration", minutes, "min", 0.0, DURATION_MAX_MIN)
    return rmv_l_min * mean_ambient_bar / ATM_BAR * minutes
