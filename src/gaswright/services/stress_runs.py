"""The runs of `stress` on arrays: draw, make in bulk, count what breaks, rank what matters.

A run depends on seed and run number alone, counts are whole numbers added in the order of the runs: the answer does not
depend on the number of workers.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from gaswright.decompression.batch import run_in_blocks
from gaswright.decompression.batch_draws import Counts, normals
from gaswright.decompression.batch_request import BatchResult, Outcome, Variations, breaths_of
from gaswright.decompression.request import ScheduleImpossible
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.errors import InputError
from gaswright.physics.density import HELIUM_G_MOL, MOLAR_VOLUME_L_BAR_MOL, NITROGEN_G_MOL, OXYGEN_G_MOL
from gaswright.physics.place import ATM_BAR
from gaswright.planning.contents import gauge_bar_with
from gaswright.planning.dive import Plan
from gaswright.planning.held_batch import pool_shares
from gaswright.planning.held_plan import HeldPlan
from gaswright.planning.mods import limit_centi_ata, used_both_ways
from gaswright.planning.robustness import (
    MOST_DEVIATIONS,
    Broken,
    Reserve,
    Sensitivity,
    Spread,
    Spreading,
    Stress,
    reserves_of,
    spreading_inputs,
)
from gaswright.planning.usage import bottom_end_min, drawn_l, draws_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

__all__ = ["RUNS_AT_MOST", "stressed"]

RUNS_AT_MOST = 10_000_000
SAMPLED = 10_000  # the first runs, on which the sensitivity rests [GASWRIGHT]
LEFT_BINS = 4_000  # of what a cylinder may have left [GASWRIGHT]
TTS_BIN_MIN, TTS_BINS = 1.0 / 12.0, 12 * 60 * 48  # 5 s, to two days [GASWRIGHT]
QUANTILES = (0.05, 0.5, 0.95)
LEAST_O2, LEAST_DEPTH_M = 0.01, 1.0
KNOTS_DEVIATIONS = (-3.0, -1.5, 0.0, 1.5, 3.0)
ROUNDING = 1e-9
FAILED = {
    Outcome.LEVEL_TOO_SHORT: "schedule.level_too_short", Outcome.LEVEL_ABOVE_CEILING: "schedule.ceiling",
    Outcome.TOO_LONG: "schedule.too_long",
}  # fmt: skip


def stressed(
    held: HeldPlan, planned: Plan, runs: int, seed: int, *, spread: Spread | None = None, workers: int | None = None,
    compiled: bool | None = None, progress: Callable[[int, int], None] | None = None,
) -> Stress:
    """The plan under the spread of its inputs.

    Every run is the dive as it may turn out: planned again on the gas really in the cylinders, at the depth, time and
    speed that came about. Reserves are those of the plan.

    Args:
        held: the planned dive.
        planned: its plan.
        runs: how many, 1 to 10 million.
        seed: any whole number from 0 to 2^63 - 1.
        spread: how far the inputs spread, None: as shipped.
        workers: threads, None: one per core.
        compiled: False for plain Python; None: compiled where the compiler is installed.
        progress: told how many runs are done, and of how many; None: nobody.

    Raises:
        InputError: a number of runs that is not allowed.
    """
    if not 1 <= runs <= RUNS_AT_MOST:
        raise InputError(f"--runs {runs} is not allowed; make 1 to {RUNS_AT_MOST:,} runs")
    tally = _Tally(held, planned, spread or Spread(), runs)

    def take(first: int, made: BatchResult) -> None:
        tally.take(first, made)
        if progress is not None:
            progress(first + len(made.outcome), runs)

    run_in_blocks(held.request, runs, lambda first, count: tally.draw(seed, first, count), take, workers=workers,
                  compiled=compiled)
    return tally.stress(seed)


@dataclass(slots=True)
class _Tally:
    """What is kept of the runs: counts, and the inputs and results of the first few."""

    held: HeldPlan
    planned: Plan
    spread: Spread
    runs: int
    inputs: tuple[Spreading, ...] = field(init=False)
    reserves: tuple[Reserve, ...] = field(init=False)
    bottom: "_BottomUse" = field(init=False)
    tts: Counts = field(init=False)
    left: dict[str, Counts] = field(init=False)
    broken: dict[tuple[str, str | None], int] = field(init=False, default_factory=dict)
    made: int = field(init=False, default=0)
    verified: int = field(init=False, default=0)
    drawn: "Floats" = field(init=False)
    samples: "list[Floats]" = field(init=False, default_factory=list)
    word: str = field(init=False, default="")

    def __post_init__(self) -> None:
        held = self.held
        self.inputs, self.reserves = spreading_inputs(held, self.spread), reserves_of(held, self.planned)
        self.bottom = _BottomUse(held, self.spread)
        self.tts = Counts(0.0, TTS_BIN_MIN, TTS_BINS)
        self.left = {c: Counts(0.0, held.contents[c].start_l / LEFT_BINS, LEFT_BINS + 1)
                     for c in held.shown.used_l if c in held.contents and held.contents[c].start_l > 0.0}
        self.drawn = np.zeros((0, len(self.inputs)))

    def draw(self, seed: int, first: int, count: int) -> Variations:
        """The variations of some runs."""
        self.drawn = np.clip(normals(seed, first, count, len(self.inputs)), -MOST_DEVIATIONS, MOST_DEVIATIONS)
        return _variations(self.held, self.spread, self.inputs, self.drawn)

    def take(self, first: int, made: BatchResult) -> None:
        """Nothing; what a block came to is counted."""
        fine = made.feasible
        self.made += int(fine.sum())
        self.verified += made.verified
        self.word = made.word
        for outcome, code in FAILED.items():
            self._count(code, None, made.outcome == outcome)
        self.tts.add(made.tts_min[fine])
        late_min = self.held.shown.tts_min + self.held.kit.policy.sheet_tts_min
        self._count("window.tts", None, fine & (made.tts_min > late_min + ROUNDING))
        used = _used_by_cylinder(self.held, made)
        self._gas(used, fine)
        for code, cylinder, flags in _gas_limits(self.held, self.inputs, self.drawn):
            self._count(code, cylinder, flags)
        if first < SAMPLED:
            self.samples.append(self._sample(made, used)[: SAMPLED - first])

    def _count(self, code: str, cylinder: str | None, flags: "Flags") -> None:
        self.broken[code, cylinder] = self.broken.get((code, cylinder), 0) + int(flags.sum())

    def _gas(self, used: "Mapping[str, Floats]", fine: "Flags") -> None:
        for cylinder, counts in self.left.items():
            left = np.clip(self.held.contents[cylinder].start_l - used[cylinder], 0.0, None)
            counts.add(left[fine])
        bottom = self.bottom.used(self.inputs, self.drawn)
        for reserve in self.reserves:
            taken = bottom.get(reserve.cylinder) if reserve.at_bottom else used[reserve.cylinder]
            if taken is not None:
                self._count(reserve.code, reserve.cylinder, fine & (taken > reserve.most_l + ROUNDING))

    def _sample(self, made: BatchResult, used: "Mapping[str, Floats]") -> "Floats":
        """Inputs, TTS and the least share left of the runs that were made."""
        least = np.ones(len(made.outcome))
        for cylinder in self.left:
            least = np.minimum(least, 1.0 - used[cylinder] / self.held.contents[cylinder].available_l)
        whole = np.column_stack([self.drawn, made.tts_min, least])
        kept: Floats = whole[made.feasible]
        return kept

    def stress(self, seed: int) -> Stress:
        """The answer."""
        held, sample = self.held, np.concatenate(self.samples)
        broken = tuple(Broken(code, cylinder, runs, runs / self.runs)
                       for (code, cylinder), runs in self.broken.items())
        return Stress(
            self.runs, seed, self.made, self.verified, self.spread, held.shown.tts_min,
            _three(self.tts.quantile(q) for q in QUANTILES) if self.made else None,
            {c: self._left_bar(c) for c in self.left} if self.made else {},
            {c: gauge_bar_with(held.contents[c], max(0.0, held.contents[c].start_l - held.shown.used_l[c])) or 0.0
             for c in self.left},
            broken, _sensitivity(self.inputs, self.spread, sample), len(sample), self.word,
        )  # fmt: skip

    def _left_bar(self, cylinder: str) -> tuple[float, float, float]:
        counts, content = self.left[cylinder], self.held.contents[cylinder]
        litres = (max(0.0, counts.quantile(q) - counts.width) for q in QUANTILES)
        return _three(max(0.0, gauge_bar_with(content, left_l) or 0.0) for left_l in litres)


def _three(values: Iterator[float]) -> tuple[float, float, float]:
    low, middle, high = values
    return low, middle, high


def _variations(held: HeldPlan, spread: Spread, inputs: Sequence[Spreading], drawn: "Floats") -> Variations:
    """What the scheduler is given for each run."""
    columns = {(one.kind, one.of): drawn[:, n] * one.deviation for n, one in enumerate(inputs)}
    breaths, levels = breaths_of(held.request), held.request.levels
    runs = len(drawn)
    o2, he = np.empty((runs, len(breaths))), np.empty((runs, len(breaths)))
    nothing = np.zeros(runs)
    for n, breath in enumerate(breaths):
        he[:, n] = np.clip(breath.he + columns.get(("he", breath.cylinder), nothing), 0.0, 1.0 - LEAST_O2)
        o2[:, n] = np.clip(breath.o2 + columns.get(("o2", breath.cylinder), nothing), LEAST_O2, 1.0 - he[:, n])
    depth = np.array([level.depth_m for level in levels]) + columns["depth", ""][:, None]
    factors = [np.exp(columns["consumption", diver.id]) for diver in held.kit.dive.divers]
    rates = np.column_stack(factors)
    return Variations(
        runs, o2=o2, he=he, depth_m=np.clip(depth, LEAST_DEPTH_M, None),
        minutes=_minutes(held, spread, columns["minutes", ""]), speeds=spread.ascent_factors,
        speed=_speed(inputs, spread, drawn),
        rmv_bottom_l_min=rates * np.array([diver.rmv_bottom_l_min for diver in held.kit.dive.divers]),
        rmv_deco_l_min=rates * np.array([diver.rmv_deco_l_min for diver in held.kit.dive.divers]),
    )  # fmt: skip


def _minutes(held: HeldPlan, spread: Spread, longer: "Floats") -> "Floats":
    levels = held.request.levels
    minutes = np.tile(np.array([level.minutes for level in levels]), (len(longer), 1))
    deepest = max(range(len(levels)), key=lambda n: (levels[n].depth_m, n))
    least = levels[deepest].minutes * spread.least_share
    minutes[:, deepest] = np.maximum(least, minutes[:, deepest] + longer)
    return minutes


def _speed(inputs: Sequence[Spreading], spread: Spread, drawn: "Floats") -> "NDArray[np.int64]":
    """Which of the ascent speeds a run has: equal shares of the normal distribution."""
    column = drawn[:, next(n for n, one in enumerate(inputs) if one.kind == "speed")]
    choices = len(spread.ascent_factors)
    edges = np.array([_normal_quantile(n / choices) for n in range(1, choices)])
    return np.searchsorted(edges, column).astype(np.int64)


def _normal_quantile(share: float) -> float:
    from statistics import NormalDist  # noqa: PLC0415  a table of a few numbers

    return NormalDist().inv_cdf(share)


def _used_by_cylinder(held: HeldPlan, made: BatchResult) -> "dict[str, Floats]":
    """Cylinder id to the free gas used in each run."""
    if made.used_l is None:
        raise ValueError("a batch without consumption: a defect")
    found: dict[str, Floats] = {c: np.zeros(len(made.outcome)) for c in held.shown.used_l}
    for column, use in enumerate(made.uses):
        for cylinder, share in pool_shares(held.kit, use.diver, use.cylinder).items():
            found[cylinder] = found.get(cylinder, 0.0) + made.used_l[:, column] * share
    return found


def _gas_limits(
    held: HeldPlan, inputs: Sequence[Spreading], drawn: "Floats"
) -> "Iterator[tuple[str, str, Flags]]":
    """MOD at the place, hypoxia, narcosis and density on the gas really there, at the depth really reached."""
    place, policy = held.kit.dive.place, held.kit.policy
    columns = {(one.kind, one.of): drawn[:, n] * one.deviation for n, one in enumerate(inputs)}
    nothing = np.zeros(len(drawn))
    bottom_m = {round(level.depth_m, 3) for level in held.request.levels}
    for cylinder in dict.fromkeys(breath.cylinder for breath in breaths_of(held.request)):
        asked, use = held.kit.cylinders[cylinder], held.uses.get(cylinder)
        if asked.gas is None or use is None:
            continue
        o2 = asked.gas.mixture.o2 + columns.get(("o2", cylinder), nothing)
        he = asked.gas.mixture.he + columns.get(("he", cylinder), nothing)
        moved = columns["depth", ""] if round(use.deepest_m, 3) in bottom_m else nothing
        depth = np.maximum(LEAST_DEPTH_M, use.deepest_m + moved)
        ambient = place.surface_bar + place.bar_per_m * depth
        limit_ata = limit_centi_ata(asked.role, policy, used_both_ways(asked)) / 100 + policy.ppo2_place_room_ata
        yield "mod.place_ppo2", cylinder, o2 * ambient / ATM_BAR > limit_ata + ROUNDING
        shallow = o2 * place.ambient_bar(use.shallowest_m) / ATM_BAR
        yield "ppo2.low", cylinder, shallow < policy.ppo2_low_stop_ata - ROUNDING
        yield "narcosis.end", cylinder, (depth + 10.0) * (1.0 - he) - 10.0 > policy.end_limit_m + ROUNDING
        mass = o2 * OXYGEN_G_MOL + he * HELIUM_G_MOL + (1.0 - o2 - he) * NITROGEN_G_MOL
        yield "density.ask", cylinder, ambient * mass / MOLAR_VOLUME_L_BAR_MOL > policy.density_ask_g_l + ROUNDING


class _BottomUse:
    """What is used up to the end of the last level: solved at a few depths and times, straight between them."""

    def __init__(self, held: HeldPlan, spread: Spread) -> None:
        self.held, self.spread = held, spread
        self.deeper = [z * spread.depth_m for z in KNOTS_DEVIATIONS]
        self.longer = [z * spread.bottom_min for z in KNOTS_DEVIATIONS]
        self.tables: dict[tuple[str, str], Floats] | None = self._solved()

    def _solved(self) -> "dict[tuple[str, str], Floats] | None":
        """Diver and cylinder to litres by depth and time; None where some profile has no schedule."""
        tables: dict[tuple[str, str], Floats] = {}
        size = len(KNOTS_DEVIATIONS)
        for i, deeper_m in enumerate(self.deeper):
            for j, longer_min in enumerate(self.longer):
                litres = self._litres(deeper_m, longer_min)
                if litres is None:
                    return None
                for key, used_l in litres.items():
                    tables.setdefault(key, np.zeros((size, size)))[i, j] = used_l
        return tables

    def _litres(self, deeper_m: float, longer_min: float) -> dict[tuple[str, str], float] | None:
        request, kit = self.held.request, self.held.kit
        minutes = _minutes(self.held, self.spread, np.array([longer_min]))[0]
        levels = tuple(replace(level, depth_m=max(LEAST_DEPTH_M, level.depth_m + deeper_m), minutes=float(time))
                       for level, time in zip(request.levels, minutes, strict=True))
        try:
            made = unverified_schedule(replace(request, levels=levels))
        except (ScheduleImpossible, InputError):
            return None
        found = {}
        for diver in kit.dive.divers:
            alone = replace(kit, dive=replace(kit.dive, divers=(diver,)))
            for cylinder, draws in draws_of(alone, made).items():
                found[diver.id, cylinder] = drawn_l(draws, bottom_end_min(made))
        return found

    def used(self, inputs: Sequence[Spreading], drawn: "Floats") -> "dict[str, Floats]":
        """Cylinder id to what is used in each run; empty where it is not known."""
        if self.tables is None:
            return {}
        columns = {(one.kind, one.of): drawn[:, n] * one.deviation for n, one in enumerate(inputs)}
        found: dict[str, Any] = {}
        for (diver, cylinder), table in self.tables.items():
            litres = _between(table, self.deeper, self.longer, columns["depth", ""], columns["minutes", ""])
            factor = np.exp(columns["consumption", diver])
            found[cylinder] = found.get(cylinder, 0.0) + litres * factor
        return found


def _between(
    table: "Floats", rows: Sequence[float], columns: Sequence[float], row: "Floats", column: "Floats"
) -> "Floats":
    """A table read straight between its knots; knots that do not spread count as one."""
    i, x = _knot(rows, row)
    j, y = _knot(columns, column)
    upper = table[i, j] * (1 - y) + table[i, j + 1] * y
    lower = table[i + 1, j] * (1 - y) + table[i + 1, j + 1] * y
    read: Floats = upper * (1 - x) + lower * x
    return read


def _knot(knots: Sequence[float], value: "Floats") -> "tuple[NDArray[np.intp], Floats]":
    step = knots[1] - knots[0]
    if step <= 0.0:
        return np.zeros(len(value), np.intp), np.zeros(len(value))
    place = np.clip((value - knots[0]) / step, 0.0, len(knots) - 1.0)
    number = np.minimum(place.astype(np.intp), len(knots) - 2)
    return number, place - number


def _sensitivity(inputs: Sequence[Spreading], spread: Spread, sample: "Floats") -> tuple[Sensitivity, ...]:
    """The squared rank correlation of each input with TTS and with the least gas left, signed, strongest first."""
    if len(sample) < 3:
        return ()
    ranks = np.column_stack([_ranks(sample[:, n]) for n in range(sample.shape[1])])
    tts, least = ranks[:, -2], ranks[:, -1]
    found = [Sensitivity(one.name, _signed_square(ranks[:, n], tts), _signed_square(ranks[:, n], least))
             for n, one in enumerate(inputs) if one.deviation > 0.0 or len(spread.ascent_factors) > 1]
    return tuple(sorted(found, key=lambda one: (-abs(one.tts), one.name)))


def _ranks(values: "Floats") -> "Floats":
    """Ranks; equal values share the mean of theirs."""
    _, place, counts = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    mean: Floats = (last - (counts - 1) / 2.0)[place]
    return mean


def _signed_square(one: "Floats", other: "Floats") -> float:
    a, b = one - one.mean(), other - other.mean()
    scale = float((a @ a) * (b @ b))
    if scale <= 0.0:
        return 0.0
    together = float(a @ b)
    return together * abs(together) / scale
