"""The picture of a dive says what the schedule says, and prints in grey."""

import re
from importlib.resources import files
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from gaswright.cli.main import run
from gaswright.planning.dive import Plan
from gaswright.services.checking import plan_day
from gaswright.services.day import Day, load_day
from gaswright.services.picture import plan_picture

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
