"""The picture of oxygen over the days: per diver and dive, CNS within 24 hours and OTU of the days against limits."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from gaswright.paper.picture_parts import INK, Frame, caption, frame_lines, head, tick_values, y_ticks

__all__ = ["OxygenBar", "oxygen_svg"]

LEFT, WIDE, PANEL_HIGH, PANEL_GAP = 92.0, 820.0, 130.0, 62.0
WIDEST = 120.0


@dataclass(frozen=True, slots=True)
class OxygenBar:
    """One dive of one diver.

    Args:
        dive: under the bar: day and dive.
        cns_percent: of the limit within 24 hours, earlier dives included [%]
        otu_percent: of the limit for the days so far, earlier dives included [%]
    """

    dive: str
    cns_percent: float
    otu_percent: float


def oxygen_svg(panels: Mapping[str, Sequence[OxygenBar]], *, title: str, foot: str) -> str:
    """A panel per diver, two bars per dive, the limits as a line, as SVG text.

    Args:
        panels: diver's name to his or her dives in order; not empty.
        title: one line above the picture.
        foot: one line below it: date, policy, caution.
    """
    height = 62 + len(panels) * (PANEL_HIGH + PANEL_GAP) + 66
    most = max((max(bar.cns_percent, bar.otu_percent) for bars in panels.values() for bar in bars), default=0.0)
    parts = [head(height, title)]
    for row, (diver, bars) in enumerate(panels.items()):
        frame = Frame(LEFT, 66 + row * (PANEL_HIGH + PANEL_GAP), WIDE, PANEL_HIGH, 0.0, len(bars) or 1, 0.0,
                      max(110.0, most * 1.1))
        parts += [f'<text x="{LEFT}" y="{frame.top - 8}" font-weight="bold">{escape(diver)}</text>',
                  *y_ticks(frame, tick_values(0.0, frame.y1, 5), lambda value: f"{value:g} %"),
                  *_bars(bars, frame), frame_lines(frame), *_limit(frame)]  # fmt: skip
    y = height - 56
    parts += [
        *_key(LEFT, y, "url(#hatch0)", "CNS within 24 h, % of the NOAA limit"),
        *_key(LEFT + 420, y, "#fff", "OTU, % of the REPEX limit of the days"),
        *caption(height, "Each dive with the dives before it. Line: the limit.", foot), "</svg>\n",
    ]
    return "\n".join(parts)


def _key(x: float, y: float, fill: str, text: str) -> Iterator[str]:
    yield f'<rect x="{x}" y="{y - 14}" width="34" height="18" fill="{fill}" stroke="{INK}"/>'
    yield f'<text x="{x + 44}" y="{y}">{text}</text>'


def _bars(bars: Sequence[OxygenBar], frame: Frame) -> Iterator[str]:
    slot = frame.wide / max(1, len(bars))
    wide = min(WIDEST, slot * 0.34)
    for n, bar in enumerate(bars):
        middle = frame.left + slot * (n + 0.5)
        for x, percent, fill in ((middle - wide - 3, bar.cns_percent, "url(#hatch0)"),
                                 (middle + 3, bar.otu_percent, "#fff")):
            y = frame.y(percent)
            yield (f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{frame.top + frame.high - y:.1f}" '
                   f'fill="{fill}" stroke="{INK}" stroke-width="1.5"/>')
            yield (f'<text x="{x + wide / 2:.1f}" y="{y - 5:.1f}" text-anchor="middle" stroke="#fff" stroke-width="5" '
                   f'paint-order="stroke">{math.ceil(percent - 1e-9)} %</text>')
        yield (f'<text x="{middle:.1f}" y="{frame.top + frame.high + 18}" text-anchor="middle">'
               f"{escape(bar.dive)}</text>")


def _limit(frame: Frame) -> Iterator[str]:
    y = frame.y(100.0)
    yield (f'<line x1="{frame.left}" x2="{frame.left + frame.wide}" y1="{y:.1f}" y2="{y:.1f}" stroke="{INK}" '
           'stroke-width="2.5"/>')
