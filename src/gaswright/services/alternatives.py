"""Other gases and other dives: the gas for a depth, plan B with the gas in hand, the booklet."""

import re
from collections.abc import Callable, Mapping, Sequence

from gaswright.catalogue import CATALOGUE
from gaswright.errors import InputError
from gaswright.exchange.answers import json_text
from gaswright.exchange.answers_robustness import choose_answer, plan_b_answer
from gaswright.exchange.mixture_text import mixture
from gaswright.paper.pictures_plan_b import plan_b_svg
from gaswright.planning.booklet import BookletRow, booklet, booklet_csv
from gaswright.planning.dive import TeamDive
from gaswright.planning.gas_choice import Choice, choices
from gaswright.planning.plan_b import PlanB, plan_b
from gaswright.planning.wording import depth_text
from gaswright.services.accept import planned_dive
from gaswright.services.day import Day
from gaswright.units import Kind, QuantityError, minutes_text, quantity, volume_text

__all__ = [
    "booklet_text", "choice_lines", "choose_answer_text", "chosen", "plan_b_answer_text", "plan_b_lines",
    "plan_b_picture", "planned_b", "series",
]

SERIES = re.compile(r"^(?P<low>.+?)\s+to\s+(?P<high>.+?)\s+by\s+(?P<step>.+)$")
SERIES_AT_MOST = 100
ROUNDING = 1e-9
WORDS: Mapping[str, str] = {
    "schedule.ceiling": "level above the ceiling", "schedule.level_too_short": "too short to get there",
    "schedule.no_overlap": "travel and bottom gas do not meet", "schedule.no_gas": "no gas for it",
    "schedule.too_long": "no way up within the day", "schedule.unverified": "no schedule passes its replay",
    "mod.planned_use": "deeper than the MOD", "mod.place_ppo2": "ppO2 too high here",
    "oxygen.above_table": "beyond the oxygen table", "ppo2.low": "too little oxygen",
    "qualification.depth": "deeper than somebody is qualified for", "qualification.o2": "richer than qualified for",
    "qualification.helium": "helium without qualification", "supply.runs_out": "a cylinder runs out",
    "supply.minimum_gas": "minimum gas is not there at the start",
    "supply.minimum_passed": "below minimum gas when the bottom is left",
    "supply.pressure_unknown": "a pressure was not read", "case.cannot_finish": "a failure that the team cannot finish",
    "gas.no_target": "a cylinder of unknown gas",
}  # fmt: skip

Progress = Callable[[int, int], None] | None


def series(text: str, kind: Kind, system: str, name: str) -> tuple[float, ...]:
    """The numbers that a text lists: "30 36 42", or "30 to 60 by 3"; plain numbers in a system's unit.

    Args:
        text: as typed; each number may carry its unit.
        kind: what is measured.
        system: "metric" or "imperial".
        name: begins the sentence of a problem.

    Raises:
        InputError: not such a list, a number that is not above 0, or more than 100 numbers.
    """
    try:
        match = SERIES.match(text.strip())
        if match is None:
            found = _numbers(text, kind, system)
        else:
            low, high, step = (quantity(match[part], kind, system) for part in ("low", "high", "step"))
            if not (step > 0 and low <= high and (high - low) / step < SERIES_AT_MOST):
                raise InputError(f"{name} {text!r} is no series; write it as 30 to 60 by 3, at most 100 numbers")
            found = [low + n * step for n in range(int((high - low) / step + ROUNDING) + 1)]
    except QuantityError as error:
        raise InputError(f"{name}: {error}; write 30 36 42, or 30 to 60 by 3") from error
    if not found or len(found) > SERIES_AT_MOST or not all(number > 0 for number in found):
        raise InputError(f"{name} {text!r}: 1 to 100 numbers above 0 are allowed; write 30 36 42, or 30 to 60 by 3")
    return tuple(found)


def _numbers(text: str, kind: Kind, system: str) -> list[float]:
    """One number with its unit apart ("100 ft"), or several, each with its unit close to it."""
    try:
        return [quantity(text, kind, system)]
    except QuantityError:
        return [quantity(word, kind, system) for word in text.split()]


def _depths_m(dive: TeamDive, text: str | None) -> tuple[float, ...]:
    if text is not None:
        return series(text, Kind.DEPTH, dive.units.value, "--depths")
    step_m, deepest_m = dive.settings.stop_step_m, max(level.depth_m for level in dive.levels)
    return tuple(deepest_m + n * step_m for n in range(-6, 3) if deepest_m + n * step_m >= 2 * step_m)


def _minutes(dive: TeamDive, text: str | None) -> tuple[float, ...]:
    if text is not None:
        return series(text, Kind.MINUTES, dive.units.value, "--minutes")
    planned = sum(level.minutes for level in dive.levels)
    return tuple(5.0 * n for n in range(1, 13) if 5.0 * n <= max(planned * 2, 15.0))


