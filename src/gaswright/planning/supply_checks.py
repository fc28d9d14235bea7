"""Findings on gas supply: pressures, minimum gas, cylinders that run out, reserves, gas that is never breathed."""

import math
from collections.abc import Iterator, Mapping

from gaswright.catalogue import finding
from gaswright.findings import Finding, Subject
from gaswright.planning.casework import Worked
from gaswright.planning.contents import Content, gauge_bar_with, start_gauge_bar
from gaswright.planning.dive import Role, UnitSystem, Usable
from gaswright.planning.kit import Kit
from gaswright.planning.team_gases import allowed_m, for_the_way_up
from gaswright.planning.turn import BottomGas
from gaswright.planning.usage import drawn_l, draws_of
from gaswright.planning.uses import Use
from gaswright.planning.wording import (
    depth_text,
    left_pressure_text,
    minutes_text,
    needed_gas_text,
    needed_pressure_text,
)
from gaswright.units import LITRE_PER_CUBIC_FOOT, STANDARD_ATMOSPHERE_BAR

__all__ = ["bottom_gas_findings", "mends_of", "supply_findings"]

ROUNDING_L = 1e-6  # binary rounding of a volume of gas


def supply_findings(planned: Worked, contents: Mapping[str, Content]) -> Iterator[Finding]:
    """Every judgement of the supply of the dive as planned, minimum gas apart.

    Args:
        planned: the planned case.
        contents: what the cylinders hold at the start.
    """
    yield from _unread(planned.kit, planned.uses)
    yield from _run_out(planned)
    yield from _deco_reserve(planned, contents)
    yield from _stage_reserve(planned)
    yield from _never_breathed(planned)


def _subject(kit: Kit, cylinder: str, at_min: float | None = None) -> Subject:
    team = [d.id for d in kit.dive.divers]
    mine = (d for d in kit.cylinders[cylinder].divers if d in team)
    return Subject(next(mine, None), cylinder, at_min=at_min)


def _unread(kit: Kit, uses: Mapping[str, Use]) -> Iterator[Finding]:
    for cylinder in uses:
        if start_gauge_bar(kit.cylinders[cylinder]) is None:
            yield finding(kit.policy, "supply.pressure_unknown", _subject(kit, cylinder))


def _run_out(planned: Worked) -> Iterator[Finding]:
    kit = planned.kit
    for cylinder, supply in planned.case.supply.items():
        if supply.empty_at_min is not None:
            yield finding(kit.policy, "supply.runs_out", _subject(kit, cylinder, supply.empty_at_min),
                          at=str(int(supply.empty_at_min)), short=needed_gas_text(supply.short_l, kit.dive.units))


def _deco_reserve(planned: Worked, contents: Mapping[str, Content]) -> Iterator[Finding]:
    kit, factor = planned.kit, planned.kit.policy.deco_reserve_factor
    for cylinder, supply in planned.case.supply.items():
        available_l = contents[cylinder].available_l
        enough = supply.used_l * factor <= available_l + ROUNDING_L
        if kit.cylinders[cylinder].role is Role.DECO and not enough and supply.empty_at_min is None:
            yield finding(kit.policy, "supply.deco_reserve", _subject(kit, cylinder), factor=f"{factor:g}",
                          used=needed_gas_text(supply.used_l, kit.dive.units),
                          available=f"{math.floor(_shown_l(kit, available_l))} {_gas_unit(kit)}")


def _shown_l(kit: Kit, free_l: float) -> float:
    return free_l if kit.dive.units is UnitSystem.METRIC else free_l / LITRE_PER_CUBIC_FOOT


def _gas_unit(kit: Kit) -> str:
    return "L" if kit.dive.units is UnitSystem.METRIC else "cu ft"


def _stage_reserve(planned: Worked) -> Iterator[Finding]:
    """Bottom stages keep half and the reserve, or two thirds; one that is planned for the way up too is left out."""
    kit, units = planned.kit, planned.kit.dive.units
    half = kit.dive.settings.stage_usable is Usable.HALF
    reserve = needed_pressure_text(kit.policy.stage_reserve_bar, units)
    for cylinder, supply in planned.case.supply.items():
        stage = kit.cylinders[cylinder]
        least_bar = supply.start_bar / 2 + kit.policy.stage_reserve_bar if half else supply.start_bar * 2 / 3
        bottom_stage = stage.role is Role.STAGE and stage.switch_depth_m is None
        if bottom_stage and supply.empty_at_min is None and supply.end_bar < least_bar:
            yield finding(kit.policy, "supply.stage_reserve", _subject(kit, cylinder),
                          left=left_pressure_text(supply.end_bar, units),
                          rule=f"half plus {reserve}" if half else "two thirds stay",
                          least=needed_pressure_text(least_bar, units))


