"""What each diver has to breathe: the known gases of a dive, sorted by what they are for. Unknown gas is left out."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from gaswright.decompression.request import Breath
from gaswright.planning.dive import Level, PlanCylinder, Role, TeamDive
from gaswright.policy import Policy

__all__ = ["BREATHED_ROLES", "Kit", "breath_of", "kit_of", "without"]

BREATHED_ROLES = frozenset({Role.MAIN, Role.STAGE, Role.TRAVEL, Role.DECO})


@dataclass(frozen=True, slots=True)
class Kit:
    """The dive with the cylinders that may be planned on.

    Args:
        dive: as given.
        policy: the limits.
        cylinders: id to cylinder: known gas, a breathed role, at least one planned diver; in the order given.
        mains: diver id to his or her mains, in the order given.
    """

    dive: TeamDive
    policy: Policy
    cylinders: Mapping[str, PlanCylinder]
    mains: Mapping[str, tuple[PlanCylinder, ...]]

    def of(self, diver: str) -> tuple[PlanCylinder, ...]:
        """The cylinders a diver may breathe from, in the order given.

        Args:
            diver: id.
        """
        return tuple(c for c in self.cylinders.values() if diver in c.divers)

    def plan_main(self, diver: str) -> PlanCylinder:
        """The main that decompression is planned on: the one with the least oxygen, the first of equals.

        Args:
            diver: id.
        """
        return min(self.mains[diver], key=lambda c: c.gas.mixture.o2_e4 if c.gas else 0)

    def pool(self, diver: str, cylinder: str) -> tuple[PlanCylinder, ...]:
        """The cylinders that share what a diver breathes "from" one of them: all mains together, else that one.

        A diver who breathes from a buddy's mains breathes from all of them.

        Args:
            diver: id.
            cylinder: id of the cylinder named by the schedule.
        """
        own = self.mains[diver]
        if any(c.id == cylinder for c in own):
            return own
        lent = (mains for mains in self.mains.values() if any(c.id == cylinder for c in mains))
        return next(lent, (self.cylinders[cylinder],))

    def level_cylinder(self, diver: str, level: Level) -> PlanCylinder:
        """What a diver breathes on a level: the named cylinder, his or her own one like it, else the mains.

        Alike is a cylinder of the same role with the same target, or, where one has no target, the same reading.

        Args:
            diver: id.
            level: of the plan.
        """
        named = self.cylinders.get(level.cylinder) if level.cylinder is not None else None
        if named is None:
            return self.plan_main(diver)
        if diver in named.divers:
            return named
        own = (c for c in self.of(diver) if c.role is named.role and _alike(c, named))
        return next(own, self.plan_main(diver))


def _alike(one: PlanCylinder, other: PlanCylinder) -> bool:
    if one.target is not None and other.target is not None:
        return one.target == other.target
    return one.gas is not None and other.gas is not None and one.gas.mixture == other.gas.mixture


def breath_of(cylinder: PlanCylinder) -> Breath:
    """What is breathed from a cylinder: the reading itself.

    Args:
        cylinder: with a known gas.

    Raises:
        ValueError: the gas is unknown: a defect, a kit holds none.
    """
    if cylinder.gas is None:
        raise ValueError(f"{cylinder.id} has no known gas")
    return Breath(cylinder.id, cylinder.gas.mixture.o2, cylinder.gas.mixture.he)


def kit_of(dive: TeamDive, policy: Policy) -> Kit:
    """The kit of a dive.

    Args:
        dive: as given.
        policy: the limits.
    """
    team = {d.id for d in dive.divers}
    known = {
        c.id: c
        for c in dive.cylinders
        if c.gas is not None and c.role in BREATHED_ROLES and not team.isdisjoint(c.divers)
    }
    mains = {d.id: tuple(c for c in known.values() if c.role is Role.MAIN and d.id in c.divers) for d in dive.divers}
    return Kit(dive, policy, known, mains)


def without(kit: Kit, lost: Collection[str]) -> Kit:
    """The kit without some cylinders; a diver may be left without mains.

    Args:
        kit: the whole.
        lost: ids of the lost cylinders.
    """
    return replace(
        kit, cylinders={i: c for i, c in kit.cylinders.items() if i not in lost},
        mains={d: tuple(c for c in mains if c.id not in lost) for d, mains in kit.mains.items()},
    )
