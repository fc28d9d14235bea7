"""Windows and stress on every kind of dive: travel gas, stages, breaks, shared and independent cylinders, overhead."""

from dataclasses import replace

import pytest

from check import close
from gaswright.planning.dive import Level, Role, Settings, TeamDive, UnitSystem
from gaswright.planning.entered import entered_numbers
from gaswright.planning.held_plan import held_plan
from gaswright.planning.plan import plan
from gaswright.planning.robustness import Spread
from gaswright.planning.window import HOLDS, window_of
from gaswright.services.stress_runs import stressed
from unit.planning.dives import POLICY, cylinder, deco, dive, main

TEAM = ("d1", "d2")
NOTHING = Spread(0.0, 0.0, 0.5, (1.0,), 0.0, 0.0)
DECO = tuple(one for one in dive().cylinders if one.role is Role.DECO)


def travelling(switch_depth_m: float | None = None) -> TeamDive:
    """75 m on a hypoxic mix, reached on travel gas, which may serve on the way up."""
    kit = tuple(
        one for d in TEAM for one in (
            main(f"m-{d}", d, (12, 60), volume_l=60.0), deco(f"o-{d}", d, (100, 0)),
            cylinder(f"t-{d}", d, Role.TRAVEL, (30, 30), volume_l=24.0, switch_depth_m=switch_depth_m),
        )
    )
    return dive(cylinders=kit, levels=(Level(75.0, 15.0),))


def on_stages() -> TeamDive:
    """A level on a bottom stage, then one on the mains."""
    kit = tuple(
        one for d in TEAM for one in (main(f"m-{d}", d, (18, 45), volume_l=60.0), deco(f"e-{d}", d),
                                      cylinder(f"s-{d}", d, Role.STAGE, (18, 45), volume_l=24.0))
    )
    return dive(cylinders=kit, levels=(Level(54.0, 10.0, "s-d1"), Level(50.0, 8.0)))


MAINS = tuple(one for one in dive().cylinders if one.role is Role.MAIN)
SIDES = tuple(main(f"{side}-{d}", d, (21, 35 + at), volume_l=18.0) for d in TEAM for at, side in enumerate("lr"))
INSIDE = tuple(Level(depth_m, 10.0, overhead=True) for depth_m in (20.0, 40.0, 20.0))
BIG = tuple(replace(one, volume_l=one.volume_l * 3) for one in dive().cylinders)
KINDS = {
    "travel gas": travelling(), "travel gas both ways": travelling(33.0), "bottom stages": on_stages(),
    "oxygen breaks": dive(cylinders=BIG, levels=(Level(54.0, 40.0),), settings=Settings(oxygen_breaks=True)),
    "shared deco gas": dive(cylinders=(*MAINS, deco("e", "d1 d2", volume_l=40.0))),
    "independent mains": dive(cylinders=(*SIDES, *DECO)),
    "several levels": dive(levels=(Level(45.0, 12.0), Level(30.0, 10.0), Level(20.0, 10.0))),
    "overhead": dive(levels=INSIDE), "no stops": dive(depth_m=18.0, minutes=15.0),
    "feet": dive(depth_m=45.72, units=UnitSystem.IMPERIAL, settings=Settings(stop_step_m=3.048, last_stop_m=6.096)),
    "stops of seconds": dive(settings=Settings(stop_unit_min=1.0 / 60.0)),
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_the_planned_gas_of_every_cylinder_lies_in_its_window(kind: str) -> None:
    """Whatever the dive, the gas that the plan rests on holds in the window, and so do some others."""
    held = held_plan(KINDS[kind], POLICY)
    for name in held.uses:
        seen = window_of(held, name, steps=5)
        assert seen.cells[seen.he_e4.index(seen.planned.he_e4)][seen.o2_e4.index(seen.planned.o2_e4)] == HOLDS, name


@pytest.mark.parametrize("kind", KINDS)
def test_stress_without_spread_is_the_plan_of_every_kind(kind: str) -> None:
    """64 runs are replayed; TTS and gas left are those of the plan; use of the bottom phase is known."""
    asked, held = plan(KINDS[kind], POLICY), held_plan(KINDS[kind], POLICY)
    made = stressed(held, asked, 64, 1, spread=NOTHING)
    assert (made.made, made.verified) == (64, 64)
    assert made.tts_min is not None
    assert asked.planned.schedule is not None
    close(made.tts_min[1], asked.planned.schedule.tts_min, within=1 / 12 + 1e-9)
    below = {one.subject.cylinder for one in asked.findings if one.code.startswith("supply.minimum")}
    for name, supply in asked.planned.supply.items():
        close(made.left_bar[name][1], supply.end_bar, within=0.2)
    for one in made.broken:
        if one.code == "supply.minimum_passed":
            assert (one.runs > 0) == (one.cylinder in below)


@pytest.mark.parametrize("kind", KINDS)
def test_the_slate_of_every_kind_carries_the_longer(kind: str) -> None:
    """On whole percents each kind of dive has a schedule, and what is printed is no shorter than either."""
    held = held_plan(KINDS[kind], POLICY)
    entered = entered_numbers(held.kit, held.request, held.schedule)
    assert entered.tts_min is not None
    assert entered.printed is not None
    assert entered.printed.tts_min >= max(entered.tts_min, held.schedule.tts_min) - 1e-9
