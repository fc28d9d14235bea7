"""The gates between a team and its dive: one small pure function per gate, and the word go.

What is judged for whom: cylinders that planned divers may breathe from on the dive pass every gate. Cylinders of
others (a mate who does not dive the plan, a spare that no dive uses) are judged for custody only: gas, label,
register, tests, oxygen service. Suit gas and surface oxygen are never in a schedule: whether their gas was analysed is
not judged, but frozen, another cylinder's label, register, tests, oxygen service and pressure are.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import datetime

from gaswright.clearance import gates_cylinder, gates_gas, gates_history, gates_sense, gates_team
from gaswright.clearance.answers import answered, answers_in_force
from gaswright.clearance.inputs import Clearance, ClearanceInput
from gaswright.clearance.scope import Scope, scope_of
from gaswright.findings import Finding, Severity
from gaswright.planning.dive import Basis, Plan
from gaswright.policy import Policy

__all__ = ["CYLINDER_GATES", "TEAM_GATES", "clear", "sorted_by_severity"]

CYLINDER_GATES: tuple[Callable[[Scope, str], Iterator[Finding]], ...] = (
    gates_gas.gas_known,
    gates_gas.agreement,
    gates_gas.label_shows_analysis,
    gates_gas.permanent_mark,
    gates_gas.staging_depth,
    gates_gas.own_analysis,
    gates_gas.fill_tolerance,
    gates_sense.swapped,
    gates_sense.pressure_near_fill,
    gates_sense.temperature_near_water,
    gates_sense.vouches_at_start,
    gates_sense.one_id_each,
    gates_history.oxygen_falls,
    gates_history.read_again,
    gates_cylinder.registered,
    gates_history.retired,
    gates_cylinder.oxygen_service,
    gates_cylinder.in_test,
    gates_cylinder.settled_pressure,
    gates_cylinder.staged_overnight,
)
TEAM_GATES: tuple[Callable[[Scope], Iterator[Finding]], ...] = (
    gates_sense.dive_is_today,
    gates_team.plan_is_on_these_gases,
    gates_team.pairs_agree,
    gates_team.isolators,
    gates_team.two_alike,
    gates_team.confusable_labels,
    gates_team.surface_oxygen,
)
_ORDER = {Severity.STOP: 0, Severity.ASK: 1, Severity.NOTE: 2}


def clear(inputs: ClearanceInput, policy: Policy, now: datetime) -> Clearance:
    """Every finding on the team's dive, planning's included, and whether it may go.

    Go = a plan exists with a schedule, it rests on analysed gas, there is no stop and no unanswered ask.

    Args:
        inputs: standings, register, plan, answers.
        policy: the limits.
        now: the clock; aware.

    Raises:
        InputError: the clock carries no time zone.
    """
    scope = scope_of(inputs, policy, now)
    planned = inputs.plan.findings if inputs.plan is not None else ()
    unanswered = (replace(finding, answered_by=None) for finding in (*_judged(scope), *planned))
    counting = answers_in_force(inputs.answers, policy, zone=inputs.zone, now=now)
    findings = sorted_by_severity(answered(dict.fromkeys(unanswered), counting))
    return Clearance(findings, _go(inputs.plan, findings))


def sorted_by_severity(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, stops first, then asks, then notes; within one severity as they came.

    Args:
        findings: in any order.
    """
    return tuple(sorted(findings, key=lambda finding: _ORDER[finding.severity]))


def _judged(scope: Scope) -> Iterator[Finding]:
    for gate in CYLINDER_GATES:
        for cylinder in scope.cylinders:
            yield from gate(scope, cylinder)
    for team_gate in TEAM_GATES:
        yield from team_gate(scope)


def _go(plan: Plan | None, findings: tuple[Finding, ...]) -> bool:
    if plan is None or not plan.cases or plan.planned.schedule is None or plan.basis is not Basis.ANALYSED:
        return False
    return not any(finding.blocks for finding in findings)
