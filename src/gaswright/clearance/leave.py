"""Leave to print: the only way to a label, a slate or a card."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from gaswright.analysis.reading import Reading
from gaswright.clearance import gates_cylinder, gates_history, gates_sense
from gaswright.clearance.gates_gas import gas_codes, unknown_gas
from gaswright.clearance.inputs import Clearance, ClearanceInput
from gaswright.clearance.permits import LabelPermit, SheetPermit
from gaswright.clearance.scope import Scope, label_mods, scope_of
from gaswright.clearance.sheet_code import SheetFacts, label_code, sheet_code
from gaswright.custody.register import CylinderRecord
from gaswright.custody.standing import Known, Standing, Unknown
from gaswright.errors import Refused
from gaswright.findings import Finding, Severity
from gaswright.physics.depth_limits import (
    LabelMod,
    label_minimum_depth_ft,
    label_minimum_depth_m,
    minimum_depth_m,
)
from gaswright.physics.mixture import WHOLE_E4
from gaswright.physics.place import Place
from gaswright.planning.dive import Basis, Diver, Plan, Role, TeamDive, UnitSystem
from gaswright.planning.mods import label_mod_of, mod_of
from gaswright.policy import Policy
from gaswright.units import METRE_PER_FOOT

__all__ = ["label_mods", "label_permit", "minimum_depth", "sheet_permit"]

ROUNDING = 1e-9  # binary rounding of a decimal limit
PRESSURE_UNKNOWN = "supply.pressure_unknown"


def label_permit(
    standing: Standing, record: CylinderRecord | None, breathers: tuple[Diver, ...], policy: Policy, *,
    zone: str, now: datetime, units: UnitSystem, planned: bool, mod: LabelMod | None, analyst_initials: str,
    place: Place | None = None,
) -> LabelPermit | tuple[Finding, ...]:
    """Leave to print one cylinder's labels, or the stops that withhold it.

    It depends on that cylinder alone: an analysis valid now, a register entry, tests in date, oxygen clean for its
    gas, not frozen. Minimum gas, another diver's cylinder or a missing acceptance do not withhold a label.

    Args:
        standing: of the cylinder, folded at `now`.
        record: from the register; None: not registered.
        breathers: who breathe from it.
        policy: the limits.
        zone: IANA name of the trip's time zone.
        now: the clock; aware.
        units: unit system of the team.
        planned: True if a plan uses this gas.
        mod: its label MOD (`label_mods`); None: computed here, for a gas used both ways (the lower limit).
        analyst_initials: of who analysed.
        place: where it will be breathed: a minimum depth is deeper at altitude; None: not known.

    Raises:
        Refused: the MOD given is deeper than the reading allows.
        InputError: the clock carries no time zone.
    """
    alone = ClearanceInput({standing.cylinder: standing}, {record.id: record} if record else {}, breathers, zone,
                           units=units)
    scope = scope_of(alone, policy, now)
    stops = tuple(finding for finding in _label_findings(scope, standing) if finding.severity is Severity.STOP)
    if stops or record is None or standing.known is None:
        return stops
    known = standing.known
    own_mod = _own_mod(known, record, policy, mod)
    minimum = minimum_depth(known.lean, policy, place)
    initials = "/".join(diver.initials for diver in breathers)
    code = label_code(known, record, own_mod, initials, analyst_initials, units, policy.version)
    return LabelPermit(
        cylinder=standing.cylinder, id_on_metal=record.id_on_metal, role=Role(record.role), reading=known.rich,
        mod=own_mod, units=units,
        gauge_bar=None if known.gauge_centibar is None else known.gauge_centibar / 100,
        initials=initials, diver_names=", ".join(diver.name for diver in breathers),
        analysed_at=known.at.astimezone(ZoneInfo(zone)), analysed_by=analyst_initials,
        breathable=record.role != Role.SUIT, planned=planned, sheet_code=code, policy_version=policy.version,
        minimum_m=minimum[0], minimum_ft=minimum[1], pressure_units=breathers[0].units if breathers else None,
    )


def _label_findings(scope: Scope, standing: Standing) -> Iterator[Finding]:
    cylinder = standing.cylinder
    if standing.frozen or standing.why is Unknown.FROZEN:
        yield scope.find("gas.frozen", scope.subject(cylinder))
    else:
        yield from unknown_gas(scope, cylinder, standing)
    yield from gates_sense.swapped(scope, cylinder)
    yield from gates_cylinder.registered(scope, cylinder)
    yield from gates_history.retired(scope, cylinder)
    yield from gates_cylinder.in_test(scope, cylinder)
    yield from gates_cylinder.oxygen_service(scope, cylinder)


def _own_mod(known: Known, record: CylinderRecord, policy: Policy, given: LabelMod | None) -> LabelMod:
    role = Role(record.role)
    if given is None:
        return label_mod_of(known.rich, role, policy, both_ways=True)
    deepest = label_mod_of(known.rich, role, policy)
    if given.metres > deepest.metres or given.feet > deepest.feet:
        raise Refused(
            f"{record.id}: a label with MOD {given.metres} m / {given.feet} ft was asked for; its reading allows "
            f"{deepest.metres} m / {deepest.feet} ft at most; compute the MOD from the analysis in force"
        )
    return given


@dataclass(frozen=True, slots=True)
class _Team:
    dive: TeamDive
    plan: Plan


def sheet_permit(
    inputs: ClearanceInput, clearance: Clearance, policy: Policy, *, trip_name: str, day: date,
) -> SheetPermit | tuple[Finding, ...]:
    """Leave to print the team's slates and cards, or the stops that withhold them.

    Any stop withholds them, except that unknown gas alone, planned on its target, gives sheets that say PLAN ONLY on
    every page. A pressure that was not read on a cylinder of unknown gas is part of that unknown gas. Unanswered asks
    do not withhold: the sheets then do not say GO.

    Args:
        inputs: what was cleared.
        clearance: of these inputs.
        policy: the limits.
        trip_name: on every sheet.
        day: date of the dive.

    Raises:
        Refused: nothing is planned.
    """
    if inputs.dive is None or inputs.plan is None:
        raise Refused("slates and cards need a plan: give the trip a dive with its levels")
    stops = tuple(finding for finding in clearance.findings if finding.severity is Severity.STOP)
    unknown = frozenset(finding.subject.cylinder for finding in stops if finding.code in gas_codes())
    withholding = tuple(finding for finding in stops if not _only_unknown(finding, unknown))
    if withholding:
        return withholding
    if not inputs.plan.cases or inputs.plan.planned.schedule is None:
        if stops:
            return stops
        raise Refused("slates and cards need a schedule: this dive has none")
    plan_only = bool(unknown) or inputs.plan.basis is Basis.TARGET
    return _sheets(inputs, _Team(inputs.dive, inputs.plan), policy, plan_only=plan_only,
                   go=clearance.go and not plan_only, trip_name=trip_name, day=day)


def _only_unknown(finding: Finding, unknown: frozenset[str | None]) -> bool:
    return finding.code in gas_codes() or (finding.code == PRESSURE_UNKNOWN and finding.subject.cylinder in unknown)


def _sheets(
    inputs: ClearanceInput, team: _Team, policy: Policy, *, plan_only: bool, go: bool, trip_name: str, day: date,
) -> SheetPermit:
    ids_on_metal = {one.id: inputs.register[one.id].id_on_metal for one in team.dive.cylinders}
    mods = _sheet_mods(inputs, team.dive, policy)
    code = sheet_code(SheetFacts(trip_name, day, team.dive, team.plan, ids_on_metal, mods, plan_only, policy.version))
    return SheetPermit(
        trip_name=trip_name, day=day, divers=team.dive.divers, dive=team.dive, plan=team.plan,
        ids_on_metal=ids_on_metal, mods=mods, plan_only=plan_only, go=go, sheet_code=code,
        policy_version=policy.version,
        minimums={one.id: minimum for one in team.dive.cylinders
                  if one.gas is not None and (minimum := minimum_depth(one.gas, policy, team.dive.place)) != (0, 0)},
    )


def minimum_depth(reading: Reading, policy: Policy, place: Place | None) -> tuple[int, int]:
    """Shallowest depth at which a gas may be breathed, in whole metres and feet, rounded up; (0, 0): the surface.

    The deeper of the label convention and, where the place is known, the exact depth there.

    Args:
        reading: as analysed; its lean side counts.
        policy: gives the lower ppO2 limit.
        place: where it is breathed; None: not known.

    Raises:
        RangeError: no oxygen is left on the lean side.
    """
    low_centi_ata = math.ceil(policy.ppo2_low_stop_ata * 100 - ROUNDING)
    lean_o2_e4 = reading.lean_o2_e4
    metres = label_minimum_depth_m(lean_o2_e4, low_centi_ata)
    feet = label_minimum_depth_ft(lean_o2_e4, low_centi_ata)
    if place is None:
        return metres, feet
    here_m = minimum_depth_m(lean_o2_e4 / WHOLE_E4, policy.ppo2_low_stop_ata, place)
    return max(metres, math.ceil(here_m - ROUNDING)), max(feet, math.ceil(here_m / METRE_PER_FOOT - ROUNDING))


def _sheet_mods(inputs: ClearanceInput, dive: TeamDive, policy: Policy) -> dict[str, LabelMod]:
    """MODs of analysed gas alone: a target has no MOD on any sheet."""
    known = label_mods(inputs, policy)
    mods = ((one.id, known.get(one.id) or (mod_of(one, policy) if one.basis is Basis.ANALYSED else None))
            for one in dive.cylinders)
    return {cylinder: mod for cylinder, mod in mods if mod is not None}
