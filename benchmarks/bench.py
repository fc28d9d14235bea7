"""Speed in one run: seconds, and ratios to what the same machine needs for nothing. Reported, never asserted."""

import json
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from importlib import import_module
from importlib.resources import files
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "benchmarks"))

PROGRAM = [sys.executable, "-m", "gaswright.cli.main"]


def median_s(action: Callable[[], object], runs: int) -> float:
    """Median wall time of several runs, after one that warms up."""
    action()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def process(*arguments: str) -> Callable[[], object]:
    """A whole process with these arguments."""
    return lambda: subprocess.run(arguments, check=False, capture_output=True)


def processes() -> dict[str, float]:
    """Whole processes, in seconds and as multiples of a Python that does nothing."""
    trip = str(files("gaswright").joinpath("data/demo/quarry-day.toml"))
    nothing_s = median_s(process(sys.executable, "-c", "pass"), 9)
    found = {
        "gas_process_s": median_s(process(*PROGRAM, "gas", "18/45", "--depth", "60"), 9),
        "plan_demo_process_s": median_s(process(*PROGRAM, "plan", trip, "--json"), 5),
        "check_demo_process_s": median_s(process(*PROGRAM, "check", trip, "--now", "2027-05-15T09:00:00"), 5),
    }
    ratios = {f"{name[:-2]}_per_python_start": value / nothing_s for name, value in found.items()}
    return {"python_start_s": nothing_s} | found | ratios


def main() -> None:
    """Print every measure as a line, then all of them as JSON; a name on the command line runs that part alone."""
    parts = [path.stem for path in sorted((ROOT / "benchmarks").glob("bench_*.py"))]
    wanted = [f"bench_{name}" for name in sys.argv[1:]]
    found = {} if wanted else processes()
    for part in wanted or parts:
        found |= import_module(part).measure()
    for name, value in found.items():
        print(f"{name:52} {value:14.4f}")
    print(json.dumps(found))


if __name__ == "__main__":
    main()
