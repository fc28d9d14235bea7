"""Measuring a printed page from outside: pdfium draws it, connected components find the digits and the bar."""

from dataclasses import dataclass

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from scipy import ndimage

__all__ = ["Blob", "Rectangle", "blobs", "crop", "cut_rectangle", "inner_text", "page_text", "picture"]

DOTS_PER_INCH = 300
MM_PER_DOT = 25.4 / DOTS_PER_INCH
MM_PER_POINT = 25.4 / 72
Grey = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle on the page in mm from its lower left corner."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class Blob:
    """One connected black shape, in mm from the upper left corner of its picture."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    filled: float  # share of its box that is black

    @property
    def bottom_mm(self) -> float:
        """Lower edge."""
        return self.top_mm + self.height_mm


def picture(pdf: bytes, page: int = 0) -> Grey:
    """One page in grey at 300 dpi."""
    document = pypdfium2.PdfDocument(pdf)
    drawn = document[page].render(scale=DOTS_PER_INCH / 72, grayscale=True)
    return np.array(drawn.to_pil(), dtype=np.uint8)


def page_text(pdf: bytes, page: int | None = None) -> str:
    """The text layer of one page, or of all."""
    document = pypdfium2.PdfDocument(pdf)
    pages = range(len(document)) if page is None else [page]
    return "\n".join(document[at].get_textpage().get_text_range() for at in pages)


def cut_rectangle(pdf: bytes, *, at_least_high_mm: float) -> Rectangle:
    """The dashed cut line around the label: the only drawn path of at least this height."""
    page = pypdfium2.PdfDocument(pdf)[0]
    paths = [obj.get_bounds() for obj in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])]
    tall = [path for path in paths if (path[3] - path[1]) * MM_PER_POINT >= at_least_high_mm]
    assert len(tall) == 1, f"{len(tall)} paths could be the cut line"
    return Rectangle(*(edge * MM_PER_POINT for edge in tall[0]))


def inner_text(pdf: bytes, cut: Rectangle) -> str:
    """The text layer inside the cut line."""
    page = pypdfium2.PdfDocument(pdf)[0]
    left, bottom, right, top = (edge / MM_PER_POINT for edge in (cut.left_mm, cut.bottom_mm, cut.right_mm, cut.top_mm))
    return str(page.get_textpage().get_text_bounded(left, bottom, right, top)).strip()


def crop(grey: Grey, cut: Rectangle, inset_mm: float = 1.0) -> Grey:
    """The picture inside the cut line."""
    high_mm = grey.shape[0] * MM_PER_DOT
    rows = ((high_mm - cut.top_mm + inset_mm) / MM_PER_DOT, (high_mm - cut.bottom_mm - inset_mm) / MM_PER_DOT)
    columns = ((cut.left_mm + inset_mm) / MM_PER_DOT, (cut.right_mm - inset_mm) / MM_PER_DOT)
    return grey[round(rows[0]):round(rows[1]), round(columns[0]):round(columns[1])]


def blobs(grey: Grey) -> list[Blob]:
    """Every connected black shape from left to right."""
    labelled, _ = ndimage.label(grey < 128, structure=np.ones((3, 3)))
    found = []
    for at, box in enumerate(ndimage.find_objects(labelled), start=1):
        high, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
        share = float((labelled[box] == at).sum()) / (high * wide)
        found.append(Blob(box[1].start * MM_PER_DOT, box[0].start * MM_PER_DOT, wide * MM_PER_DOT, high * MM_PER_DOT,
                          share))
    return sorted(found, key=lambda blob: blob.left_mm)
