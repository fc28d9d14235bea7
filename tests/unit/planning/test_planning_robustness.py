"""A plan under stress: seeds, workers, thresholds; probabilities against the normal distribution."""

import math
from dataclasses import replace

import pytest
from scipy.stats import norm

from check import close
from gaswright.errors import InputError
from gaswright.planning.dive import Level, Role, TeamDive
from gaswright.planning.held_plan import held_plan
from gaswright.planning.plan import plan
from gaswright.planning.robustness import Spread, Stress, reserves_of, spreading_inputs
from gaswright.planning.usage import bottom_end_min, drawn_l, draws_of
from gaswright.services.stress_runs import stressed
from unit.planning.dives import POLICY, cylinder, deco, dive, main

NOTHING = Spread(0.0, 0.0, 0.5, (1.0,), 0.0, 0.0)


def alone() -> TeamDive:
    """54 m on 18/45 with EAN50 and oxygen, alone, gas to spare."""
    kit = (main("m-d1", "d1", (18, 45), volume_l=60.0), deco("e-d1", "d1"), deco("o-d1", "d1", (100, 0)))
    return dive(team=1, cylinders=kit, levels=(Level(54.0, 20.0),))


def under(asked: TeamDive, runs: int, seed: int = 1, *, spread: Spread | None = None, workers: int = 2) -> Stress:
    """A dive under stress."""
    return stressed(held_plan(asked, POLICY), plan(asked, POLICY), runs, seed, spread=spread, workers=workers)


def shares(made: Stress) -> dict[tuple[str, str | None], float]:
    """Code and cylinder to the share of runs in which it broke."""
    return {(one.code, one.cylinder): one.share for one in made.broken}


def test_the_answer_does_not_depend_on_the_workers() -> None:
    """One worker and three find the same in every number, over more than one block."""
    assert under(dive(), 20_500, workers=1) == under(dive(), 20_500, workers=3)


def test_the_seed_makes_the_answer() -> None:
    """The same seed gives the same answer, another seed another one."""
    assert under(alone(), 500, 7) == under(alone(), 500, 7)
    assert under(alone(), 500, 7).left_bar != under(alone(), 500, 8).left_bar


def test_without_spread_every_run_is_the_plan() -> None:
    """TTS and gas left are those of the plan, within a bin; nothing breaks that the plan does not break."""
    made, asked = under(alone(), 100, spread=NOTHING), plan(alone(), POLICY)
    assert asked.planned.schedule is not None
    assert made.tts_min is not None
    for tts_min in made.tts_min:
        close(tts_min, asked.planned.schedule.tts_min, within=1 / 12 + 1e-9)
        assert tts_min >= asked.planned.schedule.tts_min - 1e-9
    for name, supply in asked.planned.supply.items():
        for left_bar in made.left_bar[name]:
            close(left_bar, supply.end_bar, within=0.2)
            assert left_bar <= supply.end_bar + 1e-6
    assert not any(one.runs for one in made.broken)
    assert made.verified == 64


def test_too_little_helium_breaks_as_often_as_the_normal_distribution_says() -> None:
    """Helium alone spreads: END passes 30 m at 54 m below 37.5 %; U of 1 % is two standard deviations."""
    kit = (main("m-d1", "d1", (18, 38), volume_l=60.0), deco("e-d1", "d1"))
    asked = dive(team=1, cylinders=kit, levels=(Level(54.0, 20.0),))
    made = under(asked, 40_000, spread=replace(NOTHING, analyser_share=1.0))
    expected = norm.cdf((0.375 - 0.38) / 0.005)
    close(shares(made)["narcosis.end", "m-d1"], float(expected), within=5 * (expected * (1 - expected) / 40_000) ** 0.5)


def test_a_reserve_breaks_as_often_as_the_lognormal_says() -> None:
    """Consumption alone spreads, so that one run in five takes more oxygen than the reserve leaves."""
    small = replace(alone(), cylinders=(*alone().cylinders[:2], deco("o-d1", "d1", (100, 0), volume_l=3.0)))
    held = held_plan(small, POLICY)
    reserve_l = held.contents["o-d1"].available_l / 1.5  # deco gas 1.5 times the planned use
    room = math.log(reserve_l / held.shown.used_l["o-d1"])
    assert room > 0.0
    made = under(small, 40_000, spread=replace(NOTHING, consumption_share=room / float(norm.ppf(0.8))))
    close(shares(made)["supply.deco_reserve", "o-d1"], 0.2, within=0.01)


