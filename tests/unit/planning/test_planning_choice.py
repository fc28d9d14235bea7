"""Which gas for a depth: hand sums for the best mix, reasons for those that lose, costs for those that do not."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from check import close
from gaswright.decompression.scheduler import schedule
from gaswright.errors import InputError
from gaswright.physics.density import density_g_l
from gaswright.physics.mixture import AIR, Mixture
from gaswright.physics.narcosis import end_oxygen_narcotic_m
from gaswright.planning.dive import Role
from gaswright.planning.gas_choice import best_bottom, best_deco, choices, loses
from gaswright.planning.held_plan import held_plan
from gaswright.planning.mods import label_mod_of, mod_m
from unit.planning.dives import POLICY, dive

TRIMIX, LEAN, HALF, OXYGEN = Mixture(1800, 5500), Mixture(2100, 3500), Mixture(5000), Mixture(10_000)


def test_the_best_bottom_mix_is_that_of_the_sums_by_hand() -> None:
    """60 m: O2 + 0.5 <= 140/7 makes 19 %; at 7.013 bar 5.2 g/L asks for 49.7 % helium, and 1 % of uncertainty: 51 %.

    M = 5.2 x 22.711 / 7.01325 = 16.839 g/mol = 0.19 x 31.998 + h x 4.0026 + (0.81 - h) x 28.014, so h = 0.4969.
    """
    assert best_bottom(dive(), POLICY, 60.0) == Mixture(1900, 5100)


def test_shallow_the_best_bottom_mix_needs_no_helium() -> None:
    """21 m: O2 + 0.5 <= 140/3.1 = 45.16 makes 44 %; air is as narcotic at 21 m and lighter than 5.2 g/L to 31 m."""
    assert best_bottom(dive(), POLICY, 21.0) == Mixture(4400)


@settings(max_examples=40)
@given(depth_m=st.integers(12, 100))
def test_the_best_mix_loses_nothing_and_a_leaner_helium_or_richer_oxygen_would(depth_m: int) -> None:
    """Within the limits; a percent more oxygen passes MOD; a percent less helium passes END or density."""
    best = best_bottom(dive(), POLICY, float(depth_m))
    assert not loses(dive(), POLICY, best, float(depth_m))
    if best.o2_e4 + best.he_e4 < 10_000:
        assert any("MOD" in why for why in loses(dive(), POLICY, Mixture(best.o2_e4 + 100, best.he_e4), float(depth_m)))
    if best.he_e4:
        lean = Mixture(best.o2_e4, max(0, best.he_e4 - 200))  # a percent less, and the uncertainty
        ambient_bar = dive().place.ambient_bar(float(depth_m))
        assert end_oxygen_narcotic_m(lean, float(depth_m)) > 30.0 or density_g_l(lean, ambient_bar) > 5.2


def test_deco_gases_are_switched_to_at_their_own_mod() -> None:
    """Every step of the best choice lies on the grid, no deeper than the label of its gas."""
    best = best_deco(dive(), POLICY, TRIMIX, 54.0, 20.0, 2)
    assert len(best.steps) == 2
    for step in best.steps:
        reading = held_plan(dive(), POLICY).kit.cylinders["e-d1"].gas
        assert reading is not None
        close(step.depth_m % 3.0, 0.0, within=1e-9)
        label = label_mod_of(type(reading)(step.mixture, 50), Role.DECO, POLICY)
        assert mod_m(label, dive().units) >= step.depth_m


def test_more_deco_gases_never_take_longer() -> None:
    """0, 1, 2 deco gases: TTS falls, or stays."""
    times = [best_deco(dive(), POLICY, TRIMIX, 54.0, 20.0, count).tts_min for count in (0, 1, 2)]
    assert all(later is not None for later in times)
    assert times == sorted(times, reverse=True)  # type: ignore[type-var]  # numbers, as asserted


def test_house_gases_lose_with_their_reasons() -> None:
    """At 54 m air is too narcotic and dense, 21/35 too narcotic, EAN50 and oxygen too rich; 18/55 costs minutes."""
    found = choices(dive(), POLICY, 54.0, 20.0, [LEAN, TRIMIX, AIR, HALF, OXYGEN])
    assert found[0].name == "best"
    assert (found[0].minutes_more, found[0].helium_more_l) == (0.0, 0.0)
    assert found[1].bottom == TRIMIX
    assert [step.mixture for step in found[1].steps] == [HALF, OXYGEN]
    assert found[1].minutes_more is not None
    assert found[1].minutes_more >= 0.0
    why = {one.bottom: " ".join(one.why) for one in found[2:]}
    assert all(one.loses for one in found[2:])
    assert "END" in why[AIR]
    assert "END" in why[LEAN]
    assert "density" in why[AIR]
    assert "MOD" in why[HALF]
    assert "MOD" in why[OXYGEN]


def test_a_hypoxic_mix_says_that_it_needs_a_travel_gas() -> None:
    """10/70 is not breathable at the surface: it is told, and does not lose for it."""
    found = choices(dive(), POLICY, 100.0, 15.0, [Mixture(1000, 7000)])
    assert not found[1].loses
    assert "travel gas" in found[1].why[0]


def test_the_cost_of_a_house_gas_is_that_of_its_own_schedule() -> None:
    """On the gases of a real dive the choice comes to the TTS of that dive."""
    held = held_plan(dive(), POLICY)
    found = choices(dive(), POLICY, 45.0, 20.0, [LEAN, HALF, OXYGEN])
    same = next(one for one in found if one.bottom == LEAN)
    assert same.tts_min is not None
    close(same.tts_min, schedule(held.request).tts_min, within=1e-9)


@pytest.mark.parametrize("count", [-1, 4])
def test_too_many_deco_gases_are_refused(count: int) -> None:
    """0 to 3 deco gases."""
    with pytest.raises(InputError, match="0 to 3"):
        best_deco(dive(), POLICY, TRIMIX, 54.0, 20.0, count)


def test_a_depth_that_no_gas_covers_is_refused() -> None:
    """At 400 m the density of any mix passes the limit."""
    with pytest.raises(InputError, match="no gas covers"):
        best_bottom(dive(), POLICY, 400.0)
