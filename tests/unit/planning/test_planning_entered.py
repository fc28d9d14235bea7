"""What the computers hold: whole percents that never promise a deeper MOD, and a slate that carries the longer."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from check import close
from gaswright.analysis.reading import Reading
from gaswright.decompression.replay_rules import ViolationKind
from gaswright.decompression.verifier import replay
from gaswright.findings import Severity
from gaswright.physics.depth_limits import label_mod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Level, PlanCylinder, Role, TeamDive, UnitSystem
from gaswright.planning.entered import entered_numbers, entered_of
from gaswright.planning.held_plan import held_plan
from gaswright.planning.mods import limit_centi_ata, mod_m, mod_of
from gaswright.planning.plan import plan
from unit.planning.dives import POLICY, cylinder, deco, dive, main, tightened

METRIC, IMPERIAL = UnitSystem.METRIC, UnitSystem.IMPERIAL


def read(role: Role, o2_e4: int, he_e4: int = 0, u_o2_e4: int = 50) -> PlanCylinder:
    """A cylinder with a reading."""
    reading = Reading(Mixture(o2_e4, he_e4), u_o2_e4, 100 if he_e4 else 0)
    return replace(cylinder("c", "d1", role, (21, 0)), gas=reading)


@pytest.mark.parametrize(("role", "o2", "he", "entered"), [
    (Role.MAIN, 1840, 4120, (1900, 4100)),  # 18 % would have 67 m, the label (18.9 %) has 64 m; 19 % has 63 m
    (Role.MAIN, 1800, 4500, (1900, 4500)),  # the uncertainty alone makes 18 % too deep: 67 m against 65 m
    (Role.DECO, 4960, 0, (5000, 0)),  # the nearest, 21 m like the mark
    (Role.DECO, 5060, 0, (5100, 0)),  # the nearest
    (Role.DECO, 9940, 0, (9900, 0)),  # the nearest, 6 m like the mark
    (Role.DECO, 10000, 0, (10000, 0)),
    (Role.MAIN, 2150, 3450, (2200, 3400)),  # half a percent of helium goes down
])  # fmt: skip
def test_entered_numbers_follow_the_rule(role: Role, o2: int, he: int, entered: tuple[int, int]) -> None:
    """The nearest whole percent whose own MOD is no deeper than the label's, else the next higher."""
    assert entered_of(read(role, o2, he), POLICY, METRIC) == Mixture(*entered)


@given(
    role=st.sampled_from([Role.MAIN, Role.DECO, Role.STAGE]), o2=st.integers(500, 10_000), u=st.integers(0, 200),
    units=st.sampled_from([METRIC, IMPERIAL]), he=st.integers(0, 9_500),
)  # fmt: skip
def test_no_computer_is_told_a_deeper_mod_than_the_label(
    role: Role, o2: int, u: int, units: UnitSystem, he: int
) -> None:
    """Whole percents, a gas, MOD no deeper than the label's; every whole percent from the nearest on was too lean."""
    he = min(he, 10_000 - o2)
    asked = read(role, o2, he, u)
    entered = entered_of(asked, POLICY, units)
    label, limit = mod_of(asked, POLICY), limit_centi_ata(role, POLICY)
    assert label is not None
    assert entered.o2_e4 % 100 == 0
    assert entered.he_e4 % 100 == 0
    nearest = (o2 + 50) // 100
    for percent in range(max(1, nearest), entered.o2_e4 // 100 + 1):
        own = label_mod(percent * 100, limit, on_grid=role is Role.DECO)
        fits = mod_m(own, units) <= mod_m(label, units) + 1e-9
        assert fits == (percent * 100 == entered.o2_e4) or percent == 100
    assert abs(entered.he_e4 - he) <= 50 or entered.o2_e4 + entered.he_e4 == 10_000


def lean_dive(o2: int, he: int, deco_o2: int) -> TeamDive:
    """Alone at 54 m on readings that are no whole percents."""
    kit = (
        replace(main("m-d1", "d1", (18, 45), volume_l=60.0), gas=Reading(Mixture(o2, he), 50, 100)),
        replace(deco("e-d1", "d1"), gas=Reading(Mixture(deco_o2), 50)),
    )
    return dive(team=1, cylinders=kit, levels=(Level(54.0, 25.0),))


def test_helium_rounded_up_and_a_rich_deco_gas_rounded_up_differ() -> None:
    """With no room at all, entered numbers that come to another TTS are an ask, and the plan carries it."""
    policy = tightened(sheet_tts_min=0.0)
    made = plan(lean_dive(1840, 4450, 5149), policy)
    found = [one for one in made.findings if one.code == "plan.entered_differs"]
    assert [one.severity for one in found] == [Severity.ASK]
    assert made.entered_tts_min is not None
    assert made.planned.schedule is not None
    assert made.entered_tts_min != made.planned.schedule.tts_min
    assert "e-d1 52 %" in found[0].text  # 51.49 + 0.5 % has a label of 18 m, 51 % would have 21 m


def test_within_two_minutes_nobody_is_asked() -> None:
    """A minute apart is not an ask by the shipped policy."""
    made = plan(lean_dive(1840, 4450, 5149), POLICY)
    assert made.entered_tts_min is not None
    assert made.planned.schedule is not None
    assert abs(made.entered_tts_min - made.planned.schedule.tts_min) <= 2.0
    assert "plan.entered_differs" not in {one.code for one in made.findings}


@settings(max_examples=30)
@given(o2=st.integers(1700, 2000), he=st.integers(4300, 5000), deco_o2=st.integers(4600, 5300))
def test_the_slate_carries_the_longer_and_passes_on_the_gas_really_breathed(o2: int, he: int, deco_o2: int) -> None:
    """What slates say is as long as both schedules, on the readings, and breaks no ceiling of theirs."""
    held = held_plan(lean_dive(o2, he, deco_o2), POLICY)
    entered = entered_numbers(held.kit, held.request, held.schedule)
    assert entered.printed is not None
    assert entered.tts_min is not None
    assert entered.printed.tts_min >= max(entered.tts_min, held.schedule.tts_min) - 1e-9
    gases = {(b.o2, b.he) for segment in entered.printed.segments for b in segment.gas.values()}
    assert gases <= {(o2 / 10_000, he / 10_000), (deco_o2 / 10_000, 0.0)}
    seen = replay(held.request, entered.printed.segments, anchor_m=held.schedule.anchor_m)
    assert not [one for one in seen.violations if one.kind is ViolationKind.CEILING]


def test_a_deco_gas_rounded_down_makes_the_longer_slate() -> None:
    """50.49 % is entered as 50 %: after 31 min at 54 m that is a minute longer, and the slate carries it."""
    mains = replace(main("m-d1", "d1", (19, 45), volume_l=90.0), gas=Reading(Mixture(1900, 4500)))
    rich = replace(deco("e-d1", "d1"), gas=Reading(Mixture(5049), 50))
    held = held_plan(dive(team=1, cylinders=(mains, rich), levels=(Level(54.0, 31.0),)), POLICY)
    entered = entered_numbers(held.kit, held.request, held.schedule)
    assert entered.gases == {"m-d1": Mixture(1900, 4500), "e-d1": Mixture(5000)}
    assert entered.tts_min is not None
    assert entered.printed is not None
    close(entered.tts_min - held.schedule.tts_min, 1.0, within=1e-9)
    close(entered.schedule.tts_min, entered.tts_min, within=1e-9)
    assert entered.printed.tts_min >= entered.tts_min - 1e-9
