"""The team's gas switches for the switch card: depth, each diver's cylinder, who goes when, who confirms whom."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Plan, PlanCylinder, TeamDive, TeamGas

__all__ = ["SwitchTurn", "TeamSwitch", "switch_plan"]

SAME_DEPTH_M = 0.01  # a switch made at a depth begins within this of it


@dataclass(frozen=True, slots=True)
class SwitchTurn:
    """One diver's turn at a switch.

    Args:
        diver: id of the diver who switches.
        cylinder: id of the cylinder switched to.
        gas_name: the gas in it, "unknown" where nothing is known or aimed at.
        mod: its label MOD; None where the caller gave none.
        confirmed_by: id of the diver who confirms; None if nobody is there to confirm.
        from_runtime_min: runtime at which the planned case changes to it there, None if it does not [min].
    """

    diver: str
    cylinder: str
    gas_name: str
    mod: LabelMod | None
    confirmed_by: str | None
    from_runtime_min: float | None


@dataclass(frozen=True, slots=True)
class TeamSwitch:
    """One switch of the whole team, the turns in the order of the card.

    Args:
        depth_m: depth of the switch [m].
        turns: one per diver who switches, in order.
    """

    depth_m: float
    turns: tuple[SwitchTurn, ...]

    @property
    def order(self) -> tuple[str, ...]:
        """Ids of the divers in the order of their turns."""
        return tuple(turn.diver for turn in self.turns)

    @property
    def shallowest_mod(self) -> LabelMod | None:
        """The shallowest MOD among the cylinders switched to; None where one was not given."""
        mods = [turn.mod for turn in self.turns if turn.mod is not None]
        return min(mods, key=lambda mod: (mod.metres, mod.feet)) if mods and len(mods) == len(self.turns) else None


def switch_plan(
    plan: Plan, dive: TeamDive, mods: Mapping[str, LabelMod] | None = None,
) -> tuple[TeamSwitch, ...]:
    """The switches of the planned case, in the order in which the team meets them.

    The next in the order confirms; the last is confirmed by the first. Where only one diver of a team switches, the
    next diver of the team confirms; a diver alone is confirmed by nobody.

    Args:
        plan: its team gases are the switches.
        dive: whose cylinders hold the gases.
        mods: cylinder id to its label MOD.
    """
    cylinders = {cylinder.id: cylinder for cylinder in dive.cylinders}
    team = tuple(diver.id for diver in dive.divers)
    return tuple(_switch(gas, cylinders, team, plan, mods or {}) for gas in plan.team_gases)


def _switch(
    gas: TeamGas, cylinders: Mapping[str, PlanCylinder], team: tuple[str, ...], plan: Plan,
    mods: Mapping[str, LabelMod],
) -> TeamSwitch:
    order = tuple(gas.cylinders)
    turns = tuple(
        SwitchTurn(diver, gas.cylinders[diver], _gas_name(cylinders.get(gas.cylinders[diver])),
                   mods.get(gas.cylinders[diver]), _confirms(diver, order, team),
                   _from_runtime_min(plan, diver, gas.cylinders[diver], gas.depth_m))
        for diver in order
    )
    return TeamSwitch(gas.depth_m, turns)


def _confirms(diver: str, order: tuple[str, ...], team: tuple[str, ...]) -> str | None:
    ring = order if len(order) > 1 else team
    if diver not in ring or len(ring) < 2:
        return None
    return ring[(ring.index(diver) + 1) % len(ring)]


def _gas_name(cylinder: PlanCylinder | None) -> str:
    return cylinder.gas.mixture.name if cylinder is not None and cylinder.gas is not None else "unknown"


def _from_runtime_min(plan: Plan, diver: str, cylinder: str, depth_m: float) -> float | None:
    schedule = plan.planned.schedule if plan.cases else None
    if schedule is None:
        return None
    before = ""
    for segment in schedule.segments:
        now = segment.gas[diver].cylinder if diver in segment.gas else before
        if now == cylinder != before and abs(segment.from_m - depth_m) < SAME_DEPTH_M:
            return segment.start_min
        before = now
    return None
