"""Acceptance window, verdict and stress of one warm process: seconds, and runs a second."""

import json
import time
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from gaswright.planning.dive import TeamDive
from gaswright.planning.held_plan import held_plan
from gaswright.planning.plan import plan
from gaswright.planning.verdict import verdict
from gaswright.planning.window import window_of
from gaswright.services.day import load_day
from gaswright.services.stress_runs import stressed

ROUNDS, RUNS = 5, 100_000


def best_s(action: Callable[[], object], rounds: int = ROUNDS) -> float:
    """The best wall time of several rounds, after one that warms up."""
    action()
    times = []
    for _ in range(rounds):
        begin_s = time.perf_counter()
        action()
        times.append(time.perf_counter() - begin_s)
    return min(times)


def one_diver(dive: TeamDive) -> TeamDive:
    """The first diver of a team alone."""
    first = dive.divers[0]
    own = tuple(cylinder for cylinder in dive.cylinders if first.id in cylinder.divers)
    return replace(dive, divers=(first,), cylinders=own)


def measure() -> dict[str, float]:
    """Window 41 x 41, verdict, and stress, for the demo team of three and for one of its divers."""
    day = load_day(Path(str(files("gaswright").joinpath("data/demo/quarry-day.toml"))))
    if day.dive is None:
        raise ValueError("the demo day plans no dive")
    found: dict[str, float] = {}
    policy = day.trip.policy
    for name, dive in (("1_diver", one_diver(day.dive)), ("3_divers", day.dive)):
        held, made = held_plan(dive, policy), plan(dive, policy)
        cylinder = dive.cylinders[0].id
        mixture = held.contents[cylinder].mixture
        found[f"window_41x41_{name}_s"] = best_s(lambda held=held, c=cylinder: window_of(held, c))  # type: ignore[misc]
        found[f"verdict_{name}_s"] = best_s(
            lambda dive=dive, c=cylinder, m=mixture: verdict(dive, policy, c, m.o2_e4, m.he_e4)  # type: ignore[misc]
        )
        for workers in (1, 2):
            run_s = best_s(lambda held=held, made=made, w=workers: stressed(held, made, RUNS, 1, workers=w), 2)  # type: ignore[misc]
            found[f"stress_{name}_{workers}_workers_runs_per_s"] = RUNS / run_s
    return found


def main() -> None:
    """Print the line."""
    print(json.dumps({"bench": "robustness"} | {name: round(value, 4) for name, value in measure().items()}))


if __name__ == "__main__":
    main()
