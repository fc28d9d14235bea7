"""What holds a batch: its numbers before, samples in plain Python before it is used, the replay of some runs after."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from gaswright.decompression.batch_kernel import Answers, Model, Rows, ToLevels, WayUp, Workspace, dive_runs
from gaswright.decompression.batch_request import BatchResult, Outcome, Variations, breaths_of
from gaswright.decompression.batch_tables import Layout, Lot, answers_for, request_of, workspace_for
from gaswright.decompression.demands import DEEPEST_M, LONGEST_MIN, ON_GRID_M, check_request
from gaswright.decompression.request import Impossible, Schedule, ScheduleImpossible, ScheduleRequest, SegmentKind
from gaswright.decompression.scheduler import schedule
from gaswright.errors import GaswrightError, InputError, Problem

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["BatchUnsound", "check_variations", "must_be_bits", "must_replay", "plain_lot", "spread"]

RUNS_AT_MOST = 1_000_000
NEAR = 1e-6  # a batch and a single schedule add up times in another order [GASWRIGHT]
OUTCOMES = {
    Impossible.LEVEL_TOO_SHORT: Outcome.LEVEL_TOO_SHORT, Impossible.LEVEL_ABOVE_CEILING: Outcome.LEVEL_ABOVE_CEILING,
    Impossible.TOO_LONG: Outcome.TOO_LONG,
}


class BatchUnsound(GaswrightError):  # noqa: N818  the word says what a batch is that must not be used
    """The compiled kernel and plain Python differ, or a run does not stand up to its single schedule."""


def check_variations(request: ScheduleRequest, variations: Variations) -> None:
    """Nothing, if the batch can be made.

    Args:
        request: the team's dive.
        variations: how the runs differ.

    Raises:
        InputError: with every problem found.
    """
    check_request(request)
    problems = [Problem(where, what) for where, what in _problems(request, variations)]
    if problems:
        raise InputError(problems)


def _problems(request: ScheduleRequest, variations: Variations) -> Iterator[tuple[str, str]]:
    runs, breaths = variations.runs, len(breaths_of(request))
    if not 1 <= runs <= RUNS_AT_MOST:
        yield "runs", f"{runs} is not allowed, it must be 1 to {RUNS_AT_MOST}; make more in blocks"
    wide, levels = (runs, breaths), (runs, len(request.levels))
    yield from _array("o2", variations.o2, (wide,), 0.001, 1.0)
    yield from _array("he", variations.he, (wide,), 0.0, 0.999)
    yield from _array("depth_m", variations.depth_m, (levels,), 0.5, DEEPEST_M)
    yield from _array("minutes", variations.minutes, (levels,), 0.0, LONGEST_MIN)
    rates = ((runs, len(request.divers)), (len(request.divers),))
    yield from _array("rmv_bottom_l_min", variations.rmv_bottom_l_min, rates, 0.0, 500.0)
    yield from _array("rmv_deco_l_min", variations.rmv_deco_l_min, rates, 0.0, 500.0)
    if (variations.rmv_bottom_l_min is None) != (variations.rmv_deco_l_min is None):
        yield "rmv_bottom_l_min", "give both rates of consumption, or none"
    yield from _speed_problems(variations)
    yield from _sum_problems(request, variations, wide)


def _array(
    where: str, array: object, shapes: Sequence[tuple[int, ...]], low: float, high: float
) -> Iterator[tuple[str, str]]:
    if array is None:
        return
    if not isinstance(array, np.ndarray) or array.dtype != np.float64 or array.shape not in shapes:
        yield where, f"it must be a float64 array of shape {' or '.join(map(str, shapes))}"
    elif not np.all((array >= low) & (array <= high)):
        yield where, f"every number must be {low:g} to {high:g}"


def _speed_problems(variations: Variations) -> Iterator[tuple[str, str]]:
    if not variations.speeds or not all(0.05 <= factor <= 20.0 for factor in variations.speeds):
        yield "speeds", f"{variations.speeds} is not allowed, factors must be 0.05 to 20"
    speed: object = variations.speed
    if speed is None:
        return
    if not isinstance(speed, np.ndarray) or speed.dtype != np.int64 or speed.shape != (variations.runs,):
        yield "speed", f"it must be an int64 array of shape ({variations.runs},)"
    elif not np.all((speed >= 0) & (speed < len(variations.speeds))):
        yield "speed", "every number must be the place of a factor in `speeds`"


def _sum_problems(
    request: ScheduleRequest, variations: Variations, wide: tuple[int, int]
) -> Iterator[tuple[str, str]]:
    if any(array is not None and np.shape(array) != wide for array in (variations.o2, variations.he)):
        return
    breaths = breaths_of(request)
    o2 = np.array([breath.o2 for breath in breaths]) if variations.o2 is None else variations.o2
    he = np.array([breath.he for breath in breaths]) if variations.he is None else variations.he
    if not np.all(o2 + he <= 1.0 + 1e-9):
        yield "o2, he", "in some run oxygen and helium are more than the whole"


def spread(runs: int, samples: int) -> list[int]:
    """Numbers of some runs, evenly spread, first and last among them.

    Args:
        runs: how many there are.
        samples: how many are wanted.
    """
    wanted = min(samples, runs)
    return sorted({round(number * (runs - 1) / max(1, wanted - 1)) for number in range(wanted)})


def plain_lot(plan: Layout, lot: Lot, runs: Sequence[int]) -> Answers:
    """What runs of a lot come to by the same source in plain Python, in the order in which they are named.

    Args:
        plan: the batch.
        lot: the lot they belong to.
        runs: their numbers.
    """
    few = answers_for(plan, len(runs))
    lists = Answers(*_lists(few))
    dive_runs(
        len(plan.request.divers), Model(*_lists(plan.model)), ToLevels(*_lists(lot.way)), WayUp(*_lists(lot.up)),
        _picked(plan.rows, runs), lists, Workspace(*_lists(workspace_for(plan, lot))),
    )
    return Answers(*(np.array(made, room.dtype) for made, room in zip(lists, few, strict=True)))  # type: ignore[attr-defined]  # arrays


def _lists(arrays: Iterable[object]) -> Iterator[Any]:
    for array in arrays:
        yield np.asarray(array).tolist()


def _picked(rows: Rows, runs: Sequence[int]) -> Rows:
    """The rows of some runs, numbered anew from 0."""
    strides = list(rows.strides)  # type: ignore[call-overload]  # an array
    wide = {"gas_n2": 0, "gas_he": 0, "depth_m": 1, "minutes": 2, "rmv_bottom": 3, "rmv_deco": 3}
    taken = {}
    for name, number in wide.items():
        array = np.asarray(getattr(rows, name))
        taken[name] = (array.reshape(-1, strides[number])[list(runs)].reshape(-1) if strides[number] else array)
    kept = {"use_of": np.asarray(rows.use_of), "strides": np.asarray(rows.strides)}
    lists = {name: array.tolist() for name, array in (taken | kept).items()}
    return Rows(runs=list(range(len(runs))), **lists)


def must_be_bits(plan: Layout, answers: Answers, samples: int) -> None:
    """Nothing, if plain Python finds the same bits for some runs of a batch.

    Args:
        plan: the batch.
        answers: of the compiled kernel.
        samples: how many runs.

    Raises:
        BatchUnsound: a number differs.
    """
    wanted = np.array(spread(plan.variations.runs, samples), np.int64)
    for lot in plan.lots:
        runs = wanted[np.isin(wanted, lot.runs)]
        if len(runs) and not _same(plan, plain_lot(plan, lot, runs.tolist()), answers, runs):
            raise BatchUnsound(
                "the compiled kernel and plain Python do not find the same bits; nothing of this batch may be used: "
                "empty the cache of compiled kernels and report it"
            )


def _same(plan: Layout, plain: Answers, answers: Answers, runs: "NDArray[np.int64]") -> bool:
    return all(
        np.asarray(one).tobytes() == np.asarray(other).reshape(plan.variations.runs, -1)[runs].tobytes()
        for one, other in zip(plain, answers, strict=True)
    )


def must_replay(plan: Layout, result: BatchResult, samples: int) -> int:
    """How many runs the verifier has passed: each made alone and replayed, with the numbers that the batch has.

    Args:
        plan: the batch.
        result: what it came to.
        samples: how many runs to look at.

    Raises:
        BatchUnsound: a run differs from its own schedule.
        Unverified: the verifier does not pass a run.
    """
    passed = 0
    for run in spread(plan.variations.runs, samples):
        request = request_of(plan.request, plan.variations, run)
        try:
            made = schedule(request)
        except ScheduleImpossible as impossible:
            _agree(run, int(result.outcome[run]), OUTCOMES[impossible.reason])
            continue
        _agree(run, int(result.outcome[run]), Outcome.MADE)
        _agree(run, float(result.tts_min[run]), made.tts_min)
        _agree(run, float(result.runtime_min[run]), made.runtime_min)
        for number, diver in enumerate(request.divers):
            _agree(run, float(result.anchor_m[run, number]), made.anchor_m[diver])
        if result.stop_min is not None:
            _agree_stops(run, result, made, request)
        passed += 1
    return passed


def _agree(run: int, batch: float, single: float) -> None:
    if abs(batch - single) > NEAR:
        raise BatchUnsound(f"run {run} has {batch:g} in the batch and {single:g} in its own schedule")


def _agree_stops(run: int, result: BatchResult, made: Schedule, request: ScheduleRequest) -> None:
    bottom_m, up_from_min = request.levels[-1].depth_m, made.runtime_min - made.tts_min - NEAR
    halts = dict.fromkeys((bottom_m, *result.halt_m), 0.0)
    for piece in made.segments:
        if piece.kind is SegmentKind.STOP and piece.start_min >= up_from_min:
            halts[min(halts, key=lambda depth_m: abs(depth_m - piece.from_m))] += piece.minutes
    stop_min = () if result.stop_min is None else result.stop_min[run]
    for depth_m, minutes in zip(result.halt_m, stop_min, strict=True):
        if abs(depth_m - bottom_m) > ON_GRID_M:
            _agree(run, max(0.0, float(minutes)), halts[depth_m])
    _agree(run, float(result.bottom_wait_min[run]), halts[bottom_m])
