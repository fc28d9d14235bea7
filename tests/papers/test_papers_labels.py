"""Neck, main and suit labels: content equal to the record, digit sizes, and what is refused."""

import pytest

from gaswright.clearance.permits import LabelPermit
from gaswright.errors import InputError, Refused
from gaswright.paper.labels import LabelKind, kinds_of, label_pdf, labels_pdf, labels_pictures
from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Role, UnitSystem
from papers.measuring import blobs, crop, cut_rectangle, inner_text, page_text, picture
from papers.permits_for_tests import label_permit_for_tests

CAUTION = ("Planning aid for trained, certified divers. No schedule removes the risk of decompression illness. Analyse "
           "every cylinder yourself. Training, team procedures, law and doctors decide.")
MAIN = label_permit_for_tests(id_on_metal="2071", role=Role.MAIN, o2_e4=1820, he_e4=4460, mod=LabelMod(140, 63, 209),
                              names="Ines", initials="IN")
DECO = label_permit_for_tests()
OXYGEN = label_permit_for_tests(id_on_metal="0835", o2_e4=9930, mod=LabelMod(160, 6, 20, "oxygen"))
SUIT = label_permit_for_tests(id_on_metal="7777", role=Role.SUIT, o2_e4=2095, breathable=False, planned=False)
FEET = label_permit_for_tests(units=UnitSystem.IMPERIAL)


def squeezed(text: str) -> str:
    """A text without its white space."""
    return "".join(text.split())


@pytest.mark.parametrize(("permit", "kind", "texts"), [
    (MAIN, LabelKind.MAIN_SIMPLE, ["18.2/44.6"]),
    (MAIN, LabelKind.MAIN_FULL,
     ["18.2/44.6", "O2 18.2 %", "He 44.6 %", "MOD 63 m at 1.4 ata", "ID 2071", "IN", "14 May 2027 07:40"]),
    (DECO, LabelKind.DECO_NECK,
     ["21 m", "49.6 %", "O2 49.6 %", "He 0 %", "MOD at 1.6 ata", "198 bar", "ID 4409", "TK", "14 May 2027 07:40"]),
    (OXYGEN, LabelKind.DECO_NECK,
     ["6 m", "OXYGEN", "O2 99.3 %", "He 0 %", "MOD at 1.6 ata", "198 bar", "ID 0835", "TK", "14 May 2027 07:40"]),
    (FEET, LabelKind.DECO_NECK,  # 198.4 bar / 0.0689475729 = 2877.5 psi, down
     ["70 ft", "49.6 %", "O2 49.6 %", "He 0 %", "MOD at 1.6 ata", "2877 psi", "ID 4409", "TK", "14 May 2027 07:40"]),
    (SUIT, LabelKind.SUIT,
     ["NOT FOR", "BREATHING", "SUIT GAS", "O2 20.95 %", "He 0 %", "ID 7777", "TK", "14 May 2027 07:40"]),
], ids=["main simple", "main full", "neck", "neck oxygen", "neck feet", "suit"])
def test_a_label_says_its_record_and_nothing_else(permit: LabelPermit, kind: LabelKind, texts: list[str]) -> None:
    """The text inside the cut line is the record's, in order, without anything added."""
    pdf = label_pdf(permit, kind)
    assert squeezed(inner_text(pdf, cut_rectangle(pdf, at_least_high_mm=30.0))) == squeezed("".join(texts))


@pytest.mark.parametrize(("permit", "kind", "count", "least_mm"), [
    (MAIN, LabelKind.MAIN_SIMPLE, 6, 25.0),
    (MAIN, LabelKind.MAIN_FULL, 6, 14.0),
    (DECO, LabelKind.DECO_NECK, 2, 14.0),
])
def test_the_large_digits_are_as_high_as_the_table_says(permit: LabelPermit, kind: LabelKind, count: int,
                                                        least_mm: float) -> None:
    """Gas of a main 25 mm (simple) and 14 mm (full), MOD of a neck label 14 mm, measured on the page."""
    pdf = label_pdf(permit, kind)
    shapes = blobs(crop(picture(pdf), cut_rectangle(pdf, at_least_high_mm=30.0)))
    heights_mm = sorted((shape.height_mm for shape in shapes if shape.filled < 0.95), reverse=True)  # 0.95: not the bar
    one_dot_mm = 25.4 / 300
    assert heights_mm[count - 1] >= least_mm - one_dot_mm


@pytest.mark.parametrize(("permit", "kind"), [(MAIN, LabelKind.MAIN_FULL), (DECO, LabelKind.DECO_NECK)])
def test_the_rest_of_a_label_has_digits_of_six_millimetres(permit: LabelPermit, kind: LabelKind) -> None:
    """The last line, the date, holds ten digits: each stands at least 6 mm high."""
    pdf = label_pdf(permit, kind)
    inside = crop(picture(pdf), cut_rectangle(pdf, at_least_high_mm=30.0))
    shapes = [shape for shape in blobs(inside) if shape.height_mm > 1.0]
    foot_mm = max(shape.bottom_mm for shape in shapes)  # the foot of the y in May
    date = [shape for shape in shapes if foot_mm - shape.bottom_mm < 2.5 and shape.width_mm < 5.5]
    high = [shape.height_mm for shape in date if shape.height_mm > 5.5]
    assert sum(height_mm >= 6.0 - 25.4 / 300 for height_mm in high) >= 10


