"""The policy file: read, checked, and merged with what a user's file or a trip tightens or loosens."""

import tomllib
from collections.abc import Mapping
from dataclasses import fields
from importlib.resources import files
from typing import Any

from gaswright.errors import InputError, Problem
from gaswright.findings import Rule
from gaswright.policy import Policy

__all__ = ["POLICY_NAMES", "policy_of", "shipped_policy"]

POLICY_NAMES = tuple(f.name for f in fields(Policy) if f.name not in {"version", "rules", "loosened"})


def _shipped() -> dict[str, Any]:
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
    table = _shipped()
    problems = [
        Problem(f"{where}, {name}", message)
        for name, value in changes.items()
        if (message := _problem(name, value, table))
    ]
    if problems:
        raise InputError(problems)
    values = {name: _number(changes.get(name, table[name]["value"])) for name in POLICY_NAMES}
    loosened = tuple(name for name in POLICY_NAMES if _looser(values[name], table[name]))
    rules = {name: Rule(name, table[name]["source"]) for name in POLICY_NAMES}
    return Policy(version=table["version"], rules=rules, loosened=loosened, **values)


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(f"{value!r} is not a number")
    return float(value)


def _problem(name: str, value: object, table: Mapping[str, Any]) -> str | None:
    if name not in POLICY_NAMES:
        return f"there is no policy setting of this name; known are {', '.join(POLICY_NAMES)}"
    low, high, unit = table[name]["low"], table[name]["high"], table[name]["unit"]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return f"{value!r} is not a number; give {low:g} to {high:g} {unit}"
    if not low <= value <= high:
        return f"{value:g} {unit} passes a hard cap; allowed are {low:g} to {high:g} {unit}"
    return None


def _looser(value: float, setting: Mapping[str, Any]) -> bool:
    if setting["tighter"] == "lower":
        return value > float(setting["value"])
    return setting["tighter"] == "higher" and value < float(setting["value"])
