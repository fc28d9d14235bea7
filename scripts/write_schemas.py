"""Write what docs say from types: docs/schema/*.json from the JSON answers, and the tables of docs/trip-file.md.

Run it after `exchange/answer_types.py`, `exchange/record_files.py` or `exchange/trip_fields.py` changed; a test
compares them.
"""

import json
from pathlib import Path

from pydantic import TypeAdapter

from gaswright.exchange.answer_types import ANSWERS
from gaswright.exchange.answers_book import BOOK_ANSWERS
from gaswright.exchange.answers_robustness import ROBUSTNESS_ANSWERS
from gaswright.exchange.record_files import RECORD_ANSWERS
from gaswright.exchange.trip_fields import TABLES, Field, FieldKind, Reads
from gaswright.units import Kind, plain_number, plain_unit

__all__ = ["schema_texts", "trip_page_text"]

DOCS = Path(__file__).resolve().parents[1] / "docs"
PAGE = DOCS / "trip-file.md"
MARK = "<!-- made by scripts/write_schemas.py from here -->\n"
RANGES = {
    FieldKind.TEXT: "1 to 200 characters", FieldKind.ID: "1 to 32 letters, digits, `.`, `-`, `_`",
    FieldKind.IDS: "ids, each once", FieldKind.BOOL: "`true`, `false`", FieldKind.DATE: "1970 to 2200",
    FieldKind.TIME: "1970 to 2200", FieldKind.GAS_PERCENT: "0 to 100 %, two decimals; not between 0 and 1",
    FieldKind.MIXTURE: "`air`, `oxygen`, `32`, `EAN32`, `18/45`", FieldKind.ZONE: "an IANA name",
}  # fmt: skip


def schema_texts() -> dict[str, str]:
    """File name to the text of each schema."""
    answers = {**ANSWERS, **BOOK_ANSWERS, **RECORD_ANSWERS, **ROBUSTNESS_ANSWERS}
    return {f"{name}.json": _schema(name, answer) for name, answer in answers.items()}


def _schema(name: str, answer: type) -> str:
    schema = TypeAdapter(answer).json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": f"gaswright.{name}/1"}
    return json.dumps({**head, **schema}, indent=2, sort_keys=True) + "\n"


def trip_page_text(page: str) -> str:
    """The page of the trip file with its tables made anew.

    Args:
        page: as it is; what stands before the mark is kept.
    """
    return page.partition(MARK)[0] + MARK + "".join(_table(name) for name in TABLES)


def _table(name: str) -> str:
    table = TABLES[name]
    title = "The top of the file" if not name else f"`[[{name}]]`" if table.array else f"`[{name}]`"
    need = " Required." if table.required else ""
    head = f"\n## {title}\n{table.says[:1].upper()}{table.says[1:]}.{need}\n"
    if not table.fields:
        return head
    rows = "".join(_row(key, field) for key, field in table.fields.items())
    columns = "| key | what | holds | unit of a plain number | range | default |\n"
    return f"{head}\n{columns}|---|---|---|---|---|---|\n{rows}"


def _row(key: str, field: Field) -> str:
    default = "**required**" if field.required else field.default or "not said"
    return f"| `{key}` | {field.says} | {field.kind.value} | {_unit(field)} | {_range(field)} | {default} |\n"


def _kind(field: Field) -> Kind | None:
    quantities = {FieldKind.SPEEDS: Kind.SPEED, FieldKind.WATER: Kind.DENSITY, FieldKind.MARK: Kind.DEPTH}
    return field.kind if isinstance(field.kind, Kind) else quantities.get(field.kind)


def _unit(field: Field) -> str:
    kind = _kind(field)
    if kind is None:
        return "%" if field.kind is FieldKind.GAS_PERCENT else ""
    metric, imperial = plain_unit(kind, "metric"), plain_unit(kind, "imperial")
    if field.reads is Reads.NAMED or metric == imperial:
        return metric
    return f"{metric} or {imperial}, {field.reads.value}"


def _range(field: Field) -> str:
    if field.kind is FieldKind.GAS_PERCENT and field.low:
        return f"{field.low:g} to 100 %, two decimals"
    if field.choices and field.low is None:
        return ", ".join(f"`{choice}`" for choice in field.choices)
    if field.low is None or field.high is None:
        return RANGES.get(field.kind, "") if isinstance(field.kind, FieldKind) else ""
    kind = _kind(field)
    if kind is None:
        return f"{field.low:g} to {field.high:g}"
    low, high = (plain_number(bound, kind) for bound in (field.low, field.high))
    words = "".join(f"`{choice}`, " for choice in field.choices)
    return f"{words}{low:.3g} to {high:.5g} {plain_unit(kind, 'metric')}"


def main() -> None:
    """Write every schema and the tables of the page."""
    (DOCS / "schema").mkdir(parents=True, exist_ok=True)
    for name, text in schema_texts().items():
        (DOCS / "schema" / name).write_text(text, encoding="utf-8")
        print(f"docs/schema/{name}")
    PAGE.write_text(trip_page_text(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"docs/{PAGE.name}")


if __name__ == "__main__":
    main()
