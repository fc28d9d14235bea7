"""Findings on people and policy: qualification, a team of one, a loosened policy."""

from collections.abc import Iterator, Mapping

from gaswright.catalogue import finding
from gaswright.findings import Finding, Subject
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Diver, PlanCylinder
from gaswright.planning.kit import Kit
from gaswright.planning.uses import Use
from gaswright.planning.wording import depth_text
from gaswright.units import percent_text

__all__ = ["people_findings", "qualified_gas"]

SAME_DEPTH_M = 1e-6  # two depths that are equal as typed, after conversion from feet


def people_findings(kit: Kit, uses: Mapping[str, Use]) -> Iterator[Finding]:
    """Every judgement of people and policy.

    Args:
        kit: of the dive.
        uses: of the planned case.
    """
    if len(kit.dive.divers) == 1:
        yield finding(kit.policy, "team.alone", Subject(kit.dive.divers[0].id))
    for diver in kit.dive.divers:
        yield from _qualified(kit, diver, uses)
    for name in kit.policy.loosened:
        yield finding(kit.policy, "policy.loosened", Subject(), setting=name,
                      value=f"{getattr(kit.policy, name):g}")


def qualified_gas(kit: Kit, cylinder: PlanCylinder) -> Mixture | None:
    """The gas that a qualification is held against: the target while the reading is within the fill's tolerance of it.

    Args:
        kit: gives the tolerance.
        cylinder: of the plan.
    """
    held = cylinder.deep_gas
    if held is None or cylinder.target is None:
        return None if held is None else held.mixture
    reading, target = held.mixture, cylinder.target
    near = (abs(reading.o2_e4 - target.o2_e4) <= kit.policy.fill_tolerance_o2_percent * 100
            and abs(reading.he_e4 - target.he_e4) <= kit.policy.fill_tolerance_he_percent * 100)
    return target if near else reading


def _qualified(kit: Kit, diver: Diver, uses: Mapping[str, Use]) -> Iterator[Finding]:
    units = kit.dive.units
    deepest_m = max(level.depth_m for level in kit.dive.levels)
    if diver.max_depth_m is not None and deepest_m > diver.max_depth_m + SAME_DEPTH_M:
        yield finding(kit.policy, "qualification.depth", Subject(diver.id, depth_m=deepest_m),
                      use=depth_text(deepest_m, units), limit=depth_text(diver.max_depth_m, units))
    for use in uses.values():
        gas = qualified_gas(kit, kit.cylinders[use.cylinder]) if diver.id in use.divers else None
        if gas is None:
            continue
        subject = Subject(diver.id, use.cylinder)
        if diver.max_o2_e4 is not None and gas.o2_e4 > diver.max_o2_e4:
            yield finding(kit.policy, "qualification.o2", subject, gas=gas.name,
                          limit=f"{percent_text(diver.max_o2_e4)} O2")
        if diver.helium is False and gas.he_e4 > 0:
            yield finding(kit.policy, "qualification.helium", subject, gas=gas.name)
