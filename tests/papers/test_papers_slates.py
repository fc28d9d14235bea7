"""The runtime slate: its rows equal the plan's, its digits are measured, its warnings are on every page."""

from dataclasses import replace

import pypdfium2
import pytest

from gaswright.analysis.reading import Reading
from gaswright.decompression.request import Breath, Schedule, Segment, SegmentKind
from gaswright.errors import InputError, Refused
from gaswright.paper.slate_rows import SlateRow, SlateSwitch, slate_lines
from gaswright.paper.slates import slate_pdf, slate_pictures
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Role, Settings, UnitSystem
from papers.measuring import DOTS_PER_INCH, MM_PER_DOT, blobs, page_text, picture
from papers.permits_for_tests import sheet_permit_for_tests

CAUTION = ("Planning aid for trained, certified divers. No schedule removes the risk of decompression illness. Analyse "
           "every cylinder yourself. Training, team procedures, law and doctors decide.")
# By hand from the test's dive: bottom left at 25; 30 m at 9 m/min = 3.33 min to 27 m, 1 min there: 29.33, so 30; then
# 1 min a step and the stops 2, 4 (turns included), 3, 4, 5, 8, 24 min; 6 min from the last stop.
ROWS = (
    "25min57m25min18.3/44.5", "30min27m5min18.3/44.5", "33min24m3min18.3/44.5", "38min21m5min49.7%",
    "42min18m4min49.7%", "47min15m5min49.7%", "53min12m6min49.7%", "62min9m9min49.7%", "87min6m25minOXYGEN",
    "93minsurface",
)


def squeezed(pdf: bytes) -> str:
    """The text of every page without white space."""
    return "".join(page_text(pdf).split())


@pytest.mark.parametrize("size", ["a6", "a5"])
def test_the_text_layer_holds_the_rows_of_the_plan_in_order(size: str) -> None:
    """Leave at, depth, minutes there, breathe: row by row as the plan has them, with a unit on every number."""
    text = squeezed(slate_pdf(sheet_permit_for_tests(), "d1", size))
    at = [text.index(row) for row in ROWS]
    assert at == sorted(at)


def test_a_switch_stands_before_the_row_of_its_gas_with_id_and_mod() -> None:
    """The switch line names depth, cylinder, gas and MOD of this diver's own cylinder."""
    text = squeezed(slate_pdf(sheet_permit_for_tests(), "d1"))
    first, second = text.index("SWITCHat21mtoID441049.7%MOD21m"), text.index("SWITCHat6mtoID0836OXYGENMOD6m")
    assert text.index(ROWS[2]) < first < text.index(ROWS[3])
    assert text.index(ROWS[7]) < second < text.index(ROWS[8])


def test_the_figures_of_the_bottom_phase_are_rounded_to_the_safe_side() -> None:
    """27.4 min latest is 27, TTS 67.3 min is 68, 152.6 bar turn is 153, 97.2 bar minimum gas is 98."""
    text = squeezed(slate_pdf(sheet_permit_for_tests(), "d1"))
    assert "Leavebottomatthelatest27minTTS68minTurnpressure153barMinimumgas98bar" in text


