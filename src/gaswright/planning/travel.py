"""The change from travel gas to bottom gas on the way down: an overlap of both, one depth for the team."""

import math
from dataclasses import dataclass

from gaswright.physics.depth_limits import minimum_depth_m
from gaswright.planning.dive import PlanCylinder, Role, UnitSystem
from gaswright.planning.kit import Kit
from gaswright.planning.mods import mod_m, mod_of
from gaswright.planning.team_gases import floor_to_grid_m
from gaswright.units import METRE_PER_FOOT

__all__ = ["NoOverlap", "travel_cylinder", "travel_switches"]

ROUNDING_M = 1e-9  # binary rounding of a depth


@dataclass(frozen=True, slots=True)
class NoOverlap:
    """No depth exists at which travel and bottom gas can both be breathed.

    Args:
        from_m: deepest minimum depth of the bottom gases [m]
        to_m: shallowest MOD of the travel gases [m]
    """

    from_m: float
    to_m: float


def travel_cylinder(kit: Kit, diver: str) -> PlanCylinder | None:
    """The cylinder a diver starts on and leaves on the way down; None where there is none.

    Args:
        kit: of the dive.
        diver: id.
    """
    own = (c for c in kit.of(diver) if c.role is not Role.MAIN)
    return next((c for c in own if c.role is Role.TRAVEL or c.leave_depth_m is not None), None)


def travel_switches(kit: Kit) -> dict[float, tuple[str, ...]] | NoOverlap:
    """Depth of each change on the way down, to the divers who make it, in the order of the card.

    A leave depth given for the cylinder stands; the others change together, as deep as the travel gas allows: at the
    deepest depth of the stop grid inside the overlap, else at the first whole unit in it. Never below the first level.

    Args:
        kit: of the dive.
    """
    first_m = kit.dive.levels[0].depth_m
    switches: dict[float, list[str]] = {}
    computed: list[str] = []
    for diver in kit.dive.divers:
        travel = travel_cylinder(kit, diver.id)
        if travel is None:
            continue
        if travel.leave_depth_m is None:
            computed.append(diver.id)
        else:
            switches.setdefault(min(travel.leave_depth_m, first_m), []).append(diver.id)
    if computed:
        depth_m = _overlap_depth_m(kit, computed)
        if isinstance(depth_m, NoOverlap):
            return depth_m
        switches.setdefault(min(depth_m, first_m), []).extend(computed)
    card = [d.id for d in kit.dive.divers]
    return {d: tuple(sorted(switches[d], key=card.index)) for d in sorted(switches)}


def _overlap_depth_m(kit: Kit, divers: list[str]) -> float | NoOverlap:
    lowest_m = max(_deepest_minimum_m(kit, diver) for diver in divers)
    deepest_m = min(_travel_mod_m(kit, diver) for diver in divers)
    if lowest_m > deepest_m + ROUNDING_M or deepest_m <= 0.0:
        return NoOverlap(lowest_m, deepest_m)
    on_grid_m = floor_to_grid_m(deepest_m, kit.dive.settings.stop_step_m)
    if on_grid_m >= lowest_m and on_grid_m > 0.0:
        return on_grid_m
    unit_m = 1.0 if kit.dive.units is UnitSystem.METRIC else METRE_PER_FOOT
    return min(deepest_m, max(1, math.ceil(lowest_m / unit_m - ROUNDING_M)) * unit_m)


def _deepest_minimum_m(kit: Kit, diver: str) -> float:
    """Deepest minimum depth of the gases a diver changes to on the first level [m]."""
    bottom = kit.pool(diver, kit.level_cylinder(diver, kit.dive.levels[0]).id)
    return max(_minimum_m(kit, c) for c in bottom)


def _minimum_m(kit: Kit, cylinder: PlanCylinder) -> float:
    lean_e4 = 0 if cylinder.gas is None else cylinder.gas.lean_o2_e4
    if lean_e4 < 1:
        return math.inf
    return minimum_depth_m(lean_e4 / 10_000, kit.policy.ppo2_low_stop_ata, kit.dive.place)


def _travel_mod_m(kit: Kit, diver: str) -> float:
    travel = travel_cylinder(kit, diver)
    mod = None if travel is None else mod_of(travel, kit.policy)
    return 0.0 if mod is None else mod_m(mod, kit.dive.units)
