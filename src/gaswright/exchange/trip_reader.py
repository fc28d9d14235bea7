"""The trip file, read: every problem of a file at once, or a trip."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from gaswright.errors import InputError, Problem
from gaswright.exchange.policy_file import policy_of, user_policy_changes
from gaswright.exchange.toml_file import bytes_of_file, text_of_bytes, toml_of_text
from gaswright.exchange.trip import Trip
from gaswright.exchange.trip_build import trip_of_rows
from gaswright.exchange.trip_checks import TEAM, Rows, check_rows
from gaswright.exchange.trip_fields import TABLES, Field, FieldKind
from gaswright.exchange.trip_lines import line_index
from gaswright.exchange.trip_rows import ProblemList, Row, raw_rows, read_row
from gaswright.exchange.trip_values import MIXED, UNKNOWN, Systems, value_of
from gaswright.units import (
    QuantityError,
    capacity_water_volume_l,
    is_cubic_feet,
    shown_text,
)

__all__ = ["read_trip", "trip_of_bytes"]

_OF_CYLINDER = ("fill", "analysis", "label", "labels_off", "pressure")


def read_trip(path: Path, user_policy_path: Path | None = None) -> Trip:
    """The trip that a file says.

    Args:
        path: of the trip file, TOML, at most 2 MiB.
        user_policy_path: a policy file of the user's own, None.

    Raises:
        InputError: the file cannot be read; it carries every problem of it, each with file, line and key.
    """
    problems: list[Problem] = []
    changes: Mapping[str, float] = {}
    try:
        changes = {} if user_policy_path is None else user_policy_changes(Path(user_policy_path))
    except InputError as error:
        problems += error.problems
    try:
        trip = trip_of_bytes(bytes_of_file(Path(path)), Path(path).name, changes)
    except InputError as error:
        raise InputError([*error.problems, *problems]) from error
    if problems:
        raise InputError(problems)
    return replace(trip, folder=str(Path(path).parent))


def trip_of_bytes(content: bytes, file: str, policy_changes: Mapping[str, float] | None = None) -> Trip:
    """The trip that the bytes of a trip file say.

    Args:
        content: of the file.
        file: its name, for problems.
        policy_changes: of the user's policy file.

    Raises:
        InputError: it carries every problem of the file.
    """
    text = text_of_bytes(content, file)
    problems = ProblemList(file, line_index(text))
    rows = _rows(toml_of_text(text, file), problems)
    check_rows(rows, problems)
    if problems.found:
        raise InputError(problems.in_order())
    settings = rows.one("settings")
    policy = policy_of({**(policy_changes or {}), **(settings.policy if settings else {})}, where=file)
    return trip_of_rows(rows, policy, file=file, input_sha256=hashlib.sha256(content).hexdigest())


def _rows(data: Mapping[str, Any], problems: ProblemList) -> Rows:
    for name in data:
        if name not in TABLES and name not in TABLES[""].fields:
            known = [key for key in (*TABLES, *TABLES[""].fields) if key]
            problems.add("", 0, name, f"there is no table or key of this name; {problems.nearest(name, known)}")
    top = read_row("", 0, {key: data[key] for key in TABLES[""].fields if key in data}, _NO_SYSTEMS, problems)
    units = top.get("units", "metric")
    tables = _plain_tables(data, Systems(units, units, None), problems)
    systems = Systems(units, units, _zone(tables))
    by_diver = _unit_systems(tables["diver"], units)
    tables["cylinder"] = [_cylinder(index, raw, systems, by_diver, problems)
                          for index, raw in enumerate(raw_rows(data, "cylinder", problems))]
    by_cylinder = _by_cylinder(tables["cylinder"], by_diver, units)
    for name in (*_OF_CYLINDER, "answer", "dive"):
        tables[name] = [
            read_row(name, index, raw, replace(systems, diver=_read_by(raw, by_cylinder)), problems)
            for index, raw in enumerate(raw_rows(data, name, problems))
        ]
    tables["emergency"] = _emergency(data, problems)
    return Rows(units, tables)


_NO_SYSTEMS = Systems("metric", "metric", None)


def _plain_tables(data: Mapping[str, Any], systems: Systems, problems: ProblemList) -> dict[str, list[Row]]:
    return {
        name: [read_row(name, index, raw, systems, problems)
               for index, raw in enumerate(raw_rows(data, name, problems))]
        for name in ("trip", "place", "settings", "diver", "level", "case", "surface")
    }


def _zone(tables: Mapping[str, list[Row]]) -> ZoneInfo | None:
    zone: ZoneInfo | None = next((row.get("timezone") for row in tables["trip"]), None)
    return zone


def _unit_systems(rows: list[Row], units: str) -> dict[str | None, str]:
    """Unit system by diver; a diver whose id or units are in doubt reads nobody knows how."""
    found: dict[str | None, str] = {}
    for row in rows:
        name, wrong = row.get("id"), "units" in row.raw and "units" not in row.values
        found[name] = UNKNOWN if wrong or name in found else row.get("units", units)
    return found


def _reads(raw: Mapping[str, object], by_diver: Mapping[str | None, str], units: str) -> str:
    """Whose units read a cylinder's plain numbers: its divers', or the team's for "team"."""
    given = [raw[key] for key in ("diver", "divers") if key in raw]
    names = given[0] if given and isinstance(given[0], list) else given
    if names == [TEAM] and len(given) == 1:
        return units
    systems = {by_diver.get(name, UNKNOWN) if isinstance(name, str) else UNKNOWN for name in names}
    if len(given) != 1 or UNKNOWN in systems or not systems:
        return UNKNOWN
    return systems.pop() if len(systems) == 1 else MIXED


