"""Published checks: one TOML per outside table, judged against what the program computes.

A TOML in tests/published has

    [source]
    title = "..."  edition = "..."  place = "page or table"  status = "seen" | "from memory" | ...
    kind = "exact" | "band"
    tolerance = 0.05            # exact: half a unit of the last printed digit; wider needs a tolerance_reason
    tolerance_reason = "..."
    table = "some.csv"          # optional: rows of tests/outside/some.csv become the cases
    expected = "column"         # with table: the column that holds the printed value
    [[case]]                    # without table
    id = "..."  expected = 1.0  # band: low and high instead of expected; everything else are inputs

The test module of a room maps each file to a function from a case to the computed number; `docs/checks.md` is
generated from the same mapping (scripts/checks_page.py).
"""

import csv
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from check import close

__all__ = ["OUTSIDE", "Check", "Compute", "all_cases", "deviation", "judge", "load"]

Compute = Callable[[Mapping[str, Any]], float]
PUBLISHED = Path(__file__).parent / "published"
OUTSIDE = Path(__file__).parent / "outside"


@dataclass(frozen=True, slots=True)
class Check:
    """One outside table with its source and cases."""

    name: str
    source: Mapping[str, Any]
    cases: tuple[Mapping[str, Any], ...]

    @property
    def tolerance(self) -> float:
        """Allowed distance from the printed value, in its own unit."""
        return float(self.source.get("tolerance", 0.0))


def load(name: str) -> Check:
    """The check of a TOML file in tests/published."""
    table = tomllib.loads((PUBLISHED / name).read_text(encoding="utf-8"))
    source = table["source"]
    cases = tuple(table.get("case", ())) or tuple(_rows(source["table"], source["expected"]))
    assert cases, f"{name} holds no cases"
    return Check(name, source, cases)


def _rows(table: str, expected: str) -> Iterator[dict[str, Any]]:
    lines = [line for line in (OUTSIDE / table).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    for row in csv.DictReader(lines):
        case: dict[str, Any] = {key: _value(text) for key, text in row.items()}
        yield case | {"id": " ".join(list(row.values())[:2]), "expected": case[expected]}


def _value(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def all_cases(compute: Mapping[str, Compute]) -> list[tuple[str, Mapping[str, Any]]]:
    """Every (file, case) of a room, for pytest's parametrize."""
    return [(name, case) for name in compute for case in load(name).cases]


def deviation(case: Mapping[str, Any], actual: float) -> float:
    """Distance from the printed value, or from the middle of the band."""
    if "expected" in case:
        return actual - float(case["expected"])
    return actual - (float(case["low"]) + float(case["high"])) / 2


def judge(name: str, case: Mapping[str, Any], actual: float) -> None:
    """Assert that a computed number agrees with the printed one, or lies in the printed band."""
    check = load(name)
    if check.source["kind"] == "band":
        assert float(case["low"]) <= actual <= float(case["high"]), (name, case, actual)
        return
    close(actual, float(case["expected"]), within=check.tolerance, why=f"{name}, {case['id']}")
