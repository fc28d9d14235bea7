"""Schedules in bulk: the same as one by one, bit for bit in plain Python and compiled, whatever the workers."""

import ast
import inspect
import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from check import close
from gaswright.decompression import batch, batch_compiler, batch_kernel
from gaswright.decompression.batch import run_in_blocks, run_many
from gaswright.decompression.batch_checks import BatchUnsound, spread
from gaswright.decompression.batch_draws import Counts, normals, uniforms
from gaswright.decompression.batch_request import BatchResult, Outcome, Use, Variations, breaths_of, uses_of
from gaswright.decompression.batch_tables import request_of
from gaswright.decompression.request import (
    Breath,
    BreathingCycle,
    CyclePhase,
    Direction,
    GasChange,
    ProfileLevel,
    ScheduleRequest,
    SegmentKind,
)
from gaswright.decompression.scheduler import schedule
from gaswright.errors import InputError, RangeError
from gaswright.physics.consumption import used_l
from oracles.teams import gas_for, sixty_metres, stop_minutes

TEAM = ("d1", "d2", "d3")
FACTORS = (0.8, 0.9, 1.0, 1.1)


def varied(request: ScheduleRequest, runs: int, *, first: int = 0, seed: int = 7) -> Variations:
    """Everything that can vary, drawn from a seed."""
    gases, levels, divers = breaths_of(request), len(request.levels), len(request.divers)
    wide = len(gases)
    drawn = normals(seed, first, runs, 2 * wide + 2 * levels + divers)
    he = np.clip(np.array([gas.he for gas in gases]) + 0.005 * drawn[:, :wide], 0.0, 0.9)
    o2 = np.clip(np.array([gas.o2 for gas in gases]) + 0.005 * drawn[:, wide:2 * wide], 0.01, 1.0 - he)
    depth_m = np.array([level.depth_m for level in request.levels]) + drawn[:, 2 * wide:2 * wide + levels]
    minutes = np.array([level.minutes for level in request.levels]) + drawn[:, 2 * wide + levels:2 * (wide + levels)]
    return Variations(
        runs, o2, he, depth_m, minutes, FACTORS,
        np.floor(uniforms(seed + 1, first, runs, 1)[:, 0] * len(FACTORS)).astype(np.int64),
        20.0 + drawn[:, -divers:], np.full(divers, 15.0),
    )


def full_dive() -> ScheduleRequest:
    """Three divers, travel gas, two levels, a stage, oxygen breaks, turns, zones by default."""
    oxygen, stage = gas_for(TEAM, "oxygen", 1.0), gas_for(TEAM, "stage", 0.25, 0.3)
    request = sixty_metres(3, levels=(ProfileLevel(60.0, 20.0), ProfileLevel(45.0, 12.0, stage)))
    down = GasChange(Direction.DOWN, 12.0, gas_for(TEAM, "main", 0.18, 0.45))
    breaks = BreathingCycle(6.0, (CyclePhase(8, oxygen), CyclePhase(3, stage)))
    return replace(
        request, start_gas=gas_for(TEAM, "travel", 0.36), changes=(down, *request.changes), cycles=(breaks,),
        last_stop_m=3.0,
    )


def numbers(result: BatchResult) -> dict[str, bytes]:
    """Every array of a result as bytes."""
    arrays = {item.name: getattr(result, item.name) for item in fields(result)}
    return {name: array.tobytes() for name, array in arrays.items() if isinstance(array, np.ndarray)}


def litres(request: ScheduleRequest, variations: Variations, run: int) -> dict[Use, float]:
    """Gas used in a run by its own schedule: the bottom rate to the first halt of the way up, then the deco rate."""
    one = request_of(request, variations, run)
    made = schedule(one)
    up_from_min = made.runtime_min - made.tts_min - 1e-6
    halts_min = [piece.start_min for piece in made.segments
                 if piece.kind is SegmentKind.STOP and piece.start_min >= up_from_min]
    deco_from_min = halts_min[0] if halts_min else made.runtime_min
    found = dict.fromkeys(uses_of(request), 0.0)
    assert variations.rmv_bottom_l_min is not None
    for piece in made.segments:
        mean_bar = one.place.ambient_bar((piece.from_m + piece.to_m) / 2.0)
        for number, diver in enumerate(one.divers):
            rate = float(variations.rmv_bottom_l_min[run, number]) if piece.start_min < deco_from_min - 1e-6 else 15.0
            found[Use(diver, piece.gas[diver].cylinder)] += used_l(rate, mean_bar, piece.minutes)
    return found


