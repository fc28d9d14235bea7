"""What cylinders give: rates by phase, sharing of mains, water temperature, empty cylinders."""

from dataclasses import replace

import pytest

from check import close
from gaswright.decompression.request import SegmentKind
from gaswright.physics.content import free_litres, gauge_bar_at_temperature
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import ATM_BAR, Place
from gaswright.planning.dive import Basis, Plan, Rig, Role
from gaswright.planning.plan import plan
from gaswright.planning.supply import empty_at_min
from gaswright.planning.usage import Draw, drawn_l
from unit.planning.dives import POLICY, STRICT, WATER_K, cylinder, deco, dive, diver, main


def alone(place: Place = STRICT) -> Plan:
    """The plan of one diver with mains, 50 % and oxygen."""
    return plan(dive(team=1, place=place), POLICY)


def test_the_bottom_rate_holds_to_the_first_halt_and_the_deco_rate_from_there() -> None:
    """Recounted by hand from the segments: 18 L/min down, on the level and up to the first stop, 15 L/min after it."""
    made = alone().planned
    assert made.schedule is not None
    expected, halted = {"m-d1": 0.0, "e-d1": 0.0, "o-d1": 0.0}, False
    for s in made.schedule.segments:
        halted = halted or s.kind is SegmentKind.STOP
        ambient_bar = 1.01325 + 0.1 * (s.from_m + s.to_m) / 2
        expected[s.gas["d1"].cylinder] += (15.0 if halted else 18.0) * ambient_bar / ATM_BAR * s.minutes
    for name, free_l in expected.items():
        close(made.supply[name].used_l, free_l, within=1e-9)


def test_end_pressure_holds_what_is_left() -> None:
    """The end pressure holds, as a real gas at the water's temperature, what was not used."""
    given = alone().planned.supply["m-d1"]
    start_l = free_litres(given.start_bar, 36.0, WATER_K, Mixture(2100, 3500))
    close(free_litres(given.end_bar, 36.0, WATER_K, Mixture(2100, 3500)), start_l - given.used_l, within=1e-6)


def test_pressures_are_carried_to_the_water_by_constant_moles() -> None:
    """230 bar read at 30 C are fewer at 8 C: those of the same moles."""
    warm = main("m-d1", "d1", (21, 35), temperature_k=303.15)
    base = dive(team=1)
    made = plan(replace(base, cylinders=(warm, *base.cylinders[1:])), POLICY).planned.supply["m-d1"]
    close(made.start_bar, gauge_bar_at_temperature(230.0, 303.15, WATER_K, Mixture(2100, 3500)), within=1e-9)
    assert made.start_bar < 215.0


def test_where_nobody_said_how_warm_the_water_is_the_reading_stays() -> None:
    """Without a water temperature the pressure is taken at the cylinder's own."""
    made = alone(place=Place()).planned.supply["m-d1"]
    close(made.start_bar, 230.0, within=0.0)


@pytest.mark.parametrize("rig", [Rig.INDEPENDENT, Rig.SIDEMOUNT])
def test_a_pair_shares_the_use_by_volume_and_plans_on_the_leaner(rig: Rig) -> None:
    """Two mains of 12 and 24 L give one and two thirds; the schedule breathes the leaner of the two."""
    pair = (main("left", "d1", (22, 35), volume_l=12.0), main("right", "d1", (21, 35), volume_l=24.0))
    base = dive(team=1, divers=(diver("d1", rig=rig),))
    made = plan(replace(base, cylinders=(*pair, *base.cylinders[1:])), POLICY).planned
    assert made.schedule is not None
    assert made.schedule.segments[0].gas["d1"].cylinder == "right"
    close(made.supply["right"].used_l, 2 * made.supply["left"].used_l, within=1e-9)
    close(made.supply["left"].used_l + made.supply["right"].used_l, alone().planned.supply["m-d1"].used_l, within=1e-9)


def test_each_of_a_pair_is_judged_on_its_own_reading() -> None:
    """The richer of a pair is too rich for the depth: the stop names it, though the schedule breathes the leaner."""
    pair = (main("left", "d1", (27, 30), volume_l=18.0), main("right", "d1", (21, 35), volume_l=18.0))
    base = dive(team=1)
    made = plan(replace(base, cylinders=(*pair, *base.cylinders[1:])), POLICY)
    assert [f.subject.cylinder for f in made.findings if f.code == "mod.planned_use"] == ["left"]


def test_an_empty_cylinder_says_when_and_how_much() -> None:
    """A cylinder that cannot give what is taken is at 0 bar at most, with the missing gas and the minute."""
    base = dive(team=1)
    small = deco("e-d1", "d1", gauge_bar=12.0)
    made = plan(replace(base, cylinders=(base.cylinders[0], small, base.cylinders[2])), POLICY)
    given = made.planned.supply["e-d1"]
    assert given.empty_at_min is not None
    assert not made.planned.completed
    available_l = free_litres(12.0, 12.0, WATER_K, Mixture(5000)) - free_litres(10.0, 12.0, WATER_K, Mixture(5000))
    close(given.short_l, given.used_l - available_l, within=1e-9)
    assert given.end_bar >= 0.0


def test_empty_time_lies_inside_the_draw_that_empties_it() -> None:
    """10 L a minute from 25 L: empty half way through the third minute; what just lasts is not empty."""
    draws = tuple(Draw(float(n), 1.0, 10.0) for n in range(3))
    close(empty_at_min(25.0, draws) or 0.0, 2.5, within=1e-12)
    assert empty_at_min(30.0, draws) is None
    close(drawn_l(draws, 2.5), 25.0, within=1e-12)


def test_a_plan_on_targets_starts_from_the_working_pressure_and_says_so() -> None:
    """Without a reading a target cylinder is taken at its working pressure; the note says which and how full."""
    base = dive(team=1)
    wished = deco("e-d1", "d1", basis=Basis.TARGET, gauge_bar=None)
    made = plan(replace(base, cylinders=(base.cylinders[0], wished, base.cylinders[2])), POLICY)
    assert made.basis is Basis.TARGET
    close(made.planned.supply["e-d1"].start_bar, 200.0, within=0.0)
    (note,) = (f for f in made.findings if f.code == "plan.on_targets")
    assert "e-d1 (pressure taken as 200 bar)" in note.text


def test_an_unread_pressure_is_never_guessed() -> None:
    """An analysed cylinder without a pressure has no supply, and the case is not complete."""
    base = dive(team=1)
    unread = deco("e-d1", "d1", gauge_bar=None)
    made = plan(replace(base, cylinders=(base.cylinders[0], unread, base.cylinders[2])), POLICY).planned
    assert "e-d1" not in made.supply
    assert not made.completed


def test_a_bottom_stage_spares_the_mains() -> None:
    """On a level with a stage the stage gives the bottom gas and the mains only the way up to the first switch."""
    base = dive(team=1)
    stage = cylinder("s-d1", "d1", Role.STAGE, (21, 35), volume_l=24.0)
    level = replace(base.levels[0], cylinder="s-d1")
    made = plan(replace(base, cylinders=(*base.cylinders, stage), levels=(level,), place=STRICT), POLICY).planned
    assert made.supply["m-d1"].used_l < 0.2 * made.supply["s-d1"].used_l
    assert made.supply["m-d1"].minimum_bar is not None
