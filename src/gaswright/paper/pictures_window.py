"""The picture of an acceptance window: white where the plan holds, hatched by the rule that ends it elsewhere."""

from collections.abc import Iterable, Iterator, Mapping
from html import escape

from gaswright.analysis.reading import Reading
from gaswright.paper.picture_parts import HATCHES, INK, Frame, caption, frame_lines, head, tick_values, x_ticks, y_ticks
from gaswright.planning.window import HOLDS, NO_GAS, Window

__all__ = ["window_svg"]

HEIGHT, LEGEND_HIGH = 470.0, 26.0
NO_GAS_FILL = "#ddd"


def window_svg(seen: Window, reading: Reading | None, names: Mapping[str, str], *, title: str, foot: str) -> str:
    """The picture of a window as SVG text.

    Args:
        seen: the window.
        reading: marked with its uncertainty, None: none.
        names: code of a rule to its words in the legend.
        title: one line above the picture.
        foot: one line below it: date, policy, caution.
    """
    codes = list(dict.fromkeys(code for row in seen.cells for code in row if code not in {HOLDS, NO_GAS}))
    height = HEIGHT + LEGEND_HIGH * ((len(codes) + 2) // 2) + 64
    half_o2, half_he = (seen.o2_e4[1] - seen.o2_e4[0]) / 2, (seen.he_e4[1] - seen.he_e4[0]) / 2
    frame = Frame(92.0, 56.0, 820.0, HEIGHT - 112, (seen.o2_e4[0] - half_o2) / 100, (seen.o2_e4[-1] + half_o2) / 100,
                  (seen.he_e4[0] - half_he) / 100, (seen.he_e4[-1] + half_he) / 100)  # fmt: skip
    parts = [
        head(height, title), *_cells(seen, frame, codes, half_o2, half_he), *_borders(seen, frame), frame_lines(frame),
        *x_ticks(frame, tick_values(frame.x0, frame.x1), lambda value: f"{value:g} %"),
        *y_ticks(frame, tick_values(frame.y0, frame.y1), lambda value: f"{value:g} %"),
        *_axis_names(frame),
        *_marks(seen, frame, reading), *_legend(codes, names, _signs(seen, reading)),
        *caption(height, "White inside the bold line: the plan holds as it stands. Uncertainty of a reading is "
                         "already counted.", foot),
        "</svg>\n",
    ]  # fmt: skip
    return "\n".join(parts)


def _axis_names(frame: Frame) -> Iterator[str]:
    middle, below = frame.left + frame.wide / 2, frame.top + frame.high + 38
    yield f'<text x="{middle}" y="{below}" text-anchor="middle" font-weight="bold">oxygen</text>'
    yield f'<text x="{frame.left - 8}" y="{frame.top - 8}" text-anchor="end" font-weight="bold">helium</text>'


def _cells(seen: Window, frame: Frame, codes: list[str], half_o2: float, half_he: float) -> Iterator[str]:
    """Runs of equal cells of a row as one box."""
    for he, row in zip(seen.he_e4, seen.cells, strict=True):
        start = 0
        for at in range(1, len(row) + 1):
            if at < len(row) and row[at] == row[start]:
                continue
            if row[start] != HOLDS:
                fill = NO_GAS_FILL if row[start] == NO_GAS else f"url(#hatch{codes.index(row[start]) % len(HATCHES)})"
                yield _box(frame, seen.o2_e4[start] - half_o2, he - half_he, seen.o2_e4[at - 1] + half_o2,
                           he + half_he, fill)
            start = at


def _box(frame: Frame, low_o2: float, low_he: float, high_o2: float, high_he: float, fill: str) -> str:
    x, y = frame.x(low_o2 / 100), frame.y(high_he / 100)
    return (f'<rect x="{x:.1f}" y="{y:.1f}" width="{frame.x(high_o2 / 100) - x:.1f}" '
            f'height="{frame.y(low_he / 100) - y:.1f}" fill="{fill}"/>')


def _borders(seen: Window, frame: Frame) -> Iterator[str]:
    for boundary in seen.boundaries:
        path = " ".join(
            f"M{frame.x(a / 100):.1f} {frame.y(b / 100):.1f}L{frame.x(c / 100):.1f} {frame.y(d / 100):.1f}"
            for a, b, c, d in boundary.edges
        )
        yield f'<path d="{path}" stroke="{INK}" stroke-width="3" stroke-linecap="square" fill="none"/>'


def _marks(seen: Window, frame: Frame, reading: Reading | None) -> Iterator[str]:
    x, y = frame.x(seen.planned.o2_e4 / 100), frame.y(seen.planned.he_e4 / 100)
    yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7" fill="#fff" stroke="{INK}" stroke-width="2.5"/>'
    if reading is None:
        return
    o2, he = reading.mixture.o2_e4 / 100, reading.mixture.he_e4 / 100
    if not (frame.x0 <= o2 <= frame.x1 and frame.y0 <= he <= frame.y1):
        yield (f'<text x="{frame.left + frame.wide - 8}" y="{frame.top + 18}" text-anchor="end" font-weight="bold" '
               f'stroke="#fff" stroke-width="6" paint-order="stroke">the reading lies outside this picture</text>')
        return
    low_he, high_he = max(frame.y0, he - reading.u_he_e4 / 100), min(frame.y1, he + reading.u_he_e4 / 100)
    low_o2, high_o2 = max(frame.x0, o2 - reading.u_o2_e4 / 100), min(frame.x1, o2 + reading.u_o2_e4 / 100)
    x, y = frame.x(o2), frame.y(he)
    yield (f'<rect x="{frame.x(low_o2):.1f}" y="{frame.y(high_he):.1f}" '
           f'width="{frame.x(high_o2) - frame.x(low_o2):.1f}" height="{frame.y(low_he) - frame.y(high_he):.1f}" '
           f'fill="none" stroke="{INK}" stroke-width="1.5" stroke-dasharray="6 3"/>')
    yield (f'<path d="M{x - 9:.1f} {y:.1f}H{x + 9:.1f}M{x:.1f} {y - 9:.1f}V{y + 9:.1f}" stroke="{INK}" '
           'stroke-width="4"/>')


def _signs(seen: Window, reading: Reading | None) -> str:
    read = ["+ reading, dashed: its uncertainty"] if reading is not None else []
    whole = ["grey: more than 100 %"] if any(NO_GAS in row for row in seen.cells) else []
    return "    ".join(["o planned", *read, *whole])


def _legend(codes: list[str], names: Mapping[str, str], marks: str) -> Iterable[str]:
    entries = [*((f"url(#hatch{n % len(HATCHES)})", names.get(code, code)) for n, code in enumerate(codes))]
    for n, (fill, text) in enumerate(entries):
        x, y = 92.0 + 420.0 * (n % 2), HEIGHT + 8 + LEGEND_HIGH * (n // 2)
        yield f'<rect x="{x}" y="{y - 14}" width="34" height="18" fill="{fill}" stroke="{INK}" stroke-width="1.5"/>'
        yield f'<text x="{x + 44}" y="{y}">{escape(text)}</text>'
    y = HEIGHT + 8 + LEGEND_HIGH * ((len(entries) + 1) // 2)
    yield f'<text x="92" y="{y}" xml:space="preserve">{escape(marks)}</text>'