@pytest.mark.parametrize("size", ["a6", "a5"])
def test_every_digit_of_every_row_is_six_millimetres_high(size: str) -> None:
    """Measured on the page at 300 dpi: each digit of each row, found by the text layer, drawn at least 6 mm high."""
    pdf = slate_pdf(sheet_permit_for_tests(), "d1", size)
    measured_mm = []
    document = pypdfium2.PdfDocument(pdf)
    for number in range(len(document)):
        page, layer = picture(pdf, number), document[number].get_textpage()
        shapes = blobs(page)
        count = layer.count_chars()
        characters = [layer.get_text_range(at, 1) for at in range(count)]
        kept = [at for at in range(count) if not characters[at].isspace()]
        text = "".join(characters[at] for at in kept)
        for row in ROWS:
            start = text.find(row)
            for at in kept[start:start + len(row)] if start >= 0 else ():
                if characters[at].isdigit():
                    left, bottom, right, top = layer.get_charbox(at)
                    middle_mm = ((left + right) / 144 * 25.4, page.shape[0] * MM_PER_DOT - (top + bottom) / 144 * 25.4)
                    own = [s for s in shapes if s.left_mm <= middle_mm[0] <= s.left_mm + s.width_mm
                           and s.top_mm <= middle_mm[1] <= s.bottom_mm and s.height_mm < 12]
                    assert len(own) == 1, (row, characters[at])
                    measured_mm.append(own[0].height_mm)
    assert len(measured_mm) == sum(character.isdigit() for row in ROWS for character in row if character != "%")
    assert min(measured_mm) >= 6.0 - 25.4 / DOTS_PER_INCH / 2


def test_every_page_says_what_it_is_for_whom_and_carries_the_caution() -> None:
    """Name, date, code, units, policy, page and caution stand on each page."""
    pdf = slate_pdf(sheet_permit_for_tests(imperial_diver=1, pair=True), "d1")
    pages = len(pypdfium2.PdfDocument(pdf))
    assert pages > 1
    for at in range(pages):
        text = " ".join(page_text(pdf, at).split())
        for words in ("Slate: Tomas", "14 May 2027", "code P3M8-12", "m (team), psi", "policy 2026.1",
                      f"page {at + 1} of {pages}", CAUTION):
            assert words in text


def test_a_corner_of_twelve_millimetres_is_free_for_a_hole() -> None:
    """Nothing but the light mark of the hole is drawn in the 12 mm at the upper left."""
    for pdf, side_mm in ((slate_pdf(sheet_permit_for_tests(plan_only=True), "d1"), 2.5),
                         (slate_pdf(sheet_permit_for_tests(plan_only=True), "d1", "a5"), 8.0)):
        grey = picture(pdf)
        free = grey[: round(17 / MM_PER_DOT), : round((side_mm + 12) / MM_PER_DOT)]
        assert free.min() > 128


@pytest.mark.parametrize(("permit", "words"), [
    (sheet_permit_for_tests(plan_only=True), "PLAN ONLY, not for diving"),
    (sheet_permit_for_tests(go=False), "NOT CLEARED"),
])
def test_a_plan_on_targets_and_an_open_question_stand_across_every_page(permit: object, words: str) -> None:
    """A slate that is not for diving says so on each page; a clear one does not."""
    pdf = slate_pdf(permit, "d1")  # type: ignore[arg-type]
    for at in range(len(pypdfium2.PdfDocument(pdf))):
        assert words in page_text(pdf, at)
    assert words not in page_text(slate_pdf(sheet_permit_for_tests(), "d1"))


def test_a_diver_of_other_units_gets_a_second_depth_and_own_pressures() -> None:
    """57 m is 187 ft (57 / 0.3048 = 187.0), 21 m is 69 ft; 152.6 bar is 2214 psi up; the team's figure stays first."""
    text = squeezed(slate_pdf(sheet_permit_for_tests(imperial_diver=1), "d1"))
    assert "25min57m187ft25min" in text
    assert "38min21m69ft5min" in text
    assert "2214psi" in text
    assert "1410psi" in text
    assert "ft" not in squeezed(slate_pdf(sheet_permit_for_tests(imperial_diver=1), "d0"))


def test_an_imperial_team_reads_feet_on_the_ten_foot_grid() -> None:
    """Stops of 3.048 m print as 90, 80, 70 ft; three digits of depth and of runtime fit an A6."""
    text = squeezed(slate_pdf(sheet_permit_for_tests(units=UnitSystem.IMPERIAL, minutes_longer=60), "d0"))
    for words in ("25min190ft25min18.2/44.6", "70ft", "MOD70ft", "MOD20ft", "min20ft85minOXYGEN"):
        assert words in text