def test_a_batch_without_variations_is_the_schedule() -> None:
    """One run that differs in nothing has the numbers of the single schedule, to a float's last digits."""
    request = full_dive()
    made, result = schedule(request), run_many(request, Variations(1), stops=True)
    close(float(result.tts_min[0]), made.tts_min, within=1e-9)
    close(float(result.runtime_min[0]), made.runtime_min, within=1e-9)
    assert [float(depth_m) for depth_m in result.anchor_m[0]] == list(made.anchor_m.values())
    assert result.stop_min is not None
    halts = {depth_m: float(minutes) for depth_m, minutes in zip(result.halt_m, result.stop_min[0], strict=True)}
    assert {depth_m: minutes for depth_m, minutes in halts.items() if minutes > 0.0} == stop_minutes(request, made)
    assert (result.verified, result.used_l) == (1, None)


def test_every_run_is_its_own_schedule() -> None:
    """All of sixty runs in which everything varies are scheduled alone, replayed, and agree."""
    result = run_many(full_dive(), varied(full_dive(), 60), stops=True, verify=60)
    assert result.feasible.all()
    assert result.verified == 60
    assert len(set(result.tts_min.tolist())) > 20


def test_gas_used_is_that_of_the_schedule() -> None:
    """Litres per diver and cylinder of some runs, added up from their own segments."""
    request = full_dive()
    variations = varied(request, 40)
    result = run_many(request, variations)
    assert result.used_l is not None
    for run in (0, 13, 39):
        expected = litres(request, variations, run)
        assert result.uses == tuple(expected)
        for litre, use in zip(result.used_l[run], result.uses, strict=True):
            close(float(litre), expected[use], within=1e-6, why=str(use))


def test_plain_python_and_the_compiled_kernel_have_the_same_bits() -> None:
    """Every number of every run, with everything varied."""
    pytest.importorskip("numba")
    request = full_dive()
    variations = varied(request, 50)
    plain = run_many(request, variations, stops=True, compiled=False, verify=1)
    compiled = run_many(request, variations, stops=True, compiled=True, verify=1)
    assert (plain.compiled, compiled.compiled) == (False, True)
    assert numbers(plain) == numbers(compiled)


def test_one_thread_and_two_have_the_same_bits() -> None:
    """More runs than a chunk holds, over many lots."""
    request = sixty_metres(2)
    variations = varied(request, 3000)
    one, two, five = (run_many(request, variations, stops=True, workers=workers, verify=1) for workers in (1, 2, 5))
    assert numbers(one) == numbers(two) == numbers(five)


def test_blocks_give_the_answer_of_one_batch() -> None:
    """Runs drawn and made in blocks of 70 and of 500, in the order of the runs: the same bits."""
    request = sixty_metres()
    whole = run_many(request, varied(request, 500), verify=1)
    firsts, times = [], []

    def take(first: int, result: BatchResult) -> None:
        firsts.append(first)
        times.append(result.tts_min)

    run_in_blocks(request, 500, lambda first, runs: varied(request, runs, first=first), take, block=70)
    assert firsts == [0, 70, 140, 210, 280, 350, 420, 490]
    assert np.concatenate(times).tobytes() == whole.tts_min.tobytes()


def test_runs_without_a_schedule_say_why_and_hold_no_number() -> None:
    """A level shorter than its travel, a level above the ceiling, a way up of more than three days, and a good run."""
    request = sixty_metres(levels=(ProfileLevel(60.0, 25.0), ProfileLevel(30.0, 10.0)), changes=())
    minutes = np.array([[2.0, 10.0], [25.0, 10.0], [25.0, 4000.0], [25.0, 10.0]])
    depth_m = np.array([[60.0, 30.0], [60.0, 6.0], [60.0, 60.0], [60.0, 45.0]])
    o2 = np.array([[0.18], [0.18], [0.05], [0.4]])
    request = replace(request, gf_low=0.5, gf_high=0.5)
    he = np.array([[0.4], [0.4], [0.4], [0.0]])
    result = run_many(request, Variations(4, o2=o2, he=he, depth_m=depth_m, minutes=minutes), stops=True)
    assert result.outcome.tolist() == [
        Outcome.LEVEL_TOO_SHORT, Outcome.LEVEL_ABOVE_CEILING, Outcome.TOO_LONG, Outcome.MADE,
    ]
    assert result.feasible.tolist() == [False, False, False, True]
    assert result.verified == 1
    assert result.stop_min is not None
    for array in (result.tts_min, result.runtime_min, result.anchor_m, result.stop_min, result.bottom_wait_min):
        assert (array[:3] == -1.0).all()
        assert (array[3] >= 0.0).all()


