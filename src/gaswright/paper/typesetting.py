"""The one place that calls the typesetter: values in, PDF or pictures out, the same bytes every time.

The typesetter fails quietly: an unknown font gives a blank sheet with only a warning, a missing glyph nothing at all.
So every character is looked up in the font first, warnings are errors, and only our own font folder is seen.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

from gaswright.errors import Refused
from gaswright.paper.font import FONT_FOLDER, refuse_missing

__all__ = ["Sheet", "pdf_of", "pictures_of"]

TEMPLATE_FOLDER = Path(__file__).parent / "templates"
_PDF_STANDARD = "a-2b"  # ISO 19005-2, level B: fonts embedded, nothing from outside
_REFUSAL = re.compile(r"^panicked with: refused: (.*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is to be set: a template and the values that go into it.

    Args:
        template: name of a file in the template folder, without its ending.
        values: texts, numbers, truth values, mappings and lists of them.
        made_at: the date written into the file: that of the record, never the clock's; aware.
    """

    template: str
    values: Mapping[str, object]
    made_at: datetime


def pdf_of(sheet: Sheet) -> bytes:
    """The sheet as PDF/A-2b; equal sheets give equal bytes.

    Args:
        sheet: what is to be set.

    Raises:
        InputError: a character that the font cannot show.
        Refused: something does not fit on the stock.
    """
    return _one(_compiled(sheet, format="pdf", pdf_standards=_PDF_STANDARD))


def pictures_of(sheet: Sheet, dots_per_inch: int) -> tuple[bytes, ...]:
    """The sheet as PNG pictures, one a page.

    Args:
        sheet: what is to be set.
        dots_per_inch: resolution; label printers take 203 or 300.

    Raises:
        InputError: a character that the font cannot show.
        Refused: something does not fit on the stock.
    """
    pages = _compiled(sheet, format="png", ppi=float(dots_per_inch))
    return tuple(pages) if isinstance(pages, list) else (_one(pages),)


def _one(result: object) -> bytes:
    if not isinstance(result, bytes):
        raise TypeError(f"the typesetter gave {type(result).__name__}, not one file")
    return result


def _compiled(sheet: Sheet, **options: object) -> object:
    import typst  # noqa: PLC0415  heavy: only when a sheet is really set

    refuse_missing(dict(sheet.values), sheet.template)
    inputs = {"values": json.dumps(sheet.values, ensure_ascii=False, sort_keys=True, allow_nan=False)}
    try:
        result, warnings = _compiler(sheet.template).compile_with_warnings(
            sys_inputs=inputs, timestamp=int(sheet.made_at.timestamp()), **options
        )
    except typst.TypstError as error:
        refusal = _REFUSAL.search(error.message)
        if refusal is None:
            raise
        raise Refused(refusal[1]) from error
    if warnings:
        raise RuntimeError(f"typesetting {sheet.template}: " + "; ".join(str(warning) for warning in warnings))
    return result


@cache
def _compiler(template: str) -> Any:  # noqa: ANN401  the typesetter's compiler object
    import typst  # noqa: PLC0415  heavy: only when a sheet is really set

    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)])
    return typst.Compiler(str(TEMPLATE_FOLDER / f"{template}.typ"), root=str(TEMPLATE_FOLDER), font_paths=fonts)
