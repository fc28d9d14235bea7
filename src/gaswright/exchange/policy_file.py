"""The policy file: read, checked, and merged with what a user's file or a trip tightens or loosens."""

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from gaswright.errors import InputError, Problem
from gaswright.exchange.toml_file import bytes_of_file, text_of_bytes, toml_of_text
from gaswright.exchange.trip_lines import LineIndex, line_index
from gaswright.findings import Rule
from gaswright.policy import Policy
from gaswright.units import QuantityError, parse_number, shown_text

__all__ = ["POLICY_NAMES", "policy_of", "policy_problem", "shipped_policy", "user_policy_changes"]

POLICY_NAMES = tuple(f.name for f in fields(Policy) if f.name not in {"version", "rules", "loosened"})


@cache
def _shipped() -> Mapping[str, Any]:
    return tomllib.loads(files("gaswright").joinpath("data/policy.toml").read_text(encoding="utf-8"))


def shipped_policy() -> Policy:
    """The policy as shipped."""
    return policy_of({})


def policy_of(changes: Mapping[str, object], *, where: str = "policy") -> Policy:
    """The shipped policy with changed values; a looser value is remembered, a hard cap is refused.

    Args:
        changes: name of a setting to its value, in the setting's own unit.
        where: file or table named in problems.

    Raises:
        InputError: an unknown name, not a number, or outside the hard caps; all problems at once.
    """
    problems = [
        Problem(f"{where}, {name}", message)
        for name, value in changes.items()
        if (message := policy_problem(name, value))
    ]
    if problems:
        raise InputError(problems)
    table = _shipped()
    values = {name: _number(changes.get(name, table[name]["value"])) for name in POLICY_NAMES}
    loosened = tuple(name for name in POLICY_NAMES if _looser(values[name], table[name]))
    rules = {name: Rule(name, table[name]["source"]) for name in POLICY_NAMES}
    return Policy(version=_version(table, changes, loosened), rules=rules, loosened=loosened, **values)


def _version(table: Mapping[str, Any], changes: Mapping[str, object], loosened: tuple[str, ...]) -> str:
    """The version as every sheet prints it: what is loosened is named on each."""
    if loosened:
        return f"{table['version']} LOOSENED: {', '.join(loosened)}"
    return f"{table['version']} tightened" if changes else str(table["version"])


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise InputError(f"{value!r} is not a number")
    return float(value)


def policy_problem(name: str, value: object) -> str | None:
    """What is wrong with a changed value: the sentence with its allowed range; None if nothing is.

    Args:
        name: of the setting.
        value: in the setting's own unit.
    """
    if name not in POLICY_NAMES:
        near = difflib.get_close_matches(name[:60], POLICY_NAMES, n=2, cutoff=0.5)
        hint = f"nearest is {' or '.join(near)}" if near else f"known are {', '.join(POLICY_NAMES)}"
        return f"there is no policy setting of this name; {hint}"
    setting = _shipped()[name]
    low, high, unit = float(setting["low"]), float(setting["high"]), setting["unit"]
    if not _is_number(value):
        return f"{shown_text(value)} is not a number; give {low:g} to {high:g} {unit}"
    if not low <= parse_number(value) <= high:
        return f"{shown_text(value)} {unit} passes a hard cap; allowed are {low:g} to {high:g} {unit}"
    return None


def _is_number(value: object) -> bool:
    if isinstance(value, str):
        return False
    try:
        parse_number(value)
    except QuantityError:
        return False
    return True


def _looser(value: float, setting: Mapping[str, Any]) -> bool:
    if setting["tighter"] == "lower":
        return value > float(setting["value"])
    return bool(setting["tighter"] == "higher" and value < float(setting["value"]))


def user_policy_changes(path: Path) -> dict[str, float]:
    """The changes that a user's policy file asks for: `name = value`, or `[name]` with `value = ...`.

    Args:
        path: of the TOML file.

    Raises:
        InputError: the file cannot be read, or a name or value in it is wrong; all problems at once.
    """
    name = path.name
    text = text_of_bytes(bytes_of_file(path), name)
    lines = line_index(text)
    changes: dict[str, float] = {}
    problems: list[Problem] = []
    for key, written in toml_of_text(text, name).items():
        value, extra = _value_and_extra(written)
        what = policy_problem(key, value) or (f"only value can be changed, not {extra}" if extra else None)
        if what:
            problems.append(Problem(_where(name, lines, key), what))
        else:
            changes[key] = _number(value)
    if problems:
        raise InputError(problems)
    return changes


def _value_and_extra(written: object) -> tuple[object, str]:
    if not isinstance(written, Mapping):
        return written, ""
    return written.get("value"), ", ".join(shown_text(key) for key in written if key != "value")


def _where(file: str, lines: LineIndex, key: str) -> str:
    places = ((key, 0, "value"), (key, 0, ""), ("", 0, key))
    line = next((lines[place] for place in places if place in lines), 0)
    return f"{file}, line {line}, {shown_text(key)[1:-1]}" if line else f"{file}, {shown_text(key)[1:-1]}"