def test_a_level_that_varies_over_the_grid_keeps_its_halts_apart() -> None:
    """Last levels from 4 to 23 m, on the grid and off it, some above switch depths and last stop."""
    request = sixty_metres(levels=(ProfileLevel(60.0, 20.0), ProfileLevel(21.0, 20.0)), gf_low=0.9, gf_high=0.95)
    last_m = np.array([18.0, 18.1, 20.9, 21.0, 21.0000001, 21.1, 22.5, 23.0, 24.0, 27.3])
    depth_m = np.stack([np.full(len(last_m), 60.0), last_m], axis=1)
    minutes = np.full((len(last_m), 2), 15.0)
    variations = Variations(len(last_m), depth_m=depth_m, minutes=minutes)
    result = run_many(request, variations, stops=True, verify=len(last_m))
    assert result.verified == np.count_nonzero(result.feasible) >= 8


def test_shallow_last_levels_below_the_last_stop_go_straight_up() -> None:
    """Levels of 3 to 8 m with a last stop of 6 m; an oxygen change off the grid stays at departure."""
    oxygen = GasChange(Direction.UP, 5.0, gas_for(("d1",), "oxygen", 1.0))
    air = gas_for(("d1",), "air", 0.21)
    request = sixty_metres(levels=(ProfileLevel(5.0, 30.0),), changes=(oxygen,), start_gas=air)
    depth_m = np.array([[3.0], [4.2], [5.0], [5.7], [6.0], [7.9]])
    result = run_many(request, Variations(6, depth_m=depth_m), stops=True, verify=6)
    assert result.verified == 6
    assert (result.bottom_wait_min >= 1.0).all()


def test_a_travel_change_is_made_however_shallow_the_run() -> None:
    """The change to bottom gas stands at the level itself: a run that stays shallower makes it at its own level."""
    team = ("d1",)
    down = GasChange(Direction.DOWN, 40.0, gas_for(team, "main", 0.21, 0.35))
    request = sixty_metres(
        start_gas=gas_for(team, "travel", 0.28), levels=(ProfileLevel(40.0, 20.0),),
        changes=(down, *sixty_metres().changes),
    )
    depth_m, rate = np.array([[38.5], [40.0], [41.0]]), np.array([20.0])
    variations = Variations(3, depth_m=depth_m, rmv_bottom_l_min=rate, rmv_deco_l_min=rate)
    result = run_many(request, variations, verify=3)
    assert result.used_l is not None
    main = result.uses.index(Use("d1", "d1-main"))
    assert (result.used_l[:, main] > 1000.0).all()


def test_a_wrong_bit_of_the_compiled_kernel_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A kernel that is off in the last digit of one number makes a batch that is not handed out."""
    right = batch_kernel.dive_runs

    def wrong(divers: int, *parts: Any) -> None:  # noqa: ANN401  passed through as they come
        right(divers, *parts)
        parts[4][1][0] = np.nextafter(parts[4][1][0], 1e9)

    monkeypatch.setattr(batch_compiler, "compiled", lambda: wrong)
    with pytest.raises(BatchUnsound):
        run_many(sixty_metres(), Variations(3))


def test_a_run_that_is_not_its_schedule_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plain Python that is wrong as well is caught by the single schedule."""
    right = batch_kernel.dive_runs

    def wrong(divers: int, *parts: Any) -> None:  # noqa: ANN401  passed through as they come
        right(divers, *parts)
        parts[4][1][0] += 1.0

    monkeypatch.setattr("gaswright.decompression.batch_checks.dive_runs", wrong)
    with pytest.raises(BatchUnsound):
        run_many(sixty_metres(), Variations(3), compiled=False)


