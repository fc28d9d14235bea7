"""The cases of a dive: as planned, deeper, longer, and with each team gas lost."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from gaswright.errors import InputError
from gaswright.planning.casework import Worked, worked_case
from gaswright.planning.contents import Content
from gaswright.planning.dive import Level
from gaswright.planning.kit import Kit
from gaswright.planning.request import Route, route_after_loss
from gaswright.planning.team_gases import Step
from gaswright.planning.wording import depth_text

__all__ = [
    "CASES", "DELAY", "LOST_BOTTOM", "LOST_GAS", "NOT_THERE", "SEPARATED", "SHARED_GAS", "changed_levels",
    "later_levels", "lost_cylinder_case", "lost_gas_cases", "profile_cases", "wanted_cases",
]

DEEPER, LONGER, LOST_GAS, BOTH = "deeper", "longer", "lost-gas", "deeper and longer"
SHARED_GAS, LOST_BOTTOM, NOT_THERE = "shared-gas", "lost-bottom", "not-there"
DELAY, SEPARATED = "delay", "separated"
CASES = (DEEPER, LONGER, LOST_GAS, SHARED_GAS, LOST_BOTTOM, NOT_THERE, DELAY, SEPARATED)


def wanted_cases(names: Sequence[str]) -> tuple[str, ...]:
    """The cases that are asked for, each once.

    Args:
        names: from the settings.

    Raises:
        InputError: a name that is no case.
    """
    for name in names:
        if name not in CASES:
            raise InputError(f"there is no case {name!r}; known are {', '.join(CASES)}")
    return tuple(name for name in CASES if name in names)


def changed_levels(levels: Sequence[Level], delta_m: float, delta_min: float) -> tuple[Level, ...]:
    """The levels with the deepest one deeper and longer; of equally deep ones the last.

    Args:
        levels: as planned.
        delta_m: how much deeper [m]
        delta_min: how much longer [min]
    """
    deepest = max(range(len(levels)), key=lambda i: (levels[i].depth_m, i))
    here = levels[deepest]
    changed = replace(here, depth_m=here.depth_m + delta_m, minutes=here.minutes + delta_min)
    return (*levels[:deepest], changed, *levels[deepest + 1 :])


def later_levels(levels: Sequence[Level], late_min: float) -> tuple[Level, ...]:
    """The levels with the last one left later.

    Args:
        levels: as planned.
        late_min: how much later [min]
    """
    return (*levels[:-1], replace(levels[-1], minutes=levels[-1].minutes + late_min))


def profile_cases(kit: Kit, contents: Mapping[str, Content], route: Route) -> list[Worked]:
    """The cases deeper, longer and both, as far as they are asked for.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side.
    """
    settings = kit.dive.settings
    wanted = wanted_cases(settings.cases)
    deltas = {DEEPER: (settings.deeper_m, 0.0), LONGER: (0.0, settings.longer_min)}
    changes = {name: deltas[name] for name in wanted if name in deltas}
    if len(changes) == len(deltas):
        changes[BOTH] = (settings.deeper_m, settings.longer_min)
    return [
        worked_case(kit, contents, route, name, changed_levels(kit.dive.levels, m, minutes), delta_m=m,
                    delta_min=minutes)
        for name, (m, minutes) in changes.items()
    ]


def lost_gas_cases(kit: Kit, contents: Mapping[str, Content], route: Route) -> tuple[list[Worked], Worked | None]:
    """A case for each gas of the way up lost by the whole team, spares included; and one for all of them lost.

    The first in the order of the steps; the second None where there are fewer than two gases to lose.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side.
    """
    if LOST_GAS not in wanted_cases(kit.dive.settings.cases):
        return [], None
    each = [_lost(kit, contents, route, _gas_name(kit, route, step), step.cylinders) for step in route.steps]
    if len(each) < 2:
        return each, None
    every = " and ".join(_gas_name(kit, route, step) for step in route.steps)
    return each, _lost(kit, contents, route, every, tuple(c for step in route.steps for c in step.cylinders))


def lost_cylinder_case(kit: Kit, contents: Mapping[str, Content], route: Route, cylinder: str) -> Worked:
    """The case in which one cylinder alone is lost; a spare for the same step takes its place.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side.
        cylinder: id.
    """
    return _lost(kit, contents, route, cylinder, (cylinder,))


def _lost(kit: Kit, contents: Mapping[str, Content], route: Route, what: str, lost: tuple[str, ...]) -> Worked:
    left = route_after_loss(kit, route, lost)
    return worked_case(kit, contents, left, f"lost {what}", kit.dive.levels, lost=lost)


def _gas_name(kit: Kit, route: Route, step: Step) -> str:
    """The gas by its switch depth; two gases of one depth are told apart by their first cylinder."""
    depth = depth_text(step.depth_m, kit.dive.units)
    same = [s for s in route.steps if depth_text(s.depth_m, kit.dive.units) == depth]
    return f"{depth} gas" if len(same) == 1 else f"{depth} gas of {step.cylinders[0]}"
