"""The verdict on a reading: the three words, their reasons, what changes for whom, what mends it."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaswright.findings import Severity
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Basis, Level, TeamDive
from gaswright.planning.plan import plan
from gaswright.planning.verdict import Verdict, Word, verdict, with_reading
from unit.planning.dives import POLICY, deco, dive, main, tightened


def asked_dive() -> TeamDive:
    """54 m, two divers, 18/45, EAN50 and oxygen."""
    kit = tuple(c for d in ("d1", "d2") for c in (
        main(f"m-{d}", d, (18, 45), volume_l=48.0, target=Mixture(1800, 4500)),
        deco(f"e-{d}", d, target=Mixture(5000)), deco(f"o-{d}", d, (100, 0), target=Mixture(10000)),
    ))
    return dive(cylinders=kit, levels=(Level(54.0, 20.0),))


def judged(cylinder: str, o2: int, he: int | None) -> Verdict:
    """The verdict on a reading of that dive."""
    return verdict(asked_dive(), POLICY, cylinder, o2, he, steps=9)


def test_the_reading_that_was_planned_on_holds() -> None:
    """Nothing breaks, nothing changes, nothing needs mending."""
    for cylinder, o2, he in (("m-d1", 1800, 4500), ("e-d2", 5000, 0), ("o-d1", 10000, 0)):
        seen = judged(cylinder, o2, he)
        assert (seen.verdict, seen.reasons, seen.changes, seen.mend) == (Word.HOLDS, (), (), None)


def test_a_bottom_gas_too_rich_for_the_depth_is_refused() -> None:
    """22 % has a MOD of 52 m with its uncertainty: the reason is the MOD, and the fill that mends it holds."""
    seen = judged("m-d1", 2200, 4500)
    assert seen.verdict is Word.REFUSE
    assert "mod.planned_use" in {one.code for one in seen.reasons}
    assert "52 m" in seen.reasons[0].text
    assert seen.mend is not None
    assert judged("m-d1", seen.mend.mixture.o2_e4, seen.mend.mixture.he_e4).verdict is Word.HOLDS


def test_a_hypoxic_bottom_gas_is_refused() -> None:
    """16 % less 0.5 % is 0.155 ata at the surface."""
    seen = judged("m-d1", 1600, 4500)
    assert seen.verdict is Word.REFUSE
    assert "ppo2.low" in {one.code for one in seen.reasons}


def test_a_deco_gas_too_rich_for_its_switch_is_planned_again_shallower() -> None:
    """55 % is taken at 18 m by the whole team; the change names the new depth and the stop at 21 m that goes."""
    seen = judged("e-d1", 5500, 0)
    assert seen.verdict is Word.REPLAN
    assert "window.mod" in {one.code for one in seen.reasons}
    switches = {(one.diver, one.before, one.after) for one in seen.changes if one.what == "switch_depth"}
    assert switches == {("d1", 21.0, 18.0), ("d2", 21.0, 18.0)}
    stops = {one.depth_m: (one.before, one.after) for one in seen.changes if one.what == "stop"}
    assert stops[21.0] == (2.0, 0.0)


def test_too_little_helium_raises_a_question() -> None:
    """END above 30 m is an ask of the plan made again: re-plan, not refuse."""
    seen = judged("m-d1", 1800, 3500)
    assert seen.verdict is Word.REPLAN
    assert "narcosis.end" in {one.code for one in seen.reasons}


def test_helium_that_was_not_measured_in_a_helium_mix_is_refused() -> None:
    """Oxygen alone does not make a trimix known; in a gas without helium none is none."""
    seen = judged("m-d1", 1800, None)
    assert (seen.verdict, seen.reading) == (Word.REFUSE, None)
    assert [one.code for one in seen.reasons] == ["gas.helium_not_measured"]
    assert judged("e-d1", 5000, None).verdict is Word.HOLDS


def test_a_fill_that_missed_its_target_inside_the_window_is_a_note() -> None:
    """48.5 % for a nominal 50 % is out of the fill's tolerance and in the window."""
    seen = judged("e-d1", 4850, 0)
    assert seen.verdict is Word.HOLDS
    assert [(one.code, one.severity) for one in seen.reasons] == [("fill.out_of_tolerance", Severity.NOTE)]


def test_mains_below_minimum_gas_stay_refused() -> None:
    """The same reading again does not make a stop of its own cylinder go away."""
    small = tuple(replace(c, volume_l=20.0) if c.id.startswith("m-") else c for c in asked_dive().cylinders)
    stopped = replace(asked_dive(), cylinders=small)
    assert any(one.code.startswith("supply.minimum") for one in plan(stopped, POLICY).findings)
    seen = verdict(stopped, POLICY, "m-d1", 1800, 4500, steps=3)
    assert seen.verdict is Word.REFUSE
    assert any(one.code.startswith("supply.minimum") for one in seen.reasons)


def test_a_target_that_is_read_becomes_analysed() -> None:
    """A reading of a cylinder planned on its target is judged at the pressure the plan took."""
    kit = tuple(replace(c, basis=Basis.TARGET, gauge_bar=None) if c.id == "e-d1" else c for c in asked_dive().cylinders)
    seen = verdict(replace(asked_dive(), cylinders=kit), POLICY, "e-d1", 4980, 0, steps=3)
    assert seen.verdict is Word.HOLDS


def test_no_room_for_tts_makes_small_differences_a_new_plan() -> None:
    """With a tolerance of 0 min a bottom gas with more oxygen moves TTS, and the reason names both times."""
    policy = tightened(sheet_tts_min=0.0)
    kit = (main("m-d1", "d1", (18, 50), volume_l=60.0), deco("e-d1", "d1"))
    alone = dive(team=1, cylinders=kit, levels=(Level(54.0, 25.0),))
    seen = verdict(alone, policy, "m-d1", 2000, 5000, steps=3)
    assert seen.verdict is Word.REPLAN
    assert any(one.code == "window.tts" and "min" in one.text for one in seen.reasons)


@settings(max_examples=20)
@given(o2=st.integers(1200, 2600), he=st.integers(2500, 6500), cylinder=st.sampled_from(["m-d1", "m-d2"]))
def test_what_mends_holds_and_every_refusal_has_a_reason(o2: int, he: int, cylinder: str) -> None:
    """For any reading: refuse and re-plan have reasons, a mend holds, the spread of TTS contains the TTS."""
    seen = judged(cylinder, o2, he)
    if seen.verdict is not Word.HOLDS:
        assert seen.reasons
        assert seen.mend is not None
        assert judged(cylinder, seen.mend.mixture.o2_e4, seen.mend.mixture.he_e4).verdict is Word.HOLDS
    assert seen.tts_min is not None
    assert seen.tts_within_u_min is not None
    low, high = seen.tts_within_u_min
    assert low <= seen.tts_min <= high


@pytest.mark.parametrize("o2", [2200, 1600])
def test_a_refused_reading_would_stop_the_plan(o2: int) -> None:
    """Refuse means that the dive planned on that reading has a stop of its own."""
    seen = judged("m-d1", o2, 4500)
    assert seen.reading is not None
    stops = {one.code for one in plan(with_reading(asked_dive(), "m-d1", seen.reading), POLICY).findings
             if one.severity is Severity.STOP}
    assert stops & {one.code for one in seen.reasons}
