"""A plan held fixed while gases change: the same levels, switch depths and turns, with another gas in a cylinder.

The acceptance window, the entered numbers and the robustness of a plan all ask the same thing: what becomes of TTS,
stops and gas if the sheet stays as it is and only what is breathed differs.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from gaswright.decompression.request import (
    Breath,
    Schedule,
    ScheduleImpossible,
    ScheduleRequest,
    SegmentKind,
    Unverified,
)
from gaswright.decompression.scheduler import schedule, unverified_schedule
from gaswright.errors import InputError
from gaswright.physics.content import free_litres
from gaswright.physics.mixture import Mixture
from gaswright.planning.casework import refusal_text
from gaswright.planning.contents import Content, contents_of
from gaswright.planning.dive import PlanCylinder, TeamDive
from gaswright.planning.kit import Kit, kit_of
from gaswright.planning.request import Route, request_of, route_of
from gaswright.planning.travel import NoOverlap
from gaswright.planning.usage import bottom_end_min, draws_of
from gaswright.planning.uses import Use, uses_of
from gaswright.policy import Policy

__all__ = [
    "HeldPlan", "Shown", "breath_instead", "halts_of", "held_plan", "moved_l", "regassed", "shown_of", "shown_with",
]

SAME_TIME_MIN = 1e-6  # two runtimes of one instant, after binary rounding


@dataclass(frozen=True, slots=True)
class Shown:
    """What one schedule comes to, as far as a sheet shows it.

    Args:
        tts_min: from the end of the last level to the surface [min]
        halts: depth of each halt of the way up, in millimetres, to its minutes [min]
        used_l: cylinder id to the free gas used [L]
    """

    tts_min: float
    halts: Mapping[int, float]
    used_l: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class HeldPlan:
    """The planned dive with all that stays fixed while a gas changes.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side.
        request: as scheduled.
        schedule: of the planned case, verified.
        uses: cylinder id to its use.
        shown: of the planned case.
    """

    kit: Kit
    contents: Mapping[str, Content]
    route: Route
    request: ScheduleRequest
    schedule: Schedule
    uses: Mapping[str, Use]
    shown: Shown


def held_plan(dive: TeamDive, policy: Policy) -> HeldPlan:
    """The planned dive, held.

    Args:
        dive: as given.
        policy: the limits.

    Raises:
        InputError: the dive has no schedule, so there is nothing to hold; the sentence says why.
    """
    kit = kit_of(dive, policy)
    without = [d.id for d in dive.divers if not kit.mains[d.id]]
    if without:
        raise InputError(f"there is no plan to hold: {', '.join(without)} has no mains of known gas; analyse them, or "
                         "give their target")
    route = route_of(kit)
    if isinstance(route, NoOverlap):
        raise InputError(f"there is no plan to hold: {refusal_text(kit, route)}")
    request = request_of(kit, route, dive.levels)
    try:
        made = schedule(request)
    except (ScheduleImpossible, Unverified) as refused:
        raise InputError(f"there is no plan to hold: {refused}") from refused
    return HeldPlan(kit, contents_of(kit), route, request, made, uses_of(kit, made), shown_of(kit, made))


def shown_of(kit: Kit, made: Schedule) -> Shown:
    """What a schedule comes to.

    Args:
        kit: of the dive.
        made: its schedule.
    """
    used_l = {c: sum(draw.free_l for draw in draws) for c, draws in draws_of(kit, made).items()}
    return Shown(made.tts_min, halts_of(made), used_l)


def halts_of(made: Schedule) -> dict[int, float]:
    """Depth of each halt of the way up, in millimetres, to its minutes [min].

    Args:
        made: a schedule.
    """
    leave_min = bottom_end_min(made) - SAME_TIME_MIN
    found: dict[int, float] = {}
    for segment in made.segments:
        if segment.kind is SegmentKind.STOP and segment.start_min >= leave_min:
            key = round(segment.from_m * 1000)
            found[key] = found.get(key, 0.0) + segment.minutes
    return found


def breath_instead(kit: Kit, diver: str, breath: Breath, gases: Mapping[str, Mixture]) -> Breath:
    """What a diver really breathes where the plan says a gas, if some cylinders hold others.

    Of several mains the one with the least oxygen still counts; the id stays, for the mains share what is used.

    Args:
        kit: of the dive.
        diver: id.
        breath: as planned.
        gases: cylinder id to the gas it holds instead.
    """
    pool = kit.pool(diver, breath.cylinder)
    if not any(c.id in gases for c in pool):
        return breath
    held = [gases.get(c.id) or _mixture(c) for c in pool]
    leanest = min(held, key=lambda mixture: mixture.o2_e4)
    return Breath(breath.cylinder, leanest.o2, leanest.he)


def _mixture(cylinder: PlanCylinder) -> Mixture:
    if cylinder.gas is None:
        raise ValueError(f"{cylinder.id} has no known gas: a defect, a kit holds none")
    return cylinder.gas.mixture


def regassed(request: ScheduleRequest, instead: Callable[[str, Breath], Breath]) -> ScheduleRequest:
    """A request with every gas replaced; depths, levels and turns stay.

    Args:
        request: as scheduled.
        instead: diver id and planned gas to the gas breathed.
    """

    def changed(gas: Mapping[str, Breath]) -> dict[str, Breath]:
        return {diver: instead(diver, breath) for diver, breath in gas.items()}

    return replace(
        request, start_gas=changed(request.start_gas),
        levels=tuple(replace(level, gas=changed(level.gas)) for level in request.levels),
        changes=tuple(replace(change, gas=changed(change.gas)) for change in request.changes),
        cycles=tuple(
            replace(cycle, phases=tuple(replace(phase, gas=changed(phase.gas)) for phase in cycle.phases))
            for cycle in request.cycles
        ),
    )  # fmt: skip


def shown_with(held: HeldPlan, cylinder: str, gases: Iterable[Mixture]) -> list[Shown | None]:
    """What the held plan comes to for each gas that a cylinder may hold; None where no schedule exists.

    Args:
        held: the planned dive.
        cylinder: id.
        gases: one after the other.
    """
    return [_shown(held, {cylinder: gas}) for gas in gases]


def _shown(held: HeldPlan, gases: Mapping[str, Mixture]) -> Shown | None:
    request = regassed(held.request, lambda diver, breath: breath_instead(held.kit, diver, breath, gases))
    try:
        return shown_of(held.kit, unverified_schedule(request))
    except ScheduleImpossible:
        return None


def moved_l(held: HeldPlan, bar: float) -> dict[str, float]:
    """Cylinder id to the free gas that makes its pressure move so much, near its start pressure [L].

    Args:
        held: the planned dive.
        bar: gauge pressure [bar]
    """
    found = {}
    for cylinder, content in held.contents.items():
        volume_l, temperature_k, mixture = content.volume_l, content.temperature_k, content.mixture
        high_bar = content.start_bar
        low_bar = max(0.0, high_bar - bar)
        found[cylinder] = (free_litres(high_bar, volume_l, temperature_k, mixture)
                           - free_litres(low_bar, volume_l, temperature_k, mixture))
    return found