def test_minimum_gas_is_judged_when_the_bottom_is_left() -> None:
    """With mains that hold minimum gas by little, longer and hungrier dives pass it, in part of the runs."""
    kit = (main("m-d1", "d1", (18, 45), volume_l=21.0), deco("e-d1", "d1"), deco("o-d1", "d1", (100, 0)))
    asked = dive(team=1, cylinders=kit, levels=(Level(54.0, 14.0),))
    supply = plan(asked, POLICY).planned.supply["m-d1"]
    assert supply.minimum_bar is not None
    tight = replace(asked, cylinders=(replace(kit[0], gauge_bar=200.0), *kit[1:]))
    share = shares(under(tight, 2_000))["supply.minimum_passed", "m-d1"]
    longer = shares(under(replace(tight, levels=(Level(54.0, 18.0),)), 2_000))["supply.minimum_passed", "m-d1"]
    assert share <= longer
    assert longer > 0.0


def test_hungry_divers_pass_minimum_gas_as_often_as_the_lognormal_says() -> None:
    """Consumption alone spreads: minimum gas is passed as often as the logarithm of the bottom use passes its room."""
    kit = (main("m-d1", "d1", (18, 45), volume_l=22.0), deco("e-d1", "d1"), deco("o-d1", "d1", (100, 0)))
    asked = dive(team=1, cylinders=kit, levels=(Level(54.0, 14.0),))
    held, planned = held_plan(asked, POLICY), plan(asked, POLICY)
    assert planned.planned.schedule is not None
    spare = next(one for one in reserves_of(held, planned) if one.code == "supply.minimum_passed")
    bottom_l = drawn_l(draws_of(held.kit, held.schedule)["m-d1"], bottom_end_min(held.schedule))
    room = math.log(spare.most_l / bottom_l)
    made = under(asked, 40_000, spread=replace(NOTHING, consumption_share=abs(room) / float(norm.ppf(0.7))))
    expected = 0.3 if room > 0 else 0.7
    close(shares(made)["supply.minimum_passed", "m-d1"], expected, within=0.012)


def test_longer_dives_have_a_longer_tts_and_hungry_divers_less_gas() -> None:
    """The signs of what matters are those of the trade; the shares lie between 0 and 1."""
    found = {one.name: one for one in under(alone(), 3_000).sensitivity}
    assert found["minutes"].tts > 0.3
    assert found["depth"].tts > 0.0
    assert found["consumption d1"].least_left < -0.3
    assert all(abs(one.tts) <= 1.0 and abs(one.least_left) <= 1.0 for one in found.values())


def test_every_input_is_named_once() -> None:
    """Readings by cylinder, helium only where there is some, consumption by diver, depth, time and speed once."""
    names = [one.name for one in spreading_inputs(held_plan(alone(), POLICY), Spread())]
    assert names == ["o2 m-d1", "he m-d1", "o2 e-d1", "o2 o-d1", "depth", "minutes", "speed", "consumption d1"]


def test_a_bottom_stage_keeps_half_and_its_reserve() -> None:
    """The limit of a bottom stage is what stands above half of its pressure plus 15 bar."""
    stage = cylinder("s-d1", "d1", Role.STAGE, (18, 45), volume_l=12.0)
    levels = (Level(54.0, 8.0, "s-d1"), Level(50.0, 10.0))
    asked = replace(alone(), cylinders=(*alone().cylinders, stage), levels=levels)
    held = held_plan(asked, POLICY)
    limit = next(one for one in reserves_of(held, plan(asked, POLICY)) if one.code == "supply.stage_reserve")
    content = held.contents["s-d1"]
    assert 0.0 < limit.most_l < content.start_l / 2


@pytest.mark.parametrize("runs", [0, -1, 10_000_001])
def test_a_number_of_runs_that_cannot_be_is_refused(runs: int) -> None:
    """From one run to ten million."""
    with pytest.raises(InputError, match="runs"):
        under(alone(), runs)


def test_interrupting_leaves_at_once() -> None:
    """An interrupt in the middle of the work comes through, and no answer is made."""
    done = []

    def stop(made: int, of: int) -> None:
        done.append((made, of))
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stressed(held_plan(alone(), POLICY), plan(alone(), POLICY), 60_000, 1, progress=stop)
    assert done == [(20_000, 60_000)]


def test_plain_python_finds_the_same() -> None:
    """Without the compiler the answer is the same, and says why it took its time."""
    held, asked = held_plan(alone(), POLICY), plan(alone(), POLICY)
    plainly, compiled = (stressed(held, asked, 80, 3, compiled=way) for way in (False, None))
    assert "numba" in plainly.word
    assert replace(plainly, word="") == replace(compiled, word="")
