"""Tissues between dives, breathing air at the surface, and when they tolerate a lower pressure.

Decompression alone: the hours of a rule of thumb before flying are policy, not physics, and stand elsewhere.
"""

import math

from gaswright.decompression.ceiling_limits import ceiling_bar
from gaswright.decompression.coefficients import COMPARTMENTS, VAPOUR_BAR, coefficients
from gaswright.decompression.request import Tissues
from gaswright.errors import InputError, RangeError
from gaswright.physics.mixture import AIR
from gaswright.physics.place import Place
from gaswright.physics.ranges import in_range

__all__ = ["minutes_until_tolerated", "tissues_after"]

LONGEST_MIN = 100_000.0  # ten weeks [GASWRIGHT]
LOWEST_BAR = 0.1  # above any pass, and below any cabin [GASWRIGHT]


def tissues_after(tissues: Tissues, minutes: float, place: Place) -> Tissues:
    """The tensions of a diver after a time at the surface, breathing air; exact at constant pressure.

    Args:
        tissues: at its start.
        minutes: how long, 0 to 100000 [min]
        place: gives the pressure at the surface.

    Raises:
        InputError: tensions that are no tensions of sixteen compartments.
        RangeError: the time is outside that range.

    Source: BUHLMANN; half-times are those of every coefficient set.
    """
    in_range("time at the surface", minutes, "min", 0.0, LONGEST_MIN)
    _check(tissues)
    if minutes == 0.0:
        return tissues
    return _after(tissues, minutes, place)


def minutes_until_tolerated(
    tissues: Tissues, place: Place, lower_bar: float, *, gf: float, coefficient_set: str = "C", at_most_min: int = 4320
) -> int | None:
    """Whole minutes at the surface after which a lower ambient pressure is tolerated from then on [min].

    None: not within `at_most_min`. The change of pressure is taken as immediate, which is the safe side. Gas may come
    in as well as go out, so every minute up to `at_most_min` is looked at and the last that does not do decides.

    Args:
        tissues: at the start of the time at the surface.
        place: gives the pressure at the surface.
        lower_bar: absolute pressure on the pass, or in the cabin, 0.1 bar to that at the surface [bar]
        gf: gradient factor that must hold there, above 0 to 1 [fraction]
        coefficient_set: "A", "B" or "C".
        at_most_min: how long to look, 0 to 100000 [min]

    Raises:
        InputError: tensions that are no tensions of sixteen compartments, or no such coefficient set.
        RangeError: a number is outside its range.
    """
    in_range("pressure to be tolerated", lower_bar, "bar", LOWEST_BAR, place.surface_bar)
    in_range("minutes to look at", at_most_min, "min", 0, LONGEST_MIN)
    if not 0.0 < gf <= 1.0:
        raise RangeError("gradient factor", gf, "", 0.0, 1.0, "give one above 0")
    _check(tissues)
    constants = coefficients(coefficient_set)
    found: int | None = None
    for minute in range(at_most_min, -1, -1):
        then = _after(tissues, minute, place)
        if ceiling_bar(then.n2_bar, then.he_bar, constants, gf) > lower_bar:
            break
        found = minute
    return found


def _after(tissues: Tissues, minutes: float, place: Place) -> Tissues:
    constants = coefficients("C")
    inspired_bar = (place.surface_bar - VAPOUR_BAR) * AIR.n2
    return Tissues(
        tuple(
            inspired_bar + (bar - inspired_bar) * math.exp(-math.log(2.0) / half_min * minutes)
            for bar, half_min in zip(tissues.n2_bar, constants.n2_half_min, strict=True)
        ),
        tuple(
            bar * math.exp(-math.log(2.0) / half_min * minutes)
            for bar, half_min in zip(tissues.he_bar, constants.he_half_min, strict=True)
        ),
    )


def _check(tissues: Tissues) -> None:
    for name, values in (("nitrogen", tissues.n2_bar), ("helium", tissues.he_bar)):
        if len(values) != COMPARTMENTS or not all(0.0 <= bar <= 100.0 for bar in values):
            raise InputError(f"the {name} tensions must be {COMPARTMENTS} numbers from 0 to 100 bar")
