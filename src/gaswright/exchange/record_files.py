"""Records as files for other programs: CSV as RFC 4180 has it, without formulas, and JSON with types."""

import csv
import io
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime

from gaswright.exchange.answer_types import Head
from gaswright.exchange.answers import PROGRAM, json_text, sha256_of_text
from gaswright.exchange.record_types import Cell, Column, Form, RecordTable
from gaswright.exchange.record_words import cell_text

__all__ = ["RECORD_ANSWERS", "RecordAnswer", "csv_text", "record_json_text", "safe_cell"]

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")  # also their full-width forms
_PARTS = {Form.CENTI: 100, Form.MILLI: 1000, Form.E4: 10_000}


@dataclass(frozen=True, slots=True)
class RecordColumnAnswer:
    """One column: the key of its cells, what it is called on paper, the unit of its numbers here."""

    key: str
    title: str
    unit: str


@dataclass(frozen=True, slots=True)
class RecordRowAnswer:
    """One fact as a line; voided lines stay, with the corrections that void them."""

    fact: str
    voided_by: tuple[str, ...]
    cells: Mapping[str, str | int | float | None]


@dataclass(frozen=True, slots=True)
class RetentionAnswer:
    """How long the record is kept at least, and which rule says so; status is seen, memory or policy."""

    name: str
    keep: str
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class BookHeadAnswer:
    """The latest fact of one origin when the record was made."""

    origin: str
    number: int
    hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordAnswer(Head):
    """`records`: one record; oxygen and helium are fractions, times ISO 8601, the days null where open."""

    record: str
    title: str
    first_day: str | None
    last_day: str | None
    made_at: str
    made_by: str
    retention: RetentionAnswer
    heads: tuple[BookHeadAnswer, ...]
    notes: tuple[str, ...]
    columns: tuple[RecordColumnAnswer, ...]
    rows: tuple[RecordRowAnswer, ...]


RECORD_ANSWERS: Mapping[str, type] = {"record": RecordAnswer}


def csv_text(table: RecordTable) -> str:
    """The record as CSV: a header line, a line a fact, CR LF at each end, quotes where RFC 4180 asks for them.

    Args:
        table: the record.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(["fact", *(_csv_key(column) for column in table.columns), "voided_by"])
    for row in table.rows:
        cells = (cell_text(column, cell) for column, cell in zip(table.columns, row.cells, strict=True))
        writer.writerow([safe_cell(cell) for cell in (row.fact, *cells, " ".join(row.voided_by))])
    return out.getvalue()


def _csv_key(column: Column) -> str:
    """Oxygen and helium stand in percent here, and the header says so."""
    return f"{column.key}_percent" if column.form is Form.E4 else column.key


def safe_cell(text: str) -> str:
    """The text, behind an apostrophe if a spreadsheet could take it for a formula.

    Args:
        text: of a cell.
    """
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA) else text


def record_json_text(table: RecordTable) -> str:
    """The record as JSON text.

    Args:
        table: the record.
    """
    heads = tuple(BookHeadAnswer(head.origin, head.number, head.hash) for head in table.heads)
    kept, days = table.retention, table.period
    answer = RecordAnswer(
        schema="gaswright.record/1", program=PROGRAM, policy=table.policy,
        input_sha256=sha256_of_text("\n".join(f"{one.origin}-{one.number} {one.hash}" for one in table.heads)),
        record=table.kind.value, title=table.title,
        first_day=None if days.first is None else days.first.isoformat(),
        last_day=None if days.last is None else days.last.isoformat(),
        made_at=table.made_at.isoformat(timespec="seconds"), made_by=table.made_by,
        retention=RetentionAnswer(kept.name, kept.keep, kept.source, kept.status), heads=heads, notes=table.notes,
        columns=tuple(RecordColumnAnswer(one.key, one.title, _unit(one)) for one in table.columns),
        rows=tuple(_row(table, at) for at in range(len(table.rows))),
    )
    return json_text(asdict(answer)) + "\n"


def _unit(column: Column) -> str:
    return "fraction" if column.form is Form.E4 else column.unit


def _row(table: RecordTable, at: int) -> RecordRowAnswer:
    row = table.rows[at]
    cells = {column.key: _value(column, cell) for column, cell in zip(table.columns, row.cells, strict=True)}
    return RecordRowAnswer(row.fact, row.voided_by, cells)


def _value(column: Column, cell: Cell) -> str | int | float | None:
    if isinstance(cell, datetime):
        return cell.isoformat(timespec="seconds")
    return cell / _PARTS[column.form] if isinstance(cell, int) and column.form in _PARTS else cell
