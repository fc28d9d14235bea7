"""The switches of the way up: cylinders that serve one step are one team gas, at the shallowest depth they allow."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.analysis.reading import Reading
from gaswright.planning.dive import PlanCylinder, Role, TeamGas
from gaswright.planning.kit import Kit
from gaswright.planning.mods import label_mod_of, mod_m, mod_of, used_both_ways

__all__ = ["Step", "allowed_m", "floor_to_grid_m", "for_the_way_up", "step_key_m", "steps_up", "team_gas_of"]

ON_GRID = 1e-6  # share of a grid step that binary rounding may take


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the way up.

    Args:
        key_m: the depth it is meant for, which groups its cylinders [m]
        breathed: diver id to the cylinder switched to, in the order of the card.
        cylinders: ids of all its cylinders, spares included.
        depth_m: depth of the switch [m]
        allowed: id to the depth which that cylinder allows [m]
    """

    key_m: float
    breathed: Mapping[str, str]
    cylinders: tuple[str, ...]
    depth_m: float
    allowed: Mapping[str, float]

    @property
    def pulling(self) -> tuple[str, ...]:
        """Ids of the breathed cylinders that make the switch shallower than it is meant and the others allow."""
        meant_m = min(self.key_m, max(self.allowed.values()))
        if meant_m <= self.depth_m + ON_GRID:
            return ()
        return tuple(c for c, depth_m in self.allowed.items() if depth_m <= self.depth_m)

    @property
    def would_be_m(self) -> float:
        """Depth of the switch without the cylinders that pull it shallower, no deeper than it is meant [m]."""
        others_m = min((d for c, d in self.allowed.items() if c not in self.pulling), default=self.depth_m)
        return min(others_m, max(self.key_m, self.depth_m))


def floor_to_grid_m(depth_m: float, step_m: float) -> float:
    """The deepest depth of the stop grid that is not deeper [m].

    Args:
        depth_m: depth [m]
        step_m: step of the grid [m]
    """
    return int(depth_m / step_m + ON_GRID) * step_m


def allowed_m(kit: Kit, cylinder: PlanCylinder) -> float:
    """The depth of the grid at which a cylinder may be taken on the way up [m].

    Its explicit switch depth, else its MOD; a staged or hung cylinder no deeper than its place.

    Args:
        kit: gives units, grid and limits.
        cylinder: with a known gas.
    """
    mod = mod_of(cylinder, kit.policy)
    depth_m = cylinder.switch_depth_m
    if depth_m is None:
        depth_m = 0.0 if mod is None else mod_m(mod, kit.dive.units)
    if cylinder.staged and cylinder.place_depth_m is not None:
        depth_m = min(depth_m, cylinder.place_depth_m)
    return floor_to_grid_m(depth_m, kit.dive.settings.stop_step_m)


def step_key_m(kit: Kit, cylinder: PlanCylinder) -> float:
    """The depth that groups cylinders: the explicit one, else the MOD of the target, else of the reading [m].

    Args:
        kit: gives units, grid and limits.
        cylinder: with a known gas.
    """
    depth_m = cylinder.switch_depth_m
    if depth_m is None:
        reading = cylinder.deep_gas if cylinder.target is None else Reading(cylinder.target)
        both = used_both_ways(cylinder)
        mod = None if reading is None else label_mod_of(reading, cylinder.role, kit.policy, both_ways=both)
        depth_m = 0.0 if mod is None else mod_m(mod, kit.dive.units)
    return floor_to_grid_m(depth_m, kit.dive.settings.stop_step_m)


def steps_up(kit: Kit) -> tuple[Step, ...]:
    """The steps of the way up, the deepest first.

    Two cylinders of one diver in one step: the first listed is breathed, the other is a spare.

    Args:
        kit: of the dive.
    """
    groups: dict[float, list[PlanCylinder]] = {}
    for cylinder in kit.cylinders.values():
        if for_the_way_up(cylinder):
            groups.setdefault(_millimetres(step_key_m(kit, cylinder)), []).append(cylinder)
    return tuple(_step(kit, groups[key]) for key in sorted(groups, reverse=True))


def for_the_way_up(cylinder: PlanCylinder) -> bool:
    """Whether a cylinder is meant for a switch on the way up: deco, or a stage or travel cylinder with a switch depth.

    Args:
        cylinder: of the plan.
    """
    if cylinder.role is Role.DECO:
        return True
    return cylinder.role in {Role.STAGE, Role.TRAVEL} and cylinder.switch_depth_m is not None


def _millimetres(depth_m: float) -> float:
    return round(depth_m, 3)


def _step(kit: Kit, members: list[PlanCylinder]) -> Step:
    breathed: dict[str, str] = {}
    for diver in kit.dive.divers:
        own = [c for c in members if diver.id in c.divers]
        if own:
            breathed[diver.id] = own[0].id
    allowed = {c.id: allowed_m(kit, c) for c in members if c.id in breathed.values()}
    ids = tuple(c.id for c in members)
    return Step(step_key_m(kit, members[0]), breathed, ids, min(allowed.values()), allowed)


def team_gas_of(step: Step) -> TeamGas:
    """The step as the plan shows it.

    Args:
        step: of the way up.
    """
    pulling = step.pulling
    pulled_by = pulling[0] if pulling else None
    return TeamGas(step.depth_m, dict(step.breathed), pulled_by, step.would_be_m if pulling else None)
