"""The tables of a trip file as rows of canonical values, and the list on which every problem is put."""

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from gaswright.errors import Problem
from gaswright.exchange.policy_file import POLICY_NAMES, policy_problem
from gaswright.exchange.trip_fields import TABLES, Table
from gaswright.exchange.trip_lines import LineIndex
from gaswright.exchange.trip_values import Systems, value_of
from gaswright.units import QuantityError, shown_text

__all__ = ["ProblemList", "Row", "nearest_text", "raw_rows", "read_row"]

_MOST_GUESSES = 50  # nearest names are looked up for so many problems, then no more
_MOST_ROWS = 1000  # of one table: a day's file has far fewer


@dataclass(slots=True)
class ProblemList:
    """Everything wrong with one file, each at its place.

    Args:
        file: name of the file.
        lines: where its tables and keys stand.
    """

    file: str
    lines: LineIndex
    found: list[tuple[int, Problem]] = field(default_factory=list)

    def line(self, table: str, row: int, key: str = "") -> int:
        """The line of a key, else of its table, else 0.

        Args:
            table: name of the table.
            row: number of the row from 0.
            key: name of the key.
        """
        for place in ((table, row, key), (table, row, ""), ("", 0, table), (key, 0, "")):
            if place in self.lines:
                return self.lines[place]
        return 0

    def add(self, table: str, row: int, key: str, what: str) -> None:
        """Put one problem on the list.

        Args:
            table: name of the table.
            row: number of the row from 0.
            key: name of the key; "" = the table.
            what: the sentence.
        """
        line = self.line(table, row, key)
        name = f"{table}[{row + 1}]" if table in TABLES and TABLES[table].array else table
        place = ".".join(part for part in (name, key) if part)
        where = ", ".join(part for part in (self.file, f"line {line}" if line else "", shown_name(place)) if part)
        self.found.append((line, Problem(where, what)))

    def nearest(self, name: object, known: Iterable[str]) -> str:
        """The known names nearest to a wrong one, as the end of a sentence, as long as the list is short.

        Args:
            name: what was written.
            known: what could have been meant.
        """
        return nearest_text(name, known) if len(self.found) < _MOST_GUESSES else "see the list of what is known"

    def in_order(self) -> tuple[Problem, ...]:
        """All problems by line."""
        return tuple(problem for _, problem in sorted(self.found, key=lambda item: item[0]))


def shown_name(name: str) -> str:
    """A name as a problem shows it: one short line.

    Args:
        name: of a key or table.
    """
    return name if name.isprintable() and len(name) <= 60 else shown_text(name)


@dataclass(frozen=True, slots=True)
class Row:
    """One row with the values that could be read.

    Args:
        table: name of the table.
        index: number of the row from 0.
        line: line of its table.
        raw: as the TOML reader gives it.
        values: canonical, only those that are right.
        policy: of [settings]: policy settings.
    """

    table: str
    index: int
    line: int
    raw: Mapping[str, object]
    values: Mapping[str, Any]
    policy: Mapping[str, float] = field(default_factory=dict)

    def get(self, key: str, default: Any = None) -> Any:  # noqa: ANN401  values are of the kind their field declares
        """The value of a key, or a default.

        Args:
            key: name.
            default: where the key is absent or wrong.
        """
        return self.values.get(key, default)


def nearest_text(name: object, known: Iterable[str]) -> str:
    """The known names nearest to a wrong one, as the end of a sentence.

    Args:
        name: what was written.
        known: what could have been meant.
    """
    names = sorted(set(known))
    near = difflib.get_close_matches(str(name)[:60], names, n=2, cutoff=0.5)
    if near:
        return f"nearest is {' or '.join(near)}"
    return f"known are {', '.join(names[:20])}" if names else "none is given in this file"


def raw_rows(data: Mapping[str, object], name: str, problems: ProblemList) -> list[Mapping[str, object]]:
    """The rows of a table as the TOML reader gives them; what is no table is put on the list.

    Args:
        data: the whole file.
        name: of the table.
        problems: of the file.
    """
    table = TABLES[name]
    if name not in data:
        if table.required:
            problems.add(name, 0, "", f"is missing; write a {f'[[{name}]]' if table.array else f'[{name}]'} table")
        return []
    found = data[name]
    if not table.array and isinstance(found, Mapping):
        return [found]
    if table.array and isinstance(found, list) and found and all(isinstance(row, Mapping) for row in found):
        if len(found) > _MOST_ROWS:
            problems.add(name, _MOST_ROWS, "", f"has {len(found)} rows; allowed are at most {_MOST_ROWS}; keep one day "
                         "in a file")
        return found[:_MOST_ROWS]
    brackets = f"[[{name}]]" if table.array else f"[{name}]"
    problems.add(name, 0, "", f"is not a table of this kind; write it as {brackets} with its keys below")
    return []


def read_row(name: str, index: int, raw: Mapping[str, object], systems: Systems, problems: ProblemList) -> Row:
    """One row with its canonical values; everything wrong with it is put on the list.

    Args:
        name: of the table.
        index: number of the row from 0.
        raw: as the TOML reader gives it.
        systems: whose units and zone read it.
        problems: of the file.
    """
    table = TABLES[name]
    values: dict[str, Any] = {}
    policy: dict[str, float] = {}
    for key, value in raw.items():
        if key in table.fields:
            try:
                values[key] = value_of(value, table.fields[key], systems)
            except QuantityError as error:
                problems.add(name, index, key, str(error))
        elif name == "settings" and key in POLICY_NAMES:
            _read_policy(index, key, value, policy, problems)
        elif name:
            _unknown_key(name, index, key, problems)
    _missing(table, name, index, raw, problems)
    return Row(name, index, problems.line(name, index), raw, values, policy)


def _read_policy(index: int, key: str, value: object, policy: dict[str, float], problems: ProblemList) -> None:
    if what := policy_problem(key, value):
        problems.add("settings", index, key, what)
    else:
        policy[key] = float(value)  # type: ignore[arg-type]  # policy_problem has seen that it is a number


def _unknown_key(name: str, index: int, key: str, problems: ProblemList) -> None:
    known = [*TABLES[name].fields, *(POLICY_NAMES if name == "settings" else ())]
    problems.add(name, index, key, f"there is no key of this name here; {problems.nearest(key, known)}")


def _missing(table: Table, name: str, index: int, raw: Mapping[str, object], problems: ProblemList) -> None:
    for key, declared in table.fields.items():
        if declared.required and key not in raw:
            problems.add(name, index, key, f"is missing; give it ({declared.says})")
