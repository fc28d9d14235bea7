"""A plan under stress: load, plan, run, and put into words."""

from collections.abc import Callable
from pathlib import Path

from gaswright.exchange.answers import json_text
from gaswright.exchange.answers_robustness import stress_answer
from gaswright.planning.held_plan import held_plan
from gaswright.planning.robustness import Stress
from gaswright.services.accept import planned_dive
from gaswright.services.checking import plan_day
from gaswright.services.day import Day, load_day
from gaswright.services.wording import pressure
from gaswright.units import minutes_text

__all__ = ["stress_answer_text", "stress_lines", "stressed_trip"]

SHOWN_INPUTS = 6  # lines of what matters most
WORDS = {
    "window.tts": "TTS longer than the sheet's by more than its tolerance", "supply.runs_out": "runs out",
    "supply.deco_reserve": "eats into its reserve", "supply.stage_reserve": "eats into its reserve",
    "supply.minimum_passed": "below minimum gas when the bottom is left", "mod.place_ppo2": "ppO2 too high",
    "ppo2.low": "too little oxygen", "narcosis.end": "END above the limit", "density.ask": "too dense",
    "schedule.level_too_short": "a level is too short to be reached",
    "schedule.ceiling": "a level is above the ceiling", "schedule.too_long": "no way up within the day",
}  # fmt: skip


def stressed_trip(
    trip_path: Path, policy_path: Path | None, dive: str | None, runs: int, seed: int, workers: int | None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Day, Stress]:
    """The plan of a trip under stress, and the day it belongs to.

    Args:
        trip_path: the trip file.
        policy_path: a policy file of the user's own, None.
        dive: id of the dive that is meant, None: the first.
        runs: how many.
        seed: of what is drawn.
        workers: threads, None: one per core.
        progress: told how many runs are done, and of how many; None: nobody.

    Raises:
        InputError: the file cannot be read, plans nothing, or has no schedule; or a number is not allowed.
    """
    day = load_day(trip_path, policy_path, dive=dive)
    held = held_plan(planned_dive(day), day.trip.policy)
    from gaswright.services.stress_runs import stressed  # noqa: PLC0415  arrays are loaded when the file is known good

    return day, stressed(held, plan_day(day), runs, seed, workers=workers, progress=progress)


def stress_answer_text(day: Day, made: Stress) -> str:
    """The answer of `stress` as JSON text.

    Args:
        day: as loaded.
        made: the plan under stress.
    """
    return json_text(stress_answer(day.trip, made))


def stress_lines(day: Day, made: Stress) -> list[str]:
    """The plan under stress for people: TTS, gas left, what breaks how often, what matters most.

    Args:
        day: as loaded.
        made: the plan under stress.
    """
    lines = [f"{made.runs:,} runs, seed {made.seed}; {made.made:,} have a schedule, {made.verified} of them replayed"]
    if made.tts_min is not None:
        low, middle, high = (minutes_text(value, "up") for value in made.tts_min)
        planned = minutes_text(made.planned_tts_min)
        lines.append(f"TTS {middle}; 5 % are below {low}, 5 % above {high}; planned {planned}")
    lines += [f"left in {c}: {_bars(day, c, three[1])}, 5 % below {_bars(day, c, three[0])}; planned "
              f"{_bars(day, c, made.planned_left_bar[c])}" for c, three in made.left_bar.items()]
    broken = sorted((one for one in made.broken if one.runs), key=lambda one: -one.runs)
    lines += [f"{_percent(one.share)} of the runs: {f'{one.cylinder}: ' if one.cylinder else ''}{WORDS[one.code]}"
              for one in broken]
    lines += [] if broken else ["no limit and no reserve was broken in any run"]
    lines += [f"matters for TTS: {one.name}, {_percent(abs(one.tts))} of its spread in rank"
              for one in made.sensitivity[:SHOWN_INPUTS] if abs(one.tts) >= 0.01]
    return [*lines, made.word] if made.word else lines


def _bars(day: Day, cylinder: str, gauge_bar: float) -> str:
    owners = next((one.divers for one in planned_dive(day).cylinders if one.id == cylinder), ())
    units = next((diver.units for diver in day.trip.divers if diver.id in owners), day.trip.units)
    return pressure(gauge_bar, units, "down")


def _percent(share: float) -> str:
    return f"{share * 100:.1f} %" if share >= 0.001 else "under 0.1 %"
