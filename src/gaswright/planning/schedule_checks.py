"""Findings on the schedule: why there is none, and switches that one cylinder pulls shallower."""

from collections.abc import Iterator
from dataclasses import replace

from gaswright.catalogue import finding
from gaswright.decompression.demands import LONGEST_MIN
from gaswright.decompression.request import Impossible, Schedule, ScheduleImpossible, Unverified
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.findings import Finding, Subject
from gaswright.planning.dive import TeamDive
from gaswright.planning.kit import Kit
from gaswright.planning.request import Route, request_of
from gaswright.planning.team_gases import Step
from gaswright.planning.travel import NoOverlap
from gaswright.planning.wording import depth_text, minutes_text
from gaswright.policy import Policy

__all__ = ["no_gas_findings", "pulled_findings", "refusal_finding"]

SAME_DEPTH_M = 1e-6  # two depths of one level, after binary rounding


def no_gas_findings(dive: TeamDive, kit: Kit) -> Iterator[Finding]:
    """A stop for each diver without mains whose gas is known, and for each level on a cylinder whose gas is unknown.

    Args:
        dive: as given.
        kit: of the dive.
    """
    deepest_m = max(level.depth_m for level in dive.levels)
    for diver in dive.divers:
        if not kit.mains[diver.id]:
            yield finding(kit.policy, "schedule.no_gas", Subject(diver.id, depth_m=deepest_m),
                          use=depth_text(deepest_m, dive.units))
    for level in dive.levels:
        if level.cylinder is not None and level.cylinder not in kit.cylinders:
            yield finding(kit.policy, "schedule.no_gas", Subject(cylinder=level.cylinder, depth_m=level.depth_m),
                          use=depth_text(level.depth_m, dive.units))


def refusal_finding(dive: TeamDive, policy: Policy, refusal: ScheduleImpossible | Unverified | NoOverlap) -> Finding:
    """The stop that says why the planned dive has no schedule.

    Args:
        dive: as given.
        policy: the limits.
        refusal: what was refused.
    """
    units = dive.units
    if isinstance(refusal, NoOverlap):
        return finding(policy, "schedule.no_overlap", Subject(depth_m=refusal.to_m))
    if isinstance(refusal, Unverified):
        return finding(policy, "schedule.unverified", Subject(), why=refusal.violations[0])
    subject = Subject(refusal.diver, depth_m=refusal.depth_m, at_min=refusal.at_min)
    use = depth_text(refusal.depth_m, units)
    if refusal.reason is Impossible.LEVEL_ABOVE_CEILING:
        ceiling = depth_text(refusal.ceiling_m or 0.0, units)
        return finding(policy, "schedule.ceiling", subject, use=use, ceiling=ceiling)
    if refusal.reason is Impossible.LEVEL_TOO_SHORT:
        given = next((x.minutes for x in dive.levels if abs(x.depth_m - refusal.depth_m) < SAME_DEPTH_M), 0.0)
        return finding(policy, "schedule.level_too_short", subject, minutes=minutes_text(given), use=use)
    return finding(policy, "schedule.too_long", subject, limit=f"{LONGEST_MIN / 60:g} h")


def pulled_findings(kit: Kit, route: Route, planned: Schedule) -> Iterator[Finding]:
    """An ask for each cylinder that pulls the team's switch shallower, with the minutes that costs.

    The dive is planned both ways: as it is, and with the switch where the other cylinders allow it.

    Args:
        kit: of the dive.
        route: its gas side.
        planned: schedule of the planned case.
    """
    units = kit.dive.units
    for number, step in enumerate(route.steps):
        if not step.pulling:
            continue
        other_min = _tts_without_pull_min(kit, route, number, step)
        minutes = "unknown" if other_min is None else minutes_text(max(0.0, planned.tts_min - other_min))
        for cylinder in step.pulling:
            diver = next(d for d, c in step.breathed.items() if c == cylinder)
            yield finding(kit.policy, "team.pulled_shallower", Subject(diver, cylinder, depth_m=step.depth_m),
                          depth=depth_text(step.depth_m, units), would_be=depth_text(step.would_be_m, units),
                          minutes=minutes)


def _tts_without_pull_min(kit: Kit, route: Route, number: int, step: Step) -> float | None:
    """TTS with the switch where the other cylinders allow it; None if that dive has no schedule [min]."""
    steps = (*route.steps[:number], replace(step, depth_m=step.would_be_m), *route.steps[number + 1 :])
    try:
        return unverified_schedule(request_of(kit, replace(route, steps=steps), kit.dive.levels)).tts_min
    except ScheduleImpossible:
        return None