def chosen(
    day: Day, depth: str | None, minutes: str | None, house: Sequence[str], count: int
) -> tuple[Choice, ...]:
    """The best gases for a depth and the team's house gases against them.

    Args:
        day: gives team, place, settings and policy.
        depth: as typed, None: the deepest level of the trip.
        minutes: as typed, None: those of the trip.
        house: gases as typed.
        count: how many deco gases.

    Raises:
        InputError: a number or a gas cannot be read, or no gas covers the depth.
    """
    dive = planned_dive(day)
    system = dive.units.value
    depths_m: tuple[float, ...] = (max(level.depth_m for level in dive.levels),)
    times: tuple[float, ...] = (sum(level.minutes for level in dive.levels),)
    depths_m = depths_m if depth is None else series(depth, Kind.DEPTH, system, "--depth")
    times = times if minutes is None else series(minutes, Kind.MINUTES, system, "--minutes")
    if len(depths_m) != 1 or len(times) != 1:
        raise InputError("one depth and one time are chosen for; make a call for each")
    gases = list(dict.fromkeys(mixture(word) for text in house for word in text.split()))
    return choices(dive, day.trip.policy, depths_m[0], times[0], gases, count)


def choose_answer_text(day: Day, found: Sequence[Choice]) -> str:
    """The answer of `choose` as JSON text.

    Args:
        day: as loaded.
        found: the choices.
    """
    return json_text(choose_answer(day.trip, found))


def choice_lines(day: Day, found: Sequence[Choice]) -> list[str]:
    """The choices for people, the best first, each with what it costs or why it loses.

    Args:
        day: as loaded.
        found: the choices.
    """
    return [_choice_line(planned_dive(day), one) for one in found]


def _choice_line(dive: TeamDive, one: Choice) -> str:
    if one.loses or one.tts_min is None or one.helium_l is None:
        return f"{one.bottom.name}: loses: {'; '.join(one.why)}"
    steps = ", ".join(f"{step.mixture.name} from {depth_text(step.depth_m, dive.units)}" for step in one.steps)
    more = "" if one.name == "best" or one.minutes_more is None or one.helium_more_l is None else (
        f", {_signed(one.minutes_more)} min and {_signed(one.helium_more_l)} L helium against the best"
    )
    known = f" ({'; '.join(one.why)})" if one.why else ""
    return (f"{'BEST ' if one.name == 'best' else ''}{one.bottom.name} with {steps or 'no deco gas'}: "
            f"TTS {minutes_text(one.tts_min)}, {volume_text(one.helium_l, dive.units.value, 'up')} helium{more}{known}")


def _signed(value: float) -> str:
    return f"{value:+.0f}"


def planned_b(day: Day, depths: str | None, minutes: str | None, progress: Progress = None) -> PlanB:
    """Which depths and minutes hold with the gas in hand.

    Args:
        day: as loaded.
        depths: as typed, None: around the depth of the trip.
        minutes: as typed, None: up to twice those of the trip.
        progress: told how many cells are done, and of how many; None: nobody.

    Raises:
        InputError: a series cannot be read, or the file plans nothing.
    """
    dive = planned_dive(day)
    return plan_b(dive, day.trip.policy, _depths_m(dive, depths), _minutes(dive, minutes), progress)


def plan_b_answer_text(day: Day, made: PlanB) -> str:
    """The answer of `plan-b` as JSON text.

    Args:
        day: as loaded.
        made: the map.
    """
    return json_text(plan_b_answer(day.trip, made))


def plan_b_lines(day: Day, made: PlanB) -> list[str]:
    """The map for people: per depth the longest time that holds, and what stops the next.

    Args:
        day: as loaded.
        made: the map.
    """
    units = planned_dive(day).units
    lines = []
    for cells in made.rows:
        stopped = next((cell for cell in cells if not cell.holds), None)
        held = list(cells[: cells.index(stopped)]) if stopped else list(cells)
        most = f"holds to {held[-1].minutes:g} min" if held else "does not hold"
        asks = ", ".join(sorted({ask for cell in held for ask in cell.asks}))
        why = f"; {stopped.minutes:g} min: {_stop_text(stopped.stop.code)}" if stopped and stopped.stop else ""
        lines.append(f"{depth_text(cells[0].depth_m, units)}: {most}{why}{f'; asks: {asks}' if asks else ''}")
    return lines


def _stop_text(code: str) -> str:
    return WORDS.get(code, CATALOGUE[code].text)


def plan_b_picture(day: Day, made: PlanB) -> str:
    """The map as SVG text.

    Args:
        day: as loaded.
        made: the map.
    """
    return plan_b_svg(
        made, planned_dive(day).units, WORDS, title=f"{day.trip.name}: what holds with the gas in hand",
        foot=f"{day.trip.day:%d %b %Y}, policy {day.trip.policy.version}. Planning aid for trained, certified divers. "
        "No schedule removes the risk of decompression illness. Analyse every cylinder yourself.",
    )  # fmt: skip


def booklet_text(day: Day, depths: str | None, minutes: str | None, progress: Progress = None) -> str:
    """The booklet as comma separated values.

    Args:
        day: as loaded.
        depths: as typed, None: around the depth of the trip.
        minutes: as typed, None: up to twice those of the trip.
        progress: told how many rows are done, and of how many; None: nobody.

    Raises:
        InputError: a series cannot be read, or the file plans nothing.
    """
    dive = planned_dive(day)
    rows: tuple[BookletRow, ...] = booklet(
        dive, day.trip.policy, _depths_m(dive, depths), _minutes(dive, minutes), progress
    )
    return booklet_csv(rows, dive)
