"""Curves of a planned dive for its pictures: the pressure left in each cylinder over runtime."""

import math
from collections.abc import Mapping

from gaswright.planning.contents import gauge_bar_with
from gaswright.planning.held_plan import HeldPlan
from gaswright.planning.usage import draws_of

__all__ = ["pressure_curves"]

EVERY_MIN = 4.0  # points within a long draw; between them the curve is straight to the width of its line
ROUNDING = 1e-9


def pressure_curves(held: HeldPlan) -> Mapping[str, tuple[tuple[float, float], ...]]:
    """Cylinder id to runtime and gauge pressure at the water's temperature, shape (n, 2) [min, bar].

    A curve begins when the cylinder is first breathed and ends with its last breath; at 0 bar it has run out.

    Args:
        held: the planned dive.
    """
    found: dict[str, tuple[tuple[float, float], ...]] = {}
    for cylinder, draws in draws_of(held.kit, held.schedule).items():
        content = held.contents.get(cylinder)
        if content is None:
            continue
        left_l, points = content.start_l, [(draws[0].start_min, content.start_bar)]
        for draw in draws:
            if draw.start_min > points[-1][0] + ROUNDING:
                points.append((draw.start_min, points[-1][1]))
            pieces = max(1, math.ceil(draw.minutes / EVERY_MIN))
            for piece in range(1, pieces + 1):
                now_l = max(0.0, left_l - draw.free_l * piece / pieces)
                bar = max(0.0, gauge_bar_with(content, now_l) or 0.0)
                points.append((draw.start_min + draw.minutes * piece / pieces, bar))
            left_l -= draw.free_l
        found[cylinder] = tuple(points)
    return found
