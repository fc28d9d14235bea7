"""Which gas for a depth: the best by the policy, and what the team's house gases cost in minutes and helium."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from gaswright.analysis.reading import Reading
from gaswright.decompression.request import (
    Breath,
    Direction,
    GasChange,
    ProfileLevel,
    Schedule,
    ScheduleImpossible,
    ScheduleRequest,
    Tissues,
)
from gaswright.decompression.scheduler import schedule, unverified_schedule
from gaswright.errors import InputError
from gaswright.physics.consumption import used_l
from gaswright.physics.density import density_g_l
from gaswright.physics.depth_limits import minimum_depth_m, place_mod_m
from gaswright.physics.mixture import AIR, WHOLE_E4, Mixture
from gaswright.physics.narcosis import end_oxygen_narcotic_m
from gaswright.planning.around import resting_tissues
from gaswright.planning.dive import Role, TeamDive
from gaswright.planning.mods import label_mod_of, mod_m
from gaswright.planning.team_gases import floor_to_grid_m
from gaswright.planning.usage import first_halt_min
from gaswright.planning.wording import depth_text
from gaswright.policy import Policy

__all__ = ["Choice", "Step", "best_bottom", "best_deco", "choices", "loses"]

PERCENT_E4 = 100
DECO_GASES_AT_MOST = 3
SAME_M = 1e-6  # two depths that are equal as typed, after conversion from feet


@dataclass(frozen=True, slots=True)
class Step:
    """A deco gas and the depth of its switch.

    Args:
        depth_m: on the stop grid: the MOD of the gas [m]
        mixture: the gas.
    """

    depth_m: float
    mixture: Mixture


@dataclass(frozen=True, slots=True)
class Choice:
    """One set of gases for the dive.

    Args:
        name: "best", or "house".
        bottom: bottom gas.
        steps: deco gases, the deepest first.
        tts_min: None where it loses before it is scheduled [min].
        helium_l: free helium that the team breathes [L].
        minutes_more: TTS against the best choice [min].
        helium_more_l: helium against the best choice [L].
        why: the reasons for which it loses, or what is to be known of it.
        loses: True where a limit of the policy forbids it.
    """

    name: str
    bottom: Mixture
    steps: tuple[Step, ...]
    tts_min: float | None
    helium_l: float | None
    minutes_more: float | None
    helium_more_l: float | None
    why: tuple[str, ...]
    loses: bool


def best_bottom(dive: TeamDive, policy: Policy, depth_m: float) -> Mixture:
    """The best bottom mix for a depth in whole percents.

    The most oxygen whose MOD, reading plus uncertainty, covers the depth; then the least helium with which END and
    density, on the lean side of the uncertainty, stay within the limits (density: that of the note).

    Args:
        dive: gives place and units.
        policy: the limits and the uncertainty of readings.
        depth_m: of the bottom [m]

    Raises:
        InputError: no gas covers that depth.
    """
    for o2 in range(100, 0, -1):
        if not _too_rich(dive, policy, Mixture(o2 * PERCENT_E4), Role.MAIN, depth_m):
            helium = next((he for he in range(100 - o2 + 1)
                           if not _thick(dive, policy, Mixture(o2 * PERCENT_E4, he * PERCENT_E4), depth_m,
                                         policy.density_note_g_l)),
                          None)
            if helium is not None:
                return Mixture(o2 * PERCENT_E4, helium * PERCENT_E4)
    raise InputError(f"no gas covers {depth_text(depth_m, dive.units)} within the limits of the policy")


def _reading(mixture: Mixture, policy: Policy) -> Reading:
    return Reading(mixture, round(policy.u_o2_percent * 100), round(policy.u_he_percent * 100) if mixture.he_e4 else 0)


def _too_rich(dive: TeamDive, policy: Policy, mixture: Mixture, role: Role, depth_m: float) -> bool:
    reading = _reading(mixture, policy)
    limit_ata = policy.ppo2_deco_ata if role is Role.DECO else policy.ppo2_bottom_ata
    covers = mod_m(label_mod_of(reading, role, policy), dive.units) >= depth_m - SAME_M
    rich = reading.rich_o2_e4 / WHOLE_E4
    here_m = place_mod_m(rich, min(1.65, limit_ata + policy.ppo2_place_room_ata), dive.place)
    return not covers or here_m < depth_m - SAME_M


def _thick(
    dive: TeamDive, policy: Policy, mixture: Mixture, depth_m: float, limit_g_l: float
) -> tuple[str, ...]:
    """END and density of a bottom mix above their limits, as reasons."""
    return tuple(_too_thick(dive, policy, mixture, depth_m, limit_g_l))


def _too_thick(
    dive: TeamDive, policy: Policy, mixture: Mixture, depth_m: float, limit_g_l: float
) -> Iterator[str]:
    lean = Mixture(mixture.o2_e4, _reading(mixture, policy).lean_he_e4)
    end_m, here_g_l = end_oxygen_narcotic_m(lean, depth_m), density_g_l(lean, dive.place.ambient_bar(depth_m))
    if end_m > policy.end_limit_m + SAME_M:
        yield f"END {depth_text(end_m, dive.units)}, limit {depth_text(policy.end_limit_m, dive.units)}"
    if here_g_l > limit_g_l + SAME_M:
        yield f"density {here_g_l:.2f} g/L, limit {limit_g_l:g} g/L"


def loses(dive: TeamDive, policy: Policy, mixture: Mixture, depth_m: float) -> tuple[str, ...]:
    """The reasons for which a gas is no bottom gas for a depth: MOD, or a question of END or density; empty: it is one.

    Args:
        dive: gives place and units.
        policy: the limits.
        mixture: the gas.
        depth_m: of the bottom [m]
    """
    reasons = []
    if _too_rich(dive, policy, mixture, Role.MAIN, depth_m):
        label_m = mod_m(label_mod_of(_reading(mixture, policy), Role.MAIN, policy), dive.units)
        reasons.append(f"MOD {depth_text(label_m, dive.units)} with its uncertainty")
    return (*reasons, *_thick(dive, policy, mixture, depth_m, policy.density_ask_g_l))


def _from_m(dive: TeamDive, policy: Policy, mixture: Mixture) -> float:
    lean = _reading(mixture, policy).lean_o2_e4
    return minimum_depth_m(max(1, lean) / WHOLE_E4, policy.ppo2_low_stop_ata, dive.place)


def best_deco(dive: TeamDive, policy: Policy, bottom: Mixture, depth_m: float, minutes: float, count: int) -> Choice:
    """The bottom gas with the deco gases that give the shortest TTS; between equals the shallower first switch.

    At each depth of the grid the richest whole percent of nitrox whose MOD covers it is tried, team marks included.

    Args:
        dive: gives team, place, settings.
        policy: the limits.
        bottom: the bottom gas.
        depth_m: of the bottom [m]
        minutes: on it, the way down included [min]
        count: how many deco gases, 0 to 3.

    Raises:
        InputError: another count, or a dive without a schedule.
    """
    if not 0 <= count <= DECO_GASES_AT_MOST:
        raise InputError(f"{count} deco gases cannot be chosen; allowed are 0 to {DECO_GASES_AT_MOST}")
    ladder = _on_the_grid(dive, policy, depth_m)
    tried = [(_tts_min(dive, bottom, steps, depth_m, minutes), steps) for steps in combinations(ladder, count)]
    possible = [(tts_min, steps) for tts_min, steps in tried if tts_min is not None]
    if not possible:
        raise InputError(f"no way up from {depth_text(depth_m, dive.units)} after {minutes:g} min with {count} deco "
                         "gases; plan a shorter dive")
    steps = min(possible, key=lambda one: (one[0], one[1][0].depth_m if one[1] else 0.0))[1]
    return _choice(dive, policy, "best", bottom, steps, depth_m, minutes)


def _on_the_grid(dive: TeamDive, policy: Policy, depth_m: float) -> list[Step]:
    """Per depth of the grid, deepest first, the richest gas that may be taken there; each gas once, at its deepest."""
    found: list[Step] = []
    step_m, last_m = dive.settings.stop_step_m, dive.settings.last_stop_m
    at_m = floor_to_grid_m(depth_m, step_m)
    while at_m >= last_m - SAME_M:
        gases = [Mixture(o2 * PERCENT_E4) for o2 in range(100, 21, -1)]
        rich = next((m for m in gases if not _too_rich(dive, policy, m, Role.DECO, at_m)
                     or _marked(dive, policy, m, at_m)), None)
        if rich is not None and (not found or found[-1].mixture != rich):
            found.append(Step(at_m, rich))
        at_m = floor_to_grid_m(at_m - step_m, step_m)
    return found


def _marked(dive: TeamDive, policy: Policy, mixture: Mixture, depth_m: float) -> bool:
    """Whether a team mark covers a depth: the one place where a label may pass its limit."""
    mod = label_mod_of(_reading(mixture, policy), Role.DECO, policy)
    return mod.mark is not None and mod_m(mod, dive.units) >= depth_m - SAME_M


def choices(
    dive: TeamDive, policy: Policy, depth_m: float, minutes: float, house: Sequence[Mixture], count: int = 2
) -> tuple[Choice, ...]:
    """The best set of gases first, then every house gas as bottom gas with the best of the house's deco gases.

    The shortest TTS comes first; those that lose come last, each with its reasons.

    Args:
        dive: gives team, place, settings.
        policy: the limits.
        depth_m: of the bottom [m]
        minutes: on it, the way down included [min]
        house: the team's gases.
        count: how many deco gases at most, 0 to 3.

    Raises:
        InputError: no gas covers that depth, another count, or no schedule.
    """
    best = best_deco(dive, policy, best_bottom(dive, policy, depth_m), depth_m, minutes, count)
    found = [_against(_house(dive, policy, bottom, house, depth_m, minutes, count), best) for bottom in house]
    return (_against(best, best), *sorted(found, key=lambda one: (one.loses, one.tts_min or 0.0)))


def _house(
    dive: TeamDive, policy: Policy, bottom: Mixture, house: Sequence[Mixture], depth_m: float, minutes: float,
    count: int,
) -> Choice:
    reasons = loses(dive, policy, bottom, depth_m)
    if reasons:
        return Choice("house", bottom, (), None, None, None, None, reasons, loses=True)
    ladder = _house_steps(dive, policy, bottom, house, depth_m)
    sets = [steps for size in range(count + 1) for steps in combinations(ladder, size)]
    tried = [(_tts_min(dive, bottom, steps, depth_m, minutes), len(steps), steps) for steps in sets]
    possible = [(tts_min, size, steps) for tts_min, size, steps in tried if tts_min is not None]
    if not possible:
        return Choice("house", bottom, (), None, None, None, None, ("no way up within the day",), loses=True)
    steps = min(possible, key=lambda one: (one[0], one[1]))[2]
    return _choice(dive, policy, "house", bottom, steps, depth_m, minutes)


def _house_steps(
    dive: TeamDive, policy: Policy, bottom: Mixture, house: Sequence[Mixture], depth_m: float
) -> list[Step]:
    """House gases richer than the bottom gas at their own MOD, deepest first; of those at one depth the richest."""
    found: dict[float, Mixture] = {}
    for mixture in sorted(house, key=lambda gas: (gas.o2_e4, -gas.he_e4)):
        mod = label_mod_of(_reading(mixture, policy), Role.DECO, policy)
        at_m = floor_to_grid_m(min(mod_m(mod, dive.units), depth_m), dive.settings.stop_step_m)
        if mixture.o2_e4 > max(bottom.o2_e4, AIR.o2_e4) and at_m >= dive.settings.last_stop_m - SAME_M:
            found[at_m] = mixture
    return [Step(at_m, found[at_m]) for at_m in sorted(found, reverse=True)]


def _against(one: Choice, best: Choice) -> Choice:
    if one.tts_min is None or best.tts_min is None or one.helium_l is None or best.helium_l is None:
        return one
    return replace(one, minutes_more=one.tts_min - best.tts_min, helium_more_l=one.helium_l - best.helium_l)


def _choice(
    dive: TeamDive, policy: Policy, name: str, bottom: Mixture, steps: tuple[Step, ...], depth_m: float,
    minutes: float,
) -> Choice:
    made = schedule(_request(dive, bottom, steps, depth_m, minutes))
    from_m = _from_m(dive, policy, bottom)
    travel = () if from_m <= 0.0 else (
        f"not breathable above {depth_text(_up(from_m), dive.units)}: needs a travel gas",
    )
    why = (*travel, *_thick(dive, policy, bottom, depth_m, policy.density_note_g_l))
    return Choice(name, bottom, steps, made.tts_min, _helium_l(dive, made), None, None, why, loses=False)


def _up(depth_m: float) -> float:
    return math.ceil(depth_m * 10 - SAME_M) / 10


def _tts_min(
    dive: TeamDive, bottom: Mixture, steps: Sequence[Step], depth_m: float, minutes: float
) -> float | None:
    try:
        return unverified_schedule(_request(dive, bottom, steps, depth_m, minutes)).tts_min
    except ScheduleImpossible:
        return None


def _request(
    dive: TeamDive, bottom: Mixture, steps: Sequence[Step], depth_m: float, minutes: float
) -> ScheduleRequest:
    """The team on equal gases: one level, a switch per deco gas."""
    divers, settings = tuple(diver.id for diver in dive.divers), dive.settings
    changes = tuple(
        GasChange(Direction.UP, step.depth_m, _all(divers, step.mixture)) for step in steps
    )
    return ScheduleRequest(
        divers, _all(divers, bottom), (ProfileLevel(depth_m, minutes),), changes, dive.place,
        gf_low=settings.gf_low / 100, gf_high=settings.gf_high / 100, descent_m_min=settings.descent_m_min,
        ascent_m_min=settings.ascent_m_min, zones=settings.zones, stop_step_m=settings.stop_step_m,
        last_stop_m=settings.last_stop_m, stop_unit_min=settings.stop_unit_min, switch_min=settings.switch_min,
        tissues=_tissues(dive),
    )  # fmt: skip


def _tissues(dive: TeamDive) -> Mapping[str, Tissues] | None:
    """What the team brings from earlier dives; None: nobody made one."""
    if dive.before is None or not dive.before.tissues:
        return None
    rested = resting_tissues(dive.place)
    return {diver.id: dive.before.tissues.get(diver.id, rested) for diver in dive.divers}


def _all(divers: Sequence[str], mixture: Mixture) -> Mapping[str, Breath]:
    return {diver: Breath(mixture.name, mixture.o2, mixture.he) for diver in divers}


def _helium_l(dive: TeamDive, made: Schedule) -> float:
    """Free helium that the team breathes, bottom rate to the first halt, deco rate from there [L]."""
    halt_min = first_halt_min(made) - SAME_M
    total_l = 0.0
    for segment in made.segments:
        mean_bar = dive.place.ambient_bar((segment.from_m + segment.to_m) / 2)
        for diver in dive.divers:
            rate = diver.rmv_deco_l_min if segment.start_min >= halt_min else diver.rmv_bottom_l_min
            total_l += used_l(rate, mean_bar, segment.minutes) * segment.gas[diver.id].he
    return total_l
