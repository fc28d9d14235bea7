"""Team switch card, deck sheet and the lines for writing by hand."""

from dataclasses import replace

import pypdfium2
import pytest

from gaswright.decompression.request import Direction
from gaswright.errors import Refused
from gaswright.paper.cards import switch_card_pdf, switch_card_pictures
from gaswright.paper.deck_sheet import deck_sheet_pdf
from gaswright.paper.handwriting import handwriting
from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Role, TeamGas, UnitSystem
from papers.measuring import MM_PER_DOT, blobs, page_text, picture
from papers.permits_for_tests import label_permit_for_tests, sheet_permit_for_tests

CAUTION = "No schedule removes the risk of decompression illness."


def words_of(pdf: bytes, page: int | None = None) -> str:
    """The text with single spaces."""
    return " ".join(page_text(pdf, page).split())


@pytest.mark.parametrize(("divers", "stock"), [(1, "a4"), (3, "a4"), (3, "letter"), (6, "letter")])
def test_every_switch_names_depth_cylinders_order_and_who_confirms(divers: int, stock: str) -> None:
    """Each diver's turn: number, name, confirmer, cylinder ID, MOD, gas; the next confirms, the last by the first."""
    permit = sheet_permit_for_tests(divers)
    text = words_of(switch_card_pdf(permit, stock))
    names = [diver.name for diver in permit.divers]
    for at, name in enumerate(names):
        confirmer = names[(at + 1) % divers] if divers > 1 else "nobody"
        assert f"{at + 1}. {name} confirmed by {confirmer} {4409 + at} 21m {(4960 + 10 * at) / 100:g} %" in text
        assert f"{at + 1}. {name} confirmed by {confirmer} {835 + at:04d} 6m OXYGEN" in text


def test_the_card_has_the_ten_steps_and_the_three_settings_of_the_team() -> None:
    """The steps are numbered one to ten, any "no" stops the switch, three settings wait for a tick."""
    text = words_of(switch_card_pdf(sheet_permit_for_tests()))
    starts = ("1 Announce", "2 Read the cylinder", "3 Read the depth", "4 Trace the hose", "5 Open the valve",
              "6 Regulator in hand", "7 Breathe", "8 Change the computer", "9 Confirm", "10 Close the valve")
    at = [text.index(start) for start in starts]
    assert at == sorted(at)
    for words in ('Any "no": do not switch', "Valve before the switch shut open",
                  "Back gas between two deco gases breathed not breathed",
                  "Divers switch one by one in parallel with cross-check"):
        assert words in text


def test_every_page_of_the_card_carries_its_marks() -> None:
    """Team, date, code, units, policy, ruler and caution on each page; the band where the team is not clear."""
    pdf = switch_card_pdf(sheet_permit_for_tests(6, units=UnitSystem.IMPERIAL, go=False))
    for at in range(len(pypdfium2.PdfDocument(pdf))):
        text = words_of(pdf, at)
        for words in ("Team switch card", "Ines, Tomas, Noor", "14 May 2027", "code P3M8-12", "units ft, psi",
                      "policy 2026.1", "100 mm", CAUTION, "NOT CLEARED"):
            assert words in text


def test_a_switch_on_the_way_down_says_so() -> None:
    """The change from travel to bottom gas is not read as a switch of the way up."""
    permit = sheet_permit_for_tests()
    down = TeamGas(30.0, {"d0": "d0-main"}, direction=Direction.DOWN)
    plan = replace(permit.plan, team_gases=(down, *permit.plan.team_gases))
    text = words_of(switch_card_pdf(replace(permit, plan=plan)))
    assert "GOING DOWN, SWITCH AT 30m" in text
    assert "1. Ines confirmed by Tomas 2071 63m 18.2/44.6" in text
    assert text.count("GOING DOWN") == 1


def test_the_depth_of_a_switch_is_large_and_a_corner_is_free_for_a_hole() -> None:
    """Two digits of 14 mm at 21 m, and nothing dark in the 12 mm at the upper left."""
    grey = picture(switch_card_pdf(sheet_permit_for_tests(plan_only=False)))
    large = [shape for shape in blobs(grey) if 13.9 <= shape.height_mm <= 14.6 and shape.filled < 0.95]
    assert len(large) >= 3  # "21" and "6"
    free = grey[round(8 / MM_PER_DOT): round(26 / MM_PER_DOT), : round(24 / MM_PER_DOT)]
    assert free.min() > 128


def test_no_switch_card_is_printed_on_targets() -> None:
    """PLAN ONLY gives slates, never a card to switch by."""
    with pytest.raises(Refused, match="not analysed"):
        switch_card_pdf(sheet_permit_for_tests(plan_only=True))


def test_the_card_comes_as_pictures_too() -> None:
    """One PNG a page."""
    assert len(switch_card_pictures(sheet_permit_for_tests(2), dots_per_inch=72)) == 1


def test_the_deck_sheet_has_a_row_a_cylinder_and_blanks() -> None:
    """ID, diver and role are printed, what is measured is not."""
    pdf = deck_sheet_pdf(sheet_permit_for_tests(6, plan_only=True), "letter")
    text = words_of(pdf)
    for at in range(6):
        for serial in (2071, 4409, 835):
            assert f"{serial + at:04d} " in text
    assert "O2 % He % Pressure Time Initials Witness Label on Label off" in text
    assert "49.6" not in text
    for at in range(len(pypdfium2.PdfDocument(pdf))):
        assert "PLAN ONLY" in words_of(pdf, at)
        assert CAUTION in words_of(pdf, at)


def test_handwriting_says_what_to_write_in_order() -> None:
    """The ID on the metal first, the large MOD next, then the neck label; every number has its unit."""
    assert handwriting(label_permit_for_tests()) == (
        "stand at the cylinder, read the ID on the metal: it must be 4409",
        "buddy label, digits at least 51 mm: 21 m and nothing else",
        "one thick bar under number and unit, as long as both",
        "neck label: MOD 21 m at 1.6 ata, largest",
        "below it: 49.6 %",
        "O2 49.6 %  He 0 %",
        "198 bar",
        "TK  ID 4409",
        "14 May 2027 07:40",
    )


def test_handwriting_of_mains_suit_gas_and_of_a_pressure_nobody_read() -> None:
    """Mains show the gas, suit gas is not for breathing, a missing pressure is asked for."""
    main = handwriting(label_permit_for_tests(role=Role.MAIN, o2_e4=1820, he_e4=4460, mod=LabelMod(140, 63, 209)))
    assert main[1:3] == ("large, digits at least 25 mm: 18.2/44.6", "below it: MOD 63 m at 1.4 ata")
    assert "write NOT FOR BREATHING" in handwriting(label_permit_for_tests(role=Role.SUIT, breathable=False))
    assert "pressure: read it now" in handwriting(label_permit_for_tests(gauge_bar=None))
