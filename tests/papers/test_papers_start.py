"""What is breathed when leaving the surface stands on every slate and card, a minimum depth wherever it binds."""

from dataclasses import replace

import pypdfium2
import pytest

from gaswright.analysis.reading import Reading
from gaswright.errors import Refused
from gaswright.paper.cards import switch_card_pdf
from gaswright.paper.deck_sheet import deck_sheet_pdf
from gaswright.paper.handwriting import handwriting
from gaswright.paper.labels import LabelKind, label_pdf, labels_pdf
from gaswright.paper.slates import slate_pdf
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Role, UnitSystem
from papers.measuring import blobs, crop, cut_rectangle, inner_text, page_text, picture
from papers.permits_for_tests import label_permit_for_tests, sheet_permit_for_tests, with_travel

TRAVEL = label_permit_for_tests(id_on_metal="6158", role=Role.TRAVEL, o2_e4=1710, he_e4=2020, minimum=(2, 5),
                                mod=LabelMod(140, 68, 225))
MAIN = label_permit_for_tests(id_on_metal="2071", role=Role.MAIN, o2_e4=1120, he_e4=6010, mod=LabelMod(140, 110, 363),
                              minimum=(6, 20))


def squeezed(text: str) -> str:
    """A text without its white space."""
    return "".join(text.split())


@pytest.mark.parametrize("size", ["a6", "a5"])
def test_the_first_thing_of_the_rows_is_what_is_breathed_at_the_surface(size: str) -> None:
    """START with ID, gas and MOD of the mains stands on the first page before the first row, without travel gas too."""
    text = squeezed(page_text(slate_pdf(sheet_permit_for_tests(), "d1", size), 0))
    assert "BreatheSTARTonID207218.3/44.5MOD63m25min57m" in text


def test_travel_gas_is_started_on_and_named() -> None:
    """The travel cylinder stands in START, the mains in the switch at 30 m, each diver with the own cylinders."""
    permit = with_travel(sheet_permit_for_tests())
    for at in range(3):
        text = squeezed(page_text(slate_pdf(permit, f"d{at}"), 0))
        assert f"STARTonID{6158 + at}32.1/20.2MOD32mSWITCHat30mtoID{2071 + at}" in text


def test_feet_and_the_minimum_depth_at_the_switch_to_a_hypoxic_gas() -> None:
    """The switch to the mains says NOT ABOVE in the unit of the team; other boxes do not."""
    metric = squeezed(page_text(slate_pdf(with_travel(sheet_permit_for_tests()), "d0")))
    feet = squeezed(page_text(slate_pdf(with_travel(sheet_permit_for_tests(units=UnitSystem.IMPERIAL)), "d0")))
    assert "SWITCHat30mtoID207118.2/44.6MOD63mNOTABOVE6m" in metric
    assert "STARTonID615832.1/20.2MOD107ftSWITCHat100fttoID207118.2/44.6MOD209ftNOTABOVE20ft" in feet
    assert metric.count("NOTABOVE") == feet.count("NOTABOVE") == 1
    assert "NOTABOVE" not in squeezed(page_text(slate_pdf(sheet_permit_for_tests(), "d0")))


def test_a_hypoxic_gas_is_marked_even_where_the_dive_starts_on_it() -> None:
    """START carries the minimum depth too: the paper never hides it."""
    permit = replace(sheet_permit_for_tests(), minimums={"d0-main": (6, 20)})
    assert "STARTonID207118.2/44.6MOD63mNOTABOVE6m" in squeezed(page_text(slate_pdf(permit, "d0")))


def test_two_independent_mains_are_both_named() -> None:
    """Both IDs, the gas once where it is equal, each with its own where not, and the shallower MOD."""
    permit = sheet_permit_for_tests(pair=True)
    assert "STARTonID2072ID307218.3/44.5MOD63m" in squeezed(page_text(slate_pdf(permit, "d1")))
    odd = tuple(replace(one, gas=Reading(Mixture(1900, 4400))) if one.id == "d1-right" else one
                for one in permit.dive.cylinders)
    mods = permit.mods | {"d1-right": LabelMod(140, 60, 199)}
    text = squeezed(page_text(slate_pdf(replace(permit, dive=replace(permit.dive, cylinders=odd), mods=mods), "d1")))
    assert "STARTonID207218.3/44.5ID307219/44MOD60m" in text


def test_a_start_on_gas_that_nobody_analysed_shows_no_mod() -> None:
    """On a plan by targets a cylinder without an analysis has a question mark, also at the start."""
    permit = sheet_permit_for_tests(plan_only=True)
    mods = {cylinder: mod for cylinder, mod in permit.mods.items() if cylinder != "d1-main"}
    assert "STARTonID207218.3/44.5MOD?" in squeezed(page_text(slate_pdf(replace(permit, mods=mods), "d1")))


