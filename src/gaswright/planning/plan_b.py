"""Plan B: for the gas and the pressures in hand, which depths and minutes hold, and the rule that stops each other.

Every cell is a whole plan of one level at that depth, with the cases that the trip asks for; nothing is inferred from
a neighbour.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from gaswright.errors import InputError
from gaswright.findings import Finding, Severity
from gaswright.planning.dive import Level, Plan, TeamDive
from gaswright.planning.plan import plan
from gaswright.policy import Policy

__all__ = ["CELLS_AT_MOST", "PlanB", "PlanBCell", "one_level", "plan_b"]

CELLS_AT_MOST = 2_000
# Where several stops say the same dive cannot be done, the one nearest to its cause is named.
FIRST = ("schedule.", "mod.", "oxygen.above", "ppo2.", "qualification.", "supply.runs_out", "supply.minimum", "case.")


@dataclass(frozen=True, slots=True)
class PlanBCell:
    """One depth and bottom time.

    Args:
        depth_m: of the one level [m]
        minutes: on it, the way down included [min]
        stop: the finding that stops it, None where none does.
        asks: codes of the questions it would raise, each once.
        tts_min: None without a schedule [min].
        runtime_min: None without a schedule [min].
    """

    depth_m: float
    minutes: float
    stop: Finding | None
    asks: tuple[str, ...]
    tts_min: float | None
    runtime_min: float | None

    @property
    def holds(self) -> bool:
        """True where nothing stops it; asks may be left."""
        return self.stop is None


@dataclass(frozen=True, slots=True)
class PlanB:
    """Depths by minutes.

    Args:
        depths_m: rows [m]
        minutes: columns [min]
        rows: cells, row by row.
    """

    depths_m: tuple[float, ...]
    minutes: tuple[float, ...]
    rows: tuple[tuple[PlanBCell, ...], ...]


def one_level(dive: TeamDive, depth_m: float, minutes: float) -> TeamDive:
    """The dive with one level in place of all: on the gas of its deepest level.

    Args:
        dive: as given.
        depth_m: of the level [m]
        minutes: on it, the way down included [min]
    """
    deepest = max(dive.levels, key=lambda level: level.depth_m)
    return replace(dive, levels=(Level(depth_m, minutes, deepest.cylinder, deepest.overhead),))


def plan_b(
    dive: TeamDive, policy: Policy, depths_m: Sequence[float], minutes: Sequence[float],
    progress: Callable[[int, int], None] | None = None,
) -> PlanB:
    """Which depths and minutes hold with the gas in hand.

    Args:
        dive: team, cylinders, settings; its levels only say which gas is breathed on the bottom.
        policy: the limits.
        depths_m: rows.
        minutes: columns.
        progress: told how many cells are done, and of how many; None: nobody.

    Raises:
        InputError: no depths, no minutes, or too many cells.
    """
    cells = len(depths_m) * len(minutes)
    if not 1 <= cells <= CELLS_AT_MOST:
        raise InputError(f"a map of {cells} cells cannot be made; allowed are 1 to {CELLS_AT_MOST:,}")
    rows = []
    for row, depth_m in enumerate(depths_m):
        found = []
        for column, bottom_min in enumerate(minutes):
            found.append(_cell(dive, policy, depth_m, bottom_min))
            if progress is not None:
                progress(row * len(minutes) + column + 1, cells)
        rows.append(tuple(found))
    return PlanB(tuple(depths_m), tuple(minutes), tuple(rows))


def _cell(dive: TeamDive, policy: Policy, depth_m: float, minutes: float) -> PlanBCell:
    made = plan(one_level(dive, depth_m, minutes), policy)
    schedule = made.planned.schedule
    return PlanBCell(
        depth_m, minutes, _stop(made), tuple(dict.fromkeys(_asks(made))),
        None if schedule is None else schedule.tts_min, None if schedule is None else schedule.runtime_min,
    )


def _stop(made: Plan) -> Finding | None:
    stops = [one for one in made.findings if one.severity is Severity.STOP]
    return min(stops, key=_rank, default=None)


def _rank(one: Finding) -> int:
    return next((n for n, begins in enumerate(FIRST) if one.code.startswith(begins)), len(FIRST))


def _asks(made: Plan) -> Iterator[str]:
    yield from (one.code for one in made.findings if one.severity is Severity.ASK)
