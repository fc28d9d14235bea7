"""Schedules in bulk against a plain C kernel: rates per core, two threads, memory, and the time of a window.

The C kernel (`c_kernel.c`, never shipped) has the same tables and asks at every unit. Both make the same dives, 60 m
25 min, 18/45, 50 and oxygen, one diver, with gases a little different in every run, and must find the same stops.
Rates are of processor time, so that a busy machine does not bend them; two threads are measured by the clock.
"""

import ctypes
import json
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from bench_schedule import dive

from gaswright.decompression import batch, batch_compiler
from gaswright.decompression.batch_draws import normals, uniforms
from gaswright.decompression.batch_request import BatchResult, Variations, breaths_of
from gaswright.decompression.batch_tables import answers_for, layout
from gaswright.decompression.coefficients import VAPOUR_BAR, coefficients
from gaswright.decompression.ladder import decay, ladder, stop_table, travel_table
from gaswright.decompression.request import ScheduleRequest
from gaswright.physics.mixture import AIR

__all__ = ["measure"]

RUNS = 40_000
FACTORS = tuple(0.70 + 0.05 * number for number in range(13))


def gases(request: ScheduleRequest, first: int, runs: int) -> Variations:
    """Gases a little different in every run."""
    breaths = breaths_of(request)
    drawn = normals(1, first, runs, 2 * len(breaths))
    he = np.array([b.he for b in breaths]) + 0.01 * drawn[:, :len(breaths)] * np.array([b.he > 0.0 for b in breaths])
    o2 = np.array([b.o2 for b in breaths]) + 0.005 * drawn[:, len(breaths):]
    return Variations(runs, np.clip(o2, 0.01, 1.0 - he), he)


def everything(request: ScheduleRequest, first: int, runs: int) -> Variations:
    """Gases, depth, minutes, ascent speed and consumption different in every run."""
    drawn = normals(2, first, runs, 3 + len(request.divers))
    speed = np.floor(uniforms(3, first, runs, 1)[:, 0] * len(FACTORS)).astype(np.int64)
    return replace(
        gases(request, first, runs), depth_m=60.0 + 1.5 * drawn[:, [0]], minutes=25.0 + drawn[:, [1]],
        speeds=FACTORS, speed=speed, rmv_bottom_l_min=20.0 + 2.0 * drawn[:, 3:],
        rmv_deco_l_min=np.full(len(request.divers), 15.0),
    )


def best_s(action: Callable[[], object], clock: Callable[[], float], rounds: int = 5) -> float:
    """The shortest of some rounds."""
    times = []
    for _ in range(rounds):
        start = clock()
        action()
        times.append(clock() - start)
    return min(times)


class Tables(ctypes.Structure):
    """The structure of the C kernel."""

    _fields_ = [
        *((name, ctypes.c_void_p) for name in (
            "e_n2", "e_he", "k_n2", "k_he", "level_e_n2", "level_e_he", "unit_e_n2", "unit_e_he",
            "a_n2", "b_n2", "a_he", "b_he", "bar", "start_n2",
        )),
        *((name, ctypes.c_long) for name in ("nodes", "first_switch", "second_switch")),
        *((name, ctypes.c_double) for name in ("gf_low", "gf_high", "vapour")),
    ]


def c_library(folder: Path) -> Any | None:  # noqa: ANN401  a library without types
    """The C kernel, compiled with all that the system's compiler does without changing a bit; None without one."""
    compiler = shutil.which("cc")
    if compiler is None:
        return None
    source, made = Path(__file__).parent / "c_kernel.c", folder / "c_kernel.so"
    subprocess.run(
        [compiler, "-O3", "-march=native", "-ffp-contract=off", "-shared", "-fPIC", "-o", str(made), str(source)],
        check=True,
    )
    return ctypes.CDLL(str(made))


def c_dives(library: Any, request: ScheduleRequest, variations: Variations) -> Callable[[], np.ndarray]:  # noqa: ANN401
    """An action that makes all runs in C and returns their stop units."""
    rungs, constants, place = ladder(request), coefficients(request.coefficient_set), request.place
    level, unit = request.levels[0], stop_table(1.0, "C")
    down = travel_table(((0.0, level.depth_m, request.descent_m_min),), place, "C")
    held = decay(level.minutes - level.depth_m / request.descent_m_min, "C")
    arrays = [np.array(down_part + part) for down_part, part in zip(
        (down.e_n2, down.e_he, down.k_n2, down.k_he),
        (rungs.tables.e_n2, rungs.tables.e_he, rungs.tables.k_n2, rungs.tables.k_he), strict=True,
    )]
    arrays += [np.array(values) for values in (
        *held, unit.e_n2[16:32], unit.e_he[16:32], constants.a_n2_bar, constants.b_n2, constants.a_he_bar,
        constants.b_he, rungs.ambient_bar, ((place.saturated_bar - VAPOUR_BAR) * AIR.n2,) * 16,
    )]
    switches = [rungs.depth_m.index(change.depth_m) for change in request.changes]
    tables = Tables(
        *(array.ctypes.data for array in arrays), len(rungs.depth_m), *switches,
        request.gf_low, request.gf_high, VAPOUR_BAR,
    )
    o2, he = np.asarray(variations.o2), np.asarray(variations.he)
    rows = np.ascontiguousarray(np.stack([np.maximum(0.0, 1.0 - o2 - he), he], axis=2).reshape(-1))
    units = np.zeros(variations.runs, np.int64)

    def run(_kept: object = arrays) -> np.ndarray:
        library.dives(
            ctypes.byref(tables), ctypes.c_void_p(rows.ctypes.data), ctypes.c_long(variations.runs),
            ctypes.c_void_p(units.ctypes.data),
        )
        return units

    return run


