"""Where in a trip file a table or a key stands: found by scanning its text, for the sentences of problems."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping

__all__ = ["LineIndex", "line_index"]

_HEADER = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_\"'.\- ]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"\s*(?:([A-Za-z0-9_-]+)|\"([^\"]*)\"|'([^']*)')\s*[.=]")

_LONGEST_LINE = 300  # no header or key is longer, and a search in a longer line could take long

LineIndex = Mapping[tuple[str, int, str], int]  # (table, row, key) -> line; key "" is the table's own line


def line_index(text: str) -> LineIndex:
    """The line of every table and key that a scan of the text finds; inline tables are not looked into.

    Args:
        text: of the file.
    """
    found: dict[tuple[str, int, str], int] = {}
    for place, number in _places(text):
        found.setdefault(place, number)
    return found


def _places(text: str) -> Iterator[tuple[tuple[str, int, str], int]]:
    rows: Counter[str] = Counter()
    table, row = "", 0
    for number, whole_line in enumerate(text.split("\n"), start=1):
        line = whole_line[:_LONGEST_LINE]
        if header := _HEADER.match(line):
            table = header.group(2).strip("\"' ")
            row = rows[table]
            rows[table] += header.group(1) == "[["
            yield (table, row, ""), number
        elif key := _KEY.match(line):
            yield (table, row, key.group(1) or key.group(2) or key.group(3) or ""), number
