"""One case worked out: schedule, supply, oxygen, and why it cannot be finished if it cannot."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.decompression.request import (
    BreathingCycle,
    Schedule,
    ScheduleImpossible,
    ScheduleRequest,
    Unverified,
)
from gaswright.decompression.scheduler import schedule
from gaswright.physics.depth_limits import ppo2_ata
from gaswright.planning.contents import Content
from gaswright.planning.dive import Case, Level, Supply
from gaswright.planning.kit import Kit
from gaswright.planning.oxygen_doses import Doses, doses_of
from gaswright.planning.request import Route, request_of
from gaswright.planning.supply import supply_of
from gaswright.planning.travel import NoOverlap
from gaswright.planning.uses import Use, uses_of
from gaswright.planning.wording import depth_text, needed_gas_text

__all__ = ["Worked", "lean_ppo2_ata", "refusal_text", "scheduled", "unworked", "worked_case", "worked_on"]

ROUNDING_ATA = 1e-9  # binary rounding of a pressure


@dataclass(frozen=True, slots=True)
class Worked:
    """A case with what the checks need to judge it.

    Args:
        case: as the plan shows it.
        kit: of the whole dive, lost cylinders included.
        doses: oxygen of the team.
        uses: cylinder id to its use; empty without a schedule.
        refusal: why no schedule exists, None if one does.
        short: which gas runs out, in sentences.
        other: what else forbids it: no schedule, too little oxygen.
    """

    case: Case
    kit: Kit
    doses: Doses
    uses: Mapping[str, Use]
    refusal: ScheduleImpossible | Unverified | NoOverlap | None
    short: tuple[str, ...]
    other: tuple[str, ...]

    @property
    def why(self) -> tuple[str, ...]:
        """Why the team cannot finish it; empty if it can."""
        return (*self.other, *self.short)


def worked_case(
    kit: Kit, contents: Mapping[str, Content], route: Route | NoOverlap, name: str, levels: Sequence[Level], *,
    lost: Sequence[str] = (), delta_m: float = 0.0, delta_min: float = 0.0,
    cycles: tuple[BreathingCycle, ...] | None = None,
) -> Worked:
    """A case worked out.

    Args:
        kit: of the whole dive; every diver has mains.
        contents: what the cylinders hold at the start.
        route: the gas side of the case, or why there is none.
        name: of the case.
        levels: its profile.
        lost: ids of the cylinders lost: the route does without them.
        delta_m: depth against the planned levels [m]
        delta_min: bottom time against the planned levels [min]
        cycles: gases breathed in turns; None: the oxygen breaks, if the team takes them.
    """
    case = _empty(name, lost, delta_m, delta_min)
    if isinstance(route, NoOverlap):
        return unworked(kit, case, route, refusal_text(kit, route))
    made = scheduled(request_of(kit, route, levels, cycles=cycles))
    if not isinstance(made, Schedule):
        return unworked(kit, case, made, refusal_text(kit, made))
    return worked_on(kit, case, made, supply_of(kit, made, contents))


def _empty(name: str, lost: Sequence[str], delta_m: float = 0.0, delta_min: float = 0.0) -> Case:
    return Case(name, tuple(lost), delta_m, delta_min, completed=False, schedule=None, oxygen={}, supply={})


def unworked(kit: Kit, case: Case, refusal: ScheduleImpossible | Unverified | NoOverlap | None, why: str) -> Worked:
    """A case without a schedule.

    Args:
        kit: of the whole dive.
        case: its name, what is lost, how much deeper and longer.
        refusal: what was refused, None: there is no gas to plan it with.
        why: in one clause.
    """
    return Worked(case, kit, Doses({}, {}), {}, refusal, (), (why,))


def worked_on(kit: Kit, case: Case, made: Schedule, supply: Mapping[str, Supply]) -> Worked:
    """A case with its schedule, judged: is there gas, and oxygen enough where it is breathed.

    Args:
        kit: of the whole dive.
        case: its name, what is lost, how much deeper and longer.
        made: its schedule, passed by the replay.
        supply: what the cylinders give.
    """
    doses, uses = doses_of(kit, made), uses_of(kit, made)
    short, other = _short(kit, supply), _hypoxic(kit, uses)
    completed = not short and not other and not doses.beyond and all(cylinder in supply for cylinder in uses)
    shown = replace(case, completed=completed, schedule=made, oxygen=doses.shown, supply=supply)
    return Worked(shown, kit, doses, uses, None, short, other)


def scheduled(request: ScheduleRequest) -> Schedule | ScheduleImpossible | Unverified:
    """The schedule of a request, passed by the replay; or why there is none.

    Args:
        request: of a team.
    """
    try:
        return schedule(request)
    except (ScheduleImpossible, Unverified) as refused:
        return refused


def refusal_text(kit: Kit, refusal: ScheduleImpossible | Unverified | NoOverlap) -> str:
    """Why no schedule exists, in one clause.

    Args:
        kit: gives the units.
        refusal: what was refused.
    """
    if isinstance(refusal, NoOverlap):
        units = kit.dive.units
        return (f"travel gas reaches down to {depth_text(refusal.to_m, units)}, bottom gas needs "
                f"{depth_text(refusal.from_m, units)}")
    return str(refusal)


def _short(kit: Kit, supply: Mapping[str, Supply]) -> tuple[str, ...]:
    return tuple(
        f"{cylinder} runs out at minute {int(given.empty_at_min)}, "
        f"short by {needed_gas_text(given.short_l, kit.dive.units)}"
        for cylinder, given in supply.items() if given.empty_at_min is not None
    )


def _hypoxic(kit: Kit, uses: Mapping[str, Use]) -> tuple[str, ...]:
    low_ata = kit.policy.ppo2_low_stop_ata - ROUNDING_ATA
    return tuple(
        f"{use.cylinder} has too little oxygen at {depth_text(use.shallowest_m, kit.dive.units)}"
        for use in uses.values() if lean_ppo2_ata(kit, use) < low_ata
    )


def lean_ppo2_ata(kit: Kit, use: Use) -> float:
    """The ppO2 of the reading less its uncertainty at the shallowest use [ata].

    Args:
        kit: gives gas and place.
        use: of a cylinder.
    """
    gas = kit.cylinders[use.cylinder].gas
    lean = 0.0 if gas is None else gas.lean_o2_e4 / 10_000
    return ppo2_ata(lean, kit.dive.place.ambient_bar(use.shallowest_m))
