"""Findings on oxygen exposure: the end of the table, the CNS clock, long periods without a break."""

import math
from collections.abc import Iterator

from gaswright.catalogue import finding
from gaswright.findings import Finding, Subject
from gaswright.oxygen.clock import TABLE_END_ATA, Dose
from gaswright.oxygen.days import repex_limit
from gaswright.planning.casework import Worked
from gaswright.planning.oxygen_doses import earlier_doses
from gaswright.planning.wording import depth_text, minutes_text

__all__ = ["beyond_table_findings", "oxygen_findings"]

FROM_LAST_STOP_M_MIN = 1.0  # [GASWRIGHT] contract: the speed from the last stop where none is set
ROUNDING = 1e-6  # binary rounding of pressures, shares and times


def oxygen_findings(planned: Worked) -> Iterator[Finding]:
    """Every judgement of the oxygen exposure of the dive as planned.

    Args:
        planned: the planned case.
    """
    yield from beyond_table_findings(planned, frozenset())
    for diver, dose in planned.doses.known.items():
        yield from _at_edge(planned, diver, dose)
        yield from _clock(planned, diver)
        yield from _whole_body(planned, diver, dose)
        if dose.longest_oxygen_min > _longest_min(planned) + ROUNDING:
            yield finding(planned.kit.policy, "oxygen.no_break", Subject(diver),
                          period=minutes_text(dose.longest_oxygen_min))


def beyond_table_findings(worked: Worked, known: frozenset[str]) -> Iterator[Finding]:
    """A stop for each diver who leaves the oxygen table in a case.

    Args:
        worked: the case.
        known: divers of whom that is said already.
    """
    case = None if worked.case.name == "planned" else worked.case.name
    units = worked.kit.dive.units
    for diver, left in worked.doses.beyond.items():
        if diver not in known:
            depth = "" if left.depth_m is None else depth_text(left.depth_m, units)
            yield finding(worked.kit.policy, "oxygen.above_table",
                          Subject(diver, left.cylinder, case, left.depth_m, left.at_min),
                          ppo2=f"{left.po2_ata:.2f} ata", use=f"{depth} ({case})" if case else depth)


def _at_edge(planned: Worked, diver: str, dose: Dose) -> Iterator[Finding]:
    if dose.peak_ata > TABLE_END_ATA + ROUNDING:
        yield finding(planned.kit.policy, "oxygen.at_edge", Subject(diver, depth_m=dose.peak_depth_m),
                      ppo2=f"{dose.peak_ata:.2f} ata", use=depth_text(dose.peak_depth_m, planned.kit.dive.units))


def _clock(planned: Worked, diver: str) -> Iterator[Finding]:
    """CNS of the single exposure, and of 24 hours where earlier dives add to it."""
    shown = planned.doses.shown[diver]
    yield from _share(planned, diver, shown.single_percent, "oxygen.cns_ask", "oxygen.cns_note")
    if earlier_doses(planned.kit, diver):
        yield from _share(planned, diver, shown.day_percent, "oxygen.day_ask", "oxygen.day_note")


def _share(planned: Worked, diver: str, percent: float, ask: str, note: str) -> Iterator[Finding]:
    policy, cns = planned.kit.policy, f"{math.ceil(percent - ROUNDING)} %"
    if percent > policy.cns_ask_percent + ROUNDING:
        yield finding(policy, ask, Subject(diver), cns=cns)
    elif percent >= policy.cns_note_percent - ROUNDING:
        yield finding(policy, note, Subject(diver), cns=cns)


def _whole_body(planned: Worked, diver: str, dose: Dose) -> Iterator[Finding]:
    """A note where the OTU of the days up to today pass the REPEX limit of so many days."""
    limit = repex_limit(dose.otu, earlier_doses(planned.kit, diver))
    if limit.total_otu > limit.limit_otu + ROUNDING:
        otu = str(math.ceil(limit.total_otu - ROUNDING))
        days = "1 day" if limit.days == 1 else f"{limit.days} days"
        yield finding(planned.kit.policy, "oxygen.repex", Subject(diver), otu=otu, days=days,
                      limit=f"{limit.limit_otu:g}")


def _longest_min(planned: Worked) -> float:
    """The longest time on oxygen that needs no word [min].

    The clock of the breaks counts the units of halts: the turns at the switch and the way up from the last stop come on
    top.
    """
    kit = planned.kit
    period_min = kit.policy.oxygen_period_min
    if not kit.dive.settings.oxygen_breaks:
        return period_min
    settings = kit.dive.settings
    turns_min = len(kit.dive.divers) * settings.switch_min + settings.stop_unit_min
    return period_min + turns_min + settings.last_stop_m / (settings.ascent_m_min or FROM_LAST_STOP_M_MIN)
