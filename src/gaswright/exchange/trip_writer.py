"""A day as a trip file: the words of a plan, and rows made from custody facts.

A TOML writer for what the reader of trip files reads, nothing more: tables, arrays of tables, plain values.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal

from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import of_kind
from gaswright.errors import Refused
from gaswright.exchange.toml_file import text_of_bytes, toml_of_text
from gaswright.physics.mixture import AIR, percent_text
from gaswright.units import has_unit

__all__ = ["CUSTODY_TABLES", "header_of", "rows_of_facts", "toml_text", "with_names"]

CUSTODY_TABLES = ("fill", "analysis", "label", "labels_off", "pressure", "answer")
TELLABLE = (Kind.FILLED, Kind.ANALYSED, Kind.ACCEPTED, Kind.LABEL_APPLIED, Kind.LABEL_PRINTED, Kind.LABELS_REMOVED,
            Kind.PRESSURE_READ, Kind.BREATHED, Kind.STAGED)
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?")

Table = dict[str, object]


def header_of(content: bytes, file: str) -> Table:
    """Every table of a trip file but the rows of custody; each diver's name is replaced by the id.

    Args:
        content: of a file that was read without a problem.
        file: its name, for problems.
    """
    data = toml_of_text(text_of_bytes(content, file), file)
    kept = {name: value for name, value in data.items() if name not in CUSTODY_TABLES}
    divers = kept.get("diver")
    if isinstance(divers, list):
        kept["diver"] = [{**row, "name": row["id"]} for row in divers]
    return kept


def with_names(header: Mapping[str, object], names: Mapping[str, str]) -> Table:
    """A header with the divers' names.

    Args:
        header: as `header_of` gives it.
        names: person id to name; a diver without one keeps the id.
    """
    divers = header.get("diver")
    rows = divers if isinstance(divers, list) else []
    return {**header, "diver": [{**row, "name": names.get(str(row["id"]), row["id"])} for row in rows]}


def toml_text(data: Mapping[str, object]) -> str:
    """TOML that reads as the same data: plain keys first, then tables, then arrays of tables, each in its order.

    Args:
        data: texts, whole and decimal numbers, true and false, dates, times, lists, tables.
    """
    tables = {name: value for name, value in data.items() if isinstance(value, Mapping)}
    arrays = {name: value for name, value in data.items() if _is_array_of_tables(value)}
    plain = {name: value for name, value in data.items() if name not in tables and name not in arrays}
    parts = [_lines(plain)] if plain else []
    parts += [f"[{_key(name)}]\n{_lines(table)}" for name, table in tables.items()]
    parts += [f"[[{_key(name)}]]\n{_lines(row)}" for name, rows in arrays.items() for row in _rows(rows)]
    return "\n".join(parts)


def _is_array_of_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(row, Mapping) for row in value)


def _rows(value: object) -> Iterable[Mapping[str, object]]:
    return value if isinstance(value, list) else ()


def _lines(table: Mapping[str, object]) -> str:
    return "".join(f"{_key(name)} = {_value(value)}\n" for name, value in table.items() if value is not None)


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _quoted(name)


def _value(value: object) -> str:  # noqa: PLR0911  one line for each kind of value
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, Decimal):
        return f"{value:f}" if "." in f"{value:f}" else f"{value:f}.0"
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, date | int):
        return str(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(name)} = {_value(item)}" for name, item in value.items()) + "}"
    raise TypeError(f"{value!r} has no place in a trip file")


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(letter if letter.isprintable() else f"\\U{ord(letter):08x}" for letter in escaped) + '"'


def rows_of_facts(stream: Sequence[Fact]) -> dict[str, list[Table]]:
    """The rows of custody that tell the facts of one cylinder's gas, by table.

    Args:
        stream: facts of one cylinder's gas, in the order of their ids; analyses beside each other keep it.

    Raises:
        Refused: a fact has no row in a trip file: a bundle tells everything.
    """
    cylinder = stream[0].stream.removeprefix("gas/") if stream else ""
    if untold := sorted({fact.kind for fact in stream if fact.kind not in TELLABLE}):
        raise Refused(f"{cylinder}: a trip file has no row for {', '.join(untold)}; export a bundle, which tells all")
    found: dict[str, list[Table]] = {name: [] for name in CUSTODY_TABLES}
    for fact in stream:
        head: Table = {"cylinder": cylinder, "at": fact.at.astimezone(UTC), "by": fact.by}
        if fact.kind == Kind.FILLED and fact.data.get("implied") is not True:
            found["fill"].append(head | {"pressure": _bar(fact), "target": _target(fact)})
        elif fact.kind == Kind.ANALYSED:
            found["analysis"].append(head | _analysis(fact, stream))
        elif fact.kind == Kind.LABEL_APPLIED:
            found["label"].append(head | {"serial_read": fact.data.get("serial_read")})
        elif fact.kind == Kind.LABELS_REMOVED:
            found["labels_off"].append(head)
        elif fact.kind in {Kind.PRESSURE_READ, Kind.BREATHED} and _bar(fact):  # both tell how much is left
            found["pressure"].append(head | {"bar": _bar(fact)})
    return found


def _bar(fact: Fact) -> str | None:
    gauge = fact.data.get("gauge_centibar")
    return f"{gauge / 100:.2f} bar" if isinstance(gauge, int) else None


def _target(fact: Fact) -> str | None:
    o2_e4, he_e4 = fact.data.get("target_o2_e4"), fact.data.get("target_he_e4")
    if not isinstance(o2_e4, int):
        return None
    if (o2_e4, he_e4 or 0) == (AIR.o2_e4, AIR.he_e4):
        return "air"
    return percent_text(o2_e4) + (f"/{percent_text(he_e4)}" if isinstance(he_e4, int) and he_e4 else "")


def _analysis(fact: Fact, stream: Sequence[Fact]) -> Table:
    data = fact.data
    typed = data.get("typed")
    said = typed if isinstance(typed, dict) else {}
    kelvin = data.get("temperature_centi_k")
    accepted = [str(name) for name in (data.get("accepted_by"),) if name]
    accepted += [one.by for one in of_kind(stream, Kind.ACCEPTED) if fact.id in one.rests_on and one.by not in accepted]
    earlier = [one for one in of_kind(stream, Kind.ANALYSED) if one.rests_on == fact.rests_on and one.at < fact.at]
    beside = bool(earlier) and not any(one.id in fact.after for one in earlier)
    return {
        "o2": _percent(data.get("o2_e4"), said.get("o2")), "he": _percent(data.get("he_e4"), said.get("he")),
        "pressure": _bar(fact), "temperature": f"{kelvin / 100:.2f} K" if isinstance(kelvin, int) else None,
        "witness": data.get("witness"), "accepted_by": accepted or None, "analyser": data.get("analyser"),
        "uncertainty_o2": _hundredths(data.get("u_o2_e4")), "uncertainty_he": _hundredths(data.get("u_he_e4")),
        "beside": True if beside else None,
    }


def _percent(part_e4: object, typed: object) -> object:
    """The reading as it was typed, where a trip file reads that; else its number; nothing where nothing was read."""
    if not isinstance(part_e4, int) or not isinstance(typed, str) or not typed or typed == "none":
        return None
    if _NUMBER.fullmatch(typed):
        return Decimal(typed) if "." in typed else int(typed)
    return typed if has_unit(typed) else Decimal(part_e4) / 100


def _hundredths(value: object) -> Decimal | None:
    return Decimal(value) / 100 if isinstance(value, int) else None
