"""A booklet of depths by minutes for the team's gases: TTS, stops, and what each lost gas would cost."""

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from gaswright.errors import InputError
from gaswright.findings import Severity
from gaswright.planning.dive import Plan, TeamDive
from gaswright.planning.held_plan import halts_of
from gaswright.planning.plan import plan
from gaswright.planning.plan_b import CELLS_AT_MOST, one_level
from gaswright.planning.wording import depth_text
from gaswright.policy import Policy

__all__ = ["BookletRow", "booklet", "booklet_csv"]

LOST = "lost "


@dataclass(frozen=True, slots=True)
class BookletRow:
    """One depth and bottom time.

    Args:
        depth_m: of the one level [m]
        minutes: on it, the way down included [min]
        tts_min: None without a schedule [min].
        runtime_min: None without a schedule [min].
        halts: depth of each halt of the way up, in millimetres, to its minutes [min].
        lost_tts_min: name of the lost gas to the TTS without it; None where the team cannot finish [min].
        word: "holds", or the codes of what stops it.
    """

    depth_m: float
    minutes: float
    tts_min: float | None
    runtime_min: float | None
    halts: Mapping[int, float]
    lost_tts_min: Mapping[str, float | None]
    word: str


def booklet(
    dive: TeamDive, policy: Policy, depths_m: Sequence[float], minutes: Sequence[float],
    progress: Callable[[int, int], None] | None = None,
) -> tuple[BookletRow, ...]:
    """The rows of a booklet, depth by depth; each is a whole plan with the cases that the trip asks for.

    Args:
        dive: team, cylinders, settings; its levels only say which gas is breathed on the bottom.
        policy: the limits.
        depths_m: depths.
        minutes: bottom times.
        progress: told how many rows are done, and of how many; None: nobody.

    Raises:
        InputError: no depths, no minutes, or too many rows.
    """
    pairs = [(depth_m, bottom_min) for depth_m in depths_m for bottom_min in minutes]
    if not 1 <= len(pairs) <= CELLS_AT_MOST:
        raise InputError(f"a booklet of {len(pairs)} rows cannot be made; allowed are 1 to {CELLS_AT_MOST:,}")
    rows = []
    for done, (depth_m, bottom_min) in enumerate(pairs, start=1):
        rows.append(_row(plan(one_level(dive, depth_m, bottom_min), policy), depth_m, bottom_min))
        if progress is not None:
            progress(done, len(pairs))
    return tuple(rows)


def _row(made: Plan, depth_m: float, minutes: float) -> BookletRow:
    schedule = made.planned.schedule
    stops = dict.fromkeys(one.code for one in made.findings if one.severity is Severity.STOP)
    lost = {
        case.name: None if case.schedule is None or not case.completed else case.schedule.tts_min
        for case in made.cases if case.lost and case.name.startswith(LOST) and " gas" in case.name
    }
    return BookletRow(
        depth_m, minutes, None if schedule is None else schedule.tts_min,
        None if schedule is None else schedule.runtime_min, {} if schedule is None else halts_of(schedule), lost,
        "; ".join(stops) or "holds",
    )


def booklet_csv(rows: Sequence[BookletRow], dive: TeamDive) -> str:
    """The booklet as comma separated values: a line per depth and minutes, a column per stop and per lost gas.

    Depths are in the team's units; minutes with two decimals at most; a cell without a number is empty, and a lost
    gas without which the team cannot finish says NO WAY UP.

    Args:
        rows: of the booklet.
        dive: gives the units.
    """
    halts_mm = sorted({depth for row in rows for depth in row.halts}, reverse=True)
    losses = list(dict.fromkeys(name for row in rows for name in row.lost_tts_min))
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow(["depth", "bottom min", "TTS min", "runtime min",
                    *(f"stop {depth_text(depth / 1000, dive.units)} min" for depth in halts_mm),
                    *(f"TTS min, {name}" for name in losses), "judged"])
    for row in rows:
        lines.writerow([depth_text(row.depth_m, dive.units), _number(row.minutes), _number(row.tts_min),
                        _number(row.runtime_min), *(_number(row.halts.get(depth)) for depth in halts_mm),
                        *(_lost(row, name) for name in losses), row.word])
    return text.getvalue()


def _lost(row: BookletRow, name: str) -> str:
    if name not in row.lost_tts_min:
        return ""
    tts_min = row.lost_tts_min[name]
    return "NO WAY UP" if tts_min is None else _number(tts_min)


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}".rstrip("0").rstrip(".")
