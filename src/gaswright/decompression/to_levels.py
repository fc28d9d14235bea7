"""The way to the levels and the time there: descents with turns, ascents between levels, gases taken there."""

from collections.abc import Sequence
from dataclasses import dataclass

from gaswright.decompression import kernel
from gaswright.decompression.ceiling_limits import ceiling_bar
from gaswright.decompression.coefficients import COMPARTMENTS, VAPOUR_BAR, CoefficientSet, coefficients
from gaswright.decompression.demands import ON_GRID_M
from gaswright.decompression.ladder import Piece, decay, speed_pieces, travel_table
from gaswright.decompression.request import (
    Direction,
    GasChange,
    Impossible,
    ProfileLevel,
    ScheduleImpossible,
    ScheduleRequest,
    SegmentKind,
)
from gaswright.decompression.track import Track
from gaswright.physics.mixture import AIR

__all__ = ["Walk", "start", "to_levels"]

ROOM_MIN = 1e-9  # a level shorter than its travel by less than this is a float, not a lack of time [GASWRIGHT]


@dataclass(slots=True)
class Walk:
    """Where a team is in its dive: its tensions, what it breathes, and the track so far.

    Args:
        n2_bar: nitrogen tensions, diver by diver [bar]
        he_bar: helium tensions, diver by diver [bar]
        f_n2: fraction of nitrogen breathed, per diver [fraction]
        f_he: fraction of helium breathed, per diver [fraction]
        track: the pieces so far.
    """

    n2_bar: list[float]
    he_bar: list[float]
    f_n2: list[float]
    f_he: list[float]
    track: Track


def start(request: ScheduleRequest) -> Walk:
    """The team at the surface before the dive.

    Args:
        request: the team's dive.
    """
    track = Track({diver: request.start_gas[diver] for diver in request.divers})
    if request.tissues is None:
        rows = COMPARTMENTS * len(request.divers)
        n2_bar, he_bar = [(request.place.saturated_bar - VAPOUR_BAR) * AIR.n2] * rows, [0.0] * rows
    else:
        n2_bar = [bar for diver in request.divers for bar in request.tissues[diver].n2_bar]
        he_bar = [bar for diver in request.divers for bar in request.tissues[diver].he_bar]
    walk = Walk(n2_bar, he_bar, [], [], track)
    _inhale(request, walk)
    return walk


def _inhale(request: ScheduleRequest, walk: Walk) -> None:
    walk.f_n2 = [walk.track.gas[diver].n2 for diver in request.divers]
    walk.f_he = [walk.track.gas[diver].he for diver in request.divers]


def stay(request: ScheduleRequest, walk: Walk, kind: SegmentKind, depth_m: float, minutes: float) -> None:
    """Nothing; the team stays at a depth.

    Args:
        request: the team's dive.
        walk: changed.
        kind: level or stop.
        depth_m: depth [m]
        minutes: how long [min]
    """
    e_n2, e_he = decay(minutes, request.coefficient_set)
    dry_bar = request.place.ambient_bar(depth_m) - VAPOUR_BAR
    kernel.stay(walk.n2_bar, walk.he_bar, len(request.divers), walk.f_n2, walk.f_he, dry_bar, e_n2, e_he, 0)
    walk.track.stay(kind, depth_m, minutes)


def travel(request: ScheduleRequest, walk: Walk, kind: SegmentKind, pieces: tuple[Piece, ...]) -> None:
    """Nothing; the team changes its depth.

    Args:
        request: the team's dive.
        walk: changed.
        kind: descent or ascent.
        pieces: of constant speed.
    """
    tables = travel_table(pieces, request.place, request.coefficient_set)
    kernel.go(walk.n2_bar, walk.he_bar, len(request.divers), walk.f_n2, walk.f_he,
              tables.e_n2, tables.e_he, tables.k_n2, tables.k_he, 0)
    for from_m, to_m, m_min in pieces:
        walk.track.travel(kind, from_m, to_m, m_min)


