"""The acceptance window: its borders against sums done by hand, its cells against whole plans, batch against plain."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from check import close
from gaswright.decompression.request import Breath
from gaswright.errors import InputError
from gaswright.physics.mixture import WHOLE_E4, Mixture
from gaswright.physics.place import Place
from gaswright.planning.dive import Level, Role, TeamDive
from gaswright.planning.held_batch import shown_in_bulk
from gaswright.planning.held_plan import Shown, breath_instead, held_plan, shown_with
from gaswright.planning.verdict import Word, verdict
from gaswright.planning.window import HOLDS, NO_GAS, Window, window, window_of
from gaswright.planning.window_rules import by_sheet, questions_of
from unit.planning.dives import POLICY, WATER_K, deco, dive, main, tightened


def deep_dive() -> TeamDive:
    """60 m on 18/45, alone, with gas to spare."""
    kit = (main("m-d1", "d1", (18, 45), volume_l=60.0), deco("e-d1", "d1"), deco("o-d1", "d1", (100, 0)))
    return dive(team=1, cylinders=kit, levels=(Level(60.0, 20.0),))


def says(seen: Window) -> dict[str, str]:
    """Code to the words of each boundary."""
    return {one.code: one.says for one in seen.boundaries}


def test_the_borders_are_those_of_the_sums_by_hand() -> None:
    """MOD 60 m at 1.4 needs (O2 + 0.5) <= 140/7 = 20 %; 0.16 ata needs O2 - 0.5 >= 16 %; END 30 m helium - 1 >= 3/7."""
    words = says(window(deep_dive(), POLICY, "m-d1"))
    assert words["mod.planned_use"] == "oxygen at most 19.5 %"
    assert words["ppo2.low"] == "oxygen at least 16.5 %"
    assert words["narcosis.end"] == "helium at least 43.86 %"


def test_a_cell_says_the_rule_it_breaks() -> None:
    """Left of the window hypoxia, right of it MOD, below it narcosis, where the hand sums put them."""
    seen = window(deep_dive(), POLICY, "m-d1")
    row, column = seen.he_e4.index(4500), seen.o2_e4.index(1800)
    assert seen.cells[row][column] == HOLDS
    assert seen.cells[row][seen.o2_e4.index(1640)] == "ppo2.low"
    assert seen.cells[row][seen.o2_e4.index(1960)] == "mod.planned_use"
    assert seen.cells[seen.he_e4.index(4350)][column] == "narcosis.end"


def test_every_cell_agrees_with_a_whole_plan() -> None:
    """A cell holds if and only if the verdict on that reading, made by planning the dive again, is that it holds."""
    asked = deep_dive()
    seen = window(asked, POLICY, "m-d1", steps=7)
    for he, row in zip(seen.he_e4, seen.cells, strict=True):
        for o2, code in zip(seen.o2_e4, row, strict=True):
            judged = verdict(asked, POLICY, "m-d1", o2, he, steps=3)
            assert (judged.verdict is Word.HOLDS) == (code == HOLDS), f"{o2}/{he}: {code}, {judged.reasons}"


def test_the_batch_comes_to_what_single_schedules_come_to() -> None:
    """TTS, every stop and the gas used of a batch are those of the plain scheduler."""
    held = held_plan(dive(), POLICY)
    gases = [Mixture(1700 + 10 * n, 3000 + 7 * n) for n in range(310)]
    for many, single in zip(shown_in_bulk(held, "m-d1", gases), shown_with(held, "m-d1", gases), strict=True):
        assert many is not None
        assert single is not None
        close(many.tts_min, single.tts_min, within=1e-9)
        assert many.halts == single.halts
        assert many.used_l.keys() == single.used_l.keys()
        for cylinder, used_l in many.used_l.items():
            close(used_l, single.used_l[cylinder], within=1e-6)


@settings(max_examples=25)
@given(o2=st.integers(1700, 1900), he=st.integers(4600, 5500), cylinder=st.sampled_from(["m-d1", "e-d1", "o-d1"]))
def test_the_planned_gas_lies_in_its_own_window(o2: int, he: int, cylinder: str) -> None:
    """Where the plan has no stop, a reading equal to the planned gas holds, for every cylinder."""
    asked = deep_dive()
    mains = replace(asked.cylinders[0], gas=replace(asked.cylinders[0].gas, mixture=Mixture(o2, he)))  # type: ignore[type-var]  # known gas
    held = held_plan(replace(asked, cylinders=(mains, *asked.cylinders[1:])), POLICY)
    seen = window_of(held, cylinder, steps=3)
    assert seen.cells[seen.he_e4.index(seen.planned.he_e4)][seen.o2_e4.index(seen.planned.o2_e4)] == HOLDS


@pytest.mark.parametrize("gas", [(100, 0), (98, 0), (50, 0), (21, 35)])
def test_the_axes_hold_whole_hundredths_around_the_planned_gas(gas: tuple[int, int]) -> None:
    """Every axis stays in its range, in equal steps, with the planned gas on it; more than the whole is no gas."""
    asked = dive(team=1, cylinders=(main("m-d1", "d1", (21, 35)), deco("x-d1", "d1", gas, switch_depth_m=6.0)))
    seen = window(asked, POLICY, "x-d1", steps=11)
    assert seen.planned.o2_e4 in seen.o2_e4
    assert seen.planned.he_e4 in seen.he_e4
    for axis in (seen.o2_e4, seen.he_e4):
        assert len({b - a for a, b in pairwise(axis)}) == 1
        assert 0 <= axis[0] < axis[-1] <= WHOLE_E4
    for he, row in zip(seen.he_e4, seen.cells, strict=True):
        assert all((code == NO_GAS) == (o2 + he > WHOLE_E4) for o2, code in zip(seen.o2_e4, row, strict=True))


def test_a_tighter_tolerance_never_widens_the_window() -> None:
    """With no room for TTS and stops to move, every cell that holds also holds with room."""
    asked = deep_dive()
    tight = window(asked, tightened(sheet_tts_min=0.0, sheet_stop_min=0.0), "m-d1", steps=9)
    usual = window(asked, POLICY, "m-d1", steps=9)
    assert set(tight.holding) < set(usual.holding)


def test_a_border_is_drawn_only_beside_what_holds() -> None:
    """Each edge of a boundary lies half a step from a cell that holds."""
    seen = window(deep_dive(), POLICY, "m-d1", steps=9)
    centres = {(gas.o2_e4, gas.he_e4) for gas in seen.holding}
    half_o2, half_he = (seen.o2_e4[1] - seen.o2_e4[0]) / 2, (seen.he_e4[1] - seen.he_e4[0]) / 2
    edges = [edge for one in seen.boundaries for edge in one.edges]
    assert edges
    for a, b, c, d in edges:
        o2, he = (a + c) / 2, (b + d) / 2
        beside = {(o2 - half_o2, he), (o2 + half_o2, he), (o2, he - half_he), (o2, he + half_he)}
        assert beside & centres


@pytest.mark.parametrize(("cylinder", "word"), [("nobody", "no such cylinder"), ("spare", "never breathes")])
def test_a_cylinder_without_a_part_in_the_plan_has_no_window(cylinder: str, word: str) -> None:
    """An unknown cylinder, or one that is never breathed, is refused with those that are."""
    spare = deco("spare", "d1", (50, 0))
    asked = replace(deep_dive(), cylinders=(*deep_dive().cylinders, spare))
    with pytest.raises(InputError, match=word):
        window(asked, POLICY, cylinder)


@pytest.mark.parametrize("steps", [0, 2, 402])
def test_too_few_or_too_many_cells_are_refused(steps: int) -> None:
    """A window has 3 to 401 cells a side."""
    with pytest.raises(InputError, match="3 to 401"):
        window(deep_dive(), POLICY, "m-d1", steps=steps)


def test_a_dive_without_a_schedule_holds_nothing() -> None:
    """Unknown mains, or no way up, are refused with the reason."""
    with pytest.raises(InputError, match="no mains of known gas"):
        window(dive(team=1, cylinders=(main("m-d1", "d1", None),)), POLICY, "m-d1")


def test_role_and_mark_decide_the_mod_of_a_deco_gas() -> None:
    """EAN50 holds for the 21 m mark up to 51 %, by the sums to 51.11 %: (51.11 + 0.5) x 3.1 = 159.99 <= 160."""
    assert says(window(deep_dive(), POLICY, "e-d1"))["mod.planned_use"] == "oxygen at most 51.11 %"
    assert deep_dive().cylinders[1].role is Role.DECO


def test_the_place_bounds_where_its_pressure_passes_the_label() -> None:
    """At 1.09 bar 21 m has 3.19 bar: (O2 + 0.5) x 3.19 / 1.01325 <= 1.62 ata makes 50.95 %, the label 51.11 %."""
    low = replace(deep_dive(), place=Place(surface_bar=1.09, water_temperature_k=WATER_K))
    assert says(window(low, POLICY, "e-d1"))["mod.place_ppo2"] == "oxygen at most 50.95 %"


def test_the_sheet_may_move_by_its_tolerances_and_no_more() -> None:
    """2 min of TTS, 1 min of a stop and 5 bar of a pressure are within, a hair more is not; gas must last."""
    held = held_plan(deep_dive(), POLICY)
    asked, planned = questions_of(held, "e-d1", 50, 100), held.shown
    enough_l = held.contents["e-d1"].available_l
    stop, moved_l = next(iter(planned.halts)), asked.moved_l["m-d1"]

    def broken(shown: Shown, gives_l: float = enough_l) -> list[str]:
        return list(by_sheet(asked, shown, gives_l))

    def used(more_l: float) -> Shown:
        return replace(planned, used_l={**planned.used_l, "m-d1": planned.used_l["m-d1"] + more_l})

    def halted(more_min: float) -> Shown:
        return replace(planned, halts={**planned.halts, stop: planned.halts[stop] + more_min})

    assert broken(planned) == []
    for sign in (1.0, -1.0):
        assert broken(replace(planned, tts_min=planned.tts_min + sign * 2.0)) == []
        assert broken(replace(planned, tts_min=planned.tts_min + sign * 2.01)) == ["window.tts"]
        assert broken(halted(sign * 1.0)) == []
        assert broken(halted(sign * 1.01)) == ["window.stop"]
        assert broken(used(sign * moved_l * 0.99)) == []
        assert broken(used(sign * moved_l * 1.01)) == ["window.pressure"]
    assert broken(planned, planned.used_l["e-d1"] - 1.0) == ["supply.runs_out"]
    assert list(by_sheet(asked, None, enough_l)) == ["schedule.too_long"]


def test_of_several_mains_the_leanest_is_breathed() -> None:
    """A leaner gas in one of two mains counts for both; a richer one leaves the other as the leanest."""
    pair = (main("l-d1", "d1", (20, 40)), main("r-d1", "d1", (22, 38)))
    kit = held_plan(dive(team=1, cylinders=pair), POLICY).kit
    planned = Breath("l-d1", 0.20, 0.40)
    assert breath_instead(kit, "d1", planned, {}) == planned
    assert breath_instead(kit, "d1", planned, {"r-d1": Mixture(1800, 4200)}) == Breath("l-d1", 0.18, 0.42)
    assert breath_instead(kit, "d1", planned, {"l-d1": Mixture(2500, 3000)}) == Breath("l-d1", 0.22, 0.38)
