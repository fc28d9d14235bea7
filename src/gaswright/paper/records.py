"""Records on paper: long tables with their heading on every page, for keeping and for whoever asks.

A record is not a sheet to dive by: it needs no permit, and carries the hashes of its book instead of a ruler.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from gaswright.errors import Refused
from gaswright.paper.font import characters
from gaswright.paper.stock import Stock, size_mm, stock_of
from gaswright.paper.typesetting import Sheet, pdf_of, pictures_of
from gaswright.paper.wording import time_text

__all__ = [
    "RecordColumn", "RecordLine", "RecordSheet", "moment_text", "printable", "record_code", "record_pdf",
    "record_pictures",
]

CAUTION = (
    "A record of what people entered, computed from the book. It is evidence against quiet change, not proof of who "
    "somebody was, and no leave to dive: analyse every cylinder yourself."
)
_CODE_LENGTH = 8
LONGEST = 20_000  # lines: about 20 s and 2500 pages


@dataclass(frozen=True, slots=True)
class RecordColumn:
    """A column on paper.

    Args:
        title: in its head.
        unit: below it, "" where none.
        share: of the width.
    """

    title: str
    unit: str
    share: int


@dataclass(frozen=True, slots=True)
class RecordLine:
    """A line on paper.

    Args:
        number: id of the fact.
        cells: texts, one a column.
        struck: voided: drawn through, and kept.
    """

    number: str
    cells: tuple[str, ...]
    struck: bool


@dataclass(frozen=True, slots=True)
class RecordSheet:
    """A record as it will stand on paper.

    Args:
        title: "Fill log".
        period: which days, in words.
        retention: how long it is kept, in words with the source.
        columns: of the table.
        lines: of the table.
        heads: of the book: "K7Q2M9XA-412" and its hash.
        notes: what a reader must know.
        policy: version.
        made_at: aware, in the zone of the book.
        made_by: name and id, "" where nobody was named.
    """

    title: str
    period: str
    retention: str
    columns: tuple[RecordColumn, ...]
    lines: tuple[RecordLine, ...]
    heads: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    policy: str
    made_at: datetime
    made_by: str


def moment_text(moment: datetime) -> str:
    """Day and time with the offset of the clock that showed them: "14 May 2027 07:40 +02:00".

    Args:
        moment: aware, in the zone of whoever recorded it.
    """
    return f"{time_text(moment)} {moment.isoformat()[-6:]}"


def record_code(sheet: RecordSheet) -> str:
    """A few characters that stand on every page and change with anything on it.

    Args:
        sheet: the record.
    """
    text = json.dumps(asdict(sheet), sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:_CODE_LENGTH].upper()


def printable(text: str) -> str:
    """The text with every character that the font lacks as its code point in braces: {U+0141}.

    A record must not fail for one name, nor print a hole.

    Args:
        text: of a record.
    """
    return "".join(one if one in characters() and one.isprintable() else f"{{U+{ord(one):04X}}}" for one in text)


def record_pdf(sheet: RecordSheet, stock: str = Stock.A4) -> bytes:
    """The record as PDF, lengthwise, as many pages as it takes.

    Args:
        sheet: the record.
        stock: "a4" or "letter".

    Raises:
        InputError: unknown paper.
        Refused: more lines than anybody reads on paper.
    """
    return pdf_of(_set(sheet, stock))


def record_pictures(sheet: RecordSheet, stock: str = Stock.A4, *, dots_per_inch: int = 203) -> tuple[bytes, ...]:
    """The same as PNG pictures, one a page.

    Args:
        sheet: the record.
        stock: "a4" or "letter".
        dots_per_inch: resolution.

    Raises:
        InputError: unknown paper.
    """
    return pictures_of(_set(sheet, stock), dots_per_inch)


def _set(sheet: RecordSheet, stock: str) -> Sheet:
    height_mm, width_mm = size_mm(stock_of(stock))
    if len(sheet.lines) > LONGEST:
        raise Refused(f"the record has {len(sheet.lines)} lines, on paper are at most {LONGEST}; choose a shorter "
                      "period, or CSV and JSON alone")
    values = {
        "width_mm": width_mm, "height_mm": height_mm, "title": sheet.title, "period": sheet.period,
        "retention": sheet.retention, "notes": sheet.notes, "policy": sheet.policy, "caution": CAUTION,
        "made_at": moment_text(sheet.made_at), "made_by": sheet.made_by or "nobody named", "code": record_code(sheet),
        "columns": [[one.title, one.unit, one.share] for one in sheet.columns],
        "lines": [[one.number, list(one.cells), one.struck] for one in sheet.lines],
        "heads": [list(head) for head in sheet.heads],
    }
    return Sheet("record", _printable(values), sheet.made_at)


def _printable(values: Mapping[str, object]) -> dict[str, object]:
    return {key: _made_printable(value) for key, value in values.items()}


def _made_printable(value: object) -> object:
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, Sequence):
        return [_made_printable(one) for one in value]
    return value