def _never_breathed(planned: Worked) -> Iterator[Finding]:
    kit = planned.kit
    if planned.case.schedule is None:
        return
    for cylinder in kit.cylinders.values():
        if cylinder.id not in planned.uses:
            yield finding(kit.policy, "supply.not_breathed", _subject(kit, cylinder.id), why=_why_not(kit, cylinder.id))


def _why_not(kit: Kit, cylinder: str) -> str:
    given, settings = kit.cylinders[cylinder], kit.dive.settings
    if not for_the_way_up(given):
        return "no level and no switch names it"
    depth_m, units = allowed_m(kit, given), kit.dive.units
    if depth_m < settings.last_stop_m:
        return (f"it may be breathed from {depth_text(depth_m, units)}, "
                f"the last stop is at {depth_text(settings.last_stop_m, units)}")
    return "another cylinder serves that step"


def bottom_gas_findings(
    planned: Worked, gases: Mapping[str, BottomGas], contents: Mapping[str, Content]
) -> Iterator[Finding]:
    """Every judgement of minimum gas: not there at the start, or not there any more when the bottom is left.

    Args:
        planned: the planned case.
        gases: diver id to how the mains stand.
        contents: what the cylinders hold at the start.
    """
    kit, schedule = planned.kit, planned.case.schedule
    if schedule is None:
        return
    draws = draws_of(kit, schedule)
    leave_min = schedule.runtime_min - schedule.tts_min
    for diver, gas in gases.items():
        if gas.short_at_start_l <= 0.0 and gas.short_l <= 0.0:
            continue
        left = {c: contents[c].start_l - drawn_l(draws.get(c, ()), leave_min) for c in gas.minimum_l}
        worst = min(left, key=lambda c: (left[c] - gas.minimum_l[c]) / contents[c].volume_l)
        content = contents[worst]
        minimum = _minimum_text(kit, gas, worst)
        if gas.short_at_start_l > 0.0:
            yield finding(kit.policy, "supply.minimum_gas", Subject(diver, worst), minimum=minimum,
                          start=left_pressure_text(content.start_bar, kit.dive.units),
                          short=needed_gas_text(gas.short_at_start_l, kit.dive.units),
                          mend=mends_of(kit, gas, leave_min))
            continue
        left_bar = max(0.0, gauge_bar_with(content, max(0.0, left[worst])) or 0.0)
        yield finding(kit.policy, "supply.minimum_passed", Subject(diver, worst, at_min=leave_min), minimum=minimum,
                      left=left_pressure_text(left_bar, kit.dive.units), mend=mends_of(kit, gas, leave_min))


def _minimum_text(kit: Kit, gas: BottomGas, cylinder: str) -> str:
    bar = gas.minimum_bar[cylinder]
    if bar is None:
        return needed_gas_text(gas.minimum_l[cylinder], kit.dive.units)
    return needed_pressure_text(bar, kit.dive.units)


def mends_of(kit: Kit, gas: BottomGas, leave_min: float) -> str:
    """What mends mains that fall short of minimum gas: minutes, larger mains, a stage.

    Args:
        kit: gives units and working pressures.
        gas: how the mains stand.
        leave_min: planned runtime at which the bottom is left [min]
    """
    if gas.leave_min is None:
        minutes = "no bottom time holds it"
    else:
        minutes = f"leave the bottom {minutes_text(math.ceil(leave_min - gas.leave_min - ROUNDING_L))} sooner"
    stage = f"a bottom stage that gives {needed_gas_text(gas.short_l, kit.dive.units)}"
    return f"{minutes}, or {_larger_mains(kit, gas)}, or {stage}"


def _larger_mains(kit: Kit, gas: BottomGas) -> str:
    if math.isinf(gas.volume_l):
        return "fill the mains"
    if kit.dive.units is UnitSystem.METRIC:
        return f"mains of {math.ceil(gas.volume_l)} L at this pressure"
    working_bar = min(c.working_pressure_bar for c in kit.mains[gas.diver])
    capacity = gas.volume_l * working_bar / STANDARD_ATMOSPHERE_BAR / LITRE_PER_CUBIC_FOOT
    return f"mains of {math.ceil(capacity)} cu ft at this pressure"
