"""The one font of every sheet: where it lies and which characters it can show."""

import struct
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from gaswright.errors import InputError, Problem

__all__ = ["FONT_FAMILY", "FONT_FOLDER", "characters", "refuse_missing"]

FONT_FOLDER = Path(__file__).parent / "fonts"
FONT_FAMILY = "B612"
_FONT_FILE = FONT_FOLDER / "B612-Bold.otf"
_SEGMENTED = 4  # the cmap subtable format for the basic plane [OPENTYPE] cmap format 4


@cache
def characters() -> frozenset[str]:
    """Every character that the font maps to a glyph, read from its own cmap table.

    Source: OPENTYPE, "cmap", format 4.
    """
    data = _FONT_FILE.read_bytes()
    table = _table_at(data, b"cmap")
    count = struct.unpack_from(">H", data, table + 2)[0]
    offsets = [struct.unpack_from(">HHI", data, table + 4 + 8 * at)[2] for at in range(count)]
    formats = {offset: struct.unpack_from(">H", data, table + offset)[0] for offset in offsets}
    subtable = next(table + offset for offset, form in formats.items() if form == _SEGMENTED)
    return frozenset(_mapped(data, subtable))


def _table_at(data: bytes, tag: bytes) -> int:
    count = struct.unpack_from(">H", data, 4)[0]
    records = (struct.unpack_from(">4sIII", data, 12 + 16 * at) for at in range(count))
    return next(int(offset) for name, _, offset, _ in records if name == tag)


def _mapped(data: bytes, at: int) -> Iterator[str]:
    """Walk the segments; a code without a glyph (glyph 0) is left out."""
    count = struct.unpack_from(">H", data, at + 6)[0] // 2
    ends, starts, deltas, ranges = (
        struct.unpack_from(f">{count}H", data, at + 14 + 2 * shift)
        for shift in (0, count + 1, 2 * count + 1, 3 * count + 1)
    )
    first_range = at + 16 + 6 * count
    for index in range(count):
        for code in range(starts[index], min(ends[index], 0xFFFE) + 1):
            glyph = code
            if ranges[index]:
                where = first_range + 2 * index + ranges[index] + 2 * (code - starts[index])
                glyph = struct.unpack_from(">H", data, where)[0]
            if glyph and (glyph + deltas[index]) % 0x10000:
                yield chr(code)


def refuse_missing(value: object, where: str) -> None:
    """Return nothing if every character inside a value can be printed.

    Args:
        value: a text, or mappings and sequences of texts, numbers and truth values.
        where: what the value is, for the sentence.

    Raises:
        InputError: a character has no glyph; every such text is named.
    """
    problems = [
        Problem(place, f"the character {missing!r} (U+{ord(missing):04X}) in {text!r} is not in the font of the "
                "sheets and would be missing on paper; write it with other letters")
        for place, text in _texts(value, where)
        for missing in sorted(set(text) - characters())
    ]
    if problems:
        raise InputError(problems)


def _texts(value: object, where: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield where, value
    elif isinstance(value, dict):
        for key, part in value.items():
            yield from _texts(part, f"{where}.{key}")
    elif isinstance(value, list | tuple):
        for part in value:
            yield from _texts(part, where)