def to_levels(request: ScheduleRequest, walk: Walk) -> None:
    """Nothing; the team goes to every level and stays there until its minutes are over.

    Args:
        request: the team's dive.
        walk: changed.

    Raises:
        ScheduleImpossible: a level is above a diver's ceiling, or shorter than the way to it.
    """
    pending = [change for change in request.changes if change.direction is Direction.DOWN]
    depth_m = 0.0
    for level in request.levels:
        walk.track.new_leg()
        if level.depth_m > depth_m:
            pending = _go_down(request, walk, depth_m, level.depth_m, pending)
        elif level.depth_m < depth_m:
            travel(request, walk, SegmentKind.ASCENT, speed_pieces(request, depth_m, level.depth_m, slow=False))
            _check_ceiling(request, walk, level)
        depth_m = level.depth_m
        left_min = level.minutes - walk.track.leg_min
        if left_min < -ROOM_MIN:
            _refuse_short(walk, level)
        walk.track.breathe(level.gas)
        _inhale(request, walk)
        stay(request, walk, SegmentKind.LEVEL, depth_m, max(0.0, left_min))
    walk.track.new_leg()


def _go_down(
    request: ScheduleRequest, walk: Walk, from_m: float, to_m: float, pending: list[GasChange]
) -> list[GasChange]:
    """The changes that are still to come; those on the way are made."""
    while pending and pending[0].depth_m <= to_m + ON_GRID_M:
        change, pending = pending[0], pending[1:]
        at_m = min(change.depth_m, to_m)
        if at_m > from_m:
            travel(request, walk, SegmentKind.DESCENT, ((from_m, at_m, request.descent_m_min),))
            from_m = at_m
        for diver, breath in change.gas.items():
            walk.track.breathe({diver: breath})
            _inhale(request, walk)
            if request.switch_min > 0.0:
                stay(request, walk, SegmentKind.STOP, at_m, request.switch_min)
    if to_m > from_m:
        travel(request, walk, SegmentKind.DESCENT, ((from_m, to_m, request.descent_m_min),))
    return pending


def _refuse_short(walk: Walk, level: ProfileLevel) -> None:
    raise ScheduleImpossible(
        Impossible.LEVEL_TOO_SHORT,
        f"the level at {level.depth_m:g} m has {level.minutes:g} min, the way to it (turns included) takes "
        f"{walk.track.leg_min:.1f} min; give it more minutes",
        depth_m=level.depth_m, at_min=walk.track.runtime_min,
    )


def _check_ceiling(request: ScheduleRequest, walk: Walk, level: ProfileLevel) -> None:
    """Nothing, if GF low allows every diver to be at the level on arrival; no anchor is set between levels."""
    constants = coefficients(request.coefficient_set)
    ambient_bar = request.place.ambient_bar(level.depth_m)
    for number, diver in enumerate(request.divers):
        deepest_bar = _ceiling_of(constants, walk.n2_bar, walk.he_bar, number, request.gf_low)
        if deepest_bar > ambient_bar + 1e-12:
            ceiling_m = (deepest_bar - request.place.surface_bar) / request.place.bar_per_m
            raise ScheduleImpossible(
                Impossible.LEVEL_ABOVE_CEILING,
                f"the level at {level.depth_m:g} m is above the ceiling of {diver}, {ceiling_m:.1f} m on arrival; "
                "plan it deeper, or stay less long below",
                depth_m=level.depth_m, at_min=walk.track.runtime_min, diver=diver, ceiling_m=ceiling_m,
            )


def _ceiling_of(
    constants: CoefficientSet, n2_bar: Sequence[float], he_bar: Sequence[float], number: int, gf: float
) -> float:
    rows = slice(number * COMPARTMENTS, (number + 1) * COMPARTMENTS)
    return ceiling_bar(n2_bar[rows], he_bar[rows], constants, gf)
