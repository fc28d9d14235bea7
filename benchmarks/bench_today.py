"""Speed of the board: `today` from a large book, in the process and as a whole command; one fill until durable."""

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from book_days import filled_in_bulk
from book_hands import NOW, act, at_hand, cylinder, new_book, url
from gaswright.physics.mixture import Mixture
from gaswright.services.book_day import today
from gaswright.services.book_gas import Fill, Typed, analyse, fill

__all__ = ["measure"]

CYLINDERS = 100


def seconds(action: Callable[[], object]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def measure(facts: int = 100_000) -> dict[str, float]:
    """Every measure by name; `facts` older ones of 100 cylinders, each filled and analysed today."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        new_book(folder)
        with at_hand(folder) as book:
            for place in range(CYLINDERS):
                cylinder(book, f"c{place}", f"HM {place:04}")
            days = facts // (6 * CYLINDERS) + 2
            filled_in_bulk(book.book, facts, cylinders=CYLINDERS, start=NOW - timedelta(days=days))
            found = {"today_first_s": seconds(lambda: today(book))}
            found["today_of_old_facts_s"] = min(seconds(lambda: today(book)) for _ in range(5))
            found["fill_on_long_stream_s"] = seconds(lambda: fill(book, act(), "c1", Fill(200.0, Mixture(5000, 0))))
            for place in range(CYLINDERS):
                fill(book, act(), f"c{place}", Fill(200.0, Mixture(5000, 0)))
                analyse(book, act(), f"c{place}", Typed(4960, 0, "49.6", "0"))
            found["today_after_acts_s"] = seconds(lambda: today(book))
            found["today_s"] = min(seconds(lambda: today(book)) for _ in range(5))
        program = [sys.executable, "-m", "gaswright.cli.main", "today", "--json", "--db", url(folder)]
        home = {**os.environ, "XDG_DATA_HOME": str(folder / "home")}
        found["today_process_s"] = min(
            seconds(lambda: subprocess.run(program, check=False, capture_output=True, env=home)) for _ in range(3))
    return found


if __name__ == "__main__":
    print(json.dumps(measure(int(sys.argv[1]) if sys.argv[1:] else 100_000), indent=1))
