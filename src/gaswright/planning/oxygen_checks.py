"""Findings on oxygen exposure: the end of the table, the CNS clock, long periods without a break."""

import math
from collections.abc import Iterator

from gaswright.catalogue import finding
from gaswright.findings import Finding, Subject
from gaswright.oxygen.clock import TABLE_END_ATA, Dose
from gaswright.planning.casework import Worked
from gaswright.planning.wording import depth_text, minutes_text

__all__ = ["beyond_table_findings", "oxygen_findings"]

ROUNDING = 1e-6  # binary rounding of pressures, shares and times


def oxygen_findings(planned: Worked) -> Iterator[Finding]:
    """Every judgement of the oxygen exposure of the dive as planned.

    Args:
        planned: the planned case.
    """
    yield from beyond_table_findings(planned, frozenset())
    for diver, dose in planned.doses.known.items():
        yield from _at_edge(planned, diver, dose)
        yield from _clock(planned, diver, dose)
        if dose.longest_oxygen_min > planned.kit.policy.oxygen_period_min + ROUNDING:
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


def _clock(planned: Worked, diver: str, dose: Dose) -> Iterator[Finding]:
    policy, cns_percent = planned.kit.policy, dose.cns_fraction * 100
    cns = f"{math.ceil(cns_percent - ROUNDING)} %"
    if cns_percent > policy.cns_ask_percent + ROUNDING:
        yield finding(policy, "oxygen.cns_ask", Subject(diver), cns=cns)
    elif cns_percent >= policy.cns_note_percent - ROUNDING:
        yield finding(policy, "oxygen.cns_note", Subject(diver), cns=cns)
