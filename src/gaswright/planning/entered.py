"""What the computers will hold: whole percents, and the plan run again on them. The slate carries the longer."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from gaswright.catalogue import finding
from gaswright.decompression.batch_request import breaths_of
from gaswright.decompression.request import (
    Breath,
    Schedule,
    ScheduleImpossible,
    ScheduleRequest,
    Segment,
    Unverified,
)
from gaswright.decompression.scheduler import schedule
from gaswright.findings import Finding, Subject
from gaswright.physics.depth_limits import label_mod
from gaswright.physics.mixture import WHOLE_E4, Mixture
from gaswright.planning.dive import PlanCylinder, Role, UnitSystem
from gaswright.planning.held_plan import breath_instead, regassed
from gaswright.planning.kit import Kit
from gaswright.planning.mods import limit_centi_ata, mod_m, mod_of, used_both_ways
from gaswright.planning.printed import printed_schedule
from gaswright.planning.wording import minutes_text
from gaswright.policy import Policy

__all__ = ["Entered", "entered_numbers", "entered_of"]

PERCENT_E4 = 100
ROUNDING_MIN = 1e-9  # binary rounding of a time


@dataclass(frozen=True, slots=True)
class Entered:
    """The plan on whole percents beside the plan on the readings.

    Args:
        gases: cylinder id to what is entered for it.
        tts_min: TTS on the entered numbers, None where they have no schedule [min].
        schedule: whichever has the longer TTS, its times on the gases really breathed; what the slate carries.
        printed: the same with every halt left on a whole minute, replayed on the gases really breathed; None where
            none passes.
        findings: an ask where the two TTS are too far apart.
    """

    gases: Mapping[str, Mixture]
    tts_min: float | None
    schedule: Schedule
    printed: Schedule | None
    findings: tuple[Finding, ...]


def entered_of(cylinder: PlanCylinder, policy: Policy, units: UnitSystem) -> Mixture:
    """What is entered for a cylinder: whole percents.

    Oxygen is the nearest whole percent whose own MOD is no deeper than the label's, else the next higher that is;
    helium is the nearest, half a percent downwards, and never more than oxygen leaves room for. The own MOD is that
    of the whole percent without uncertainty and without team marks, on the grid for a deco cylinder.

    Args:
        cylinder: with a known gas.
        policy: gives the limits.
        units: of the team: MODs are compared in them.
    """
    if cylinder.gas is None:
        raise ValueError(f"{cylinder.id} has no known gas: a defect, a kit holds none")
    mixture = cylinder.gas.mixture
    o2 = _oxygen_percent(cylinder, policy, units, mixture.o2_e4)
    he = -(-(mixture.he_e4 - PERCENT_E4 // 2) // PERCENT_E4)
    return Mixture(o2 * PERCENT_E4, min(he, 100 - o2) * PERCENT_E4)


def _oxygen_percent(cylinder: PlanCylinder, policy: Policy, units: UnitSystem, o2_e4: int) -> int:
    label, limit = mod_of(cylinder, policy), limit_centi_ata(cylinder.role, policy, used_both_ways(cylinder))
    nearest = max(1, (o2_e4 + PERCENT_E4 // 2) // PERCENT_E4)
    for percent in range(nearest, 100):
        own = label_mod(percent * PERCENT_E4, limit, on_grid=cylinder.role is Role.DECO)
        if label is not None and mod_m(own, units) <= mod_m(label, units):
            return percent
    return WHOLE_E4 // PERCENT_E4


def entered_numbers(kit: Kit, request: ScheduleRequest, made: Schedule) -> Entered:
    """The plan run again on what the computers will hold, switch depths and all else as planned.

    Args:
        kit: of the dive.
        request: of the planned case.
        made: its schedule, on the readings.
    """
    gases = {c.id: entered_of(c, kit.policy, kit.dive.units) for c in kit.cylinders.values()}
    again = _scheduled(regassed(request, lambda diver, breath: breath_instead(kit, diver, breath, gases)))
    breathed = {breath.cylinder: gases[breath.cylinder] for breath in breaths_of(request)}
    if again is None:
        return Entered(gases, None, made, printed_schedule(request, made), (_differs(kit, breathed, made, None),))
    longer = made if again.tts_min <= made.tts_min else _on_real_gas(again, made, _real_gas(request))
    return Entered(gases, again.tts_min, longer, printed_schedule(request, longer),
                   (_differs(kit, breathed, made, again),) if _apart(kit, made, again) else ())


def _scheduled(request: ScheduleRequest) -> Schedule | None:
    try:
        return schedule(request)
    except (ScheduleImpossible, Unverified):
        return None


def _real_gas(request: ScheduleRequest) -> Mapping[tuple[str, str], Breath]:
    """Diver and cylinder to what is really breathed."""
    found: dict[tuple[str, str], Breath] = {}

    def seen(diver: str, breath: Breath) -> Breath:
        found[diver, breath.cylinder] = breath
        return breath

    regassed(request, seen)
    return found


def _on_real_gas(again: Schedule, made: Schedule, real: Mapping[tuple[str, str], Breath]) -> Schedule:
    """The times of one schedule on the gases of another; the gradient lines stay those of the gases breathed."""

    def breathed(segment: Segment) -> Segment:
        return replace(segment, gas={diver: real[diver, breath.cylinder] for diver, breath in segment.gas.items()})

    return replace(again, segments=tuple(breathed(segment) for segment in again.segments), anchor_m=made.anchor_m,
                   tissues=made.tissues, worst_gf=())


def _apart(kit: Kit, made: Schedule, again: Schedule) -> bool:
    return abs(again.tts_min - made.tts_min) > kit.policy.sheet_tts_min + ROUNDING_MIN


def _differs(kit: Kit, breathed: Mapping[str, Mixture], made: Schedule, again: Schedule | None) -> Finding:
    return finding(kit.policy, "plan.entered_differs", Subject(),
                   entered=", ".join(f"{c} {gas.name}" for c, gas in breathed.items()),
                   by_entered="no way up" if again is None else minutes_text(again.tts_min),
                   by_reading=minutes_text(made.tts_min), limit=f"{kit.policy.sheet_tts_min:g} min")
