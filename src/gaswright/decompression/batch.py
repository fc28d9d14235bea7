"""Schedules in bulk: one team dive in many variations, by the compiled kernel on every core.

Runs are cut into lots that share their tables, lots into chunks; each chunk works on arrays of its own and writes the
rows of its own runs, so that the answer does not depend on how many workers there are. Where the compiler is missing
the same source runs in plain Python.
"""

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import numpy as np

from gaswright.decompression import batch_compiler
from gaswright.decompression.batch_checks import check_variations, must_be_bits, must_replay, plain_lot
from gaswright.decompression.batch_kernel import Answers
from gaswright.decompression.batch_request import BatchResult, Outcome, Variations, uses_of
from gaswright.decompression.batch_tables import Known, Layout, Lot, answers_for, layout, private, workspace_for
from gaswright.decompression.request import ScheduleRequest
from gaswright.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["run_in_blocks", "run_many"]

CHUNK = 500  # runs that a worker takes at a time [GASWRIGHT] kernel
BLOCK = 20_000  # runs that are held in memory at a time [GASWRIGHT]
SAMPLES = 4  # runs recomputed in plain Python [GASWRIGHT]
VERIFIED = 64  # runs replayed by the verifier [GASWRIGHT] kernel
SLOW = "made in plain Python, a hundred times slower: install numba to have the kernel compiled"


def run_many(
    request: ScheduleRequest, variations: Variations, *,
    stops: bool = False, workers: int | None = None, compiled: bool | None = None, verify: int = VERIFIED,
) -> BatchResult:
    """What a team dive comes to in many variations.

    A few runs are recomputed in plain Python and must have the same bits, and some are scheduled alone and replayed by
    the verifier, before anything is returned.

    Args:
        request: the team's dive, which must be one that can be scheduled as it stands.
        variations: how the runs differ.
        stops: True to have the minutes of every halt.
        workers: threads; None: one per core.
        compiled: False for plain Python; None: compiled where the compiler is installed.
        verify: how many runs the verifier replays.

    Raises:
        InputError: request or variations cannot be used; holds every problem.
        BatchUnsound: the runs do not stand up to plain Python, or to their single schedules.
        Unverified: the verifier does not pass a run.
    """
    return _checked_runs(request, variations, {}, stops=stops, workers=workers, compiled=compiled, verify=verify)


def _checked_runs(
    request: ScheduleRequest, variations: Variations, known: Known, *,
    stops: bool, workers: int | None, compiled: bool | None, verify: int,
) -> BatchResult:
    check_variations(request, variations)
    kernel = None if compiled is False else batch_compiler.compiled()
    if compiled and kernel is None:
        raise InputError("the compiled kernel was asked for and numba is not installed")
    plan = layout(request, variations, known)
    answers = answers_for(plan, variations.runs)
    if kernel is None:
        _plainly(plan, answers)
    else:
        _on_threads(plan, answers, kernel, workers or batch_compiler.cores())
        must_be_bits(plan, answers, SAMPLES)
    result = _result(plan, answers, stops=True, compiled=kernel is not None, verified=0)
    verified = must_replay(plan, result, verify)
    return _result(plan, answers, stops=stops, compiled=kernel is not None, verified=verified)


def run_in_blocks(
    request: ScheduleRequest, runs: int, draw: Callable[[int, int], Variations],
    take: Callable[[int, BatchResult], None], *, block: int = BLOCK, stops: bool = False, workers: int | None = None,
    compiled: bool | None = None,
) -> None:
    """Nothing; any number of runs are made block by block, so that memory stays bounded.

    Every block has its samples and its share of the runs that are replayed, the first block all of them.

    Args:
        request: the team's dive.
        runs: how many.
        draw: makes the variations of some runs from the number of the first and how many; the numbers of a run must
            depend on its own number alone.
        take: receives the number of the first run and what the block came to, in the order of the runs.
        block: runs per block.
        stops: True to have the minutes of every halt.
        workers: threads; None: one per core.
        compiled: as in `run_many`.

    Raises:
        InputError: request or variations cannot be used; holds every problem.
        BatchUnsound: the runs do not stand up to plain Python, or to their single schedules.
        Unverified: the verifier does not pass a run.
    """
    known: Known = {}
    for first in range(0, runs, block):
        take(first, _checked_runs(
            request, draw(first, min(block, runs - first)), known, stops=stops, workers=workers, compiled=compiled,
            verify=VERIFIED if first == 0 else 1,
        ))


def _plainly(plan: Layout, answers: Answers) -> None:
    for lot in plan.lots:
        made = plain_lot(plan, lot, lot.runs.tolist())
        for room, found in zip(answers, made, strict=True):
            np.asarray(room).reshape(plan.variations.runs, -1)[lot.runs] = np.asarray(found).reshape(len(lot.runs), -1)


def _chunks(plan: Layout) -> "Iterator[tuple[Lot, NDArray[np.int64]]]":
    for lot in plan.lots:
        for first in range(0, len(lot.runs), CHUNK):
            yield lot, lot.runs[first:first + CHUNK]


def _on_threads(plan: Layout, answers: Answers, kernel: Callable[..., None], workers: int) -> None:
    """Nothing; every chunk is made by the compiled kernel; what is interrupted is given up at once.

    A thread keeps its own copies of the tables and its working space from chunk to chunk of a lot.
    """
    own = threading.local()

    def make(chunk: "tuple[Lot, NDArray[np.int64]]") -> None:
        lot, runs = chunk
        if getattr(own, "lot", None) is not lot:
            own.lot, own.up, own.space = lot, tuple(private(lot.up)), tuple(workspace_for(plan, lot))
        kernel(
            len(plan.request.divers), tuple(plan.model), tuple(lot.way), own.up, (runs, *plan.rows[1:]),
            tuple(answers), own.space,
        )

    if workers == 1:
        for chunk in _chunks(plan):
            make(chunk)
        return
    pool = ThreadPoolExecutor(workers, thread_name_prefix="batch")
    try:
        for _ in pool.map(make, _chunks(plan)):
            pass
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _result(plan: Layout, answers: Answers, *, stops: bool, compiled: bool, verified: int) -> BatchResult:
    runs, divers, uses = plan.variations.runs, len(plan.request.divers), uses_of(plan.request)
    outcome, tts_min, runtime_min, anchor_m, used_l, stop_units, bottom_units = (np.asarray(room) for room in answers)
    made, unit_min = outcome == Outcome.MADE, plan.request.stop_unit_min
    counted, halts = plan.variations.counts_gas, len(plan.halt_m)
    return BatchResult(
        outcome, tts_min, runtime_min, anchor_m.reshape(runs, divers), uses,
        used_l.reshape(runs, len(uses)) if counted else None, plan.halt_m,
        np.where(made[:, None], np.maximum(stop_units.reshape(runs, halts), 0) * unit_min, -1.0) if stops else None,
        np.where(made, bottom_units * unit_min, -1.0), compiled, verified, "" if compiled else SLOW,
    )
