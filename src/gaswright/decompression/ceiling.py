"""The team's ceiling along a schedule, free of the stop grid: for the picture of a plan."""

import math

from gaswright.decompression.ceiling_limits import ceiling_bar, line_ceiling_bar
from gaswright.decompression.coefficients import COMPARTMENTS, coefficients
from gaswright.decompression.demands import ON_GRID_M
from gaswright.decompression.request import Schedule, ScheduleRequest, Segment
from gaswright.decompression.to_levels import Walk, start, stay, travel
from gaswright.errors import RangeError

__all__ = ["ceiling_curve"]

SAME_MIN = 1e-9  # times closer than this are the same [GASWRIGHT]


def ceiling_curve(
    request: ScheduleRequest, schedule: Schedule, every_min: float = 1.0
) -> tuple[tuple[float, float], ...]:
    """Pairs of runtime [min] and the ceiling of the diver whose ceiling is deepest, 0 at the surface [m].

    Until the way up reaches a diver's anchor, and for a diver without one, GF low holds; from there on the line.

    Args:
        request: the team's dive.
        schedule: its schedule.
        every_min: distance of the points; the ends of segments are points too [min]

    Raises:
        RangeError: `every_min` is not a usable distance.
    """
    if not 0.01 <= every_min <= 60.0:
        raise RangeError("the distance of the points", every_min, "min", 0.01, 60.0)
    walk = start(request)
    points = [(0.0, _team_ceiling_m(request, schedule, walk, 0.0, 0.0))]
    for segment in schedule.segments:
        walk.f_n2 = [segment.gas[diver].n2 for diver in request.divers]
        walk.f_he = [segment.gas[diver].he for diver in request.divers]
        at_min, at_m = segment.start_min, segment.from_m
        for mark_min in _marks(segment, every_min):
            to_m = segment.from_m + (segment.to_m - segment.from_m) * (mark_min - segment.start_min) / segment.minutes
            _move(request, walk, segment, at_m, to_m, mark_min - at_min)
            at_min, at_m = mark_min, to_m
            points.append((at_min, _team_ceiling_m(request, schedule, walk, at_min, at_m)))
    return tuple(points)


def _marks(segment: Segment, every_min: float) -> list[float]:
    number = math.floor((segment.start_min + SAME_MIN) / every_min) + 1
    marks_min = []
    while number * every_min < segment.end_min - SAME_MIN:
        marks_min.append(number * every_min)
        number += 1
    return [*marks_min, segment.end_min]


def _move(request: ScheduleRequest, walk: Walk, segment: Segment, from_m: float, to_m: float, minutes: float) -> None:
    if segment.from_m == segment.to_m:
        stay(request, walk, segment.kind, from_m, minutes)
    else:
        travel(request, walk, segment.kind, ((from_m, to_m, abs(to_m - from_m) / minutes),))


def _team_ceiling_m(
    request: ScheduleRequest, schedule: Schedule, walk: Walk, at_min: float, at_m: float
) -> float:
    constants, place = coefficients(request.coefficient_set), request.place
    on_way_up = at_min >= schedule.runtime_min - schedule.tts_min - SAME_MIN
    deepest_bar = place.surface_bar
    for number, diver in enumerate(request.divers):
        rows = slice(number * COMPARTMENTS, (number + 1) * COMPARTMENTS)
        n2_bar, he_bar = walk.n2_bar[rows], walk.he_bar[rows]
        anchor_m = schedule.anchor_m[diver]
        if on_way_up and anchor_m > 0.0 and at_m <= anchor_m + ON_GRID_M:
            bar = line_ceiling_bar(n2_bar, he_bar, constants, request.gf_low, request.gf_high,
                                   place.ambient_bar(anchor_m), place.surface_bar)
        else:
            bar = ceiling_bar(n2_bar, he_bar, constants, request.gf_low)
        deepest_bar = max(deepest_bar, bar)
    return (deepest_bar - place.surface_bar) / place.bar_per_m