def test_two_mains_are_named_each_with_its_pressures() -> None:
    """Independent mains: turn pressure and minimum gas for each cylinder by its ID."""
    text = squeezed(slate_pdf(sheet_permit_for_tests(pair=True), "d1"))
    for words in ("Turnpressure,ID2072153bar", "Turnpressure,ID3072153bar", "Minimumgas,ID207298bar"):
        assert words in text


def test_too_little_oxygen_at_the_surface_is_on_the_slate_of_that_diver() -> None:
    """The note of planning stands in one line on the slate of the diver whom it concerns, and says what to do."""
    permit = sheet_permit_for_tests(low_note=True)
    lines = [line.strip().replace("\u00a0", " ") for line in page_text(slate_pdf(permit, "d0"), 0).splitlines()]
    assert "! ppO2 only 0.170 ata at the surface: breathe it deeper only" in lines
    assert "ppO2only" not in squeezed(slate_pdf(permit, "d1"))


def test_a_mix_with_two_decimals_breaks_after_its_slash_instead_of_losing_digits() -> None:
    """18.25/44.65 at three-digit runtimes still fits an A6, at 6 mm."""
    permit = sheet_permit_for_tests(minutes_longer=60, units=UnitSystem.IMPERIAL)
    odd = tuple(replace(one, gas=Reading(Mixture(1825, 4465))) if one.role is Role.MAIN else one
                for one in permit.dive.cylinders)
    text = page_text(slate_pdf(replace(permit, dive=replace(permit.dive, cylinders=odd)), "d0"), 0)
    lines = [line.strip() for line in text.splitlines()]
    assert sum("18.25/44.65" in line for line in lines) == 1  # the box START, which has room for it
    assert any(line.endswith("18.25/") for line in lines)
    assert "44.65" in lines


def test_a_switch_to_a_cylinder_whose_gas_is_unknown_shows_no_number() -> None:
    """On a plan by targets a cylinder without an analysis has no MOD: a question mark stands there."""
    permit = sheet_permit_for_tests(plan_only=True)
    mods = {cylinder: mod for cylinder, mod in permit.mods.items() if cylinder != "d1-50"}
    text = squeezed(slate_pdf(replace(permit, mods=mods), "d1"))
    assert "SWITCHat21mtoID441049.7%MOD?" in text


def test_a_plan_without_a_schedule_has_no_slate() -> None:
    """Nothing is printed where there is nothing to follow."""
    permit = sheet_permit_for_tests()
    plan = replace(permit.plan, cases=(replace(permit.plan.planned, schedule=None),), printed=None)
    with pytest.raises(Refused, match="no schedule"):
        slate_pdf(replace(permit, plan=plan), "d0")


def test_stops_counted_in_seconds_show_seconds() -> None:
    """29.33 min is 29:20; on an A6 such rows do not fit and are refused, not squeezed."""
    permit = sheet_permit_for_tests(seconds=True)
    text = squeezed(slate_pdf(permit, "d0", "a5"))
    assert "29:20min27m4:20min" in text
    assert "latest27:24min" in text
    with pytest.raises(Refused, match=r"mm wide, A6 has room for .* mm: take A5"):
        slate_pdf(permit, "d0", "a6")


def test_an_unknown_diver_or_size_is_an_input_error() -> None:
    """The sentence names those that are known."""
    with pytest.raises(InputError, match="planned are d0, d1, d2"):
        slate_pdf(sheet_permit_for_tests(), "nobody")
    with pytest.raises(InputError, match="a6 or a5"):
        slate_pdf(sheet_permit_for_tests(), "d0", "a4")


def test_six_divers_each_get_a_slate_with_their_own_wait_in_it() -> None:
    """The turns of six divers lengthen the stop for all: 21 m from 33 to 40."""
    permit = sheet_permit_for_tests(divers=6)
    for at in range(6):
        assert "40min21m7min" in squeezed(slate_pdf(permit, f"d{at}"))


