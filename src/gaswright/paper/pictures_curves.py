"""Pictures over runtime: the pressure left in each cylinder, and the highest supersaturation against its limit."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from gaswright.decompression.supersaturation import Supersaturation
from gaswright.paper.picture_parts import (
    INK,
    Frame,
    caption,
    frame_lines,
    head,
    polyline,
    tick_values,
    x_ticks,
    y_ticks,
)
from gaswright.planning.dive import UnitSystem
from gaswright.units import Kind, plain_number, plain_unit

__all__ = ["Needed", "pressures_svg", "supersaturation_svg"]

LEFT, WIDE = 92.0, 700.0
PANEL_HIGH, PANEL_GAP = 170.0, 46.0
DASHES = ("", "10 4", "2 4", "12 4 2 4", "6 6", "1 6")
LABEL_HIGH = 15.0


@dataclass(frozen=True, slots=True)
class Needed:
    """What is drawn of one cylinder.

    Args:
        cylinder: id.
        name: as the picture says it.
        points: runtime and gauge pressure, shape (n, 2) [min, bar].
        minimum_bar: minimum gas, mains only [bar].
    """

    cylinder: str
    name: str
    points: Sequence[tuple[float, float]]
    minimum_bar: float | None


def pressures_svg(
    panels: Mapping[str, tuple[UnitSystem, Sequence[Needed]]], runtime_min: float, *, title: str, foot: str
) -> str:
    """A panel per diver with the pressure left in each cylinder, in the diver's units, as SVG text.

    Args:
        panels: diver's name to units and cylinders, in the order of the card.
        runtime_min: of the dive [min]
        title: one line above the picture.
        foot: one line below it: date, policy, caution.
    """
    height = 50 + len(panels) * (PANEL_HIGH + PANEL_GAP) + 60
    parts = [head(height, title)]
    for row, (diver, (units, cylinders)) in enumerate(panels.items()):
        top = 62 + row * (PANEL_HIGH + PANEL_GAP)
        parts += [*_panel(diver, units, cylinders, top, runtime_min)]
    parts += [*caption(height, "Pressure left over runtime, a line per cylinder. Short bar at the edge: minimum gas.",
                       foot), "</svg>\n"]
    return "\n".join(parts)


def _panel(
    diver: str, units: UnitSystem, cylinders: Sequence[Needed], top: float, runtime_min: float
) -> Iterator[str]:
    unit = plain_unit(Kind.PRESSURE, units.value)
    shown = [[(at_min, _shown(bar, units)) for at_min, bar in one.points] for one in cylinders]
    most = max((bar for points in shown for _, bar in points), default=1.0)
    frame = Frame(LEFT, top, WIDE, PANEL_HIGH, 0.0, runtime_min, 0.0, most * 1.08)
    yield f'<text x="{LEFT}" y="{top - 8}" font-weight="bold">{escape(diver)}</text>'
    yield from x_ticks(frame, tick_values(0.0, runtime_min), lambda value: f"{value:g} min")
    yield from y_ticks(frame, tick_values(0.0, frame.y1, 5), lambda value: f"{value:g} {unit}")
    yield frame_lines(frame)
    ends = _apart([frame.y(points[-1][1]) for points in shown], top + 8, top + PANEL_HIGH)
    for n, (one, points, label_y) in enumerate(zip(cylinders, shown, ends, strict=True)):
        yield polyline([(frame.x(at_min), frame.y(bar)) for at_min, bar in points], 3, DASHES[n % len(DASHES)])
        end_x, end_y = frame.x(points[-1][0]), frame.y(points[-1][1])
        yield polyline([(end_x, end_y), (LEFT + WIDE, end_y), (LEFT + WIDE + 12, label_y - 5)], 0.8)
        yield (f'<text x="{LEFT + WIDE + 16}" y="{label_y:.1f}">'
               f"{escape(one.name)} {math.floor(points[-1][1] + 1e-9):.0f} {unit}</text>")
        if one.minimum_bar is not None:
            y = frame.y(_shown(one.minimum_bar, units))
            yield polyline([(LEFT - 1, y), (LEFT + 26, y)], 5)
            yield f'<text x="{LEFT + 32}" y="{y + 5:.1f}">minimum {_up(one.minimum_bar, units)} {unit}</text>'


def _shown(bar: float, units: UnitSystem) -> float:
    return plain_number(bar, Kind.PRESSURE, units.value)


def _up(bar: float, units: UnitSystem) -> str:
    return f"{math.ceil(_shown(bar, units) - 1e-9)}"


def _apart(wanted: Sequence[float], low: float, high: float) -> list[float]:
    """Places for labels near where they are wanted, none on another."""
    order = sorted(range(len(wanted)), key=lambda n: wanted[n])
    places, last = [0.0] * len(wanted), low - LABEL_HIGH
    for rank, n in enumerate(order):
        after = len(order) - 1 - rank
        places[n] = last = max(last + LABEL_HIGH, min(wanted[n] + 5, high - after * LABEL_HIGH))
    return places


def supersaturation_svg(
    points: Sequence[Supersaturation], gf_low: float, gf_high: float, *, title: str, foot: str
) -> str:
    """The highest supersaturation as percent of its limit over runtime, as SVG text.

    The half-time of the compartment that leads is written where it changes.

    Args:
        points: along the dive.
        gf_low: gradient factor at and below the first stop [%]
        gf_high: gradient factor at the surface [%]
        title: one line above the picture.
        foot: one line below it: date, policy, caution.
    """
    height, runtime_min = 440.0, points[-1].at_min
    frame = Frame(LEFT, 56.0, 820.0, 270.0, 0.0, runtime_min, 0.0,
                  max(100.0, *(point.percent for point in points)) * 1.12)
    line = [(frame.x(point.at_min), frame.y(point.percent)) for point in points]
    parts = [
        head(height, title),
        *x_ticks(frame, tick_values(0.0, runtime_min), lambda value: f"{value:g} min"),
        *y_ticks(frame, tick_values(0.0, frame.y1, 6), lambda value: f"{value:g} %"),
        *_level(frame, gf_low, f"GF low {gf_low:g} %"), *_level(frame, gf_high, f"GF high {gf_high:g} %"),
        *_level(frame, 100.0, "limit"), frame_lines(frame), polyline(line, 3.5), *_leaders(points, frame),
        *caption(height, "Highest supersaturation of the team as percent of its limit. Below: leading half-time.",
                 foot),
        "</svg>\n",
    ]  # fmt: skip
    return "\n".join(parts)


def _level(frame: Frame, percent: float, text: str) -> Iterator[str]:
    y = frame.y(percent)
    yield polyline([(frame.left, y), (frame.left + frame.wide, y)], 1.2, "8 5")
    yield (f'<text x="{frame.left + 8}" y="{y - 5:.1f}" stroke="#fff" stroke-width="5" paint-order="stroke">'
           f"{escape(text)}</text>")


def _leaders(points: Sequence[Supersaturation], frame: Frame) -> Iterator[str]:
    """A tick where the leading half-time changes, its number below where there is room."""
    base, last_x, last = frame.top + frame.high + 44, -math.inf, None
    yield f'<text x="{LEFT - 8}" y="{base}" text-anchor="end">half-time</text>'
    for point in points:
        if point.half_time_min == last:
            continue
        last = point.half_time_min
        x = frame.x(point.at_min)
        yield f'<path d="M{x:.1f} {base - 18}v-6" stroke="{INK}" stroke-width="1.5"/>'
        text = "none" if last is None else f"{last:g}"
        if x - last_x >= 12.0 * max(len(text), 3):
            yield f'<text x="{x:.1f}" y="{base}" text-anchor="middle">{text}</text>'
            last_x = x
    yield f'<text x="{frame.left + frame.wide}" y="{base + 18}" text-anchor="end">min</text>'
