"""What the pictures share: the frame, axes with a unit on every number, hatchings that print in grey, the caption."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

__all__ = ["HATCHES", "INK", "Frame", "caption", "frame_lines", "head", "polyline", "tick_values", "x_ticks", "y_ticks"]

WIDE = 960.0  # of every picture, in its own units
INK = "#111"
# Hatchings are told apart by direction and rhythm, not by colour: angle, distance, line width, dash.
HATCHES = (
    (45, 7, 1.2, ""), (-45, 7, 1.2, ""), (0, 6, 1.0, ""), (90, 6, 1.0, ""), (45, 11, 2.4, ""), (-45, 11, 2.4, ""),
    (0, 7, 1.8, "2 4"), (90, 7, 1.8, "2 4"), (30, 5, 0.8, ""), (60, 9, 1.6, "5 3"),
)


@dataclass(frozen=True, slots=True)
class Frame:
    """A drawing area and its scales.

    Args:
        left: of the area, in the units of the picture.
        top: of the area.
        wide: of the area.
        high: of the area.
        x0: value at the left.
        x1: value at the right.
        y0: value at the bottom.
        y1: value at the top.
    """

    left: float
    top: float
    wide: float
    high: float
    x0: float
    x1: float
    y0: float
    y1: float

    def x(self, value: float) -> float:
        """Across the picture.

        Args:
            value: on the horizontal axis [-]
        """
        return self.left + self.wide * (value - self.x0) / (self.x1 - self.x0)

    def y(self, value: float) -> float:
        """Down the picture.

        Args:
            value: on the vertical axis [-]
        """
        return self.top + self.high * (self.y1 - value) / (self.y1 - self.y0)


def head(height: float, title: str) -> str:
    """The beginning of a picture: size, white ground, hatchings, title.

    Args:
        height: of the picture [-]
        title: one line above it.
    """
    hatches = "".join(_hatch(number) for number in range(len(HATCHES)))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {height:.0f}" role="img" '
        f'aria-label="{escape(title, quote=True)}" font-family="B612, Atkinson Hyperlegible Next, sans-serif" '
        f'font-size="14" fill="{INK}"><defs>{hatches}</defs><rect width="{WIDE:.0f}" height="{height:.0f}" '
        f'fill="#fff"/><text x="16" y="20" font-size="16" font-weight="bold">{escape(title)}</text>'
    )


def _hatch(number: int) -> str:
    angle, apart, width, dash = HATCHES[number]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<pattern id="hatch{number}" width="{apart}" height="{apart}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({angle})"><line x1="0" y1="0" x2="0" y2="{apart}" stroke="{INK}" '
        f'stroke-width="{width}"{dashes}/></pattern>'
    )


def tick_values(low: float, high: float, most: int = 10) -> list[float]:
    """Round numbers of an axis, at most so many.

    Args:
        low: end of the axis [-]
        high: other end, above it [-]
        most: how many at most.
    """
    raw = (high - low) / most
    scale = 10.0 ** math.floor(math.log10(raw))
    step = next(scale * factor for factor in (1, 2, 5, 10) if scale * factor >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [round(n * step, 9) for n in range(first, math.floor(high / step + 1e-9) + 1)]


def frame_lines(frame: Frame) -> str:
    """The border of a drawing area.

    Args:
        frame: the area.
    """
    return (f'<rect x="{frame.left}" y="{frame.top}" width="{frame.wide}" height="{frame.high}" fill="none" '
            f'stroke="{INK}" stroke-width="1.5"/>')


def x_ticks(frame: Frame, values: Iterable[float], text: Callable[[float], str]) -> Iterator[str]:
    """Numbers under a drawing area with dotted lines up.

    Args:
        frame: the area.
        values: where.
        text: a value with its unit.
    """
    for value in values:
        x = frame.x(value)
        yield (f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{frame.top}" y2="{frame.top + frame.high}" stroke="{INK}" '
               'stroke-width=".6" stroke-dasharray="1 5"/>')
        yield f'<text x="{x:.1f}" y="{frame.top + frame.high + 18}" text-anchor="middle">{escape(text(value))}</text>'


def y_ticks(frame: Frame, values: Iterable[float], text: Callable[[float], str]) -> Iterator[str]:
    """Numbers to the left of a drawing area with dotted lines across.

    Args:
        frame: the area.
        values: where.
        text: a value with its unit.
    """
    for value in values:
        y = frame.y(value)
        yield (f'<line x1="{frame.left}" x2="{frame.left + frame.wide}" y1="{y:.1f}" y2="{y:.1f}" stroke="{INK}" '
               'stroke-width=".6" stroke-dasharray="1 5"/>')
        yield f'<text x="{frame.left - 8}" y="{y + 5:.1f}" text-anchor="end">{escape(text(value))}</text>'


def polyline(points: Sequence[tuple[float, float]], width: float, dash: str = "") -> str:
    """A line through points of the picture.

    Args:
        points: across and down, in the units of the picture, shape (n, 2).
        width: of the line [-]
        dash: pattern of dashes, "": none.
    """
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (f'<polyline points="{path}" fill="none" stroke="{INK}" stroke-width="{width}" stroke-linejoin="round"'
            f"{dashes}/>")


def caption(height: float, says: str, foot: str) -> Iterator[str]:
    """Two lines at the foot of a picture.

    Args:
        height: of the picture [-]
        says: how to read it.
        foot: date, policy, caution.
    """
    yield f'<text x="16" y="{height - 28:.0f}">{escape(says)}</text>'
    yield f'<text x="16" y="{height - 9:.0f}" font-size="12">{escape(foot)}</text>'
