"""The plan of a team's dive: schedule, supply and oxygen of every case, and every judgement of planning."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.catalogue import finding
from gaswright.decompression.request import Schedule, ScheduleImpossible
from gaswright.errors import InputError
from gaswright.findings import Finding, Subject
from gaswright.planning.afterwards import afterwards_of
from gaswright.planning.around import Before
from gaswright.planning.bottom_loss import bottom_losses
from gaswright.planning.cases import (
    DELAY,
    LOST_BOTTOM,
    LOST_GAS,
    NOT_THERE,
    SEPARATED,
    SHARED_GAS,
    lost_gas_cases,
    profile_cases,
    wanted_cases,
)
from gaswright.planning.casework import Worked, worked_case
from gaswright.planning.contents import Content, contents_of, start_gauge_bar
from gaswright.planning.dive import Basis, Case, Plan, TeamDive
from gaswright.planning.entered import entered_numbers
from gaswright.planning.failures import Judged, failure_findings, judged_loss, two_failures_findings
from gaswright.planning.gas_checks import gas_findings, unknown_gas_findings
from gaswright.planning.kit import BREATHED_ROLES, Kit, kit_of
from gaswright.planning.minimum_gas import Need, need_at
from gaswright.planning.more_cases import delayed, missing_cylinders, own_cases, separated, shared_gases, sharing_case
from gaswright.planning.moved_checks import moved_findings
from gaswright.planning.oxygen_checks import beyond_table_findings, oxygen_findings
from gaswright.planning.people_checks import people_findings
from gaswright.planning.request import Route, request_of, route_of
from gaswright.planning.schedule_checks import no_gas_findings, pulled_findings, refusal_finding
from gaswright.planning.supply_checks import bottom_gas_findings, supply_findings
from gaswright.planning.travel import NoOverlap
from gaswright.planning.turn import BottomGas, bottom_gas_of
from gaswright.planning.usage import bottom_end_min, draws_of
from gaswright.planning.uses import meant_uses
from gaswright.planning.way_out import moments_of
from gaswright.planning.wording import left_pressure_text
from gaswright.policy import Policy

__all__ = ["plan"]

TEAM_AT_MOST = 6  # contract: teams of one to six
NO_DIVE = Case("planned", (), 0.0, 0.0, completed=False, schedule=None, oxygen={}, supply={})


@dataclass(frozen=True, slots=True)
class Bottom:
    """The bottom gas of the team.

    Args:
        gases: diver id to how the mains stand; a diver whose pressure nobody knows is left out.
        findings: moments from which there is no way out.
        needs: at every moment of the bottom phase; empty where a moment has no way out.
    """

    gases: Mapping[str, BottomGas]
    findings: tuple[Finding, ...]
    needs: tuple[Need, ...] = ()


def plan(dive: TeamDive, policy: Policy, before: Before | None = None) -> Plan:
    """The plan of a dive; a dive that cannot be made is a plan without a schedule, with findings that say why.

    Args:
        dive: team, cylinders, levels, place and settings.
        policy: the limits it is judged by.
        before: what the divers bring from earlier dives; None: as the dive says.

    Raises:
        InputError: no diver, more than six, no level, an unknown case, or a number outside the range in which it can
            be computed.
    """
    dive = dive if before is None else replace(dive, before=before)
    _check(dive)
    kit = kit_of(dive, policy)
    contents = contents_of(kit)
    unknown = tuple(unknown_gas_findings(dive, policy))
    no_gas = tuple(no_gas_findings(dive, kit))
    if no_gas:
        return Plan(Basis.TARGET if _targets(kit, kit.cylinders) else Basis.ANALYSED, (), (NO_DIVE,), 0.0,
                    (*unknown, *no_gas, *people_findings(kit, {})))
    route = route_of(kit)
    planned = worked_case(kit, contents, route, "planned", dive.levels)
    if planned.refusal is not None or isinstance(route, NoOverlap) or planned.case.schedule is None:
        return _without_schedule(kit, planned, unknown)
    return _with_schedule(kit, contents, route, planned, planned.case.schedule, unknown)


def _check(dive: TeamDive) -> None:
    if not 1 <= len(dive.divers) <= TEAM_AT_MOST:
        raise InputError(f"{len(dive.divers)} divers are planned, a team has 1 to {TEAM_AT_MOST}; "
                         "plan a larger group as several teams")
    if not dive.levels:
        raise InputError("the dive has no level; give at least one depth with its minutes")
    wanted_cases(dive.settings.cases)
    breathed = {c.id for c in dive.cylinders if c.role in BREATHED_ROLES}
    for level in dive.levels:
        if level.cylinder is not None and level.cylinder not in breathed:
            raise InputError(f"the level at {level.depth_m:g} m names cylinder {level.cylinder}, "
                             "which is no main, stage, travel or deco cylinder of this dive")


def _targets(kit: Kit, cylinders: Iterable[str]) -> tuple[str, ...]:
    return tuple(c for c in cylinders if kit.cylinders[c].basis is Basis.TARGET)


def _basis_findings(kit: Kit, targets: Sequence[str]) -> Iterator[Finding]:
    if targets:
        yield finding(kit.policy, "plan.on_targets", Subject(),
                      cylinders=", ".join(_target_text(kit, c) for c in targets))


def _target_text(kit: Kit, cylinder: str) -> str:
    given = kit.cylinders[cylinder]
    start_bar = start_gauge_bar(given)
    if given.gauge_bar is not None or start_bar is None:
        return cylinder
    return f"{cylinder} (pressure taken as {left_pressure_text(start_bar, kit.dive.units)})"


def _without_schedule(kit: Kit, planned: Worked, unknown: Sequence[Finding]) -> Plan:
    """The plan of a dive that cannot be made: why, and what the gases say at the depths that were meant."""
    uses = meant_uses(kit)
    targets = _targets(kit, uses)
    refused = () if planned.refusal is None else (refusal_finding(kit.dive, kit.policy, planned.refusal),)
    findings = (*unknown, *refused, *gas_findings(kit, uses), *people_findings(kit, uses),
                *_basis_findings(kit, targets))
    return Plan(Basis.TARGET if targets else Basis.ANALYSED, (), (planned.case,), 0.0, findings)


def _with_schedule(
    kit: Kit, contents: Mapping[str, Content], route: Route, planned: Worked, schedule: Schedule,
    unknown: Sequence[Finding],
) -> Plan:
    bottom = _bottom(kit, contents, route, schedule)
    planned = replace(planned, case=_with_mains(planned.case, bottom.gases))
    profiles = profile_cases(kit, contents, route)
    losses, all_lost = lost_gas_cases(kit, contents, route)
    every = [] if all_lost is None else [all_lost]
    judged = [
        judged_loss(contents, route, loss, step, planned.why,
                    shared=lambda cylinder: sharing_case(kit, contents, route, cylinder))
        for loss, step in zip(losses, route.steps, strict=bool(losses))
    ]
    more = _more_cases(kit, contents, route, planned, bottom)
    worked = [planned, *profiles, *losses, *every, *(single for one in (*judged, *more) for single in one.cases)]
    targets = _targets(kit, dict.fromkeys(c for one in worked for c in one.uses))
    findings = (
        *unknown, *gas_findings(kit, planned.uses), *oxygen_findings(planned),
        *supply_findings(planned, contents), *bottom_gas_findings(planned, bottom.gases, contents),
        *bottom.findings, *pulled_findings(kit, route, schedule),
        *moved_findings(kit, planned.uses, schedule),
        *_case_findings(planned, contents, profiles, (*judged, *more), all_lost),
        *_beyond_findings(planned, worked[1:]), *people_findings(kit, planned.uses), *_basis_findings(kit, targets),
    )
    entered = entered_numbers(kit, request_of(kit, route, kit.dive.levels), schedule)
    return Plan(
        Basis.TARGET if targets else Basis.ANALYSED, route.team_gases, tuple(one.case for one in worked),
        _latest_leave_min(bottom.gases, schedule), (*findings, *entered.findings), entered.printed,
        afterwards_of(kit, entered.printed or entered.schedule), entered.gases, entered.tts_min,
    )


def _more_cases(
    kit: Kit, contents: Mapping[str, Content], route: Route, planned: Worked, bottom: Bottom
) -> tuple[Judged, ...]:
    """The cases beyond the usual ones, as far as they are asked for, and those that the trip describes.

    Bottom gas lost and a cylinder not there are lost gases too: they are judged with them, and shown where they are
    asked for or where somebody cannot finish alone. Where minimum gas is short that says it all for the mains.
    """
    wanted = wanted_cases(kit.dive.settings.cases)
    known = planned.why
    lost = LOST_GAS in wanted
    judge_mains = LOST_BOTTOM in wanted or (lost and all(gas.short_l <= 0.0 for gas in bottom.gases.values()))
    mains = bottom_losses(kit, contents, route, planned, bottom.needs) if judge_mains else ()
    missing = missing_cylinders(kit, contents, planned) if lost or NOT_THERE in wanted else ()
    return (
        *(shared_gases(kit, contents, route, known) if SHARED_GAS in wanted else ()),
        *(one for one in mains if one.findings or LOST_BOTTOM in wanted),
        *(one for one in missing if one.findings or NOT_THERE in wanted),
        *((delayed(kit, contents, route, known),) if DELAY in wanted else ()),
        *(separated(kit, contents, known) if SEPARATED in wanted else ()),
        *own_cases(kit, contents, known),
    )


def _bottom(kit: Kit, contents: Mapping[str, Content], route: Route, schedule: Schedule) -> Bottom:
    needs: list[Need] = []
    for moment in moments_of(schedule, kit.dive.levels):
        try:
            needs.append(need_at(kit, route, moment))
        except ScheduleImpossible as refused:
            case = f"broken off at minute {int(moment.at_min)}"
            subject = Subject(case=case, depth_m=moment.depth_m, at_min=moment.at_min)
            stop = finding(kit.policy, "case.cannot_finish", subject, case=case, why=str(refused))
            return Bottom({}, (stop,))
    draws = draws_of(kit, schedule)
    found = {d.id: bottom_gas_of(kit, d.id, needs, contents, draws) for d in kit.dive.divers}
    return Bottom({d: gas for d, gas in found.items() if gas is not None}, (), tuple(needs))


def _with_mains(case: Case, gases: Mapping[str, BottomGas]) -> Case:
    """The case with minimum gas and turn pressure beside the supply of each main."""
    supply = dict(case.supply)
    for gas in gases.values():
        for cylinder in gas.minimum_bar:
            if cylinder in supply:
                supply[cylinder] = replace(supply[cylinder], minimum_bar=gas.minimum_bar[cylinder],
                                           turn_bar=gas.turn_bar[cylinder])
    return replace(case, supply=supply)


def _latest_leave_min(gases: Mapping[str, BottomGas], schedule: Schedule) -> float:
    """Runtime at which the bottom must be left: as planned, or while every diver still has minimum gas [min]."""
    return min((gas.leave_min or 0.0 for gas in gases.values()), default=bottom_end_min(schedule))


def _case_findings(
    planned: Worked, contents: Mapping[str, Content], profiles: Sequence[Worked], judged: Sequence[Judged],
    all_lost: Worked | None,
) -> Iterator[Finding]:
    """The judgement of the cases; where gas runs out as planned nothing more is said: that plan is no base for them."""
    known = planned.why
    if planned.short:
        return
    for worked in profiles:
        both = worked.case.delta_m != 0.0 and worked.case.delta_min != 0.0
        yield from two_failures_findings(worked, known) if both else failure_findings(worked, contents, known)
    for one in judged:
        yield from one.findings
    if all_lost is not None:
        yield from two_failures_findings(all_lost, known)


def _beyond_findings(planned: Worked, others: Sequence[Worked]) -> Iterator[Finding]:
    said = frozenset(planned.doses.beyond)
    for worked in others:
        yield from beyond_table_findings(worked, said)
        said |= frozenset(worked.doses.beyond)
