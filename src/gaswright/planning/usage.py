"""Who draws how much from which cylinder, segment by segment."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.decompression.request import Schedule, Segment, SegmentKind
from gaswright.physics.consumption import used_l
from gaswright.planning.dive import Diver
from gaswright.planning.kit import Kit

__all__ = ["Draw", "Loss", "bottom_end_min", "drawn_l", "draws_of", "first_halt_min", "mean_ambient_bar"]

SAME_TIME_MIN = 1e-6  # two runtimes of one instant, after binary rounding


@dataclass(frozen=True, slots=True)
class Draw:
    """Gas taken from one cylinder during one segment, by all who breathe from it.

    Args:
        start_min: runtime at its start [min]
        minutes: how long it takes [min]
        free_l: free gas at 1.01325 bar [L]
    """

    start_min: float
    minutes: float
    free_l: float


@dataclass(frozen=True, slots=True)
class Loss:
    """Mains that are lost during a dive.

    Args:
        at_min: runtime [min]
        kit: what is left from then on.
        stressed: ids of the divers who breathe the mains at their stressed rate from then on.
    """

    at_min: float
    kit: Kit
    stressed: frozenset[str]


def bottom_end_min(schedule: Schedule) -> float:
    """Runtime at which the last level is left [min].

    Args:
        schedule: of the team.
    """
    return schedule.runtime_min - schedule.tts_min


def first_halt_min(schedule: Schedule) -> float:
    """Runtime at which the first stop of the way up is reached; the end of the dive if there is none [min].

    Args:
        schedule: of the team.
    """
    leave_min = bottom_end_min(schedule) - SAME_TIME_MIN
    halts = (s.start_min for s in schedule.segments if s.kind is SegmentKind.STOP and s.start_min >= leave_min)
    return next(halts, schedule.runtime_min)


def mean_ambient_bar(kit: Kit, segment: Segment) -> float:
    """Mean absolute pressure over a straight segment [bar].

    Args:
        kit: gives the place.
        segment: of a schedule.
    """
    return kit.dive.place.ambient_bar((segment.from_m + segment.to_m) / 2)


def draws_of(kit: Kit, schedule: Schedule, loss: Loss | None = None) -> Mapping[str, tuple[Draw, ...]]:
    """Cylinder id to what is taken from it, in time order.

    The bottom rate holds on the way down, on the levels and on the way up to the first halt; from there the deco rate.
    A diver's mains share the use evenly by volume.

    Args:
        kit: of the dive.
        schedule: of the team.
        loss: mains lost on the way, None.
    """
    halt_min = first_halt_min(schedule) - SAME_TIME_MIN
    draws: dict[str, list[Draw]] = {}
    for segment in schedule.segments if loss is None else _cut(schedule.segments, loss.at_min):
        lost = loss if loss is not None and segment.start_min >= loss.at_min - SAME_TIME_MIN else None
        taken: dict[str, float] = {}
        for diver in kit.dive.divers:
            rate_l_min = _rate_l_min(kit, diver, segment, halt_min, lost)
            _take(taken, kit if lost is None else lost.kit, diver, segment, rate_l_min)
        for cylinder, free_l in taken.items():
            draws.setdefault(cylinder, []).append(Draw(segment.start_min, segment.minutes, free_l))
    return {cylinder: tuple(parts) for cylinder, parts in draws.items()}


def _cut(segments: Sequence[Segment], at_min: float) -> Iterator[Segment]:
    """The segments, the one that goes on at a runtime in two."""
    for segment in segments:
        first_min = at_min - segment.start_min
        if SAME_TIME_MIN < first_min < segment.minutes - SAME_TIME_MIN:
            middle_m = segment.from_m + (segment.to_m - segment.from_m) * first_min / segment.minutes
            yield replace(segment, to_m=middle_m, minutes=first_min)
            yield replace(segment, from_m=middle_m, start_min=at_min, minutes=segment.minutes - first_min)
        else:
            yield segment


def _rate_l_min(kit: Kit, diver: Diver, segment: Segment, halt_min: float, loss: Loss | None) -> float:
    if loss is not None and diver.id in loss.stressed:
        mains = {c.id for own in kit.mains.values() for c in own}
        if segment.gas[diver.id].cylinder in mains:
            return diver.rmv_stressed_l_min
    return diver.rmv_deco_l_min if segment.start_min >= halt_min else diver.rmv_bottom_l_min


def _take(taken: dict[str, float], kit: Kit, diver: Diver, segment: Segment, rate_l_min: float) -> None:
    pool = kit.pool(diver.id, segment.gas[diver.id].cylinder)
    whole_l = used_l(rate_l_min, mean_ambient_bar(kit, segment), segment.minutes)
    volume_l = sum(c.volume_l for c in pool)
    for cylinder in pool:
        taken[cylinder.id] = taken.get(cylinder.id, 0.0) + whole_l * cylinder.volume_l / volume_l


def drawn_l(draws: tuple[Draw, ...], until_min: float) -> float:
    """Free gas taken up to a runtime; inside a segment in proportion to the time [L].

    Args:
        draws: of one cylinder.
        until_min: runtime [min]
    """
    total_l = 0.0
    for draw in draws:
        if draw.start_min >= until_min:
            break
        share = 1.0 if draw.minutes <= 0.0 else min(1.0, (until_min - draw.start_min) / draw.minutes)
        total_l += draw.free_l * share
    return total_l
