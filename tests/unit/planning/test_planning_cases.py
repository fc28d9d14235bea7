"""The cases of a dive, and who can help where one of them cannot be finished alone."""

from dataclasses import replace

import pytest

from check import close
from gaswright.errors import InputError
from gaswright.physics.mixture import Mixture
from gaswright.planning.cases import changed_levels, wanted_cases
from gaswright.planning.dive import Case, Level, Plan, Role, Settings, TeamDive
from gaswright.planning.plan import plan
from unit.planning.dives import POLICY, cylinder, deco, dive, main


def case_of(made: Plan, name: str) -> Case:
    """The case of a name."""
    (found,) = (c for c in made.cases if c.name == name)
    return found


def with_mains(base: TeamDive, **litres: float) -> TeamDive:
    """The dive with mains of other sizes, at 230 bar."""
    changed = [replace(c, volume_l=litres.get(c.divers[0], c.volume_l)) if c.role is Role.MAIN else c
               for c in base.cylinders]
    return replace(base, cylinders=tuple(changed))


def test_the_first_case_is_planned_and_all_that_are_asked_follow() -> None:
    """By default: planned, deeper, longer, both, each gas lost, all lost."""
    assert [c.name for c in plan(dive(), POLICY).cases] == [
        "planned", "deeper", "longer", "deeper and longer", "lost 21 m gas", "lost 6 m gas",
        "lost 21 m gas and 6 m gas",
    ]


@pytest.mark.parametrize(("cases", "names"), [
    ((), ["planned"]), (("longer",), ["planned", "longer"]),
    (("lost-gas",), ["planned", "lost 21 m gas", "lost 6 m gas", "lost 21 m gas and 6 m gas"]),
])
def test_only_the_cases_asked_for_are_planned(cases: tuple[str, ...], names: list[str]) -> None:
    """Deeper and longer together only where both are asked for."""
    assert [c.name for c in plan(dive(settings=Settings(cases=cases)), POLICY).cases] == names


def test_an_unknown_case_is_refused() -> None:
    """A case nobody knows is refused with the names that exist."""
    with pytest.raises(InputError, match="deeper, longer, lost-gas"):
        wanted_cases(("shallower",))


def test_the_deepest_level_is_dived_deeper_and_longer() -> None:
    """The changes go to the deepest level, of equally deep ones to the last; the others stay."""
    levels = (Level(30.0, 5.0), Level(45.0, 10.0), Level(45.0, 5.0), Level(20.0, 5.0))
    changed = changed_levels(levels, 3.0, 5.0)
    assert [(x.depth_m, x.minutes) for x in changed] == [(30.0, 5.0), (45.0, 10.0), (48.0, 10.0), (20.0, 5.0)]


def test_deltas_stand_against_the_planned_levels() -> None:
    """Each case says how much deeper and longer it is; what is longer is also longer on the way up."""
    made = plan(dive(), POLICY)
    deltas = [(c.delta_m, c.delta_min) for c in made.cases[:4]]
    assert deltas == [(0.0, 0.0), (3.0, 0.0), (0.0, 5.0), (3.0, 5.0)]
    planned, both = made.planned.schedule, made.cases[3].schedule
    assert planned is not None
    assert both is not None
    assert both.tts_min > planned.tts_min


def test_a_lost_gas_is_breathed_by_nobody_and_its_spare_is_lost_too() -> None:
    """The whole step is lost, spares included; the deco time is longer for it."""
    base = dive()
    made = plan(replace(base, cylinders=(*base.cylinders, deco("spare", "d1"))), POLICY)
    lost = case_of(made, "lost 21 m gas")
    assert set(lost.lost) == {"e-d1", "e-d2", "spare"}
    assert lost.schedule is not None
    breathed = {b.cylinder for s in lost.schedule.segments for b in s.gas.values()}
    assert breathed.isdisjoint(lost.lost)
    assert made.planned.schedule is not None
    assert lost.schedule.tts_min > made.planned.schedule.tts_min


def test_every_case_passed_its_replay() -> None:
    """Each schedule carries the gradient factors that the replay found, none above the team's high one."""
    for case in plan(dive(), POLICY).cases:
        assert case.schedule is not None
        assert case.schedule.worst_gf
        assert max(use.gf_percent for use in case.schedule.worst_gf) <= 80.0 + 1e-6


def test_the_way_down_on_a_lost_travel_gas_stays_as_planned() -> None:
    """A gas used both ways is lost for the way up only: the dive still begins on it."""
    base = dive(team=1)
    both = cylinder("t-d1", "d1", Role.TRAVEL, (50, 0), switch_depth_m=15.0)
    made = plan(replace(base, cylinders=(base.cylinders[0], both, base.cylinders[2])), POLICY)
    lost = case_of(made, "lost 15 m gas")
    assert lost.schedule is not None
    assert lost.schedule.segments[0].gas["d1"].cylinder == "t-d1"
    assert lost.schedule.segments[-1].gas["d1"].cylinder == "o-d1"


