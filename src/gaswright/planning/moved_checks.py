"""What the readings moved: the team's TTS on the gas in the cylinders against the TTS on the gas wished for."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from gaswright.analysis.reading import Reading
from gaswright.catalogue import finding
from gaswright.decompression.request import Schedule, ScheduleImpossible
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.findings import Finding, Subject
from gaswright.planning.dive import Basis, PlanCylinder
from gaswright.planning.kit import Kit, kit_of
from gaswright.planning.request import request_of, route_of
from gaswright.planning.travel import NoOverlap
from gaswright.planning.wording import minutes_text

__all__ = ["moved_findings"]


def moved_findings(kit: Kit, used: Iterable[str], planned: Schedule) -> Iterator[Finding]:
    """An ask where the readings move the team's TTS by more than the policy allows against the targets.

    Nothing is said where a cylinder in use has no analysis or no target, or the targets have no schedule.

    Args:
        kit: of the dive.
        used: ids of the cylinders breathed in the planned case.
        planned: schedule of the planned case.
    """
    on_targets_min = _tts_on_targets_min(kit, frozenset(used))
    if on_targets_min is None:
        return
    if abs(planned.tts_min - on_targets_min) > kit.policy.replan_tts_min:
        yield finding(
            kit.policy, "plan.tts_moved", Subject(), tts=minutes_text(planned.tts_min),
            wished=minutes_text(on_targets_min),
        )  # fmt: skip


def _tts_on_targets_min(kit: Kit, used: frozenset[str]) -> float | None:
    cylinders = [kit.cylinders[cylinder] for cylinder in kit.cylinders]
    if any(one.id in used and (one.target is None or one.basis is Basis.TARGET) for one in cylinders):
        return None
    wished = kit_of(replace(kit.dive, cylinders=tuple(map(_as_wished, kit.dive.cylinders))), kit.policy)
    route = route_of(wished)
    if isinstance(route, NoOverlap):
        return None
    try:
        return unverified_schedule(request_of(wished, route, kit.dive.levels)).tts_min
    except ScheduleImpossible:
        return None


def _as_wished(cylinder: PlanCylinder) -> PlanCylinder:
    return cylinder if cylinder.target is None else replace(cylinder, gas=Reading(cylinder.target), rich=None)
