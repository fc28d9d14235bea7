"""The buddy label, measured and read from outside: the one number that may be right tonight."""

from collections.abc import Iterator

import numpy as np
import pytest

from check import close
from gaswright.errors import Refused
from gaswright.paper.labels import LabelKind, label_pdf
from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Role, UnitSystem
from papers.measuring import Blob, Grey, blobs, crop, cut_rectangle, inner_text, page_text, picture
from papers.permits_for_tests import label_permit_for_tests
from papers.reading_labels import SPOILT, Reader, Spoilt, UpsideDown, number_and_unit, offline

# Every digit appears; the depths are stops of both grids and MODs of bottom stages.
MODS = ("6 m", "9 m", "12 m", "15 m", "18 m", "21 m", "24 m", "27 m", "30 m", "33 m", "36 m", "40 m", "57 m", "66 m",
        "20 ft", "30 ft", "70 ft", "110 ft", "160 ft", "190 ft", "200 ft", "280 ft")
LEAST_MM = 51.0  # 2 in, rounded up; common practice, no source
WISHED_MM = 55.0  # paper law: holds after 7 % shrink
PRINTER_SHRINK = 0.93


def buddy(mod: str, stock: str = "a4") -> bytes:
    """The buddy label of a MOD like "21 m"."""
    number, unit = mod.split()
    metric = unit == "m"
    label_mod = LabelMod(160, int(number) if metric else 1, 1 if metric else int(number))
    units = UnitSystem.METRIC if metric else UnitSystem.IMPERIAL
    return label_pdf(label_permit_for_tests(mod=label_mod, units=units, role=Role.STAGE), LabelKind.DECO_BUDDY, stock)


def inside(pdf: bytes) -> Grey:
    """The picture inside the cut line."""
    return crop(picture(pdf), cut_rectangle(pdf, at_least_high_mm=80.0))


def digits_and_bar(mod: str, pdf: bytes) -> tuple[list[Blob], list[Blob], Blob]:
    """The shapes of the digits, of the unit, and the bar."""
    shapes = blobs(inside(pdf))
    bar = max(shapes, key=lambda blob: blob.width_mm)
    others = [shape for shape in shapes if shape is not bar]
    count = len(mod.split(maxsplit=1)[0])
    return others[:count], others[count:], bar


@pytest.fixture(scope="module")
def reader() -> Iterator[Reader]:
    """The outside reader, with the network shut."""
    shut = offline()
    next(shut)
    yield Reader()
    next(shut, None)


@pytest.mark.parametrize("mod", MODS)
def test_every_digit_stands_two_inches_high_even_after_the_printer_shrinks(mod: str) -> None:
    """Every digit is at least 51.0 mm by outline after 7 % shrink, the smallest 55.0 mm as printed."""
    digits, _, _ = digits_and_bar(mod, buddy(mod))
    heights_mm = [digit.height_mm for digit in digits]
    assert len(heights_mm) == len(mod.split(maxsplit=1)[0])
    assert min(heights_mm) * PRINTER_SHRINK >= LEAST_MM
    close(min(heights_mm), WISHED_MM, within=0.17, why=mod)


@pytest.mark.parametrize("mod", MODS)
def test_the_bar_lies_below_number_and_unit_thick_and_far_enough(mod: str) -> None:
    """Bar below, at least 0.17 H thick, a gap of at least 0.30 H, and as wide as number and unit together."""
    digits, unit, bar = digits_and_bar(mod, buddy(mod))
    lowest_mm = max(shape.bottom_mm for shape in (*digits, *unit))
    assert bar.height_mm >= 0.17 * WISHED_MM
    assert bar.top_mm - lowest_mm >= 0.30 * WISHED_MM
    assert bar.left_mm <= digits[0].left_mm
    assert bar.left_mm + bar.width_mm >= unit[-1].left_mm + unit[-1].width_mm
    close(bar.filled, 1.0, within=0.001, why="the bar is solid black")
    top_mm = min(digit.top_mm for digit in digits)
    close((bar.bottom_mm - top_mm) / WISHED_MM, 1.49, within=0.021, why="1.47 H, and what round digits overshoot")


@pytest.mark.parametrize("spoilt", SPOILT, ids=lambda spoilt: spoilt.name)
def test_an_outside_reader_reads_exactly_these_digits(reader: Reader, spoilt: Spoilt) -> None:
    """Small, blurred, faint or turned: recognition gives exactly the digits printed, for every MOD, without retry."""
    read = {mod: reader.digits(number_and_unit(inside(buddy(mod))), spoilt) for mod in MODS}
    assert read == {mod: mod.split()[0] for mod in MODS}


def test_a_label_turned_over_is_caught(reader: Reader) -> None:
    """The bar above the number tells the reader; without looking at the bar, 6 m would have been read as 9."""
    turned = np.rot90(inside(buddy("6 m")), 2).copy()
    with pytest.raises(UpsideDown):
        number_and_unit(turned)
    without_bar = np.rot90(number_and_unit(inside(buddy("6 m"))), 2).copy()
    assert reader.digits(without_bar, SPOILT[0]) == "9"


def test_a_wrong_number_is_caught(reader: Reader) -> None:
    """The reader does not confirm a number that is not on the label."""
    for printed, wished in (("21 m", "24"), ("6 m", "9"), ("36 m", "33"), ("70 ft", "20")):
        for spoilt in SPOILT:
            assert reader.digits(number_and_unit(inside(buddy(printed))), spoilt) != wished


@pytest.mark.parametrize("mod", MODS)
def test_inside_the_cut_line_stands_the_mod_and_nothing_else(mod: str) -> None:
    """No code, name, date or percentage: the text inside is number and unit."""
    pdf = buddy(mod)
    cut = cut_rectangle(pdf, at_least_high_mm=80.0)
    assert "".join(inner_text(pdf, cut).split()) == mod.replace(" ", "")


def test_the_tear_off_margin_says_which_cylinder_and_when() -> None:
    """Cylinder ID, sheet code, date and caution stand outside the cut line."""
    pdf = buddy("21 m")
    text = " ".join(page_text(pdf).split())
    inner = inner_text(pdf, cut_rectangle(pdf, at_least_high_mm=80.0))
    for words in ("4409", "K7Q2-41", "14 May 2027 07:40", "Analyse every cylinder yourself", "2026.1"):
        assert words in text
        assert words not in inner


@pytest.mark.parametrize("stock", ["a4", "letter"])
def test_three_digits_fit_or_are_refused_with_the_reason(stock: str) -> None:
    """"200 ft" fits both papers; four digits do not, and the sentence says how wide and what to do."""
    digits, _, _ = digits_and_bar("200 ft", buddy("200 ft", stock))
    assert len(digits) == 3
    with pytest.raises(Refused, match=r"the label is \d+ mm wide, .* has room for \d+ mm.*by hand"):
        buddy("2000 ft", stock)


def test_a_mod_above_the_surface_is_no_label() -> None:
    """A gas that is too rich for its limit gets no MOD of 0 m."""
    permit = label_permit_for_tests(mod=LabelMod(160, 0, 0))
    with pytest.raises(Refused, match="too rich"):
        label_pdf(permit, LabelKind.DECO_BUDDY)