def test_a_buddy_with_gas_left_is_named_with_gas_and_minute() -> None:
    """One diver's mains do not last without the deep gas, the buddy's do: a note says who gives what from when."""
    made = plan(with_mains(dive(), d1=12.0), POLICY)
    notes = [f for f in made.findings if f.code == "case.diver_alone" and f.subject.case == "lost e-d1"]
    (note,) = notes
    alone = case_of(made, "lost e-d1")
    empty_min = alone.supply["m-d1"].empty_at_min
    assert empty_min is not None
    assert f"d2 gives 21/35 (m-d2) from minute {int(empty_min)}" in note.text
    assert not alone.completed


def test_a_failure_that_the_team_cannot_finish_is_a_stop() -> None:
    """A shared deco cylinder is one failure for all: nobody has gas left to give, so it is a stop naming it."""
    base = with_mains(dive(), d1=11.0, d2=11.0)
    mains = tuple(c for c in base.cylinders if c.role is Role.MAIN)
    shared = replace(base, cylinders=(*mains, deco("e", "d1 d2", volume_l=24.0)))
    made = plan(replace(shared, settings=Settings(cases=("lost-gas",))), POLICY)
    (stop,) = (f for f in made.findings if f.code == "case.cannot_finish")
    assert stop.severity == "stop"
    assert stop.subject.cylinder == "e"
    assert case_of(made, "lost 21 m gas").supply["m-d1"].short_l > 0.0


def test_a_hypoxic_main_cannot_replace_a_lost_gas() -> None:
    """Without deco gas a 12/60 main would be breathed at the surface: the case cannot be finished, and says why."""
    base = dive(team=1, depth_m=60.0)
    travel = cylinder("t-d1", "d1", Role.TRAVEL, (50, 0))
    cylinders = (main("m-d1", "d1", (12, 60), volume_l=60.0), travel, base.cylinders[1], base.cylinders[2])
    made = plan(replace(base, cylinders=cylinders), POLICY)
    (note,) = (f for f in made.findings if f.code == "case.two_failures" and "lost" in (f.subject.case or ""))
    assert "m-d1 has too little oxygen at 0 m" in note.text


def test_gas_is_given_only_where_it_can_be_breathed() -> None:
    """Much oxygen is no help to a diver who is out of gas below 6 m (a stop), and is given at 6 m (a note)."""
    base = dive(levels=(Level(45.0, 35.0),))
    cylinders = tuple(
        c for d in ("d1", "d2") for c in (
            main(f"m-{d}", d, (21, 35), volume_l=19.0), deco(f"e-{d}", d, volume_l=5.0),
            deco(f"o-{d}", d, (100, 0), volume_l=40.0),
        )
    )
    made = plan(replace(base, cylinders=cylinders), POLICY)
    judged = {f.subject.case: f for f in made.findings if f.code.startswith("case.")}
    assert judged["lost e-d1"].code == "case.cannot_finish"
    deep, empty_min = case_of(made, "lost e-d1"), case_of(made, "lost e-d1").supply["m-d1"].empty_at_min
    assert deep.schedule is not None
    assert empty_min is not None
    assert max(s.from_m for s in deep.schedule.segments if s.end_min > empty_min) > 6.0
    assert judged["lost o-d1"].code == "case.diver_alone"
    assert "d2 gives OXYGEN (o-d2)" in judged["lost o-d1"].text


def test_cases_of_a_plan_that_runs_out_are_not_judged() -> None:
    """Where gas runs out as planned that stop is said once; the cases are planned but not judged."""
    base = dive(team=1)
    small = deco("e-d1", "d1", gauge_bar=12.0)
    made = plan(replace(base, cylinders=(base.cylinders[0], small, base.cylinders[2])), POLICY)
    assert not [f for f in made.findings if f.code.startswith("case.")]
    assert [f.code for f in made.findings if f.severity == "stop"] == ["supply.runs_out"]


def test_pulled_switches_cost_the_minutes_of_both_plans() -> None:
    """The minutes in the finding are the difference of two full plans, recounted here."""
    base = dive(levels=(Level(45.0, 40.0),))
    rich = replace(base, cylinders=tuple(
        deco("e-d2", "d2", (60, 0), target=Mixture(5000)) if c.id == "e-d2" else c for c in base.cylinders
    ))
    made = plan(rich, POLICY)
    (ask,) = (f for f in made.findings if f.code == "team.pulled_shallower")
    lifted = replace(rich, cylinders=tuple(
        replace(c, switch_depth_m=21.0) if c.id == "e-d2" else c for c in rich.cylinders
    ))
    other = plan(lifted, POLICY).planned.schedule
    assert made.planned.schedule is not None
    assert other is not None
    minutes = made.planned.schedule.tts_min - other.tts_min
    assert minutes > 0.0
    whole, seconds = ask.text.split(": ")[1].removesuffix(" s longer").split(" min ")
    close(float(whole) + float(seconds) / 60, minutes, within=0.5 / 60)
