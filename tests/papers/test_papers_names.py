"""Names on paper: letters the font lacks are rewritten, long names stay inside the page and cover nothing."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np
import pypdfium2
import pytest

from gaswright.errors import InputError
from gaswright.paper.cards import switch_card_pdf
from gaswright.paper.deck_sheet import deck_sheet_pdf
from gaswright.paper.font import characters
from gaswright.paper.labels import labels_pdf
from gaswright.paper.lettering import name_on_paper, names_on_paper
from gaswright.paper.slates import slate_pdf
from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Role, UnitSystem
from papers.measuring import MM_PER_POINT, page_text
from papers.permits_for_tests import (
    LONG_NAME,
    LONG_TRIP,
    label_permit_for_tests,
    sheet_permit_for_tests,
    with_names,
    with_travel,
)

NAMES = (LONG_NAME, "Łucja Wąż", "Đorđe Čapek", "Åse", LONG_NAME.replace("Maximiliana", "Wilhelmina"), "Sőtér Gößl")
EDGE_MM = 2.0  # printers leave a few millimetres; the slates go to 2.5 mm
TEAM = {
    "metric": with_names(with_travel(sheet_permit_for_tests(6)), *NAMES),
    "feet": with_names(with_travel(sheet_permit_for_tests(6, units=UnitSystem.IMPERIAL, go=False)), *NAMES),
    "pair": with_names(sheet_permit_for_tests(3, pair=True, imperial_diver=0, low_note=True), *NAMES[:3]),
    "unbroken": with_names(sheet_permit_for_tests(2), "X" * 90, "i" * 200, trip="W" * 120),
    "plan only": with_names(sheet_permit_for_tests(2, plan_only=True), LONG_NAME, " ".join([LONG_NAME] * 6)),
}
LABELS = [
    label_permit_for_tests(id_on_metal="2071", role=Role.MAIN, o2_e4=1825, he_e4=4465, mod=LabelMod(140, 63, 209),
                           names=", ".join(NAMES), initials="MAFC/ŁW/ĐČ/ÅS/WAFC/SG", minimum=(6, 20)),
    label_permit_for_tests(names=", ".join(NAMES * 3), initials="MAFC/ŁW/ĐČ/ÅS/WAFC/SG/MAFC/ŁW", minimum=(6, 20)),
    label_permit_for_tests(id_on_metal="0835", o2_e4=9930, mod=LabelMod(160, 6, 20, "oxygen"), names="Y" * 150),
    label_permit_for_tests(id_on_metal="7777", role=Role.SUIT, o2_e4=2095, breathable=False, names=LONG_NAME),
]
SHEETS: dict[str, Callable[[], bytes]] = {
    **{f"slate {size} {name}": partial(slate_pdf, permit, "d0", size) for name, permit in TEAM.items()
       for size in ("a6", "a5")},
    **{f"card {stock} {name}": partial(switch_card_pdf, permit, stock) for name, permit in TEAM.items()
       if name != "plan only" for stock in ("a4", "letter")},
    **{f"deck {stock} {name}": partial(deck_sheet_pdf, permit, stock) for name, permit in TEAM.items()
       for stock in ("a4", "letter")},
    **{f"labels {stock} {walk}": partial(labels_pdf, LABELS, stock=stock, walk_round=walk)
       for stock in ("a4", "letter") for walk in (False, True)},
}  # fmt: skip


@pytest.mark.parametrize(("name", "shown"), [
    ("Łucja Wąż", "Lucja Waz"), ("Đorđe Čapek", "Dorde Capek"), ("Sőtér", "Sotér"), ("A\u011fr\u0131", "Agri"),
    ("Åse Müller-Öst", "Åse Müller-Öst"), ("Jose\u0301", "José"), ("O\u2019Hara", "O\u2019Hara"), ("Nguyễn", "Nguyen"),
])  # fmt: skip
def test_a_letter_that_the_font_lacks_is_written_with_letters_it_has(name: str, shown: str) -> None:
    """Marks fall only where the letter would be missing; what the font has stays as it is."""
    assert name_on_paper(name) == shown
    assert set(name_on_paper(name)) <= characters()


@pytest.mark.parametrize("name", ["Жанна", "漢", "Dive \uff12", "①", "x\u0000"])
def test_what_has_no_spelling_and_digits_of_any_kind_stay_as_they_are(name: str) -> None:
    """Such a name is refused where it is set; a number is never rewritten."""
    assert name_on_paper(name) == name
    with pytest.raises(InputError, match="not in the font of the sheets"):
        slate_pdf(with_names(sheet_permit_for_tests(1), name), "d0")


def test_ids_are_never_rewritten() -> None:
    """An ID with a letter that the font lacks is refused, not turned into another ID."""
    with pytest.raises(InputError, match="'Ł'"):
        labels_pdf([label_permit_for_tests(id_on_metal="Ł409")])
    permit = sheet_permit_for_tests(1)
    with pytest.raises(InputError, match="'Ł'"):
        slate_pdf(replace(permit, ids_on_metal=permit.ids_on_metal | {"d0-main": "Ł071"}), "d0")


def test_two_names_that_read_alike_on_paper_carry_their_ids() -> None:
    """Łukasz and Lukasz of one team stay two people."""
    permit = with_names(sheet_permit_for_tests(3), "Łukasz", "Lukasz", "Noor")
    assert names_on_paper(permit.divers) == {"d0": "Lukasz (d0)", "d1": "Lukasz (d1)", "d2": "Noor"}
    assert "Lukasz (d0)" in page_text(switch_card_pdf(permit))


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_text_box_lies_inside_the_page_and_covers_no_other(sheet: str) -> None:
    """Six long names, a 90-character trip: each drawn character is inside the page, and no two lie on each other."""
    document = pypdfium2.PdfDocument(SHEETS[sheet]())
    for page in document:
        wide_mm, high_mm = (side * MM_PER_POINT for side in page.get_size())
        layer = page.get_textpage()
        drawn = [at for at in range(layer.count_chars()) if not layer.get_text_range(at, 1).isspace()]
        boxes = np.array([layer.get_charbox(at) for at in drawn]) * MM_PER_POINT
        assert boxes[:, :2].min() >= EDGE_MM, sheet
        assert (boxes[:, 2] <= wide_mm - EDGE_MM).all(), sheet
        assert (boxes[:, 3] <= high_mm - EDGE_MM).all(), sheet
        assert covering(boxes) == 0, sheet


def covering(boxes: np.ndarray) -> int:
    """How many characters hold the middle of another in the middle 80 % of their box."""
    left, bottom, right, top = boxes.T
    slack_x, slack_y = (right - left) * 0.1, (top - bottom) * 0.1
    middle_x, middle_y = (left + right) / 2, (bottom + top) / 2
    inside = ((left + slack_x)[:, None] < middle_x) & (middle_x < (right - slack_x)[:, None])
    inside &= ((bottom + slack_y)[:, None] < middle_y) & (middle_y < (top - slack_y)[:, None])
    return int(inside.sum()) - int(np.diag(inside).sum())


def test_the_check_of_covered_text_can_fail() -> None:
    """Two characters on the same place are found."""
    assert covering(np.array([[0.0, 0.0, 2.0, 3.0], [0.2, 0.1, 2.1, 3.2], [5.0, 0.0, 7.0, 3.0]])) > 0


@pytest.mark.parametrize("sheet", ["slate a6 metric", "slate a5 metric", "deck a4 metric", "deck letter metric",
                                   "card a4 metric", "labels a4 False"])
def test_the_long_name_stands_in_full(sheet: str) -> None:
    """54 characters wrap or get smaller; they are not shortened."""
    text = "".join(page_text(SHEETS[sheet]()).split()).replace("\u0002", "-").replace("\ufffe", "-")
    assert LONG_NAME.replace(" ", "").replace("-", "") in text.replace("-", "")


@pytest.mark.parametrize("sheet", ["slate a6 metric", "deck letter metric", "card a4 metric"])
def test_the_long_name_of_a_trip_stands_in_full(sheet: str) -> None:
    """90 characters wrap; they are not shortened."""
    assert len(LONG_TRIP) == 90
    assert LONG_TRIP in " ".join(page_text(SHEETS[sheet](), 0).split())


def test_a_name_without_end_is_shortened_with_dots_and_numbers_never() -> None:
    """Two hundred letters in one word end in dots; every ID and gas of the sheet is still whole."""
    text = page_text(SHEETS["card a4 unbroken"]())
    assert "WW..." in text
    assert "W" * 120 not in text
    assert "ii..." in text
    for words in ("2071", "4409", "18.2/44.6", "49.6 %", "code P3M8-12"):
        assert words in text