def threads_s(request: ScheduleRequest, variations: Variations, workers: int, clock: Callable[[], float]) -> float:
    """Time of the compiled kernel alone, on some threads."""
    plan, kernel = layout(request, variations), batch_compiler.compiled()
    if kernel is None:
        raise SystemExit("numba is not installed")
    return best_s(
        lambda: batch._on_threads(plan, answers_for(plan, variations.runs), kernel, workers), clock,  # noqa: SLF001
    )


def against_c(found: dict[str, float], request: ScheduleRequest, variations: Variations) -> None:
    """Add what C does with the same dives, and the ratios."""
    with tempfile.TemporaryDirectory() as name:
        library = c_library(Path(name))
        if library is None:
            return
        action = c_dives(library, request, variations)
        action()
        result = batch.run_many(request, variations, stops=True, verify=0)
        stops_min = np.asarray(result.stop_min).sum(axis=1) + result.bottom_wait_min
        if (stops_min != action()).any():
            raise SystemExit("the C kernel does not find the same stops")
        c_s = best_s(action, time.process_time)
    found["batch_c_us"] = c_s / variations.runs * 1e6
    found["batch_rate_of_c"] = found["batch_c_us"] / found["batch_kernel_us"]
    found["batch_everything_rate_of_c"] = found["batch_c_us"] / found["batch_everything_us"]


def window_s(cells: int = 41) -> float:
    """A window of cells x cells for one cylinder of a team of three, all of it: checks, samples, replays."""
    request = dive(3)
    grid = np.linspace(-0.02, 0.02, cells)
    o2 = np.tile([breath.o2 for breath in breaths_of(request)], (cells * cells, 1))
    he = np.tile([breath.he for breath in breaths_of(request)], (cells * cells, 1))
    o2[:, 0] += np.repeat(grid, cells)
    he[:, 0] += np.tile(grid, cells)
    return best_s(lambda: batch.run_many(request, Variations(cells * cells, o2, he)), time.perf_counter, 3)


def million(found: dict[str, float], runs: int) -> None:
    """Add time and memory of many runs in which everything varies, supply counted; memory of the whole process."""
    request, kept = dive(1), [0]

    def take(_: int, result: BatchResult) -> None:
        kept[0] += int(result.feasible.sum())

    start = time.perf_counter()
    batch.run_in_blocks(request, runs, lambda first, count: everything(request, first, count), take)
    found["batch_million_s"] = (time.perf_counter() - start) * 1e6 / runs
    found["batch_peak_memory_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if kept[0] != runs:
        raise SystemExit("some runs have no schedule")


def measure(runs: int = RUNS, many: int = 200_000) -> dict[str, float]:
    """Every measure by name; empty where there is no compiler."""
    if batch_compiler.compiled() is None:
        return {}
    request = dive(1)
    plain, full = gases(request, 0, runs), everything(request, 0, runs)
    start = time.perf_counter()
    batch.run_many(request, gases(request, 0, 10))
    found = {"batch_first_s": time.perf_counter() - start}
    found["batch_kernel_us"] = threads_s(request, plain, 1, time.process_time) / runs * 1e6
    found["batch_everything_us"] = threads_s(request, full, 1, time.process_time) / runs * 1e6
    three = dive(3)
    found["batch_team_us"] = threads_s(three, gases(three, 0, runs), 1, time.process_time) / runs * 1e6
    one_s, two_s = (threads_s(request, plain, workers, time.perf_counter) for workers in (1, 2))
    found["batch_two_threads"] = one_s / two_s
    against_c(found, request, plain)
    found["batch_window_41_s"] = window_s()
    million(found, many)
    return found


if __name__ == "__main__":
    measured = measure(*map(int, sys.argv[1:]))
    for label, value in measured.items():
        print(f"{label:44} {value:10.4f}")
    print(json.dumps(measured))
