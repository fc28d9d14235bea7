"""The picture of a dive as SVG: the line dived, the ceiling hatched, and who breathes what. It prints in grey."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from itertools import pairwise

from gaswright.decompression.request import Schedule, Segment
from gaswright.planning.dive import UnitSystem
from gaswright.units import METRE_PER_FOOT

__all__ = ["profile_svg"]

WIDE, HIGH = 820.0, 300.0  # the drawing area in the units of the picture
LEAST_LEFT, LEAST_RIGHT = 92.0, 48.0
RIBBON_HIGH, RIBBON_GAP, LEVEL_HIGH = 24.0, 6.0, 18.0
SIZE, TITLE_SIZE, FOOT_SIZE = 14.0, 16.0, 12.0
LONGEST_NAME = 24
DEPTH_UNIT = {UnitSystem.METRIC: (1.0, "m"), UnitSystem.IMPERIAL: (METRE_PER_FOOT, "ft")}


@dataclass(frozen=True, slots=True)
class _Scale:
    """From minutes and metres to the picture."""

    minutes: float
    depth_m: float
    left: float
    top: float

    def x(self, at_min: float) -> float:
        return self.left + WIDE * at_min / self.minutes

    def y(self, depth_m: float) -> float:
        return self.top + HIGH * depth_m / self.depth_m

    @property
    def right(self) -> float:
        return self.left + WIDE

    @property
    def bottom(self) -> float:
        return self.top + HIGH


@dataclass(frozen=True, slots=True)
class _Piece:
    """One stretch of a ribbon: a gas; level 0 stands inside, higher ones above the ribbon on a short line."""

    left: float
    wide: float
    gas: str
    level: int = 0

    @property
    def middle(self) -> float:
        return self.left + self.wide / 2

    @property
    def text_right(self) -> float:
        """Where the gas ends that is written above."""
        return self.middle + 4 + text_wide(self.gas, SIZE)


def profile_svg(
    schedule: Schedule,
    ceiling: Sequence[tuple[float, float]],
    divers: Mapping[str, str],
    gas_name: Callable[[str], str],
    units: UnitSystem,
    *,
    title: str,
    foot: str,
) -> str:
    """The picture of a schedule as SVG text.

    Args:
        schedule: what is dived.
        ceiling: runtime and team ceiling, shape (n, 2) [min, m].
        divers: diver id to name, in the order of the card.
        gas_name: cylinder id to the gas as its label says it.
        units: unit system of the depth axis.
        title: above the picture.
        foot: below it: sheet code, units, caution.
    """
    names = _short_names(divers)
    left = max([LEAST_LEFT, *(text_wide(name, SIZE) + 24 for name in names.values())])
    titles = wrapped(title, TITLE_SIZE, left + WIDE)
    scale = _Scale(schedule.runtime_min, max(segment.to_m for segment in schedule.segments) * 1.03, left,
                   34.0 + 20 * (len(titles) - 1))  # fmt: skip
    ribbons = {diver: _pieces(schedule, scale, diver, gas_name) for diver in divers}
    above = [piece.text_right for row in ribbons.values() for piece in row if piece.level]
    wide = max([scale.right + LEAST_RIGHT, *(right + 8 for right in above)])
    caption = [
        *((line, SIZE) for line in wrapped(
            f"Depth in {DEPTH_UNIT[units][1]}, runtime in min. Hatched: shallower than allowed. Below: gas breathed by "
            "each diver.", SIZE, wide - 32)),
        *((line, FOOT_SIZE) for line in wrapped(foot, FOOT_SIZE, wide - 32)),
    ]  # fmt: skip
    drawn, ribbons_end = _ribbons(scale, names, ribbons)
    height = ribbons_end + 14 + 20 * len(caption)
    parts = [
        _head(wide, height, title, titles),
        *_grid(schedule, scale, units),
        _ceiling(ceiling, scale),
        _line(schedule, scale),
        *_clock(schedule, scale),
        *drawn,
        *_caption(ribbons_end, caption),
        "</svg>\n",
    ]
    return "\n".join(parts)


def text_wide(text: str, size: float) -> float:
    """How wide a text becomes at most in a usual bold sans face, in the units of its size.

    Args:
        text: one line.
        size: of the font [-].
    """
    return size * sum(0.95 if one in "mwMW@%" else 0.76 if one.isupper() else 0.66 for one in text)


def wrapped(text: str, size: float, wide: float) -> list[str]:
    """The text in lines that fit, broken between words, and inside a word only where it is wider than a line.

    Args:
        text: any.
        size: of the font [-].
        wide: room for a line, at least a few letters [-].
    """
    lines = [""]
    for word in text.split():
        if lines[-1] and text_wide(f"{lines[-1]} {word}", size) > wide:
            lines.append("")
        lines[-1] += f" {word}" if lines[-1] else word
        while text_wide(lines[-1], size) > wide and len(lines[-1]) > 1:
            keep = next(at for at in range(len(lines[-1]) - 1, 0, -1)
                        if at == 1 or text_wide(lines[-1][:at], size) <= wide)  # fmt: skip
            lines[-1:] = [lines[-1][:keep], lines[-1][keep:]]
    return lines


def _short_names(divers: Mapping[str, str]) -> dict[str, str]:
    """Names of at most 24 letters and dots; two that look alike then carry their ids."""
    names = {one: name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME].rstrip()}..."
             for one, name in divers.items()}  # fmt: skip
    shown = list(names.values())
    return {one: f"{name} ({one})" if shown.count(name) > 1 else name for one, name in names.items()}


def _head(wide: float, height: float, title: str, titles: Sequence[str]) -> str:
    lines = "".join(
        f'<text x="16" y="{20 + 20 * at}" font-size="{TITLE_SIZE:g}" font-weight="bold">{escape(line)}</text>'
        for at, line in enumerate(titles)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {height:.0f}" role="img" '
        f'aria-label="{escape(title, quote=True)}" font-family="B612, Atkinson Hyperlegible Next, sans-serif" '
        f'font-size="{SIZE:g}" fill="#111">'
        '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<line x1="0" y1="0" x2="0" y2="7" stroke="#111" stroke-width="1.2"/></pattern></defs>'
        f'<rect width="{wide:.0f}" height="{height:.0f}" fill="#fff"/>{lines}'
    )


def _grid(schedule: Schedule, scale: _Scale, units: UnitSystem) -> Iterable[str]:
    metres, name = DEPTH_UNIT[units]
    halts = {segment.to_m for segment in schedule.segments if segment.from_m == segment.to_m} | {0.0}
    last_y = -math.inf
    for depth_m in sorted(halts):
        y = scale.y(depth_m)
        yield (
            f'<line x1="{scale.left:.1f}" x2="{scale.right:.1f}" y1="{y:.1f}" y2="{y:.1f}" stroke="#111" '
            'stroke-width=".6" stroke-dasharray="1 5"/>'
        )
        if y - last_y >= 16:
            shown = round(depth_m / metres, 1)
            yield f'<text x="{scale.left - 8:.1f}" y="{y + 5:.1f}" text-anchor="end">{shown:g} {name}</text>'
            last_y = y


def _ceiling(ceiling: Sequence[tuple[float, float]], scale: _Scale) -> str:
    edge = " ".join(f"{scale.x(at_min):.1f},{scale.y(depth_m):.1f}" for at_min, depth_m in ceiling)
    start, end = scale.x(0), scale.x(scale.minutes)
    return (
        f'<polygon points="{start:.1f},{scale.top:.1f} {edge} {end:.1f},{scale.top:.1f}" '
        'fill="url(#hatch)" opacity=".5"/>'
        f'<polyline points="{edge}" fill="none" stroke="#111" stroke-width="1"/>'
    )


def _line(schedule: Schedule, scale: _Scale) -> str:
    first = schedule.segments[0]
    points = [(first.start_min, first.from_m), *((segment.end_min, segment.to_m) for segment in schedule.segments)]
    path = " ".join(f"{scale.x(at_min):.1f},{scale.y(depth_m):.1f}" for at_min, depth_m in points)
    return f'<polyline points="{path}" fill="none" stroke="#111" stroke-width="4" stroke-linejoin="round"/>'


def _clock(schedule: Schedule, scale: _Scale) -> Iterable[str]:
    step = next((s for s in (5, 10, 20, 30, 60, 120, 240) if schedule.runtime_min / s <= 12), 480)
    y = scale.bottom + 22
    for at_min in range(0, int(schedule.runtime_min) + 1, step):
        yield f'<text x="{scale.x(at_min):.1f}" y="{y:.1f}" text-anchor="middle">{at_min}</text>'
    yield f'<text x="{scale.left - 16:.1f}" y="{y:.1f}" text-anchor="end">min</text>'


def _pieces(schedule: Schedule, scale: _Scale, diver: str, gas_name: Callable[[str], str]) -> list[_Piece]:
    """The ribbon of a diver from right to left: what does not fit inside goes to the lowest level that is free.

    A gas above stands right of its own line, so that no line crosses a gas of a piece further right.
    """
    placed: list[_Piece] = []
    for start_min, end_min, cylinder in reversed(list(_breathed(schedule.segments, diver))):
        piece = _Piece(scale.x(start_min), scale.x(end_min) - scale.x(start_min), gas_name(cylinder))
        if text_wide(piece.gas, SIZE) + 6 > piece.wide:
            in_the_way = [other.level for other in placed if other.level and other.middle < piece.text_right + 6]
            piece = replace(piece, level=max(in_the_way, default=0) + 1)
        placed.append(piece)
    return placed


def _ribbons(
    scale: _Scale, names: Mapping[str, str], ribbons: Mapping[str, Sequence[_Piece]]
) -> tuple[list[str], float]:
    """Everything of the ribbons, and where they end."""
    y, drawn = scale.bottom + 36, []
    for diver, pieces in ribbons.items():
        y += LEVEL_HIGH * max(piece.level for piece in pieces)
        drawn.append(
            f'<text x="{scale.left - 8:.1f}" y="{y + 17:.1f}" text-anchor="end">{escape(names[diver])}</text>'
        )
        drawn += [part for piece in pieces for part in _piece_parts(piece, y)]
        y += RIBBON_HIGH + RIBBON_GAP
    return drawn, y


def _piece_parts(piece: _Piece, y: float) -> Iterable[str]:
    yield (
        f'<rect x="{piece.left:.1f}" y="{y:.1f}" width="{piece.wide:.1f}" height="{RIBBON_HIGH}" fill="#fff" '
        'stroke="#111" stroke-width="1.5"/>'
    )
    if not piece.level:
        yield (
            f'<text x="{piece.middle:.1f}" y="{y + 17:.1f}" text-anchor="middle" font-weight="bold">'
            f"{escape(piece.gas)}</text>"
        )
        return
    foot = y - LEVEL_HIGH * (piece.level - 1)
    yield (
        f'<line x1="{piece.middle:.1f}" x2="{piece.middle:.1f}" y1="{foot - 14:.1f}" y2="{y + RIBBON_HIGH / 2:.1f}" '
        'stroke="#111" stroke-width="1"/>'
    )
    yield f'<text x="{piece.middle + 4:.1f}" y="{foot - 4:.1f}" font-weight="bold">{escape(piece.gas)}</text>'


def _breathed(segments: Sequence[Segment], diver: str) -> Iterable[tuple[float, float, str]]:
    changes = [segments[0], *(b for a, b in pairwise(segments) if a.gas[diver].cylinder != b.gas[diver].cylinder)]
    ends = [*(segment.start_min for segment in changes[1:]), segments[-1].end_min]
    for segment, end_min in zip(changes, ends, strict=True):
        yield segment.start_min, end_min, segment.gas[diver].cylinder


def _caption(ribbons_end: float, lines: Sequence[tuple[str, float]]) -> Iterable[str]:
    for at, (line, size) in enumerate(lines):
        yield f'<text x="16" y="{ribbons_end + 20 + 20 * at:.0f}" font-size="{size:g}">{escape(line)}</text>'
