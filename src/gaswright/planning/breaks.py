"""Gases breathed in turns on the way up: oxygen breaks, and a cylinder that two divers share."""

from collections.abc import Iterator, Mapping, Sequence

from gaswright.decompression.request import Breath, BreathingCycle, CyclePhase
from gaswright.physics.depth_limits import ppo2_ata
from gaswright.physics.mixture import OXYGEN_NAME_FROM_E4, WHOLE_E4
from gaswright.planning.dive import PlanCylinder
from gaswright.planning.kit import Kit, breath_of
from gaswright.planning.mods import mod_m, mod_of
from gaswright.planning.team_gases import Step

__all__ = ["break_cycles", "breaks_of", "sharing_cycle"]

SAME_DEPTH_M = 1e-6  # two depths of one grid step, after binary rounding
ROUNDING = 1e-9  # binary rounding of a pressure or a time


def break_cycles(kit: Kit, steps: Sequence[Step], last_m: float) -> tuple[BreathingCycle, ...]:
    """The oxygen breaks of the way up: each period of oxygen is followed by lean gas, until the next step.

    Everybody takes the break at once. A diver without a gas for it stays on oxygen.

    Args:
        kit: of the dive.
        steps: of the way up, the deepest first.
        last_m: depth of the last level [m]
    """
    cycles = []
    for number, step in enumerate(steps):
        lean = breaks_of(kit, steps[:number], step)
        if lean:
            rich = {d: breath_of(kit.cylinders[step.breathed[d]]) for d in lean}
            period, pause = (_units(kit, m) for m in (kit.policy.oxygen_period_min, kit.policy.oxygen_break_min))
            until_m = steps[number + 1].depth_m if number + 1 < len(steps) else 0.0
            phases = (CyclePhase(period[0], rich), CyclePhase(pause[1], lean))
            cycles.append(BreathingCycle(min(step.depth_m, last_m), phases, until_m))
    return tuple(cycles)


def _units(kit: Kit, minutes: float) -> tuple[int, int]:
    """Whole stop units within a time, and whole units that cover it, at least one of each."""
    units = minutes / kit.dive.settings.stop_unit_min
    fewer = int(units + ROUNDING)
    return max(1, fewer), max(1, fewer if units - fewer < ROUNDING else fewer + 1)


def breaks_of(kit: Kit, before: Sequence[Step], step: Step) -> Mapping[str, Breath]:
    """Diver id to the gas of the breaks, for those who breathe oxygen at a step and have a lean gas for it.

    The mains if they may be breathed up to the surface, else the gas of the step before, and so on back: the last move
    of the dive may fall into a break.

    Args:
        kit: of the dive.
        before: the deeper steps, the deepest first.
        step: of the way up.
    """
    found = {}
    for diver, cylinder in step.breathed.items():
        gas = kit.cylinders[cylinder].gas
        if gas is None or gas.mixture.o2_e4 < OXYGEN_NAME_FROM_E4:
            continue
        lean = next(_lean_gases(kit, before, diver, step.depth_m), None)
        if lean is not None:
            found[diver] = breath_of(lean)
    return found


def _lean_gases(kit: Kit, before: Sequence[Step], diver: str, depth_m: float) -> Iterator[PlanCylinder]:
    earlier = (kit.cylinders[s.breathed[diver]] for s in reversed(before) if diver in s.breathed)
    mains = (kit.plan_main(diver),) if kit.mains[diver] else ()
    low_ata = kit.policy.ppo2_low_note_ata - ROUNDING
    for cylinder in (*mains, *earlier):
        gas, mod = cylinder.gas, mod_of(cylinder, kit.policy)
        if gas is None or mod is None or gas.mixture.o2_e4 >= OXYGEN_NAME_FROM_E4:
            continue
        at_surface_ata = ppo2_ata(gas.lean_o2_e4 / WHOLE_E4, kit.dive.place.surface_bar)
        if at_surface_ata >= low_ata and mod_m(mod, kit.dive.units) >= depth_m - SAME_DEPTH_M:
            yield cylinder


def sharing_cycle(kit: Kit, steps: Sequence[Step], number: int, giver: str, receiver: str) -> BreathingCycle:
    """Two divers on one cylinder in turns from a step on: one breathes it, the other what he or she breathed before.

    Args:
        kit: of the dive, the lost cylinder included.
        steps: of the way up, the deepest first, the lost cylinder left out.
        number: which of the steps is shared.
        giver: id of the diver whose cylinder it is; begins on it.
        receiver: id of the diver who has none.
    """
    step = steps[number]
    shared = breath_of(kit.cylinders[step.breathed[giver]])
    own = {d: _breathed_before(kit, steps[:number], d) for d in (giver, receiver)}
    turn = _units(kit, kit.dive.settings.share_min)[0]
    phases = (
        CyclePhase(turn, {giver: shared, receiver: own[receiver]}),
        CyclePhase(turn, {giver: own[giver], receiver: shared}),
    )
    later = (s.depth_m for s in steps[number + 1 :] if giver in s.breathed or receiver in s.breathed)
    return BreathingCycle(min(step.depth_m, kit.dive.levels[-1].depth_m), phases, next(later, 0.0))


def _breathed_before(kit: Kit, before: Sequence[Step], diver: str) -> Breath:
    taken = (kit.cylinders[s.breathed[diver]] for s in reversed(before) if diver in s.breathed)
    return breath_of(next(taken, None) or kit.plan_main(diver))
