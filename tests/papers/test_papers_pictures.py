"""The pictures of a plan: well-formed, grey, whole, and true to the numbers they draw."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest

from check import close
from gaswright.analysis.reading import Reading
from gaswright.decompression.supersaturation import supersaturation_curve
from gaswright.errors import RangeError
from gaswright.paper.picture_parts import tick_values
from gaswright.paper.pictures_curves import Needed, pressures_svg, supersaturation_svg
from gaswright.paper.pictures_oxygen import OxygenBar, oxygen_svg
from gaswright.paper.pictures_plan_b import plan_b_svg
from gaswright.paper.pictures_window import window_svg
from gaswright.physics.mixture import Mixture
from gaswright.planning.curves import pressure_curves
from gaswright.planning.dive import UnitSystem
from gaswright.planning.held_plan import held_plan
from gaswright.planning.plan_b import plan_b
from gaswright.planning.window import window_of
from unit.planning.dives import POLICY, deco, dive, main

NASTY = 'Mill & "Weir" <b>'
HELD = held_plan(dive(), POLICY)


def pictures() -> dict[str, str]:
    """One of each kind, all with a title that would break careless XML."""
    curves = pressure_curves(HELD)
    panel = [Needed(c, NASTY, points, 80.0 if c.startswith("m-") else None) for c, points in curves.items()]
    seen = window_of(HELD, "m-d1", steps=9)
    small = dive(team=1, cylinders=(main("m-d1", "d1", (21, 35), volume_l=20.0), deco("e-d1", "d1")))
    return {
        "pressures": pressures_svg({NASTY: (UnitSystem.METRIC, panel), "d2": (UnitSystem.IMPERIAL, panel)},
                                   HELD.schedule.runtime_min, title=NASTY, foot=NASTY),
        "supersaturation": supersaturation_svg(supersaturation_curve(HELD.request, HELD.schedule), 30.0, 80.0,
                                               title=NASTY, foot=NASTY),
        "oxygen": oxygen_svg({NASTY: [OxygenBar(NASTY, 61.2, 20.0), OxygenBar("second", 140.0, 90.0)]}, title=NASTY,
                             foot=NASTY),
        "window": window_svg(seen, seen_reading(), {}, title=NASTY, foot=NASTY),
        "plan B": plan_b_svg(plan_b(small, POLICY, (30.0, 60.0), (10.0, 50.0)), UnitSystem.METRIC, {}, title=NASTY,
                             foot=NASTY),
    }


def seen_reading() -> Reading:
    """A reading inside the picture."""
    return Reading(Mixture(2130, 3500), 50, 100)


PICTURES = pictures()


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_well_formed_grey_and_titled(name: str) -> None:
    """It parses, says its title to a screen reader, and has no colour but greys."""
    root = ET.fromstring(PICTURES[name])  # noqa: S314  our own text
    assert root.attrib["aria-label"] == NASTY
    colours = set(re.findall(r"#[0-9a-fA-F]{3,6}\b", PICTURES[name]))
    assert colours <= {"#111", "#fff", "#ddd"}
    assert not re.search(r"\b(nan|inf|None)\b", re.sub(r">[^<]*<", "><", PICTURES[name]))


@pytest.mark.parametrize("name", PICTURES)
def test_everything_drawn_lies_on_the_picture(name: str) -> None:
    """No line, box or mark lies outside the view box."""
    root = ET.fromstring(PICTURES[name])  # noqa: S314  our own text
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    drawn = [node for node in root.iter() if node.tag.endswith(("}rect", "}polyline", "}circle", "}text"))]
    assert len(drawn) > 10
    for node in drawn:
        points = [pair.split(",") for pair in node.attrib.get("points", "").split()]
        points += [[node.attrib[x], node.attrib[y]] for x, y in (("x", "y"), ("cx", "cy")) if x in node.attrib]
        for x, y in points:
            assert -1.0 <= float(x) <= wide + 1.0
            assert -1.0 <= float(y) <= high + 1.0


def test_pressure_curves_end_where_the_supply_ends() -> None:
    """Each curve starts at the cylinder's pressure, never rises, and ends at what is left."""
    curves = pressure_curves(HELD)
    assert set(curves) == set(HELD.shown.used_l)
    for cylinder, points in curves.items():
        content = HELD.contents[cylinder]
        close(points[0][1], content.start_bar, within=1e-6)
        assert all(later[1] <= earlier[1] + 1e-9 for earlier, later in pairwise(points))
        assert all(later[0] >= earlier[0] - 1e-9 for earlier, later in pairwise(points))
        assert points[-1][0] <= HELD.schedule.runtime_min + 1e-9


def test_the_highest_supersaturation_is_what_the_verifier_found() -> None:
    """The curve passes through the verifier's worst gradient factor at each depth arrived at."""
    curve = supersaturation_curve(HELD.request, HELD.schedule, 0.05)
    worst = max(use.gf_percent for use in HELD.schedule.worst_gf)
    close(max(point.percent for point in curve), worst, within=0.2)
    assert curve[0].percent == 0.0
    close(curve[-1].at_min, HELD.schedule.runtime_min, within=1e-9)
    assert curve[-1].percent <= 80.0 + 0.2


def test_the_leading_half_time_grows_over_a_dive() -> None:
    """The fastest compartments lead first; at the surface a slower one leads; there is none at the bottom."""
    curve = supersaturation_curve(HELD.request, HELD.schedule)
    leaders = [point.half_time_min for point in curve if point.half_time_min is not None]
    assert leaders[0] < leaders[-1]
    assert curve[3].half_time_min is None


@pytest.mark.parametrize("every_min", [0.0, -1.0, 61.0, float("nan")])
def test_points_must_be_some_distance_apart(every_min: float) -> None:
    """0.01 to 60 min."""
    with pytest.raises(RangeError):
        supersaturation_curve(HELD.request, HELD.schedule, every_min)


@pytest.mark.parametrize(("low", "high"), [(0.0, 55.3), (14.3, 22.5), (0.0, 3500.0), (-0.25, 20.25), (99.0, 99.4)])
def test_axis_numbers_are_round_few_and_inside(low: float, high: float) -> None:
    """Two to eleven numbers in equal steps of 1, 2 or 5 times a power of ten."""
    ticks = tick_values(low, high)
    assert 2 <= len(ticks) <= 11
    assert all(low - 1e-9 <= tick <= high + 1e-9 for tick in ticks)
    step = f"{ticks[1] - ticks[0]:.0e}"
    assert step[0] in "125"


def test_a_window_names_what_lies_outside(tmp_path: Path) -> None:
    """A reading beyond the axes is said in words, and the file can be written."""
    seen = window_of(HELD, "m-d1", steps=9)
    text = window_svg(seen, Reading(Mixture(6000)), {}, title="x", foot="y")
    (tmp_path / "w.svg").write_text(text, encoding="utf-8")
    assert "outside this picture" in text
