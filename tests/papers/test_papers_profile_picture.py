"""The picture of a dive says what the schedule says, and prints in grey."""

import re
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from gaswright.clearance.permits import SheetPermit
from gaswright.cli.main import run
from gaswright.decompression.request import Breath
from gaswright.paper.profile_picture import profile_svg, wrapped
from gaswright.planning.dive import Plan
from gaswright.services.checking import plan_day
from gaswright.services.day import Day, load_day
from gaswright.services.picture import plan_picture
from papers.permits_for_tests import LONG_NAME, LONG_TRIP, sheet_permit_for_tests, with_names, with_travel

SVG = "{http://www.w3.org/2000/svg}"
TRIP = Path(str(files("gaswright").joinpath("data/demo/quarry-day.toml")))


@pytest.fixture(scope="module")
def drawn() -> tuple[Day, Plan, ET.Element]:
    """The demo plan and its picture."""
    day = load_day(TRIP)
    plan = plan_day(day)
    return day, plan, ET.fromstring(plan_picture(day, plan))  # noqa: S314  our own text


def test_every_diver_has_a_ribbon_with_the_gas_of_every_cylinder(drawn: tuple[Day, Plan, ET.Element]) -> None:
    """Names, analysed gases and OXYGEN stand in the picture, once per change."""
    day, _, picture = drawn
    said = [element.text or "" for element in picture.iter(f"{SVG}text")]
    assert {diver.name for diver in day.trip.divers} <= set(said)
    assert {"18.4/41.2", "18.6/40.9", "17.8/45.1", "49.6 %", "50.2 %", "49.8 %"} <= set(said)
    assert said.count("OXYGEN") == 3


def test_the_line_ends_at_the_surface_and_reaches_the_bottom(drawn: tuple[Day, Plan, ET.Element]) -> None:
    """The thick line starts and ends at the same height, and its lowest point is the level."""
    _, plan, picture = drawn
    line = next(e for e in picture.iter(f"{SVG}polyline") if e.get("stroke-width") == "4")
    points = [tuple(map(float, pair.split(","))) for pair in str(line.get("points")).split()]
    schedule = plan.planned.schedule
    assert schedule is not None
    assert points[0][1] == points[-1][1] == min(y for _, y in points)
    scale = (points[-1][0] - points[0][0]) / schedule.runtime_min
    lowest = max(points, key=lambda point: point[1])
    assert abs((lowest[0] - points[0][0]) / scale - 2.7) < 0.05  # 54 m at 20 m/min


def test_no_colour_carries_meaning(drawn: tuple[Day, Plan, ET.Element]) -> None:
    """Only black, white and the hatching are used."""
    day, plan, _ = drawn
    colours = set(re.findall(r'(?:fill|stroke)="(#[0-9a-fA-F]+|[a-z]+)"', plan_picture(day, plan)))
    assert colours <= {"#111", "#fff", "none"}


def test_the_caution_and_the_units_stand_on_it(drawn: tuple[Day, Plan, ET.Element]) -> None:
    """Every printed page carries the short caution and its units."""
    said = " ".join(element.text or "" for element in drawn[2].iter(f"{SVG}text"))
    assert "decompression illness" in said
    assert "Depth in m, runtime in min" in said


def test_plot_writes_the_same_picture(tmp_path: Path, drawn: tuple[Day, Plan, ET.Element]) -> None:
    """--plot writes what the service draws."""
    target = tmp_path / "dive.svg"
    assert run(["plan", str(TRIP), "--plot", str(target)]) == 0
    assert target.read_text(encoding="utf-8") == plan_picture(drawn[0], drawn[1])


def drawn_from(permit: SheetPermit) -> ET.Element:
    """The picture of a permit's dive."""
    schedule = permit.plan.printed
    assert schedule is not None
    gases = {one.id: one.gas.mixture.name for one in permit.dive.cylinders if one.gas is not None}
    svg = profile_svg(schedule, [(0.0, 0.0), (schedule.runtime_min, 0.0)], {one.id: one.name for one in permit.divers},
                      lambda cylinder: gases[cylinder], permit.dive.units, title=f"{permit.trip_name}: 57 m",
                      foot="Code")
    return ET.fromstring(svg)  # noqa: S314  our own text


