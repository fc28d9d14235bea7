"""docs/trip-file.md lists every table and key with unit, range and default, as the reader has them."""

import importlib.util
import re
from pathlib import Path

from gaswright.exchange.trip_fields import TABLES, FieldKind
from gaswright.units import Kind

ROOT = Path(__file__).resolve().parents[3]
PAGE = (ROOT / "docs" / "trip-file.md").read_text(encoding="utf-8")


def sections() -> dict[str, str]:
    """Title of each section of the page to its text."""
    return {part.partition("\n")[0]: part for part in PAGE.split("\n## ")[1:]}


def test_every_table_and_key_is_on_the_page() -> None:
    """Each table has a section, and each of its keys a row in it with six cells, the range and default not empty."""
    found = sections()
    for name, table in TABLES.items():
        section = found["The top of the file" if not name else f"`[[{name}]]`" if table.array else f"`[{name}]`"]
        rows = {
            cells[0].strip("` "): cells
            for line in section.splitlines()
            if line.startswith("| `") and (cells := [cell.strip() for cell in line.strip("|").split(" | ")])
        }
        assert set(rows) == set(table.fields), name
        for key, cells in rows.items():
            assert len(cells) == 6, key
            assert cells[1], key
            assert cells[4], f"{name}.{key} has no range"
            assert cells[5], f"{name}.{key} has no default"


def test_the_tables_are_current() -> None:
    """The generated part of the page is what the declared keys say now."""
    spec = importlib.util.spec_from_file_location("write_schemas", ROOT / "scripts" / "write_schemas.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.trip_page_text(PAGE) == PAGE, "run scripts/write_schemas.py"


def test_every_number_has_a_range() -> None:
    """Every quantity of the trip file declares its lowest and highest value."""
    for name, table in TABLES.items():
        for key, field in table.fields.items():
            if isinstance(field.kind, Kind) or field.kind in {FieldKind.WHOLE, FieldKind.SPEEDS, FieldKind.WATER}:
                assert field.low is not None, f"{name}.{key}"
                assert field.high is not None, f"{name}.{key}"
                assert field.low < field.high, f"{name}.{key}"


def test_keys_are_plain_words() -> None:
    """Keys are lower case words, so that they need no quotes."""
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", key) for table in TABLES.values() for key in table.fields)
