"""A team's dive turned into the scheduler's request: who breathes what at the start, on a level, from a switch on."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.decompression.request import (
    Breath,
    BreathingCycle,
    Direction,
    GasChange,
    ProfileLevel,
    ScheduleRequest,
    Tissues,
)
from gaswright.planning.around import resting_tissues
from gaswright.planning.breaks import break_cycles
from gaswright.planning.dive import Level, TeamGas
from gaswright.planning.kit import Kit, breath_of, without
from gaswright.planning.team_gases import Step, steps_up, team_gas_of
from gaswright.planning.travel import NoOverlap, travel_cylinder, travel_switches

__all__ = ["Route", "profile_levels", "request_of", "route_after_loss", "route_of"]

SAME_DEPTH_M = 1e-6  # two depths of one grid step, after binary rounding


@dataclass(frozen=True, slots=True)
class Route:
    """The gas side of a dive, found once and used for every profile that is dived with it.

    Args:
        start: diver id to the gas at the start.
        down: changes on the way down.
        steps: steps of the way up, the deepest first, unused ones left out.
        bottom: gas of each diver on each level of the plan, in the order of the levels.
        mains: diver id to the mains.
    """

    start: Mapping[str, Breath]
    down: tuple[GasChange, ...]
    steps: tuple[Step, ...]
    bottom: tuple[Mapping[str, Breath], ...]
    mains: Mapping[str, Breath]

    @property
    def team_gases(self) -> tuple[TeamGas, ...]:
        """The switches as the plan shows them, in the order in which they are met."""
        down = (
            TeamGas(c.depth_m, {d: b.cylinder for d, b in c.gas.items()}, direction=Direction.DOWN) for c in self.down
        )
        return (*down, *(team_gas_of(step) for step in self.steps))


def route_of(kit: Kit) -> Route | NoOverlap:
    """The route of a dive, or why there is none.

    Args:
        kit: of the dive; every diver has mains.
    """
    divers = [d.id for d in kit.dive.divers]
    bottom = tuple({d: breath_of(kit.level_cylinder(d, level)) for d in divers} for level in kit.dive.levels)
    switches = travel_switches(kit)
    if isinstance(switches, NoOverlap):
        return switches
    start = {d: bottom[0][d] for d in divers}
    for diver in divers:
        travel = travel_cylinder(kit, diver)
        if travel is not None:
            start[diver] = breath_of(travel)
    down = tuple(GasChange(Direction.DOWN, at_m, {d: bottom[0][d] for d in who}) for at_m, who in switches.items())
    return Route(start, down, _usable_steps(kit), bottom, {d: breath_of(kit.plan_main(d)) for d in divers})


def route_after_loss(kit: Kit, route: Route, lost: Collection[str]) -> Route:
    """The route with some cylinders lost for the way up; the way down and the levels are as planned.

    Args:
        kit: of the whole dive.
        route: as planned.
        lost: ids of the lost cylinders.
    """
    return replace(route, steps=_usable_steps(without(kit, lost)))


def _usable_steps(kit: Kit) -> tuple[Step, ...]:
    """The steps at or below the last stop: a gas for shallower depths finds no stop."""
    return tuple(s for s in steps_up(kit) if s.depth_m >= kit.dive.settings.last_stop_m - SAME_DEPTH_M)


def profile_levels(
    levels: Sequence[Level], route: Route, gases: Sequence[Mapping[str, Breath]]
) -> tuple[ProfileLevel, ...]:
    """The levels with the gases taken at arrival: only what changes.

    Args:
        levels: in order.
        route: gives the gas at the start and the changes on the way down, all of them above or at the first level.
        gases: what each diver breathes on each of the levels.
    """
    breathed = dict(route.start)
    for change in route.down:
        breathed.update(change.gas)
    profile = []
    for level, gas in zip(levels, gases, strict=True):
        taken = {d: breath for d, breath in gas.items() if breathed[d] != breath}
        breathed.update(taken)
        profile.append(ProfileLevel(level.depth_m, level.minutes, taken))
    return tuple(profile)


def request_of(
    kit: Kit, route: Route, levels: Sequence[Level], gases: Sequence[Mapping[str, Breath]] | None = None, *,
    cycles: tuple[BreathingCycle, ...] | None = None,
) -> ScheduleRequest:
    """The request for a profile dived with the gases of a route.

    Args:
        kit: of the dive.
        route: its gas side.
        levels: the profile, the planned one or a changed one.
        gases: what each diver breathes on each level; None: as planned.
        cycles: gases breathed in turns; None: the oxygen breaks, if the team takes them.
    """
    settings = kit.dive.settings
    if cycles is None:
        cycles = break_cycles(kit, route.steps, levels[-1].depth_m) if settings.oxygen_breaks else ()
    gases = route.bottom if gases is None else gases
    return ScheduleRequest(
        divers=tuple(d.id for d in kit.dive.divers),
        start_gas=dict(route.start),
        levels=profile_levels(levels, route, gases),
        changes=(*route.down, *_changes_up(kit, route, levels[-1].depth_m, gases[-1])),
        place=kit.dive.place,
        gf_low=settings.gf_low / 100,
        gf_high=settings.gf_high / 100,
        descent_m_min=settings.descent_m_min,
        ascent_m_min=settings.ascent_m_min,
        zones=settings.zones,
        stop_step_m=settings.stop_step_m,
        last_stop_m=settings.last_stop_m,
        stop_unit_min=settings.stop_unit_min,
        switch_min=settings.switch_min,
        tissues=_tissues_at_start(kit),
        cycles=cycles,
    )


def _tissues_at_start(kit: Kit) -> Mapping[str, Tissues] | None:
    """Tensions that the team brings from earlier dives; who made none is saturated with air; None: nobody made one."""
    before = kit.dive.before
    if before is None or not before.tissues:
        return None
    rested = resting_tissues(kit.dive.place)
    return {d.id: before.tissues.get(d.id, rested) for d in kit.dive.divers}


def _changes_up(
    kit: Kit, route: Route, last_m: float, last_gas: Mapping[str, Breath]
) -> tuple[GasChange, ...]:
    """The changes of the way up: back to the mains from a stage, then each step; two at one depth become one.

    A step that lies deeper than the last level is made on leaving it.
    """
    made: dict[float, dict[str, Breath]] = {}
    to_mains = {d: route.mains[d] for d, breath in last_gas.items() if breath != route.mains[d]}
    if to_mains:
        made[last_m] = to_mains
    for step in route.steps:
        gas = {d: breath_of(kit.cylinders[c]) for d, c in step.breathed.items()}
        made.setdefault(min(step.depth_m, last_m), {}).update(gas)
    card = [d.id for d in kit.dive.divers]
    return tuple(
        GasChange(Direction.UP, depth_m, {d: made[depth_m][d] for d in card if d in made[depth_m]})
        for depth_m in sorted(made, reverse=True)
    )
