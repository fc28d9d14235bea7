"""Words and numbers of records: what a fact says, in a line that a person reads."""

import re
from collections.abc import Iterator, Mapping
from datetime import datetime

from gaswright.custody.fact import Kind, Value
from gaswright.exchange.record_types import Cell, Column, Form

__all__ = [
    "KIND_WORDS", "NOTE", "NOTE_ERASED", "PERSON_ERASED", "cell_text", "data_text", "note_said", "person_said",
]

PERSON_ERASED, NOTE_ERASED = "person.erased", "note.erased"  # kinds of facts that custody does not read
KIND_WORDS: Mapping[str, str] = {
    Kind.FILLED: "filled", Kind.TOPPED_UP: "topped up", Kind.DRAINED: "drained", Kind.LENT: "lent",
    Kind.RETURNED: "returned", Kind.FROZEN: "kept as evidence", Kind.STAGED: "staged", Kind.LIFTED: "lifted",
    Kind.ANALYSED: "analysed", Kind.ACCEPTED: "accepted", Kind.PRESSURE_READ: "pressure read",
    Kind.BREATHED: "breathed from", Kind.LABEL_PRINTED: "label printed", Kind.LABEL_APPLIED: "label applied",
    Kind.LABEL_LOST: "label lost", Kind.LABELS_REMOVED: "labels off", Kind.REGISTERED: "registered",
    Kind.ANSWERED: "finding answered", Kind.CORRECTED: "CORRECTION", Kind.INSPECTED: "inspected",
    Kind.OXYGEN_CLEANED: "oxygen cleaned", Kind.OXYGEN_CLEAN_LOST: "no longer oxygen clean", Kind.RETIRED: "retired",
    Kind.ASSIGNED: "assigned", Kind.ANALYSER_CALIBRATED: "analyser calibrated",
    Kind.ANALYSER_CHECKED: "analyser checked", Kind.PLAN_MADE: "plan made", Kind.PLAN_AGREED: "plan agreed",
    Kind.COMPUTER_READ_BACK: "computer read back", Kind.TEAM_CLEARED: "team cleared",
    Kind.CLEARANCE_WITHDRAWN: "clearance withdrawn", Kind.DIVE_LOGGED: "dive logged",
    Kind.INCIDENT_REPORTED: "incident", Kind.POLICY_CHANGED: "policy changed", PERSON_ERASED: "person erased",
    NOTE_ERASED: "note erased",
}
NOTE = "_sha256"  # end of a data key under which the chain holds the hash of a free text alone
LONGEST_NOTE = 1000  # letters that a line shows
_DECIMALS = {Form.CENTI: 2, Form.MILLI: 3, Form.E4: 2}
_HASH = re.compile(r"[0-9a-f]{64}")
_UNITS = {  # end of a data key: decimals and unit
    "_centibar": (2, "bar"), "_centi_ata": (2, "ata"), "_centi_k": (2, "K"), "_cm": (2, "m"), "_ml": (3, "L"),
    "_e4": (2, "%"), "_percent": (0, "%"), "_bar": (0, "bar"), "_min": (0, "min"), "_m": (0, "m"), "_ft": (0, "ft"),
    "_s": (0, "s"),
}


def cell_text(column: Column, cell: Cell) -> str:
    """A cell as CSV has it: numbers in the column's unit, times in ISO 8601 with their offset, "" for nothing.

    Args:
        column: gives the form.
        cell: canonical.
    """
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.isoformat(timespec="seconds")
    return _decimal(cell, _DECIMALS.get(column.form, 0)) if isinstance(cell, int) else cell


def _decimal(value: int, places: int) -> str:
    """An integer of small parts as a decimal number without needless zeros: 1820 of hundredths is "18.2"."""
    if not places:
        return str(value)
    whole, rest = divmod(abs(value), 10**places)
    tail = f"{rest:0{places}d}".rstrip("0")
    return f"{'-' if value < 0 else ''}{whole}{'.' if tail else ''}{tail}"


def person_said(value: object, names: Mapping[str, str]) -> str:
    """A person by name and id, by the id alone where the name was erased or is not here.

    Args:
        value: of the data: an id or a list of ids.
        names: id to name.
    """
    if isinstance(value, list | tuple):
        return ", ".join(person_said(one, names) for one in value)
    if not isinstance(value, str) or not value:
        return ""
    return f"{names[value]} ({value})" if names.get(value, value) != value else value


def note_said(text: str, notes: Mapping[str, str]) -> str:
    """A text of the data; where the chain holds its hash alone the text behind it, or that it is gone.

    A long text behind a hash, such as the file of a plan, is named by its hash.

    Args:
        text: of the data.
        notes: hash to text.
    """
    if not _HASH.fullmatch(text):
        return text
    found = notes.get(text, f"text erased or not in this book ({text[:8]}...)")
    return found if len(found) <= LONGEST_NOTE else f"text of {len(found)} letters, SHA-256 with its salt {text}"


def data_text(data: Mapping[str, Value], used: frozenset[str], notes: Mapping[str, str]) -> str:
    """What the data says besides the columns: "valve: left, depth: 21 m"; nothing is left out but what is null.

    Args:
        data: of a fact.
        used: keys that stand in columns.
        notes: hash to text.
    """
    return "; ".join(_said(key, value, notes) for key, value in sorted(data.items())
                     if key not in used and value is not None)


def _said(key: str, value: Value, notes: Mapping[str, str]) -> str:
    suffix = next((end for end in _UNITS if key.endswith(end)), "")
    name = key.removesuffix(suffix).removesuffix(NOTE).replace("_", " ")
    return f"{name}: {_value_said(value, suffix, notes)}"


def _value_said(value: Value, suffix: str, notes: Mapping[str, str]) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        decimals, unit = _UNITS.get(suffix, (0, ""))
        return f"{_decimal(value, decimals)} {unit}".strip()
    if isinstance(value, list):
        return ", ".join(_value_said(one, suffix, notes) for one in value)
    if isinstance(value, dict):
        return ", ".join(_parts(value, notes))
    return "none" if value is None else note_said(value, notes)


def _parts(value: Mapping[str, Value], notes: Mapping[str, str]) -> Iterator[str]:
    return (_said(key, one, notes) for key, one in sorted(value.items()) if one is not None)
