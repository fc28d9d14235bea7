"""The plan as a whole: refusals at the door, dives that cannot be made, levels and their cylinders."""

from dataclasses import replace

import pytest

from gaswright.errors import InputError
from gaswright.planning.dive import Level, Role
from gaswright.planning.plan import plan
from unit.planning.dives import POLICY, cylinder, deco, dive, diver, main


def test_a_team_of_seven_is_refused() -> None:
    """Seven divers are no team."""
    with pytest.raises(InputError, match="7 divers are planned, a team has 1 to 6"):
        plan(dive(team=7), POLICY)


def test_nobody_is_refused() -> None:
    """A dive without divers is refused, not planned."""
    with pytest.raises(InputError, match="0 divers"):
        plan(dive(team=0), POLICY)


def test_a_dive_without_levels_is_refused() -> None:
    """A dive without levels is refused with what to give."""
    with pytest.raises(InputError, match="no level"):
        plan(dive(levels=()), POLICY)


@pytest.mark.parametrize("name", ["nowhere", "suit"])
def test_a_level_on_no_breathable_cylinder_is_refused(name: str) -> None:
    """A level that names an unknown or a suit cylinder is refused, never dived on the mains instead."""
    base = dive(levels=(Level(45.0, 20.0, cylinder=name),))
    suit = cylinder("suit", "d1", Role.SUIT, (21, 0))
    with pytest.raises(InputError, match=f"names cylinder {name}"):
        plan(replace(base, cylinders=(*base.cylinders, suit)), POLICY)


def test_a_level_on_unknown_gas_has_no_schedule() -> None:
    """A stage whose gas nobody knows leaves its level without gas: a stop, and no schedule."""
    base = dive(levels=(Level(45.0, 20.0, cylinder="s-d1"),))
    made = plan(replace(base, cylinders=(*base.cylinders, cylinder("s-d1", "d1", Role.STAGE, None))), POLICY)
    assert {f.code for f in made.findings} == {"gas.no_target", "schedule.no_gas"}
    assert made.planned.schedule is None


def test_unknown_deco_gas_is_left_out_of_the_schedule() -> None:
    """A deco cylinder of unknown gas is a stop; the schedule that is shown does without it."""
    base = dive()
    made = plan(replace(base, cylinders=(*base.cylinders[:1], deco("e-d1", "d1", None), *base.cylinders[2:])), POLICY)
    assert made.planned.schedule is not None
    assert "e-d1" not in {b.cylinder for s in made.planned.schedule.segments for b in s.gas.values()}
    assert ("gas.no_target", "e-d1") in {(f.code, f.subject.cylinder) for f in made.findings}


def test_a_dive_without_schedule_still_judges_its_gases() -> None:
    """A level too short has no schedule, but a gas too rich for its depth is said all the same."""
    base = dive(minutes=1.0)
    rich = tuple(main(f"m-{d.id}", d.id, (30, 30)) if c.role is Role.MAIN else c
                 for d in base.divers for c in base.cylinders if d.id in c.divers)
    made = plan(replace(base, cylinders=rich), POLICY)
    assert made.planned.schedule is None
    assert {"schedule.level_too_short", "mod.planned_use"} <= {f.code for f in made.findings}


def test_stages_alike_are_breathed_by_each_diver() -> None:
    """A level that names one diver's stage is dived by the other on his or her own stage of the same gas."""
    base = dive(levels=(Level(45.0, 20.0, cylinder="s-d1"),))
    stages = tuple(cylinder(f"s-{d}", d, Role.STAGE, (21, 35), volume_l=32.0) for d in ("d1", "d2"))
    schedule = plan(replace(base, cylinders=(*base.cylinders, *stages)), POLICY).planned.schedule
    assert schedule is not None
    assert {d: b.cylinder for d, b in schedule.segments[0].gas.items()} == {"d1": "s-d1", "d2": "s-d2"}
    leaving = next(s for s in schedule.segments if s.from_m == 45.0 and s.gas["d1"].cylinder == "m-d1")
    assert leaving.start_min >= 20.0


def test_qualification_is_held_against_the_nominal_gas() -> None:
    """50.6 % for a nominal 50 % does not pass a qualification of 50 %; 52 % does, and without a target 50.6 % does."""
    def codes(gas_e4: int, *, nominal: bool) -> set[str]:
        base = dive(team=1, divers=(diver("d1", max_o2_e4=5000),))
        given = deco("e-d1", "d1")
        assert given.gas is not None
        mixture = replace(given.gas.mixture, o2_e4=gas_e4)
        target = given.gas.mixture if nominal else None
        changed = replace(given, gas=replace(given.gas, mixture=mixture), target=target)
        made = plan(replace(base, cylinders=(base.cylinders[0], changed)), POLICY)
        return {f.code for f in made.findings}
    assert "qualification.o2" not in codes(5060, nominal=True)
    assert "qualification.o2" in codes(5200, nominal=True)
    assert "qualification.o2" in codes(5060, nominal=False)