def test_without_the_compiler_it_works_and_says_that_it_is_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plain Python with a word about the time; asked for compiled, it refuses."""
    monkeypatch.setattr(batch_compiler, "compiled", lambda: None)
    result = run_many(sixty_metres(), Variations(2))
    assert not result.compiled
    assert "numba" in result.word
    with pytest.raises(InputError):
        run_many(sixty_metres(), Variations(2), compiled=True)


BAD = {
    "no runs": Variations(0),
    "too many runs": Variations(10**7),
    "shape": Variations(2, o2=np.zeros((2, 5)) + 0.2),
    "kind": Variations(1, o2=np.array([[1, 1, 1]])),
    "oxygen above the whole": Variations(1, o2=np.array([[1.2, 0.5, 1.0]])),
    "more than the whole": Variations(1, o2=np.array([[0.6, 0.5, 1.0]])),
    "no number": Variations(1, depth_m=np.array([[np.nan]])),
    "deeper than any dive": Variations(1, depth_m=np.array([[501.0]])),
    "endless": Variations(1, minutes=np.array([[np.inf]])),
    "no speed": Variations(1, speeds=()),
    "no way up": Variations(1, speeds=(0.0,)),
    "no such speed": Variations(1, speed=np.array([1])),
    "speeds that are no places": Variations(1, speed=np.array([0.0])),
    "one rate": Variations(1, rmv_bottom_l_min=np.array([20.0])),
    "a negative rate": Variations(1, rmv_bottom_l_min=np.array([-1.0]), rmv_deco_l_min=np.array([15.0])),
}


@pytest.mark.parametrize("variations", BAD.values(), ids=BAD)
def test_variations_that_make_no_sense_are_refused(variations: Variations) -> None:
    """Each fault is an input error, before anything is computed."""
    with pytest.raises(InputError):
        run_many(sixty_metres(), variations)


def test_a_request_that_cannot_be_scheduled_is_refused() -> None:
    """The checks of a single schedule hold for a batch."""
    with pytest.raises(InputError):
        run_many(sixty_metres(levels=()), Variations(1))


@pytest.mark.parametrize(("runs", "samples", "count"), [(1, 64, 1), (4, 64, 4), (1000, 4, 4), (64, 64, 64), (5, 0, 0)])
def test_samples_are_spread_over_the_runs(runs: int, samples: int, count: int) -> None:
    """As many as wanted or as there are, each once, the first and the last among them."""
    found = spread(runs, samples)
    assert len(set(found)) == len(found) == count
    assert not found or (found[0], found[-1]) == (0, max(runs - 1, 0))


def test_columns_name_gases_and_uses_once() -> None:
    """A cylinder that two divers breathe from is one gas and two uses."""
    shared = Breath("pony", 0.5, 0.0)
    request = sixty_metres(2, changes=(GasChange(Direction.UP, 21.0, {"d1": shared, "d2": shared}),))
    assert [breath.cylinder for breath in breaths_of(request)] == ["d1-main", "d2-main", "pony"]
    assert uses_of(request) == (
        Use("d1", "d1-main"), Use("d1", "pony"), Use("d2", "d2-main"), Use("d2", "pony"),
    )


def test_draws_depend_on_seed_run_and_column_alone() -> None:
    """However the runs are cut, each has its own numbers; another seed has others."""
    whole = normals(3, 0, 1000, 7)
    parts = np.concatenate([normals(3, first, 125, 7) for first in range(0, 1000, 125)])
    assert parts.tobytes() == whole.tobytes()
    assert normals(3, 500, 1, 7).tobytes() == whole[500:501].tobytes()
    assert not (normals(4, 0, 1000, 7) == whole).any()
    with pytest.raises(RangeError):
        uniforms(-1, 0, 1, 1)


def test_draws_have_the_moments_of_their_distribution() -> None:
    """Mean, deviation and quantiles of a hundred thousand, within four standard errors of theory."""
    even, normal = uniforms(11, 0, 50_000, 2).reshape(-1), normals(11, 0, 50_000, 2).reshape(-1)
    assert ((even > 0.0) & (even < 1.0)).all()
    close(float(even.mean()), 0.5, within=4 * 0.2887 / 316)
    close(float(normal.mean()), 0.0, within=4 / 316)
    close(float(normal.std()), 1.0, within=4 * 0.7071 / 316)
    close(float((normal < -1.644853627).mean()), 0.05, within=4 * 0.218 / 316)
    close(float(np.corrcoef(normals(11, 0, 50_000, 2).T).min()), 0.0, within=4 / 224)


def test_counts_add_up_and_give_quantiles() -> None:
    """Values counted in two halves or at once are the same; quantiles are edges above; outside is refused."""
    values = np.arange(1000) / 10.0
    one, two = Counts(0.0, 1.0, 100), Counts(0.0, 1.0, 100)
    one.add(values)
    two.add(values[700:])
    two.add(values[:700])
    assert (one.inside == two.inside).all()
    assert (one.total, one.below, one.above) == (1000, 0, 0)
    close(one.quantile(0.5), 50.0, within=1e-12)
    close(one.quantile(1.0), 100.0, within=1e-12)
    narrow = Counts(20.0, 1.0, 10)
    narrow.add(values)
    assert (narrow.below, narrow.above) == (200, 700)
    for share in (0.1, 0.5, 0.0, 1.1):
        with pytest.raises(RangeError):
            narrow.quantile(share)
    with pytest.raises(RangeError):
        Counts(0.0, 1.0, 0)


def test_the_cache_is_named_after_every_source_and_the_compiler(tmp_path: Path) -> None:
    """One changed byte in one source, another version, another name."""
    for path in batch_compiler.ENGINE.glob("*.py"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    same = batch_compiler.engine_hash("1", tmp_path)
    assert same == batch_compiler.engine_hash("1")
    assert same != batch_compiler.engine_hash("2", tmp_path)
    for name in ("kernel.py", "coefficients.py"):
        text = (tmp_path / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text.replace("16", "15", 1), encoding="utf-8")
        changed = batch_compiler.engine_hash("1", tmp_path)
        assert changed != same
        same = changed


def test_where_nothing_can_be_written_there_is_no_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The user's cache folder cannot be made: None, not an error; else a folder of its own."""
    file = tmp_path / "file"
    file.touch()
    monkeypatch.setattr("platformdirs.user_cache_dir", lambda *_, **__: str(file / "below"))
    assert batch_compiler.cache_folder("1") is None
    monkeypatch.setattr("platformdirs.user_cache_dir", lambda *_, **__: str(tmp_path / "cache"))
    folder = batch_compiler.cache_folder("1")
    assert folder is not None
    assert folder.is_dir()
    assert not list(folder.iterdir())