@pytest.mark.parametrize(("permit", "kinds"), [
    (MAIN, (LabelKind.MAIN_SIMPLE, LabelKind.MAIN_FULL)),
    (DECO, (LabelKind.DECO_NECK, LabelKind.DECO_BUDDY)),
    (label_permit_for_tests(planned=False), (LabelKind.DECO_NECK,)),
    (label_permit_for_tests(role=Role.SURFACE), (LabelKind.MAIN_FULL,)),
    (SUIT, (LabelKind.SUIT,)),
    (label_permit_for_tests(breathable=False), (LabelKind.SUIT,)),
])
def test_each_cylinder_takes_the_labels_of_its_role(permit: LabelPermit, kinds: tuple[LabelKind, ...]) -> None:
    """A buddy label only for a gas that a plan uses; gas that is not for breathing gets nothing but the suit label."""
    assert kinds_of(permit) == kinds


@pytest.mark.parametrize(("permit", "kind", "reason"), [
    (SUIT, LabelKind.DECO_BUDDY, "not for breathing"),
    (label_permit_for_tests(planned=False), LabelKind.DECO_BUDDY, "no plan uses"),
    (MAIN, LabelKind.DECO_BUDDY, "is a main cylinder"),
    (DECO, LabelKind.MAIN_SIMPLE, "is a deco cylinder"),
])
def test_a_label_that_does_not_belong_is_refused(permit: LabelPermit, kind: LabelKind, reason: str) -> None:
    """The refusal names the cylinder and says why."""
    with pytest.raises(Refused, match=reason) as refusal:
        label_pdf(permit, kind)
    assert permit.id_on_metal in str(refusal.value)


def test_one_page_a_cylinder_by_default_and_a_line_to_read_the_id_back() -> None:
    """Each page is one cylinder's, with what it is, for whom, code, date, units, policy, ruler and caution."""
    permits = [MAIN, DECO, OXYGEN]
    pdf = labels_pdf(permits)
    for at, permit in enumerate(permits):
        text = " ".join(page_text(pdf, at).split())
        for words in (f"Labels cylinder {permit.id_on_metal}", permit.diver_names, "code K7Q2-41",
                      "14 May 2027", "units m, bar", "policy 2026.1", "This line is 100 mm", CAUTION):
            assert words in text
        assert text.count("ID read from the metal") == len(kinds_of(permit))
        assert sum(other.id_on_metal in text for other in permits) == 1


def test_the_walk_round_sheet_asks_for_every_id() -> None:
    """Many labels a page, and at each label a line for the ID read from the metal."""
    permits = [MAIN, DECO, OXYGEN, SUIT]
    pdf = labels_pdf(permits, walk_round=True)
    text = " ".join(page_text(pdf).split())
    assert text.count("ID read from the metal") == sum(len(kinds_of(permit)) for permit in permits) == 7
    assert "4 cylinders" in text
    assert CAUTION in text


@pytest.mark.parametrize(("stock", "width_mm"), [("a4", 210.0), ("letter", 215.9)])
def test_the_ruler_is_one_hundred_millimetres_long(stock: str, width_mm: float) -> None:
    """The drawn line measures 100 mm on the page, to a dot."""
    grey = picture(labels_pdf([DECO], stock=stock))
    assert abs(grey.shape[1] * 25.4 / 300 - width_mm) <= 25.4 / 300
    rulers = [shape for shape in blobs(grey) if abs(shape.width_mm - 100.0) <= 0.35 and shape.filled < 0.9]
    assert len(rulers) == 1


def test_two_unit_systems_in_one_print_run_are_refused() -> None:
    """One team and print run, one unit system."""
    with pytest.raises(Refused, match="one unit system"):
        labels_pdf([DECO, FEET])


def test_a_long_name_and_two_decimals_still_fit() -> None:
    """A gas with four decimals breaks after its slash instead of being cut."""
    permit = label_permit_for_tests(role=Role.MAIN, o2_e4=1825, he_e4=4465, names="Bartholomew " * 6)
    pdf = label_pdf(permit, LabelKind.MAIN_SIMPLE)
    assert squeezed(inner_text(pdf, cut_rectangle(pdf, at_least_high_mm=60.0))) == "18.25/44.65"


def test_a_pressure_that_nobody_read_stays_blank() -> None:
    """No number is invented: the unit stands beside a line to write on."""
    pdf = label_pdf(label_permit_for_tests(gauge_bar=None), LabelKind.DECO_NECK)
    inner = squeezed(inner_text(pdf, cut_rectangle(pdf, at_least_high_mm=30.0)))
    assert "1.6atabarID4409" in inner


def test_unknown_paper_and_no_permit_are_input_errors() -> None:
    """Both sentences say what is allowed."""
    with pytest.raises(InputError, match="a4 or letter"):
        labels_pdf([DECO], stock="a3")
    with pytest.raises(InputError, match="at least one cylinder"):
        labels_pdf([])


def test_pictures_have_one_image_a_page() -> None:
    """PNG from the same source, for screens and label printers."""
    pictures = labels_pictures([MAIN, DECO], dots_per_inch=72)
    assert [png[:8] for png in pictures] == [b"\x89PNG\r\n\x1a\n"] * 2