def box_of(text: ET.Element) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a text in a bold face whose letters are 0.62 em wide on the average (B612: 0.6)."""
    size, words = float(text.get("font-size", "14")), text.text or ""
    wide, x, y = 0.62 * size * len(words), float(text.get("x", "0")), float(text.get("y", "0"))
    left = x - {"end": wide, "middle": wide / 2}.get(text.get("text-anchor", ""), 0.0)
    return left, y - 0.75 * size, left + wide, y


@pytest.mark.parametrize("longer_min", [0.0, 200.0])
def test_travel_gas_of_a_minute_and_a_half_is_named_for_every_diver(longer_min: float) -> None:
    """A narrow piece has its gas above, on a line that begins inside the piece; no piece stays without a gas."""
    permit = with_travel(sheet_permit_for_tests(3, minutes_longer=longer_min))
    picture = drawn_from(permit)
    said = [text.text for text in picture.iter(f"{SVG}text")]
    assert said.count("32.1/20.2") == 3
    pieces = [one for one in picture.iter(f"{SVG}rect") if one.get("x")]
    bold = [text for text in picture.iter(f"{SVG}text") if text.get("font-weight") and not text.get("font-size")]
    assert len(pieces) == len(bold) == 12
    narrow = [one for one in pieces if float(one.get("width", "0")) < 14]
    upright = [one for one in picture.iter(f"{SVG}line") if one.get("x1") == one.get("x2")]
    stems = [one for one in upright if one.get("stroke-width") == "1"]
    assert len(narrow) == len(stems) == 3
    for piece, stem in zip(narrow, stems, strict=True):
        left = float(piece.get("x", "0"))
        assert left < float(stem.get("x1", "0")) < left + float(piece.get("width", "0"))


def test_many_short_changes_are_all_named_and_no_text_covers_another() -> None:
    """Six changes within ten minutes go to levels of their own; every text lies inside the picture."""
    permit = with_names(with_travel(sheet_permit_for_tests(2)), LONG_NAME, LONG_NAME, trip=LONG_TRIP)
    schedule = permit.plan.printed
    assert schedule is not None
    changing = tuple(replace(one, gas=dict(one.gas) | {"d0": Breath(("d0-o2", "d0-50")[at % 2], 0.9, 0.0)})
                     for at, one in enumerate(schedule.segments))
    crowded = replace(permit, plan=replace(permit.plan, printed=replace(schedule, segments=changing)))
    for one in (permit, crowded):
        picture = drawn_from(one)
        _, _, wide, high = map(float, str(picture.get("viewBox")).split())
        boxes = [box_of(text) for text in picture.iter(f"{SVG}text")]
        assert all(left >= 0 and top >= 0 and right <= wide and bottom <= high for left, top, right, bottom in boxes)
        over = [(a, b) for at, a in enumerate(boxes) for b in boxes[at + 1:]
                if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]]
        assert not over
    assert len([text for text in drawn_from(crowded).iter(f"{SVG}text") if text.text == "OXYGEN"]) > 6


def test_a_long_name_is_shortened_and_two_that_read_alike_keep_their_ids() -> None:
    """24 letters stay whole; of 54 the first 24 and dots stand, with the ID where another diver reads the same."""
    permit = with_names(sheet_permit_for_tests(3), LONG_NAME, LONG_NAME.replace("mondeley", "m"), "N" * 24)
    said = {text.text for text in drawn_from(permit).iter(f"{SVG}text")}
    assert {"Maximiliana Alexandrina... (d0)", "Maximiliana Alexandrina... (d1)", "N" * 24} <= said


def test_wrapped_lines_lose_nothing() -> None:
    """The words of a title come back whole; a word wider than a line is broken, never cut."""
    assert " ".join(wrapped(LONG_TRIP, 16, 300)) == LONG_TRIP
    assert "".join(wrapped("W" * 90, 16, 300)) == "W" * 90
