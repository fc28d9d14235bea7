"""Ways to break a segment list on purpose."""

from collections.abc import Sequence
from dataclasses import replace

from gaswright.decompression.request import Segment

__all__ = ["shifted", "with_minutes"]


def shifted(segments: Sequence[Segment], by_min: float) -> tuple[Segment, ...]:
    """The segments begun earlier or later."""
    return tuple(replace(piece, start_min=piece.start_min + by_min) for piece in segments)


def with_minutes(segments: Sequence[Segment], number: int, minutes: float) -> tuple[Segment, ...]:
    """The list with one segment longer or shorter (gone if nothing is left), the rest moved along."""
    piece = segments[number]
    kept = (replace(piece, minutes=minutes),) if minutes > 1e-9 else ()
    return (*segments[:number], *kept, *shifted(segments[number + 1:], minutes - piece.minutes))
