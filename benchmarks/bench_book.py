"""Speed of the book on SQLite: one fact in, a stream out, a merge and the day after it, the proof of a million."""

import json
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from book_days import NOW, POLICY, ZONE, draft, filled_in_bulk, made, put
from gaswright.book.folding import custody_folding, standings
from gaswright.book.handle import Book
from gaswright.book.merge import export_bundle, merge_bundle
from gaswright.book.verify import verify

__all__ = ["measure"]


def seconds(action: Callable[[], object]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def median_append_s(book: Book, runs: int = 300, cylinders: int = 50) -> float:
    """Median time until one fill is durable."""
    return statistics.median(
        seconds(lambda place=place: put(book, draft(stream=f"gas/b{place % cylinders}", gauge_centibar=20000)))  # type: ignore[misc]
        for place in range(runs)
    )


def measure(facts: int = 100_000, merged: int = 50_000) -> dict[str, float]:
    """Every measure by name; `facts` in the book, `merged` older ones from another."""
    folding = custody_folding(POLICY, ZONE)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with made(folder, "boat", folding=folding) as boat, made(folder, "station", folding=folding) as station:
            found = {"book_append_small_median_s": median_append_s(boat)}
            found["book_bulk_build_s"] = seconds(lambda: filled_in_bulk(boat, facts))
            filled_in_bulk(station, merged, start=NOW - timedelta(days=400))
            found["book_append_median_s"] = median_append_s(boat)
            found["book_append_to_long_stream_median_s"] = median_of_long(boat)
            found["book_stream_s"] = seconds(lambda: boat.stream("gas/c1"))
            found["book_read_all_per_million_s"] = seconds(lambda: sum(1 for _ in boat.facts())) * 1e6 / facts
            found["book_first_day_s"] = seconds(lambda: day(boat))
            found["book_day_s"] = seconds(lambda: day(boat))
            found["book_export_s"] = seconds(lambda: export_bundle(station, folder / "x", by="d1", now=NOW))
            found["book_merge_s"] = seconds(lambda: merge_bundle(boat, folder / "x", now=NOW))
            found["book_day_after_merge_s"] = seconds(lambda: day(boat))
            found["book_verify_per_million_s"] = seconds(lambda: verify(boat)) * 1e6 / (facts + merged)
            found["book_file_bytes_per_fact"] = (folder / "boat.db").stat().st_size / (facts + merged)
    found["book_peak_memory_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return found


def median_of_long(book: Book) -> float:
    """Median time of one fact for cylinders with a long history."""
    return statistics.median(
        seconds(lambda place=place: put(book, draft("cylinder.pressure_read", f"gas/c{place}", gauge_centibar=9000)))  # type: ignore[misc]
        for place in range(50)
    )


def day(book: Book) -> object:
    """The standing of every cylinder, two years after the first day."""
    return standings(book, POLICY, zone=ZONE, now=NOW + timedelta(days=730))


if __name__ == "__main__":
    measured = measure(*map(int, sys.argv[1:]))
    for label, value in measured.items():
        print(f"{label:44} {value:10.4f}")
    print(json.dumps(measured))
