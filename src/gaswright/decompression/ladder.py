"""The way up as a ladder of depths, and the tables of the kernel for its steps and stops.

The closed form for a linear change of depth [SCHREINER], inspired inert gas falling or rising at R bar/min from P0:
tension = e tension + P0 (1 - e) + R (t - (1 - e) / rate), e = e^(-rate t). It is linear in the tension and in the
fraction breathed, so a step of several pieces is one e and one k (what a fraction of 1 adds) per compartment.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from gaswright.decompression.coefficients import VAPOUR_BAR, CoefficientSet, coefficients
from gaswright.decompression.demands import ON_GRID_M, grid_index
from gaswright.decompression.request import ScheduleRequest
from gaswright.physics.place import Place

__all__ = ["Ladder", "StopTable", "Tables", "decay", "ladder", "speed_pieces", "stop_table", "travel_table"]

TABLE_UNITS = 100  # units of a stop that the table holds; longer stops are taken in portions [GASWRIGHT]
Piece = tuple[float, float, float]  # from [m], to [m], speed [m/min]


@dataclass(frozen=True, slots=True)
class Tables:
    """e and k of one or several changes of depth for both gases, sixteen per change.

    Args:
        e_n2: what is left of a nitrogen tension [-]
        e_he: what is left of a helium tension [-]
        k_n2: what a fraction of 1 adds to nitrogen [bar]
        k_he: what a fraction of 1 adds to helium [bar]
    """

    e_n2: tuple[float, ...]
    e_he: tuple[float, ...]
    k_n2: tuple[float, ...]
    k_he: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StopTable:
    """e^(-rate u) for u = 0, 1, ... whole units of a stop.

    Args:
        units: the largest u.
        e_n2: nitrogen, sixteen per unit [-]
        e_he: helium, sixteen per unit [-]
    """

    units: int
    e_n2: tuple[float, ...]
    e_he: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Ladder:
    """The depths at which the way up may halt, with the steps between them.

    Args:
        depth_m: from the last level over the grid to the surface, shape (nodes,) [m]
        ambient_bar: absolute pressure at each, shape (nodes,) [bar]
        pieces: of each step before the first stop by decompression.
        slow_pieces: of each step after it.
        tables: of the steps, then of the slow steps where they differ.
        slow_at: where the slow steps begin in the tables; 0: they do not differ.
    """

    depth_m: tuple[float, ...]
    ambient_bar: tuple[float, ...]
    pieces: tuple[tuple[Piece, ...], ...]
    slow_pieces: tuple[tuple[Piece, ...], ...]
    tables: Tables
    slow_at: int


@lru_cache(maxsize=1024)
def decay(minutes: float, coefficient_set: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """e^(-rate t) of every compartment for nitrogen and helium [-].

    Args:
        minutes: how long [min]
        coefficient_set: "A", "B" or "C".
    """
    constants = coefficients(coefficient_set)
    return tuple(
        tuple(math.exp(-math.log(2.0) / half_min * minutes) for half_min in half_times_min)
        for half_times_min in (constants.n2_half_min, constants.he_half_min)
    )  # type: ignore[return-value]  # a generator over exactly two gases


@lru_cache(maxsize=16)
def stop_table(unit_min: float, coefficient_set: str) -> StopTable:
    """The table of whole units of a stop.

    Args:
        unit_min: the unit [min]
        coefficient_set: "A", "B" or "C".
    """
    rows = [decay(units * unit_min, coefficient_set) for units in range(TABLE_UNITS + 1)]
    return StopTable(TABLE_UNITS, tuple(e for row in rows for e in row[0]), tuple(e for row in rows for e in row[1]))


@lru_cache(maxsize=4096)
def travel_table(pieces: tuple[Piece, ...], place: Place, coefficient_set: str) -> Tables:
    """Factors e and k of one change of depth, made in pieces of constant speed.

    Args:
        pieces: one after the other.
        place: where.
        coefficient_set: "A", "B" or "C".

    Source: SCHREINER.
    """
    constants: CoefficientSet = coefficients(coefficient_set)
    e_n2, k_n2 = _chain(pieces, place, constants.n2_half_min)
    e_he, k_he = _chain(pieces, place, constants.he_half_min)
    return Tables(e_n2, e_he, k_n2, k_he)


def _chain(
    pieces: tuple[Piece, ...], place: Place, half_times_min: tuple[float, ...]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    left, added = [], []
    for half_min in half_times_min:
        rate = math.log(2.0) / half_min
        e, k = 1.0, 0.0
        for from_m, to_m, m_min in pieces:
            minutes = abs(to_m - from_m) / m_min
            bar_min = place.bar_per_m * m_min * (1.0 if to_m > from_m else -1.0)
            lost = -math.expm1(-rate * minutes)
            e_piece = 1.0 - lost
            k_piece = (place.ambient_bar(from_m) - VAPOUR_BAR) * lost + bar_min * (minutes - lost / rate)
            e, k = e * e_piece, k * e_piece + k_piece
        left.append(e)
        added.append(k)
    return tuple(left), tuple(added)


def speed_pieces(request: ScheduleRequest, from_m: float, to_m: float, *, slow: bool) -> tuple[Piece, ...]:
    """The ascent from one depth to another in pieces of constant speed.

    Args:
        request: for its speeds.
        from_m: deeper depth [m]
        to_m: shallower depth [m]
        slow: True once there was a stop by decompression.
    """
    if request.ascent_m_min is not None:
        return ((from_m, to_m, request.ascent_m_min),)
    if not request.zones:
        speed_m_min = request.travel_m_min
        if slow:
            speed_m_min = request.last_m_min if to_m == 0.0 else request.between_stops_m_min
        return ((from_m, to_m, speed_m_min),)
    pieces, at_m = [], from_m
    for zone in sorted(request.zones, key=lambda zone: -zone.from_m):
        if zone.from_m < at_m - ON_GRID_M and at_m > to_m:
            end_m = to_m if zone.from_m <= to_m + ON_GRID_M else zone.from_m
            pieces.append((at_m, end_m, zone.m_min))
            at_m = end_m
    return tuple(pieces)


def ladder(request: ScheduleRequest) -> Ladder:
    """The ladder from the last level to the surface.

    Args:
        request: the team's dive.
    """
    depths_m = _depths(request)
    steps = tuple(pairwise(depths_m))
    pieces = tuple(speed_pieces(request, from_m, to_m, slow=False) for from_m, to_m in steps)
    slow_pieces = tuple(speed_pieces(request, from_m, to_m, slow=True) for from_m, to_m in steps)
    slow_at = 0 if slow_pieces == pieces else 16 * len(steps)
    tables = _tables(pieces + slow_pieces if slow_at else pieces, request.place, request.coefficient_set)
    ambient_bar = tuple(request.place.ambient_bar(depth_m) for depth_m in depths_m)
    return Ladder(depths_m, ambient_bar, pieces, slow_pieces, tables, slow_at)


def _depths(request: ScheduleRequest) -> tuple[float, ...]:
    bottom_m, step_m = request.levels[-1].depth_m, request.stop_step_m
    index = grid_index(bottom_m, step_m)
    first = int(bottom_m / step_m) if index is None else index - 1
    last = grid_index(request.last_stop_m, step_m) or 1
    stops_m = tuple(round(number * step_m, 9) for number in range(first, last - 1, -1))
    return (bottom_m, *stops_m, 0.0)


@lru_cache(maxsize=64)
def _tables(steps: tuple[tuple[Piece, ...], ...], place: Place, coefficient_set: str) -> Tables:
    each = [travel_table(pieces, place, coefficient_set) for pieces in steps]
    return Tables(
        tuple(value for step in each for value in step.e_n2),
        tuple(value for step in each for value in step.e_he),
        tuple(value for step in each for value in step.k_n2),
        tuple(value for step in each for value in step.k_he),
    )