def _by_cylinder(rows: list[Row], by_diver: Mapping[str | None, str], units: str) -> dict[str | None, str]:
    found: dict[str | None, str] = {}
    for row in rows:
        name = row.get("id")
        found[name] = UNKNOWN if name in found else _reads(row.raw, by_diver, units)
    return found


def _read_by(raw: Mapping[str, object], by_cylinder: Mapping[str | None, str]) -> str:
    name = raw.get("cylinder")
    return by_cylinder.get(name, UNKNOWN) if isinstance(name, str) else UNKNOWN


def _cylinder(
    index: int, raw: Mapping[str, object], systems: Systems, by_diver: Mapping[str | None, str], problems: ProblemList
) -> Row:
    """The row of a cylinder; a capacity in cubic feet becomes a water volume once the working pressure is read."""
    units = _reads(raw, by_diver, systems.team)
    row = read_row("cylinder", index, raw, replace(systems, diver=units), problems)
    if "volume" not in row.values or (units == UNKNOWN and not isinstance(raw["volume"], str)):
        return row
    volume_l = row.get("volume")
    if is_cubic_feet(raw["volume"], units):
        if "working_pressure" not in row.values or (units == UNKNOWN and not isinstance(raw["working_pressure"], str)):
            return row
        volume_l = capacity_water_volume_l(volume_l, row.get("working_pressure"))
    limits = TABLES["cylinder"].fields["volume"]
    if limits.low is not None and limits.high is not None and not limits.low <= volume_l <= limits.high:
        what = f"is {shown_text(raw['volume'])}, a water volume of {volume_l:.5g} L"
        problems.add("cylinder", index, "volume", f"{what}; allowed are {limits.low:g} to {limits.high:g} L")
    return replace(row, values={**row.values, "volume": volume_l})


def _emergency(data: Mapping[str, Any], problems: ProblemList) -> list[Row]:
    found = raw_rows(data, "emergency", problems)
    line = Field(FieldKind.TEXT, "a line for the card")
    values: dict[str, Any] = {}
    for key, text in (found[0] if found else {}).items():
        try:
            values[key] = value_of(text, line, _NO_SYSTEMS)
        except QuantityError as error:
            problems.add("emergency", 0, key, str(error))
    return [Row("emergency", 0, problems.line("emergency", 0), found[0], values)] if found else []
