"""What is breathed when leaving the surface, and what a switch box names: IDs, gas, MOD and the depth it begins at."""

from collections.abc import Sequence

from gaswright.clearance.permits import SheetPermit
from gaswright.decompression.request import Schedule
from gaswright.errors import Refused
from gaswright.paper.wording import minimum_text, mod_parts
from gaswright.planning.dive import PlanCylinder, Role

__all__ = ["box_minimum", "box_mod", "gas_text", "planned_schedule", "start_cylinders", "together"]


def planned_schedule(permit: SheetPermit) -> Schedule:
    """The schedule of the planned case as it is printed: every halt left on a whole minute, replayed as such.

    Args:
        permit: leave to print the team's sheets.

    Raises:
        Refused: there is none.
    """
    schedule = permit.plan.printed
    if schedule is None or not schedule.segments:
        raise Refused("no schedule in whole minutes passes the replay: no slate and no card is printed; "
                      "see the plan's findings")
    return schedule


def start_cylinders(permit: SheetPermit, diver: str) -> tuple[PlanCylinder, ...]:
    """What a diver breathes when leaving the surface: one cylinder, or both of two independent mains.

    Args:
        permit: leave to print the team's sheets.
        diver: id.

    Raises:
        Refused: the plan has no schedule.
    """
    return together(permit, diver, planned_schedule(permit).segments[0].gas[diver].cylinder)


def together(permit: SheetPermit, diver: str, cylinder: str) -> tuple[PlanCylinder, ...]:
    """A cylinder with those that are breathed as one with it: mains of a diver belong together, the named one first.

    Args:
        permit: leave to print the team's sheets.
        diver: id.
        cylinder: id of the cylinder that the schedule names.
    """
    named = next(one for one in permit.dive.cylinders if one.id == cylinder)
    others = (one for one in permit.dive.cylinders if one.id != cylinder and diver in one.divers)
    return (named, *(one for one in others if named.role is Role.MAIN is one.role))


def gas_text(cylinder: PlanCylinder) -> str:
    """The gas as its label says it, UNKNOWN where nobody analysed or aimed at one.

    Args:
        cylinder: of the plan.
    """
    return cylinder.gas.mixture.name if cylinder.gas is not None else "UNKNOWN"


def box_mod(permit: SheetPermit, cylinders: Sequence[PlanCylinder]) -> tuple[str, str] | None:
    """The shallowest MOD of cylinders that share a box; None where one has none.

    Args:
        permit: leave to print the team's sheets.
        cylinders: at least one.

    Raises:
        Refused: a MOD is not below the surface.
    """
    mods = [permit.mods[one.id] for one in cylinders if one.id in permit.mods]
    if len(mods) < len(cylinders):
        return None
    return mod_parts(min(mods, key=lambda mod: (mod.metres, mod.feet)), permit.dive.units)


def box_minimum(permit: SheetPermit, cylinders: Sequence[PlanCylinder]) -> str:
    """The words for gases that cannot be breathed at the surface ("NOT ABOVE 6 m"), else nothing.

    Args:
        permit: leave to print the team's sheets.
        cylinders: that share a box.
    """
    depths = [permit.minimums[one.id] for one in cylinders if one.id in permit.minimums]
    deepest_m, deepest_ft = max((m for m, _ in depths), default=0), max((ft for _, ft in depths), default=0)
    return minimum_text(deepest_m, deepest_ft, permit.dive.units)
