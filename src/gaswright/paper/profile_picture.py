"""The picture of a dive as SVG: the line dived, the ceiling hatched, and who breathes what. It prints in grey."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from gaswright.decompression.request import Schedule, Segment
from gaswright.planning.dive import UnitSystem
from gaswright.units import METRE_PER_FOOT

__all__ = ["profile_svg"]

LEFT, TOP, WIDE, HIGH = 92.0, 34.0, 820.0, 300.0  # the drawing area in the units of the picture
RIBBON_HIGH, RIBBON_GAP = 24.0, 6.0
DEPTH_UNIT = {UnitSystem.METRIC: (1.0, "m"), UnitSystem.IMPERIAL: (METRE_PER_FOOT, "ft")}


@dataclass(frozen=True, slots=True)
class _Scale:
    """From minutes and metres to the picture."""

    minutes: float
    depth_m: float

    def x(self, at_min: float) -> float:
        return LEFT + WIDE * at_min / self.minutes

    def y(self, depth_m: float) -> float:
        return TOP + HIGH * depth_m / self.depth_m


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
        title: one line above the picture.
        foot: one line below it: sheet code, units, caution.
    """
    scale = _Scale(schedule.runtime_min, max(segment.to_m for segment in schedule.segments) * 1.03)
    height = TOP + HIGH + 44 + len(divers) * (RIBBON_HIGH + RIBBON_GAP) + 48
    parts = [
        _head(height, title),
        *_grid(schedule, scale, units),
        _ceiling(ceiling, scale),
        _line(schedule, scale),
        *_clock(schedule, scale),
        *_ribbons(schedule, scale, divers, gas_name),
        *_caption(height, units, foot),
        "</svg>\n",
    ]
    return "\n".join(parts)


def _head(height: float, title: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 960 {height:.0f}" role="img" '
        f'aria-label="{escape(title, quote=True)}" font-family="B612, Atkinson Hyperlegible Next, sans-serif" '
        'font-size="14" fill="#111">'
        '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<line x1="0" y1="0" x2="0" y2="7" stroke="#111" stroke-width="1.2"/></pattern></defs>'
        f'<rect width="960" height="{height:.0f}" fill="#fff"/>'
        f'<text x="16" y="20" font-size="16" font-weight="bold">{escape(title)}</text>'
    )


def _grid(schedule: Schedule, scale: _Scale, units: UnitSystem) -> Iterable[str]:
    metres, name = DEPTH_UNIT[units]
    halts = {segment.to_m for segment in schedule.segments if segment.from_m == segment.to_m} | {0.0}
    last_y = -math.inf
    for depth_m in sorted(halts):
        y = scale.y(depth_m)
        yield (
            f'<line x1="{LEFT}" x2="{LEFT + WIDE}" y1="{y:.1f}" y2="{y:.1f}" stroke="#111" stroke-width=".6" '
            'stroke-dasharray="1 5"/>'
        )
        if y - last_y >= 16:
            shown = round(depth_m / metres, 1)
            yield f'<text x="{LEFT - 8}" y="{y + 5:.1f}" text-anchor="end">{shown:g} {name}</text>'
            last_y = y


def _ceiling(ceiling: Sequence[tuple[float, float]], scale: _Scale) -> str:
    edge = " ".join(f"{scale.x(at_min):.1f},{scale.y(depth_m):.1f}" for at_min, depth_m in ceiling)
    start, end = scale.x(0), scale.x(scale.minutes)
    return (
        f'<polygon points="{start:.1f},{TOP} {edge} {end:.1f},{TOP}" fill="url(#hatch)" opacity=".5"/>'
        f'<polyline points="{edge}" fill="none" stroke="#111" stroke-width="1"/>'
    )


def _line(schedule: Schedule, scale: _Scale) -> str:
    first = schedule.segments[0]
    points = [(first.start_min, first.from_m), *((segment.end_min, segment.to_m) for segment in schedule.segments)]
    path = " ".join(f"{scale.x(at_min):.1f},{scale.y(depth_m):.1f}" for at_min, depth_m in points)
    return f'<polyline points="{path}" fill="none" stroke="#111" stroke-width="4" stroke-linejoin="round"/>'


def _clock(schedule: Schedule, scale: _Scale) -> Iterable[str]:
    step = next((s for s in (5, 10, 20, 30, 60, 120, 240) if schedule.runtime_min / s <= 12), 480)
    y = TOP + HIGH + 22
    for at_min in range(0, int(schedule.runtime_min) + 1, step):
        yield f'<text x="{scale.x(at_min):.1f}" y="{y}" text-anchor="middle">{at_min}</text>'
    yield f'<text x="{LEFT - 16}" y="{y}" text-anchor="end">min</text>'


def _ribbons(
    schedule: Schedule, scale: _Scale, divers: Mapping[str, str], gas_name: Callable[[str], str]
) -> Iterable[str]:
    for row, (diver, name) in enumerate(divers.items()):
        y = TOP + HIGH + 36 + row * (RIBBON_HIGH + RIBBON_GAP)
        yield f'<text x="{LEFT - 8}" y="{y + 17:.1f}" text-anchor="end">{escape(name[:10])}</text>'
        for start_min, end_min, cylinder in _breathed(schedule.segments, diver):
            x, width = scale.x(start_min), scale.x(end_min) - scale.x(start_min)
            yield (
                f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{RIBBON_HIGH}" fill="#fff" '
                'stroke="#111" stroke-width="1.5"/>'
            )
            if width > 9.0 * len(gas_name(cylinder)):
                yield (
                    f'<text x="{x + width / 2:.1f}" y="{y + 17:.1f}" text-anchor="middle" '
                    f'font-weight="bold">{escape(gas_name(cylinder))}</text>'
                )


def _breathed(segments: Sequence[Segment], diver: str) -> Iterable[tuple[float, float, str]]:
    changes = [segments[0], *(b for a, b in pairwise(segments) if a.gas[diver].cylinder != b.gas[diver].cylinder)]
    ends = [*(segment.start_min for segment in changes[1:]), segments[-1].end_min]
    for segment, end_min in zip(changes, ends, strict=True):
        yield segment.start_min, end_min, segment.gas[diver].cylinder


def _caption(height: float, units: UnitSystem, foot: str) -> Iterable[str]:
    name = DEPTH_UNIT[units][1]
    yield (
        f'<text x="16" y="{height - 28:.0f}">Depth in {name}, runtime in min. Hatched: shallower than allowed. '
        "Below: gas breathed by each diver.</text>"
    )
    yield f'<text x="16" y="{height - 9:.0f}" font-size="12">{escape(foot)}</text>'
