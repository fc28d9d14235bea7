"""Findings on gas and depth: MOD, ppO2 at the place, too little oxygen, narcosis, density, unknown gas."""

from collections.abc import Iterator, Mapping

from gaswright.catalogue import finding
from gaswright.findings import Finding, Subject
from gaswright.physics.density import density_g_l
from gaswright.physics.depth_limits import ppo2_ata
from gaswright.physics.mixture import WHOLE_E4, Mixture
from gaswright.physics.narcosis import end_oxygen_narcotic_m
from gaswright.planning.casework import lean_ppo2_ata
from gaswright.planning.dive import PlanCylinder, TeamDive
from gaswright.planning.kit import BREATHED_ROLES, Kit
from gaswright.planning.mods import limit_centi_ata, mod_m, mod_of, used_both_ways
from gaswright.planning.uses import Use
from gaswright.planning.wording import depth_text
from gaswright.policy import Policy

__all__ = ["gas_findings", "planned_use_m", "unknown_gas_findings"]

ROUNDING = 1e-9  # binary rounding of pressures and densities
SAME_DEPTH_M = 1e-6  # two depths that are equal as typed, after conversion from feet


def unknown_gas_findings(dive: TeamDive, policy: Policy) -> Iterator[Finding]:
    """A stop for every cylinder to breathe from that has neither analysis nor target.

    Args:
        dive: as given.
        policy: the limits.
    """
    team = {d.id for d in dive.divers}
    for cylinder in dive.cylinders:
        mine = [d for d in cylinder.divers if d in team]
        if cylinder.gas is None and cylinder.role in BREATHED_ROLES and mine:
            yield finding(policy, "gas.no_target", Subject(mine[0], cylinder.id))


def gas_findings(kit: Kit, uses: Mapping[str, Use]) -> Iterator[Finding]:
    """Every judgement of the gases at the depths at which the plan breathes them.

    Args:
        kit: of the dive.
        uses: of the planned case.
    """
    for use in uses.values():
        cylinder = kit.cylinders[use.cylinder]
        yield from _too_deep(kit, cylinder, use)
        yield from _too_little_oxygen(kit, use)
        yield from _narcotic(kit, cylinder, use)
        yield from _dense(kit, cylinder, use)


def planned_use_m(cylinder: PlanCylinder, use: Use) -> float:
    """The deepest use that is planned: where it is breathed, or the switch depth as the trip gives it [m].

    Args:
        cylinder: of the plan.
        use: its use in the schedule.
    """
    return max(use.deepest_m, cylinder.switch_depth_m or 0.0)


def _too_deep(kit: Kit, cylinder: PlanCylinder, use: Use) -> Iterator[Finding]:
    mod = mod_of(cylinder, kit.policy)
    deep = cylinder.deep_gas
    if mod is None or deep is None:
        return
    depth_m, units = planned_use_m(cylinder, use), kit.dive.units
    subject = Subject(use.divers[0], use.cylinder, depth_m=depth_m)
    if depth_m > mod_m(mod, units) + SAME_DEPTH_M:
        yield finding(kit.policy, "mod.planned_use", subject, reading=deep.mixture.name,
                      mod=depth_text(mod_m(mod, units), units), use=depth_text(depth_m, units))
        return
    limit_ata = limit_centi_ata(cylinder.role, kit.policy, used_both_ways(cylinder)) / 100
    rich_ata = ppo2_ata(deep.rich_o2_e4 / WHOLE_E4, kit.dive.place.ambient_bar(depth_m))
    if rich_ata > limit_ata + kit.policy.ppo2_place_room_ata + ROUNDING:
        yield finding(kit.policy, "mod.place_ppo2", subject, ppo2=f"{rich_ata:.2f} ata",
                      use=depth_text(depth_m, units), limit=f"{limit_ata:.2f} ata")


def _too_little_oxygen(kit: Kit, use: Use) -> Iterator[Finding]:
    ata = lean_ppo2_ata(kit, use)
    subject = Subject(use.divers[0], use.cylinder, depth_m=use.shallowest_m, at_min=use.shallowest_at_min)
    values = {"ppo2": f"{int(ata * 1000 + ROUNDING) / 1000:.3f} ata", "use": _where(kit, use.shallowest_m)}
    if ata < kit.policy.ppo2_low_stop_ata - ROUNDING:
        yield finding(kit.policy, "ppo2.low", subject, **values)
    elif ata < kit.policy.ppo2_low_note_ata - ROUNDING:
        yield finding(kit.policy, "ppo2.low_note", subject, **values)


def _where(kit: Kit, depth_m: float) -> str:
    return depth_text(depth_m, kit.dive.units) if depth_m > 0.0 else "the surface"


def _lean_helium(cylinder: PlanCylinder) -> Mixture | None:
    return None if cylinder.gas is None else Mixture(cylinder.gas.mixture.o2_e4, cylinder.gas.lean_he_e4)


def _narcotic(kit: Kit, cylinder: PlanCylinder, use: Use) -> Iterator[Finding]:
    mixture = _lean_helium(cylinder)
    if mixture is None:
        return
    end_m, units = end_oxygen_narcotic_m(mixture, use.deepest_m), kit.dive.units
    if end_m > kit.policy.end_limit_m + SAME_DEPTH_M:
        yield finding(kit.policy, "narcosis.end", Subject(use.divers[0], use.cylinder, depth_m=use.deepest_m),
                      end=depth_text(end_m, units), use=depth_text(use.deepest_m, units),
                      limit=depth_text(kit.policy.end_limit_m, units))


def _dense(kit: Kit, cylinder: PlanCylinder, use: Use) -> Iterator[Finding]:
    mixture = _lean_helium(cylinder)
    if mixture is None:
        return
    here_g_l = density_g_l(mixture, kit.dive.place.ambient_bar(use.deepest_m))
    subject = Subject(use.divers[0], use.cylinder, depth_m=use.deepest_m)
    values = {"density": f"{here_g_l:.2f} g/L", "use": depth_text(use.deepest_m, kit.dive.units)}
    if here_g_l > kit.policy.density_ask_g_l + ROUNDING:
        yield finding(kit.policy, "density.ask", subject, **values)
    elif here_g_l > kit.policy.density_note_g_l + ROUNDING:
        yield finding(kit.policy, "density.note", subject, **values)
