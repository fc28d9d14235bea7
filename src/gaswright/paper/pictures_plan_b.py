"""The picture of plan B: depths by minutes, white where the dive holds, hatched by the rule that stops it elsewhere."""

import math
from collections.abc import Iterator, Mapping
from html import escape

from gaswright.paper.picture_parts import HATCHES, INK, caption, head
from gaswright.planning.dive import UnitSystem
from gaswright.planning.plan_b import PlanB, PlanBCell
from gaswright.planning.wording import depth_text

__all__ = ["plan_b_svg"]

LEFT, TOP, WIDE, ROW_HIGH = 92.0, 74.0, 820.0, 44.0


def plan_b_svg(
    made: PlanB, units: UnitSystem, names: Mapping[str, str], *, title: str, foot: str
) -> str:
    """The map as SVG text: each cell says its TTS; a corner mark where the team has a question to answer.

    Args:
        made: the map.
        units: of the depths.
        names: code of a rule to its words in the legend.
        title: one line above the picture.
        foot: one line below it: date, policy, caution.
    """
    codes = list(dict.fromkeys(cell.stop.code for row in made.rows for cell in row if cell.stop is not None))
    legend_top = TOP + ROW_HIGH * len(made.rows) + 34
    height = legend_top + 26 * len(codes) + 48
    cell_wide = WIDE / len(made.minutes)
    parts = [
        head(height, title),
        f'<text x="{LEFT}" y="{TOP - 24}" font-weight="bold">bottom time, the way down included</text>',
        *(f'<text x="{LEFT + cell_wide * (n + 0.5):.1f}" y="{TOP - 6}" text-anchor="middle">{minutes:g} min</text>'
          for n, minutes in enumerate(made.minutes)),
        *_rows(made, units, codes, cell_wide), *_edge(made, cell_wide), *_legend(codes, names, legend_top),
        *caption(height, "Number: TTS in min, rounded up. White inside the bold line: it holds. Corner: a question "
                         "for the team.", foot),
        "</svg>\n",
    ]  # fmt: skip
    return "\n".join(parts)


def _rows(made: PlanB, units: UnitSystem, codes: list[str], cell_wide: float) -> Iterator[str]:
    for row, cells in enumerate(made.rows):
        y = TOP + ROW_HIGH * row
        yield (f'<text x="{LEFT - 8}" y="{y + ROW_HIGH / 2 + 5}" text-anchor="end">'
               f"{depth_text(cells[0].depth_m, units)}</text>")
        for column, cell in enumerate(cells):
            yield from _cell(cell, LEFT + cell_wide * column, y, cell_wide, codes)


def _cell(cell: PlanBCell, x: float, y: float, wide: float, codes: list[str]) -> Iterator[str]:
    fill = "#fff" if cell.stop is None else f"url(#hatch{codes.index(cell.stop.code) % len(HATCHES)})"
    yield (f'<rect x="{x:.1f}" y="{y}" width="{wide:.1f}" height="{ROW_HIGH}" fill="{fill}" stroke="{INK}" '
           'stroke-width=".6"/>')
    text = "no way up" if cell.tts_min is None else f"{math.ceil(cell.tts_min - 1e-9)}"
    weight = ' font-weight="bold"' if cell.holds else ""
    yield (f'<text x="{x + wide / 2:.1f}" y="{y + ROW_HIGH / 2 + 5}" text-anchor="middle"{weight} stroke="#fff" '
           f'stroke-width="6" paint-order="stroke">{text}</text>')
    if cell.asks:
        yield (f'<path d="M{x + wide - 13:.1f} {y + 1}h12v12z" fill="{INK}"/>')


def _edge(made: PlanB, cell_wide: float) -> Iterator[str]:
    """The border between what holds and what does not."""
    path = []
    for row, cells in enumerate(made.rows):
        for column, cell in enumerate(cells):
            x, y = LEFT + cell_wide * column, TOP + ROW_HIGH * row
            if column + 1 < len(cells) and cell.holds != cells[column + 1].holds:
                path.append(f"M{x + cell_wide:.1f} {y}v{ROW_HIGH}")
            if row + 1 < len(made.rows) and cell.holds != made.rows[row + 1][column].holds:
                path.append(f"M{x:.1f} {y + ROW_HIGH}h{cell_wide:.1f}")
    yield f'<path d="{"".join(path)}" stroke="{INK}" stroke-width="4" stroke-linecap="square" fill="none"/>'
    wide, high = cell_wide * len(made.minutes), ROW_HIGH * len(made.rows)
    yield (f'<rect x="{LEFT}" y="{TOP}" width="{wide:.1f}" height="{high}" fill="none" stroke="{INK}" '
           'stroke-width="1.5"/>')


def _legend(codes: list[str], names: Mapping[str, str], top: float) -> Iterator[str]:
    for n, code in enumerate(codes):
        y = top + 26 * n
        yield (f'<rect x="{LEFT}" y="{y - 14}" width="34" height="18" fill="url(#hatch{n % len(HATCHES)})" '
               f'stroke="{INK}" stroke-width="1.5"/>')
        yield f'<text x="{LEFT + 44}" y="{y}">{escape(names.get(code, code))}</text>'