@pytest.mark.parametrize("divers", [1, 2, 3, 6])
def test_the_card_begins_with_what_each_diver_starts_on(divers: int) -> None:
    """The first box is START with a row a diver: cylinder, MOD, gas; then the switch on the way down."""
    permit = with_travel(sheet_permit_for_tests(divers))
    text = " ".join(page_text(switch_card_pdf(permit)).split())
    rows = " ".join(f"{diver.name} {6158 + at} 32m 32.1/20.2" for at, diver in enumerate(permit.divers))
    assert f"START Diver Cylinder ID MOD Gas {rows}" in text
    assert text.index("START") < text.index("GOING DOWN, SWITCH AT")


def test_the_card_says_the_minimum_depth_once_for_all_or_at_each_diver() -> None:
    """Where every diver's gas has the same minimum it stands above them, else below the row of the diver."""
    permit = with_travel(sheet_permit_for_tests(2))
    text = " ".join(page_text(switch_card_pdf(permit)).split())
    assert text.count("NOT ABOVE") == 1
    assert "30m Diver · confirmed by Cylinder ID MOD Gas NOT ABOVE 6 m 1. Ines" in text
    one = " ".join(page_text(switch_card_pdf(replace(permit, minimums={"d1-main": (7, 22)}))).split())
    assert "2. Tomas confirmed by Ines 2072 63m 18.3/44.5 NOT ABOVE 7 m" in one
    assert one.count("NOT ABOVE") == 1


def test_the_card_names_both_mains_of_a_pair() -> None:
    """Start and the switch down to two independent mains name both IDs."""
    text = " ".join(page_text(switch_card_pdf(sheet_permit_for_tests(2, pair=True))).split())
    assert "Ines 2071 3071 63m 18.2/44.6" in text
    down = " ".join(page_text(switch_card_pdf(with_travel(sheet_permit_for_tests(2, pair=True)))).split())
    assert "1. Ines confirmed by Tomas 2071 3071 63m 18.2/44.6" in down


def test_no_card_without_a_printable_schedule() -> None:
    """What is breathed first would be a guess."""
    permit = sheet_permit_for_tests()
    with pytest.raises(Refused, match="no card is printed"):
        switch_card_pdf(replace(permit, plan=replace(permit.plan, printed=None)))


@pytest.mark.parametrize("divers", [3, 4, 5, 6])
def test_the_whole_procedure_stays_together(divers: int) -> None:
    """Heading, ten steps, the rule of any "no" and the boxes to tick are on one page, with three switches."""
    pdf = switch_card_pdf(with_travel(sheet_permit_for_tests(divers)))
    pages = [" ".join(page_text(pdf, at).split()) for at in range(len(pypdfium2.PdfDocument(pdf)))]
    for words in ("Every switch", "1 Announce", "10 Close the valve", 'Any "no": do not switch',
                  "Agreed by this team", "in parallel with cross-check"):
        assert [words in page for page in pages] == [*(False for _ in pages[1:]), True]
    if divers == 3:
        assert len(pages) == 2
        assert pages[0].count("SWITCH AT") == 3
        assert "SWITCH AT" not in pages[1]


@pytest.mark.parametrize(("permit", "kind"), [
    (MAIN, LabelKind.MAIN_SIMPLE), (MAIN, LabelKind.MAIN_FULL), (TRAVEL, LabelKind.DECO_NECK),
    (replace(TRAVEL, role=Role.STAGE), LabelKind.DECO_NECK), (replace(TRAVEL, role=Role.BAILOUT), LabelKind.DECO_NECK),
    (replace(TRAVEL, role=Role.DECO), LabelKind.DECO_NECK),
])
@pytest.mark.parametrize("units", list(UnitSystem))
def test_a_label_of_a_gas_with_a_minimum_depth_carries_it(permit: object, kind: LabelKind, units: UnitSystem) -> None:
    """NOT ABOVE with the depth in the team's unit, inside the cut line; without a minimum nothing."""
    shown = replace(permit, units=units)  # type: ignore[type-var]
    shallowest = f"{shown.minimum_m} m" if units is UnitSystem.METRIC else f"{shown.minimum_ft} ft"  # type: ignore[attr-defined]
    pdf, without = label_pdf(shown, kind), label_pdf(replace(shown, minimum_m=0, minimum_ft=0), kind)  # type: ignore[arg-type, type-var]
    cut, other = (cut_rectangle(one, at_least_high_mm=30.0) for one in (pdf, without))
    assert inner_text(pdf, cut).count(f"NOT ABOVE {shallowest}") == 1
    assert "ABOVE" not in inner_text(without, other)


