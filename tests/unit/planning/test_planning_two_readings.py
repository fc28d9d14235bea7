"""Two readings of one fill that agree: the rich one for MOD, the lean one for decompression and hypoxia."""

from dataclasses import replace

from gaswright.analysis.reading import Reading
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Role
from gaswright.planning.mods import mod_of
from gaswright.planning.plan import plan
from unit.planning.dives import POLICY, cylinder, deco, dive

LEAN, RICH = Reading(Mixture(5080), 50), Reading(Mixture(5120), 50)


def test_the_rich_reading_sets_the_mod() -> None:
    """50.8 and 51.2 %: the team mark holds from 49.0 to 51.0 %, so the MOD is 18 m, as on the label, and not 21 m."""
    both, lean = deco("e", "d1", gas=None), deco("e", "d1", gas=None)
    both_mod = mod_of(replace(both, gas=LEAN, rich=RICH), POLICY)
    lean_mod = mod_of(replace(lean, gas=LEAN), POLICY)
    assert both_mod is not None
    assert lean_mod is not None
    assert (both_mod.metres, both_mod.feet, lean_mod.metres) == (18, 60, 21)


def test_the_switch_is_planned_at_the_mod_of_the_rich_reading_on_the_lean_gas() -> None:
    """The team switches at 18 m, and what is breathed in the schedule is the lean reading."""
    base = dive()
    changed = tuple(
        replace(c, gas=LEAN if c.id == "e-d1" else c.gas, rich=RICH if c.id == "e-d1" else None, target=Mixture(5000))
        if c.id.startswith("e-") else c for c in base.cylinders
    )
    made = plan(replace(base, cylinders=changed), POLICY)
    assert made.team_gases[0].depth_m == 18.0
    assert made.planned.schedule is not None
    breathed = {b.o2 for s in made.planned.schedule.segments for b in s.gas.values() if b.cylinder == "e-d1"}
    assert breathed == {0.508}


def test_ppo2_at_the_place_is_judged_on_the_rich_reading() -> None:
    """A main whose second reading is richer is a stop at a depth that the lean one alone allows."""
    base = dive()
    lean, rich = Reading(Mixture(2400, 3500), 50, 100), Reading(Mixture(2500, 3500), 50, 100)

    def codes(second: Reading | None) -> set[str]:
        mains = tuple(replace(c, gas=lean, rich=second) if c.role is Role.MAIN else c for c in base.cylinders)
        return {f.code for f in plan(replace(base, cylinders=mains), POLICY).findings}

    assert "mod.planned_use" not in codes(None)
    assert "mod.planned_use" in codes(rich)


def test_hypoxia_is_judged_on_the_lean_reading() -> None:
    """What is too lean stays too lean, however rich the other reading."""
    lean = cylinder("m-d1", "d1", Role.MAIN, (16, 45), volume_l=36.0, gauge_bar=230.0)
    base = dive()
    mixed = replace(lean, rich=Reading(Mixture(1700, 4500), 50, 100))
    made = plan(replace(base, cylinders=(mixed, *base.cylinders[1:])), POLICY)
    assert "ppo2.low" in {f.code for f in made.findings}
