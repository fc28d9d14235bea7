"""One schedule in plain Python: 60 m 25 min, 18/45, 50 and oxygen, GF 30/80, 1 min units, for 1, 3 and 6 divers.

Prints one JSON line of milliseconds: the kernel's way up alone, the schedule before its replay, and the schedule as
`schedule()` returns it, replay included. The best of several rounds, on a warm process.
"""

import json
import time
from collections.abc import Callable
from typing import Any

from gaswright.decompression import kernel
from gaswright.decompression.request import Breath, Direction, GasChange, ProfileLevel, ScheduleRequest
from gaswright.decompression.scheduler import schedule, unverified_schedule
from gaswright.physics.place import Place

ROUNDS, RUNS = 7, 20


def dive(divers: int) -> ScheduleRequest:
    """The dive of the benchmark."""
    team = tuple(f"d{number + 1}" for number in range(divers))
    deco = {diver: Breath(f"{diver}-deco", 0.5, 0.0) for diver in team}
    oxygen = {diver: Breath(f"{diver}-oxygen", 1.0, 0.0) for diver in team}
    return ScheduleRequest(
        team, {diver: Breath(f"{diver}-main", 0.18, 0.45) for diver in team}, (ProfileLevel(60.0, 25.0),),
        (GasChange(Direction.UP, 21.0, deco), GasChange(Direction.UP, 6.0, oxygen)), Place(),
    )


def best_ms(run: Callable[[], object]) -> float:
    """Milliseconds of one run, the best round."""
    rounds = []
    for _ in range(ROUNDS):
        begin_s = time.perf_counter()
        for _ in range(RUNS):
            run()
        rounds.append((time.perf_counter() - begin_s) / RUNS * 1e3)
    return round(min(rounds), 3)


def kernel_ms(request: ScheduleRequest) -> float:
    """Milliseconds spent in the kernel's way up within one schedule, the best of all runs."""
    spent: list[float] = []
    way_up = kernel.way_up

    def timed(*arguments: Any) -> int:  # noqa: ANN401  passed through as they come
        begin_s = time.perf_counter()
        answer = way_up(*arguments)
        spent.append((time.perf_counter() - begin_s) * 1e3)
        return answer

    kernel.way_up = timed  # type: ignore[assignment]  # the same call, measured
    try:
        for _ in range(ROUNDS * RUNS):
            unverified_schedule(request)
    finally:
        kernel.way_up = way_up
    return round(min(spent), 3)


def measure() -> dict[str, float]:
    """Name, team size and milliseconds of every measure."""
    found: dict[str, float] = {}
    for divers in (1, 3, 6):
        request = dive(divers)
        schedule(request)
        found[f"schedule_{divers}_kernel_ms"] = kernel_ms(request)
        found[f"schedule_{divers}_unverified_ms"] = best_ms(lambda request=request: unverified_schedule(request))  # type: ignore[misc]
        found[f"schedule_{divers}_verified_ms"] = best_ms(lambda request=request: schedule(request))  # type: ignore[misc]
    return found


if __name__ == "__main__":
    print(json.dumps(measure()))
