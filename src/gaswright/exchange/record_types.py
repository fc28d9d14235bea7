"""What a record is: a table made from facts, with its period, the heads of its book, and how long it is kept."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from gaswright.custody.fact import Fact, FactId
from gaswright.errors import InputError

__all__ = [
    "RETENTION", "BookHead", "Cell", "Column", "Form", "Period", "RecordKind", "RecordTable", "Retention", "Row",
    "local", "record_kind_of",
]

Cell = str | int | datetime | None


class RecordKind(StrEnum):
    """The records that an organisation asks for."""

    FILL_LOG = "fill-log"
    ANALYSIS_LOG = "analysis-log"
    LABELS = "labels"
    EQUIPMENT = "equipment"
    APPROVALS = "approvals"
    DIVES = "dives"
    INCIDENTS = "incidents"


def record_kind_of(name: str) -> RecordKind:
    """The record of a name.

    Args:
        name: "fill-log", "analysis-log" ...

    Raises:
        InputError: another name.
    """
    if name not in set(RecordKind):
        raise InputError(f"there is no record {name!r}; choose {', '.join(RecordKind)}")
    return RecordKind(name)


class Form(StrEnum):
    """How the integers of a column are to be read."""

    TEXT = "text"
    TIME = "time"
    WHOLE = "whole"    # in the column's unit
    CENTI = "centi"    # hundredths of the column's unit
    MILLI = "milli"    # thousandths of the column's unit
    E4 = "e4"          # hundredths of a percent; a fraction in JSON


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Args:
        key: name in CSV and JSON, with its unit at the end.
        title: on paper, without its unit.
        form: of its cells.
        unit: of the numbers on paper and in CSV, "" where none.
        share: of the width of the paper, 0 for a column of the files alone.
    """

    key: str
    title: str
    form: Form = Form.TEXT
    unit: str = ""
    share: int = 0


@dataclass(frozen=True, slots=True)
class Row:
    """One fact as a line.

    Args:
        fact: id, which numbers the line.
        cells: one a column.
        voided_by: corrections that void the fact: the line is struck, and kept.
    """

    fact: FactId
    cells: tuple[Cell, ...]
    voided_by: tuple[FactId, ...] = ()


@dataclass(frozen=True, slots=True)
class BookHead:
    """The latest fact of one origin when the record was made.

    Args:
        origin: eight letters.
        number: of the fact.
        hash: of the fact, hex.
    """

    origin: str
    number: int
    hash: str


@dataclass(frozen=True, slots=True)
class Period:
    """Days, both ends counted, each local to whoever recorded the fact; None is open.

    Args:
        first: day.
        last: day.
    """

    first: date | None = None
    last: date | None = None

    def __post_init__(self) -> None:
        """Refuse a period that ends before it begins."""
        if self.first is not None and self.last is not None and self.last < self.first:
            raise InputError(f"the period ends on {self.last}, before it begins on {self.first}; exchange the two days")

    def holds(self, fact: Fact) -> bool:
        """True if the fact happened in it.

        Args:
            fact: whose `at` counts.
        """
        day = local(fact.at, fact.zone).date()
        return (self.first is None or day >= self.first) and (self.last is None or day <= self.last)

    @property
    def text(self) -> str:
        """The period in words: "2027-05-01 to 2027-05-31", "from the beginning to 2027-05-31"."""
        first = "the beginning" if self.first is None else self.first.isoformat()
        last = "now" if self.last is None else self.last.isoformat()
        return f"{first} to {last}"


def local(moment: datetime, zone: str) -> datetime:
    """The moment on the clocks of a zone; UTC where this machine does not know the zone.

    Args:
        moment: aware.
        zone: IANA name.
    """
    try:
        return moment.astimezone(ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return moment.astimezone(ZoneInfo("UTC"))


@dataclass(frozen=True, slots=True)
class Retention:
    """How long a record is kept at least: the longest of the rules that are named.

    The book itself never forgets a fact; this says what may be asked for, and what to do with papers and files.

    Args:
        name: of the class.
        keep: in words.
        source: rules, each with what it says.
        status: seen, memory or policy.
    """

    name: str
    keep: str
    source: str
    status: str


_DIVE = Retention(
    "dive", "at least 2 years after the last entry; 5 years after decompression illness; the depth profile until the "
    "record of the dive is complete",
    "UK Diving at Work Regulations 1997 reg. 6: 2 years; 29 CFR 1910.440: dive record 1 year, 5 on decompression "
    "illness, profile until the record is complete", "seen",
)
_GAS = Retention(
    "gas", "as long as the record of the dives on which the gas was breathed: at least 2 years after the last entry, 5 "
    "after decompression illness",
    "policy: no rule that we know names this record; the dive record rests on it (class dive)", "policy",
)
_EQUIPMENT = Retention(
    "equipment", "until the equipment is withdrawn from service, then at least 2 years",
    "29 CFR 1910.440, from memory: equipment inspection and testing until withdrawn from service; the years after it: "
    "policy", "memory",
)
_INCIDENT = Retention(
    "incident", "at least 5 years",
    "29 CFR 1910.440: 5 years on decompression illness; for every other incident the same by policy", "seen",
)

RETENTION: Mapping[RecordKind, Retention] = {
    RecordKind.FILL_LOG: _GAS, RecordKind.ANALYSIS_LOG: _GAS, RecordKind.LABELS: _GAS,
    RecordKind.EQUIPMENT: _EQUIPMENT, RecordKind.APPROVALS: _DIVE, RecordKind.DIVES: _DIVE,
    RecordKind.INCIDENTS: _INCIDENT,
}


@dataclass(frozen=True, slots=True)
class RecordTable:
    """One record.

    Args:
        kind: of the record.
        title: on paper.
        columns: without the number of the fact and what voids it, which every line has.
        rows: in the order of recording.
        retention: how long it is kept.
        period: which days.
        heads: of the book, by origin.
        notes: what a reader must know.
        policy: version by which MODs were computed.
        made_at: aware.
        made_by: name and id, "" where nobody was named.
    """

    kind: RecordKind
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    retention: Retention
    period: Period
    heads: tuple[BookHead, ...]
    notes: tuple[str, ...]
    policy: str
    made_at: datetime
    made_by: str
