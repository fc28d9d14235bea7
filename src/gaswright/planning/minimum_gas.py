"""Minimum gas: two divers at their stressed rates, from the problem at depth to the next gas that both can breathe.

The arithmetic stands in small functions of plain numbers, so that a published example can be put through it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from gaswright.decompression.request import Schedule, ScheduleImpossible, ScheduleRequest, Segment
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.physics.consumption import used_l
from gaswright.planning.kit import Kit
from gaswright.planning.request import Route
from gaswright.planning.team_gases import Step
from gaswright.planning.usage import bottom_end_min
from gaswright.planning.way_out import Moment, way_out_requests

__all__ = ["Leg", "Need", "gas_for_legs_l", "legs_between", "minimum_gas_l", "need_at", "next_common_step"]

SAME_TIME_MIN = 1e-6  # two runtimes of one instant, after binary rounding


@dataclass(frozen=True, slots=True)
class Leg:
    """One piece of a way out.

    Args:
        mean_ambient_bar: mean absolute pressure [bar]
        minutes: how long it takes [min]
    """

    mean_ambient_bar: float
    minutes: float


@dataclass(frozen=True, slots=True)
class Need:
    """What each diver's mains must hold at a moment for the team to get out.

    Args:
        moment: when.
        free_l: diver id to the free gas needed, what cannot be breathed not included [L]
    """

    moment: Moment
    free_l: Mapping[str, float]


def gas_for_legs_l(rate_l_min: float, legs: Iterable[Leg]) -> float:
    """Free gas that one diver takes on a way out [L].

    Args:
        rate_l_min: stressed consumption [L/min]
        legs: of the way out.

    Source: [USN4] p. 8-3: V = (D + 33) / 33 x rate x time, summed over the legs.
    """
    return sum(used_l(rate_l_min, leg.mean_ambient_bar, leg.minutes) for leg in legs)


def minimum_gas_l(first_l: float, others_l: Iterable[float]) -> float:
    """Gas for a diver and for the hungriest buddy; alone the diver's own need is counted twice [L].

    Args:
        first_l: what the diver takes [L]
        others_l: what each possible buddy takes [L]
    """
    return first_l + max(others_l, default=first_l)


def next_common_step(steps: Sequence[Step], one: str, other: str) -> Step | None:
    """The first step of the way up at which both divers have a cylinder; None: none before the surface.

    Args:
        steps: the deepest first.
        one: diver id.
        other: diver id.
    """
    return next((s for s in steps if one in s.breathed and other in s.breathed), None)


def legs_between(kit: Kit, segments: Sequence[Segment], from_min: float, until_min: float) -> list[Leg]:
    """The pieces of a schedule between two runtimes.

    Args:
        kit: gives the place.
        segments: of the way out.
        from_min: runtime of the problem [min]
        until_min: runtime at which the next gas is breathed [min]
    """
    legs = []
    for segment in segments:
        start_min, end_min = max(segment.start_min, from_min), min(segment.end_min, until_min)
        if end_min > start_min:
            share = ((start_min + end_min) / 2 - segment.start_min) / segment.minutes
            middle_m = segment.from_m + share * (segment.to_m - segment.from_m)
            legs.append(Leg(kit.dive.place.ambient_bar(middle_m), end_min - start_min))
    return legs


def need_at(kit: Kit, route: Route, moment: Moment) -> Need:
    """What each diver's mains must hold at a moment.

    Args:
        kit: of the dive.
        route: its gas side.
        moment: when.

    Raises:
        ScheduleImpossible: there is no way up from there.
    """
    out = _first_possible(way_out_requests(kit, route, moment))
    divers = [d.id for d in kit.dive.divers]
    rates = {d.id: d.rmv_stressed_l_min for d in kit.dive.divers}
    known: dict[tuple[str, float], float] = {}

    def taken_l(diver: str, step: Step | None) -> float:
        until_min = _gas_taken_min(kit, route, out, diver, step)
        if (diver, until_min) not in known:
            legs = legs_between(kit, out.segments, moment.at_min, until_min)
            known[diver, until_min] = gas_for_legs_l(rates[diver], legs)
        return known[diver, until_min]

    free_l = {}
    for diver in divers:
        shared = [(next_common_step(route.steps, diver, other), other) for other in divers if other != diver]
        alone = next_common_step(route.steps, diver, diver)
        pairs = [minimum_gas_l(taken_l(diver, step), [taken_l(other, step)]) for step, other in shared]
        free_l[diver] = max(pairs) if pairs else minimum_gas_l(taken_l(diver, alone), [])
    return Need(moment, free_l)


def _first_possible(requests: Sequence[ScheduleRequest]) -> Schedule:
    """The schedule of the first way that has one."""
    for request in requests[:-1]:
        try:
            return unverified_schedule(request)
        except ScheduleImpossible:
            continue
    return unverified_schedule(requests[-1])


def _gas_taken_min(kit: Kit, route: Route, out: Schedule, diver: str, step: Step | None) -> float:
    """Runtime at which a diver has the gas of a step: the own turn is still breathed from the mains [min].

    Where two steps are made at one depth the gas of the later one serves for both.
    """
    if step is None:
        return out.runtime_min
    served = {s.breathed[diver] for s in route.steps[route.steps.index(step):] if diver in s.breathed}
    up_min = bottom_end_min(out) - SAME_TIME_MIN
    taken = (s.start_min for s in out.segments if s.start_min >= up_min and s.gas[diver].cylinder in served)
    return next((start_min + kit.dive.settings.switch_min for start_min in taken), out.runtime_min)