def test_a_slate_comes_as_pictures_too() -> None:
    """One PNG a page."""
    assert len(slate_pictures(sheet_permit_for_tests(), "d1", dots_per_inch=72)) == 2


def hold(depth_m: float, start_min: float, minutes: float, cylinder: str, kind: SegmentKind = SegmentKind.STOP
         ) -> Segment:
    """A stay of the only diver."""
    return Segment(kind, depth_m, depth_m, start_min, minutes, {"d": Breath(cylinder, 0.5, 0.0)})


def travel(from_m: float, to_m: float, start_min: float, minutes: float, cylinder: str) -> Segment:
    """A way of the only diver."""
    kind = SegmentKind.DESCENT if to_m > from_m else SegmentKind.ASCENT
    return Segment(kind, from_m, to_m, start_min, minutes, {"d": Breath(cylinder, 0.5, 0.0)})


def test_a_change_on_the_way_down_without_a_stop_is_a_switch_without_a_row() -> None:
    """Travel gas is left at 30 m while descending: the switch is shown, the time counts to the bottom."""
    segments = (travel(0, 30, 0, 1.5, "travel"), travel(30, 60, 1.5, 1.5, "main"),
                hold(60, 3, 17, "main", SegmentKind.LEVEL), travel(60, 0, 20, 7, "main"))
    assert slate_lines(Schedule(segments, {}, 7, 27, {}), "d", Settings()) == (
        SlateSwitch(30, "main"), SlateRow(20, 60, 20, "main"),
    )


def test_oxygen_breaks_at_one_depth_are_rows_of_their_own() -> None:
    """Oxygen, lean gas, oxygen at 6 m: three rows, two of them after a switch back."""
    segments = (hold(21, 0, 10, "main", SegmentKind.LEVEL), travel(21, 6, 10, 2, "main"), hold(6, 12, 20, "o2"),
                hold(6, 32, 5, "main"), hold(6, 37, 10, "o2"), travel(6, 0, 47, 6, "o2"))
    lines = slate_lines(Schedule(segments, {}, 43, 53, {}), "d", Settings())
    assert lines == (
        SlateRow(10, 21, 10, "main"), SlateSwitch(6, "o2"), SlateRow(32, 6, 22, "o2"), SlateSwitch(6, "main"),
        SlateRow(37, 6, 5, "main"), SlateSwitch(6, "o2"), SlateRow(47, 6, 10, "o2"),
    )


def test_a_stop_at_the_depth_of_the_bottom_keeps_its_own_row() -> None:
    """The time to leave the bottom stays visible where the first stop is at the same depth."""
    segments = (hold(21, 0, 40, "main", SegmentKind.LEVEL), hold(21, 40, 3, "main"), travel(21, 0, 43, 5, "main"))
    assert slate_lines(Schedule(segments, {}, 8, 48, {}), "d", Settings()) == (
        SlateRow(40, 21, 40, "main"), SlateRow(43, 21, 3, "main"),
    )


def test_no_depth_is_left_earlier_than_in_the_schedule_and_rounding_never_adds_up() -> None:
    """Twelve ways of a third of a minute: each runtime is the next whole minute, and the minutes add up to it."""
    segments, now = [hold(39, 0.0, 10.0, "main", SegmentKind.LEVEL)], 10.0
    for step in range(12):
        segments.append(travel(39 - 3 * step, 36 - 3 * step, now, 1 / 3, "main"))
        segments.append(hold(36 - 3 * step, now + 1 / 3, 1.0, "main"))
        now += 4 / 3
    rows = slate_lines(Schedule(tuple(segments), {}, now - 10, now, {}), "d", Settings())
    ends = [segment.end_min for segment in segments if segment.from_m == segment.to_m]
    for row, end_min in zip(rows, ends, strict=True):
        assert isinstance(row, SlateRow)
        assert 0.0 <= row.leave_min - end_min + 1e-6 < 1.0
    assert sum(row.there_min for row in rows if isinstance(row, SlateRow)) == rows[-1].leave_min  # type: ignore[union-attr]