def test_the_minimum_depth_has_the_size_of_the_line_of_the_mod() -> None:
    """Its capitals are as high as those of MOD on the neck label, measured on the page: six letters more of 5.7 mm."""
    def letters(minimum: tuple[int, int]) -> int:
        pdf = label_pdf(replace(TRAVEL, minimum_m=minimum[0], minimum_ft=minimum[1]), LabelKind.DECO_NECK)
        shapes = blobs(crop(picture(pdf), cut_rectangle(pdf, at_least_high_mm=30.0)))
        return sum(5.5 <= shape.height_mm <= 6.5 for shape in shapes)

    assert letters((2, 5)) - letters((0, 0)) == len("NOTABOVE2")


def test_the_buddy_label_stays_the_mod_alone() -> None:
    """A minimum depth changes nothing on the buddy label."""
    pdf = label_pdf(TRAVEL, LabelKind.DECO_BUDDY)
    assert squeezed(inner_text(pdf, cut_rectangle(pdf, at_least_high_mm=50.0))) == "68m"


def test_two_minimum_depths_that_contradict_are_refused() -> None:
    """One says that the gas can be breathed at the surface, the other that it cannot: nothing is printed."""
    with pytest.raises(Refused, match="contradicts itself"):
        label_pdf(replace(MAIN, minimum_ft=0), LabelKind.MAIN_SIMPLE)


def test_by_hand_the_minimum_depth_and_the_pressure_of_the_diver_are_written() -> None:
    """After the MOD its NOT ABOVE; 198.4 bar are 2877 psi, down, for a diver who reads psi."""
    neck = handwriting(replace(TRAVEL, pressure_units=UnitSystem.IMPERIAL))
    assert "below it, as large as the line of the MOD: NOT ABOVE 2 m" in neck
    assert "2877 psi" in neck
    assert "below it, as large as the line of the MOD: NOT ABOVE 6 m" in handwriting(MAIN)
    assert not any("ABOVE" in line for line in handwriting(label_permit_for_tests()))


def test_a_neck_label_shows_the_pressure_as_its_diver_reads_it() -> None:
    """The MOD in the team's metres, the pressure in psi (198.4 bar / 0.0689475729 = 2877.5, down), also the blank."""
    permit = label_permit_for_tests(pressure_units=UnitSystem.IMPERIAL)
    pdf = label_pdf(permit, LabelKind.DECO_NECK)
    inner = inner_text(pdf, cut_rectangle(pdf, at_least_high_mm=30.0))
    assert "2877 psi" in inner
    assert "21m" in squeezed(inner)
    assert "units m, psi" in page_text(pdf)
    blank = label_pdf(replace(permit, gauge_bar=None), LabelKind.DECO_NECK)
    assert "1.6atapsiID4409" in squeezed(page_text(blank))
    both = labels_pdf([permit, label_permit_for_tests(id_on_metal="0001")], walk_round=True)
    assert "units m, pressure as on each label" in page_text(both)


def test_the_deck_sheet_has_the_unit_of_pressure_of_each_row() -> None:
    """Rows of a diver who reads psi say psi, the others bar, a cylinder of both shows both."""
    permit = sheet_permit_for_tests(2, imperial_diver=1)
    rows = " ".join(page_text(deck_sheet_pdf(permit)).split())
    assert "2071 Ines main bar" in rows
    assert "2072 Tomas main psi" in rows
    assert "units m, pressure by row" in rows
    shared = tuple(replace(one, divers=("d0", "d1")) if one.id == "d0-o2" else one for one in permit.dive.cylinders)
    text = page_text(deck_sheet_pdf(replace(permit, dive=replace(permit.dive, cylinders=shared))))
    assert "0835 Ines, Tomas deco bar / psi" in " ".join(text.split())


def test_the_labels_of_one_cylinder_share_a_page_of_the_walk_round_sheet() -> None:
    """No cylinder begins on one page and ends on the next, whatever stands before it."""
    permits = [label_permit_for_tests(id_on_metal="1001", planned=False), MAIN, label_permit_for_tests(),
               label_permit_for_tests(id_on_metal="1002", planned=False), TRAVEL]
    for stock in ("a4", "letter"):
        pdf = labels_pdf(permits, stock=stock, walk_round=True)
        texts = [page_text(pdf, at) for at in range(len(pypdfium2.PdfDocument(pdf)))]
        for permit in permits:
            assert sum(f"cylinder {permit.id_on_metal}" in text for text in texts) == 1
