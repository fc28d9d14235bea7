"""The highest supersaturation along a schedule, as percent of its limit, and the half-time that leads."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from gaswright.decompression.coefficients import COMPARTMENTS, coefficients
from gaswright.decompression.replay_body import Body, Rates
from gaswright.decompression.request import Schedule, ScheduleRequest, Segment
from gaswright.decompression.to_levels import start
from gaswright.errors import RangeError

__all__ = ["Supersaturation", "supersaturation_curve"]

SAME_MIN = 1e-9  # times closer than this are the same [GASWRIGHT]


@dataclass(frozen=True, slots=True)
class Supersaturation:
    """The team's highest supersaturation at one moment.

    Args:
        at_min: runtime [min]
        percent: of the limit without gradient factors, 0 where nothing is above ambient pressure [%]
        diver: whose, None where there is none.
        half_time_min: nitrogen half-time of the compartment that leads, None where none does [min]
    """

    at_min: float
    percent: float
    diver: str | None
    half_time_min: float | None


def supersaturation_curve(
    request: ScheduleRequest, schedule: Schedule, every_min: float = 0.5
) -> tuple[Supersaturation, ...]:
    """The highest supersaturation of any diver and compartment, at points along a schedule.

    Args:
        request: the team's dive.
        schedule: its schedule.
        every_min: distance of the points at most; the ends of segments are points too [min]

    Raises:
        RangeError: `every_min` is not a usable distance.
    """
    if not 0.01 <= every_min <= 60.0:
        raise RangeError("the distance of the points", every_min, "min", 0.01, 60.0)
    rates, walk = Rates(coefficients(request.coefficient_set)), start(request)
    bodies = {
        diver: Body(rates, tuple(walk.n2_bar[n * COMPARTMENTS:(n + 1) * COMPARTMENTS]),
                    tuple(walk.he_bar[n * COMPARTMENTS:(n + 1) * COMPARTMENTS]))
        for n, diver in enumerate(request.divers)
    }
    points = [_highest(bodies, 0.0, request.place.surface_bar)]
    for segment in schedule.segments:
        for from_m, to_m, minutes, end_min in _pieces(segment, every_min):
            ambient = request.place.ambient_bar(from_m), request.place.ambient_bar(to_m)
            bodies = {diver: body.after_travel(segment.gas[diver], *ambient, minutes)
                      for diver, body in bodies.items()}
            points.append(_highest(bodies, end_min, ambient[1]))
    return tuple(points)


def _pieces(segment: Segment, every_min: float) -> Iterator[tuple[float, float, float, float]]:
    """A segment in equal pieces: depth at start and end, minutes, runtime at its end."""
    if segment.minutes <= SAME_MIN:
        return
    count = math.ceil(segment.minutes / every_min - SAME_MIN)
    rise_m, minutes = (segment.to_m - segment.from_m) / count, segment.minutes / count
    for n in range(count):
        yield (segment.from_m + n * rise_m, segment.from_m + (n + 1) * rise_m, minutes,
               segment.start_min + (n + 1) * minutes)


def _highest(bodies: dict[str, Body], at_min: float, ambient_bar: float) -> Supersaturation:
    found = max(((*_leading(body, ambient_bar), diver) for diver, body in bodies.items()), key=lambda one: one[0])
    share, half_time_min, diver = found
    if half_time_min is None:
        return Supersaturation(at_min, 0.0, None, None)
    return Supersaturation(at_min, share * 100.0, diver, half_time_min)


def _leading(body: Body, ambient_bar: float) -> tuple[float, float | None]:
    """The highest supersaturation as a share of its limit, and the half-time of its compartment; None: there is none.

    Source: [BUHLMANN] limit a + P/b, a and b weighted by the tensions of nitrogen and helium.
    """
    highest, leader = 0.0, None
    for number, (n2, he, row) in enumerate(zip(body.n2_bar, body.he_bar, body.rates.rows, strict=True)):
        inert = n2 + he
        if inert > ambient_bar:
            a_bar, b = (row[2] * n2 + row[4] * he) / inert, (row[3] * n2 + row[5] * he) / inert
            share = (inert - ambient_bar) / (a_bar + ambient_bar / b - ambient_bar)
            if share > highest:
                highest, leader = share, number
    return highest, None if leader is None else body.rates.constants.n2_half_min[leader]
