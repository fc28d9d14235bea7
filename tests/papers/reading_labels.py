"""A reader that knows nothing of us: it gets a spoilt picture of a buddy label and says which digits it sees."""

import re
import socket
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageFilter

from papers.measuring import MM_PER_DOT, Grey, blobs

__all__ = ["SPOILT", "Reader", "Spoilt", "UpsideDown", "number_and_unit", "offline"]

PRINTED_DIGIT_MM = 55.0


class UpsideDown(Exception):  # noqa: N818  what the reader sees, not an error of ours
    """The bar is not below the number: the label hangs upside down."""


@dataclass(frozen=True, slots=True)
class Spoilt:
    """One way in which a label is hard to read: digit height in pixels, then what is done to the picture."""

    name: str
    digit_px: int
    blur: float = 0.0  # as a share of the digit height
    contrast: float = 1.0
    turn_deg: float = 0.0


SPOILT = (
    Spoilt("clean", 32),
    Spoilt("small", 12),
    Spoilt("blurred", 32, blur=0.09),
    Spoilt("faint", 32, contrast=0.1),
    Spoilt("turned left", 32, turn_deg=10.0),
    Spoilt("turned right", 32, turn_deg=-10.0),
    Spoilt("all at once", 24, blur=0.09, contrast=0.2, turn_deg=5.0),
)


def offline() -> Iterator[None]:
    """Forbid every connection while the reader runs: its models lie inside its package."""
    real = socket.socket.connect

    def refused(*_: object) -> None:
        raise OSError("the tests use no network")

    socket.socket.connect = refused  # type: ignore[method-assign]
    yield
    socket.socket.connect = real  # type: ignore[method-assign]


def number_and_unit(grey: Grey) -> Grey:
    """The picture above the bar; the bar is the widest shape and must lie below everything else."""
    shapes = sorted(blobs(grey), key=lambda blob: blob.width_mm)
    bar, rest = shapes[-1], shapes[:-1]
    if bar.top_mm < max(shape.bottom_mm for shape in rest):
        raise UpsideDown
    return grey[: round(bar.top_mm / MM_PER_DOT) - 4]


class Reader:
    """Recognition only: no search for text, no turning, no second try."""

    def __init__(self) -> None:
        from rapidocr import RapidOCR  # noqa: PLC0415  loads its models: only once the network is shut

        self._engine = RapidOCR(
            params={"Global.use_det": False, "Global.use_cls": False, "Global.log_level": "critical"}
        )

    def digits(self, grey: Grey, spoilt: Spoilt) -> str:
        """The digits that are read in a spoilt picture of number and unit."""
        seen = self._engine(_spoil(grey, spoilt), use_det=False, use_cls=False, use_rec=True)
        return "".join(re.findall(r"\d", "".join(getattr(seen, "txts", None) or ())))


def _spoil(grey: Grey, spoilt: Spoilt) -> Grey:
    scale = spoilt.digit_px / (PRINTED_DIGIT_MM / MM_PER_DOT)
    small = Image.fromarray(grey).resize(
        (round(grey.shape[1] * scale), round(grey.shape[0] * scale)), Image.Resampling.LANCZOS
    )
    margin = spoilt.digit_px // 2
    paper = Image.new("L", (small.width + 2 * margin, small.height + 2 * margin), 255)
    paper.paste(small, (margin, margin))
    paper = paper.rotate(spoilt.turn_deg, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    paper = paper.filter(ImageFilter.GaussianBlur(spoilt.blur * spoilt.digit_px))
    faded = 128 + (np.asarray(paper, dtype=np.float64) - 128) * spoilt.contrast
    return np.stack([faded.astype(np.uint8)] * 3, axis=-1)