def test_a_single_schedule_imports_neither_compiler_nor_arrays() -> None:
    """`gaswright gas` and one schedule need no numba and no numpy."""
    code = (
        "import sys; from gaswright.decompression import scheduler, surface_interval, batch_kernel\n"
        "from gaswright.cli.main import main\n"
        "sys.argv = ['gaswright', 'gas', '18/45']\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "assert not {'numba', 'numpy', 'llvmlite'} & set(sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_source_of_the_batch_kernel_keeps_to_scalars_and_arrays() -> None:
    """No dict, class, exception, closure, comprehension, power, or call but range, len, exp, expm1 and the kernel's."""
    tree = ast.parse(inspect.getsource(batch_kernel))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    allowed = {function.name for function in functions} | {
        "range", "len", "exp", "expm1", "go", "next_clock", "stay", "way_up",
    }
    forbidden = (
        ast.Dict, ast.ClassDef, ast.Raise, ast.Try, ast.Lambda, ast.ListComp, ast.GeneratorExp, ast.DictComp,
        ast.Pow, ast.Mod, ast.With, ast.Attribute, ast.JoinedStr,
    )
    for function in functions:
        for node in ast.walk(function):
            assert not isinstance(node, forbidden), f"{function.name} uses {type(node).__name__}"
            assert not isinstance(node, ast.FunctionDef) or node is function, f"{function.name} holds a closure"
            if isinstance(node, ast.Call):
                assert isinstance(node.func, ast.Name)
                assert node.func.id in allowed


def test_an_interrupted_batch_gives_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C in a chunk ends the batch with the interrupt, and no chunk after it is begun."""
    begun = []

    def interrupted(*_: Any) -> None:  # noqa: ANN401  nothing is used
        begun.append(1)
        raise KeyboardInterrupt

    monkeypatch.setattr(batch_compiler, "compiled", lambda: interrupted)
    monkeypatch.setattr(batch, "CHUNK", 1)
    with pytest.raises(KeyboardInterrupt):
        run_many(sixty_metres(), Variations(200), workers=2)
    assert len(begun) < 200
