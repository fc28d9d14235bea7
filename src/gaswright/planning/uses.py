"""Where each cylinder is breathed in a schedule: by whom, how deep, how shallow."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.decompression.request import Schedule
from gaswright.planning.kit import Kit
from gaswright.planning.team_gases import steps_up

__all__ = ["Use", "meant_uses", "uses_of"]


@dataclass(frozen=True, slots=True)
class Use:
    """How one cylinder is used.

    Args:
        cylinder: id.
        divers: ids of those who breathe from it, in the order of the card.
        deepest_m: deepest point at which it is breathed [m]
        shallowest_m: shallowest point at which it is breathed [m]
        shallowest_at_min: runtime there [min]
    """

    cylinder: str
    divers: tuple[str, ...]
    deepest_m: float
    shallowest_m: float
    shallowest_at_min: float


def uses_of(kit: Kit, schedule: Schedule) -> Mapping[str, Use]:
    """Cylinder id to its use; all mains of a diver are used wherever one of them is.

    Args:
        kit: of the dive.
        schedule: of the team.
    """
    deepest: dict[tuple[str, str], float] = {}
    shallowest: dict[tuple[str, str], tuple[float, float]] = {}
    for segment in schedule.segments:
        low_m, high_m = max(segment.from_m, segment.to_m), min(segment.from_m, segment.to_m)
        at_min = segment.start_min if segment.from_m == high_m else segment.end_min
        for diver, breath in segment.gas.items():
            key = (diver, breath.cylinder)
            deepest[key] = max(deepest.get(key, low_m), low_m)
            shallowest[key] = min(shallowest.get(key, (high_m, at_min)), (high_m, at_min))
    found: dict[str, Use] = {}
    for (diver, named), low_m in deepest.items():
        for cylinder in kit.pool(diver, named):
            here = Use(cylinder.id, (diver,), low_m, *shallowest[diver, named])
            found[cylinder.id] = _joined(found[cylinder.id], here) if cylinder.id in found else here
    return {i: found[i] for i in kit.cylinders if i in found}


def _joined(one: Use, other: Use) -> Use:
    shallow = min((one.shallowest_m, one.shallowest_at_min), (other.shallowest_m, other.shallowest_at_min))
    divers = one.divers + tuple(d for d in other.divers if d not in one.divers)
    return Use(one.cylinder, divers, max(one.deepest_m, other.deepest_m), *shallow)


def meant_uses(kit: Kit) -> Mapping[str, Use]:
    """Cylinder id to the use that is meant where no schedule exists: levels and switches, depths as given.

    Args:
        kit: of the dive; every diver has mains.
    """
    found: dict[str, Use] = {}
    for level in kit.dive.levels:
        for diver in kit.dive.divers:
            for cylinder in kit.pool(diver.id, kit.level_cylinder(diver.id, level).id):
                here = Use(cylinder.id, (diver.id,), level.depth_m, level.depth_m, 0.0)
                found[cylinder.id] = _joined(found[cylinder.id], here) if cylinder.id in found else here
    last_m = kit.dive.levels[-1].depth_m
    for step in steps_up(kit):
        for diver_id, cylinder_id in step.breathed.items():
            here = Use(cylinder_id, (diver_id,), min(step.depth_m, last_m), min(step.depth_m, last_m), 0.0)
            found[cylinder_id] = _joined(found[cylinder_id], here) if cylinder_id in found else here
    return {i: found[i] for i in kit.cylinders if i in found}
