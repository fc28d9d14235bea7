"""What changes on a team's sheet when the dive is planned again, and for whom."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from gaswright.analysis.reading import Reading
from gaswright.decompression.request import Direction
from gaswright.planning.dive import Plan, PlanCylinder, TeamDive
from gaswright.planning.held_plan import halts_of
from gaswright.planning.mods import label_mod_of, mod_m, used_both_ways
from gaswright.policy import Policy

__all__ = ["Change", "changes_between"]

SAME = 1e-6  # two numbers of one instant or depth, after binary rounding
PRINTED_BAR = 1.0  # sheets print whole bars


@dataclass(frozen=True, slots=True)
class Change:
    """One number of the sheet that moves.

    Args:
        what: "gas", "mod", "switch_depth", "tts", "stop", "end_pressure", "minimum_gas" or "turn_pressure".
        before: as planned, None where there was none; in the unit.
        after: planned again, None where there is none; in the unit.
        unit: "m", "min", "bar" or "%".
        diver: whom it concerns, None: the team.
        cylinder: id, None.
        depth_m: of a stop [m]
    """

    what: str
    before: float | None
    after: float | None
    unit: str
    diver: str | None = None
    cylinder: str | None = None
    depth_m: float | None = None


def changes_between(
    dive: TeamDive, policy: Policy, before: Plan, after: Plan, cylinder: str, reading: Reading
) -> tuple[Change, ...]:
    """Every number that moves between two plans: MOD, switch depths, TTS, stops, pressures.

    Args:
        dive: as planned before.
        policy: gives MODs.
        before: the plan.
        after: the plan on the reading.
        cylinder: id of the cylinder that was read.
        reading: of it.
    """
    owners = {c.id: c.divers[0] for c in dive.cylinders}
    asked = next(c for c in dive.cylinders if c.id == cylinder)
    return (*_mod(dive, policy, asked, reading), *_switches(before, after), *_times(before, after),
            *_pressures(before, after, owners))


def _mod(dive: TeamDive, policy: Policy, asked: PlanCylinder, reading: Reading) -> Iterator[Change]:
    if asked.deep_gas is None:
        return
    both = used_both_ways(asked)
    was, now = (mod_m(label_mod_of(one, asked.role, policy, both_ways=both), dive.units)
                for one in (asked.deep_gas, reading))
    if was != now:
        yield Change("mod", was, now, "m", asked.divers[0], asked.id)


def _switches(before: Plan, after: Plan) -> Iterator[Change]:
    was, now = _switch_depths(before), _switch_depths(after)
    for (diver, cylinder, _), depth_m in was.items():
        then_m = now.get((diver, cylinder, _))
        if then_m is None or abs(then_m - depth_m) > SAME:
            yield Change("switch_depth", depth_m, then_m, "m", diver, cylinder)
    for (diver, cylinder, _), depth_m in now.items():
        if (diver, cylinder, _) not in was:
            yield Change("switch_depth", None, depth_m, "m", diver, cylinder)


def _switch_depths(made: Plan) -> Mapping[tuple[str, str, Direction], float]:
    return {(d, c, gas.direction): gas.depth_m for gas in made.team_gases for d, c in gas.cylinders.items()}


def _times(before: Plan, after: Plan) -> Iterator[Change]:
    was, now = before.planned.schedule, after.planned.schedule
    if was is None or now is None:
        return
    if abs(was.tts_min - now.tts_min) > SAME:
        yield Change("tts", was.tts_min, now.tts_min, "min")
    halted, halting = halts_of(was), halts_of(now)
    for depth_mm in sorted(halted.keys() | halting.keys(), reverse=True):
        minutes = halted.get(depth_mm, 0.0), halting.get(depth_mm, 0.0)
        if abs(minutes[0] - minutes[1]) > SAME:
            yield Change("stop", *minutes, "min", depth_m=depth_mm / 1000)


def _pressures(before: Plan, after: Plan, owners: Mapping[str, str]) -> Iterator[Change]:
    now = after.planned.supply
    for cylinder, was in before.planned.supply.items():
        then = now.get(cylinder)
        pairs = (("end_pressure", was.end_bar, then.end_bar if then else None),
                 ("minimum_gas", was.minimum_bar, then.minimum_bar if then else None),
                 ("turn_pressure", was.turn_bar, then.turn_bar if then else None))
        for what, old_bar, new_bar in pairs:
            if _differs(old_bar, new_bar):
                yield Change(what, old_bar, new_bar, "bar", owners[cylinder], cylinder)


def _differs(old_bar: float | None, new_bar: float | None) -> bool:
    if old_bar is None or new_bar is None:
        return old_bar is not new_bar
    return abs(old_bar - new_bar) >= PRINTED_BAR
