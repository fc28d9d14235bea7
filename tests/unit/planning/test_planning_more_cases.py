"""The cases beyond deeper, longer and a lost gas: bottom gas by rig, turns on one cylinder, late, not there, alone."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest

from check import close
from gaswright.physics.content import free_litres
from gaswright.physics.mixture import Mixture
from gaswright.planning.cases import lost_gas_cases
from gaswright.planning.casework import Worked
from gaswright.planning.contents import Content, contents_of
from gaswright.planning.dive import Case, Level, OwnCase, Plan, Rig, Role, Settings, TeamDive
from gaswright.planning.failures import Judged, judged_loss
from gaswright.planning.kit import Kit, kit_of
from gaswright.planning.more_cases import sharing_case
from gaswright.planning.plan import plan
from gaswright.planning.request import Route, route_of
from gaswright.planning.usage import drawn_l, draws_of
from unit.planning.dives import POLICY, WATER_K, cylinder, deco, dive, diver, main


def only(*cases: str) -> Settings:
    """The settings with these cases alone."""
    return Settings(cases=cases)


def case_of(made: Plan, begins: str) -> Case:
    """The case whose name begins so."""
    (found,) = (c for c in made.cases if c.name.startswith(begins))
    return found


def codes_of(made: Plan) -> list[tuple[str, str | None]]:
    """Code and case of the judgement of cases."""
    return [(f.code, f.subject.case) for f in made.findings if f.code.startswith("case.")]


def rigged(rig: Rig, *mains_l: float, team: int = 2) -> TeamDive:
    """The dive with the first diver on a rig with mains of these sizes."""
    base = dive(team=team, settings=only("lost-bottom"))
    first = tuple(main(f"m{n}-d1", "d1", (21, 35), volume_l=litres) for n, litres in enumerate(mains_l))
    others = tuple(c for c in base.cylinders if c.id != "m-d1")
    return replace(base, divers=(diver("d1", rig=rig), *base.divers[1:]), cylinders=(*first, *others))


def test_manifolded_doubles_lose_half_of_what_is_in_them() -> None:
    """The isolator is shut: half of the gas that is there at the worst minute is gone, and no more."""
    made = plan(rigged(Rig.DOUBLES, 36.0), POLICY)
    lost = case_of(made, "lost half of m0-d1")
    assert lost.completed
    assert lost.lost == ("m0-d1",)
    assert lost.supply["m0-d1"].end_bar < made.planned.supply["m0-d1"].end_bar
    assert codes_of(made) == []


def test_half_is_half_of_what_is_there_and_the_pressure_is_that_of_the_other_half() -> None:
    """Half of the content at the loss, less what is breathed after it, is in half the volume at the end pressure."""
    base = rigged(Rig.DOUBLES, 36.0)
    made = plan(base, POLICY)
    lost = case_of(made, "lost half of m0-d1")
    supply, at_min = lost.supply["m0-d1"], float(lost.name.rsplit(" ", 1)[1])
    assert made.planned.schedule is not None
    kit = kit_of(base, POLICY)
    before_l = drawn_l(draws_of(kit, made.planned.schedule)["m0-d1"], at_min)
    start_l = free_litres(230.0, 36.0, WATER_K, Mixture(2100, 3500))
    left_l = (start_l - before_l) / 2 - (supply.used_l - before_l)
    close(free_litres(supply.end_bar, 18.0, WATER_K, Mixture(2100, 3500)), left_l, within=0.01)


def test_an_independent_rig_loses_all_that_is_in_the_fuller_cylinder() -> None:
    """The other cylinder alone brings the diver up; the lost one gives nothing after the loss."""
    made = plan(rigged(Rig.INDEPENDENT, 18.0, 24.0), POLICY)
    lost = case_of(made, "lost m1-d1 at minute")
    assert lost.lost == ("m1-d1",)
    assert lost.schedule is not None
    leave_min = lost.schedule.runtime_min - lost.schedule.tts_min
    later = {s.gas["d1"].cylinder for s in lost.schedule.segments if s.start_min >= leave_min}
    assert "m1-d1" not in later
    assert lost.supply["m1-d1"].end_bar == 0.0


def test_a_buddy_brings_up_a_diver_whose_only_cylinder_is_lost() -> None:
    """A single cylinder is lost with all in it: the schedule breathes the buddy's mains, and a note names it."""
    made = plan(rigged(Rig.SINGLE, 36.0), POLICY)
    lost = case_of(made, "lost m0-d1")
    assert lost.completed
    assert lost.schedule is not None
    breathed = {s.gas["d1"].cylinder for s in lost.schedule.segments}
    assert "m-d2" in breathed
    (note,) = (f for f in made.findings if f.code == "case.diver_alone" and f.subject.diver == "d1")
    assert "d2 gives 21/35 (m-d2) from minute 20" in note.text
    assert lost.supply["m-d2"].used_l > made.planned.supply["m-d2"].used_l


def test_nobody_to_share_with_is_a_stop() -> None:
    """A diver alone on a single cylinder that is lost has no way up: a stop, with the reason."""
    made = plan(rigged(Rig.SINGLE, 36.0, team=1), POLICY)
    (stop,) = (f for f in made.findings if f.code == "case.cannot_finish")
    assert "d1 has no bottom gas left" in stop.text


def test_a_lost_main_is_judged_with_the_lost_gases_and_shown_where_it_matters() -> None:
    """With lost-gas alone a loss that is survived alone is not listed; one that needs a buddy or has no way up is."""
    survived = plan(replace(rigged(Rig.DOUBLES, 36.0), settings=only("lost-gas")), POLICY)
    assert not [c for c in survived.cases if "half of" in c.name]
    single = plan(replace(rigged(Rig.SINGLE, 36.0), settings=only("lost-gas")), POLICY)
    assert [c for c in single.cases if c.name.startswith("lost m0-d1")]


def test_the_stressed_rate_holds_from_the_problem_on() -> None:
    """A diver who breathes more under stress uses more of the mains in that case, and the same as planned before."""
    base = rigged(Rig.DOUBLES, 36.0)
    hungry = replace(base, divers=(replace(base.divers[0], rmv_stressed_l_min=45.0), *base.divers[1:]))
    calm_l = case_of(plan(base, POLICY), "lost half of m0-d1").supply["m0-d1"].used_l
    used_l = case_of(plan(hungry, POLICY), "lost half of m0-d1").supply["m0-d1"].used_l
    assert used_l > calm_l


@pytest.mark.parametrize("rig", list(Rig))
def test_a_bottom_loss_under_an_overhead_takes_the_way_back(rig: Rig) -> None:
    """The case leaves along the levels, not straight up, and is a full verified schedule."""
    base = replace(rigged(rig, 60.0, 60.0), levels=(Level(30.0, 10.0, overhead=True), Level(40.0, 10.0, overhead=True),
                                                    Level(30.0, 10.0, overhead=True)))
    made = plan(base, POLICY)
    lost = case_of(made, "lost m0-d1 at")
    assert lost.schedule is not None
    assert lost.schedule.worst_gf
    lost_min = float(lost.name.rsplit(" ", 1)[1])
    assert 10.0 <= lost_min <= 20.0
    assert [s for s in lost.schedule.segments if s.kind == "level" and s.from_m == 30.0 and s.start_min > lost_min]


def test_a_shared_cylinder_is_breathed_in_turns() -> None:
    """From the step on the two alternate, each 5 min, the other on what was breathed before."""
    base = replace(dive(), levels=(Level(45.0, 35.0),), settings=only("shared-gas"))
    wide = tuple(replace(c, volume_l=60.0) for c in base.cylinders)
    made = plan(replace(base, cylinders=wide), POLICY)
    shared = case_of(made, "lost e-d1, e-d2 shared")
    assert shared.schedule is not None
    assert shared.completed
    on_shared = [
        {d for d, b in s.gas.items() if b.cylinder == "e-d2"}
        for s in shared.schedule.segments if any(b.cylinder == "e-d2" for b in s.gas.values())
    ]
    assert {frozenset(x) for x in on_shared} == {frozenset({"d1"}), frozenset({"d2"})}
    others = {s.gas["d1"].cylinder for s in shared.schedule.segments
              if s.gas["d2"].cylinder == "e-d2" and s.kind == "stop"}
    assert others == {"m-d1"}


def short_of_gas(deco_l: float, main_l: float = 21.5) -> TeamDive:
    """Forty minutes at 45 m on mains that do not last without the deep deco gas."""
    cylinders = tuple(
        c for d in ("d1", "d2") for c in (
            main(f"m-{d}", d, (21, 35), volume_l=main_l), deco(f"e-{d}", d, volume_l=deco_l),
            deco(f"o-{d}", d, (100, 0), volume_l=20.0),
        )
    )
    return replace(dive(), levels=(Level(45.0, 40.0),), cylinders=cylinders, settings=only("lost-gas"))


def worked_loss(asked: TeamDive) -> tuple[Kit, Mapping[str, Content], Route]:
    """What a lost gas is judged from."""
    kit = kit_of(asked, POLICY)
    route = route_of(kit)
    assert isinstance(route, Route)
    return kit, contents_of(kit), route


def test_turns_are_looked_for_where_left_over_gas_is_too_little() -> None:
    """A loss that no left-over gas mends is a note if turns on a buddy's cylinder bring both up, else a stop."""
    kit, contents, route = worked_loss(short_of_gas(10.0))
    losses, _ = lost_gas_cases(kit, contents, route)
    turns = sharing_case(*worked_loss(short_of_gas(40.0, 40.0)), "e-d1")
    assert turns is not None
    assert turns.case.completed

    def judged(shared: Callable[[str], Worked | None]) -> Judged:
        return judged_loss(contents, route, losses[0], route.steps[0], (), shared=shared)

    alone, mended = judged(lambda _: None), judged(lambda c: turns if c == "e-d1" else None)
    assert [f.code for f in alone.findings] == ["case.cannot_finish", "case.cannot_finish", "case.two_failures"]
    assert [f.code for f in mended.findings] == ["case.diver_alone", "case.cannot_finish", "case.two_failures"]
    assert "d1 cannot finish alone: d2 gives 50 % (e-d2) from minute" in mended.findings[0].text
    assert turns in mended.cases


def test_a_late_team_stays_the_minutes_of_the_setting() -> None:
    """The last level is left later by the setting; the way up is no shorter."""
    made = plan(dive(settings=replace(only("delay"), delay_min=4.0)), POLICY)
    late = case_of(made, "4 min late")
    assert late.delta_min == 4.0
    assert late.schedule is not None
    assert made.planned.schedule is not None
    close(late.schedule.runtime_min - late.schedule.tts_min,
          made.planned.schedule.runtime_min - made.planned.schedule.tts_min + 4.0, within=1e-9)
    assert late.schedule.tts_min >= made.planned.schedule.tts_min


def test_a_staged_cylinder_that_is_not_there_is_one_failure() -> None:
    """Each staged cylinder is left out, on levels as on the way up; carried ones are not."""
    base = dive(settings=only("not-there"))
    staged = tuple(replace(c, staged=True, place_depth_m=21.0) if c.id == "e-d1" else c for c in base.cylinders)
    made = plan(replace(base, cylinders=staged), POLICY)
    assert [c.name for c in made.cases] == ["planned", "e-d1 not there"]
    gone = made.cases[1]
    assert gone.completed
    assert gone.schedule is not None
    assert "e-d1" not in {b.cylinder for s in gone.schedule.segments for b in s.gas.values()}


def test_a_staged_bottom_stage_that_is_not_there_is_made_good_from_the_mains() -> None:
    """The level is dived on the mains; where they do not last it is a stop."""
    base = dive(team=1, settings=only("not-there"))
    stage = cylinder("s-d1", "d1", Role.STAGE, (21, 35), volume_l=24.0, staged=True, place_depth_m=40.0)
    mains = main("m-d1", "d1", (21, 35), volume_l=9.0)
    small = replace(base, levels=(Level(45.0, 20.0, cylinder="s-d1"),), cylinders=(mains, stage, *base.cylinders[1:]))
    made = plan(small, POLICY)
    assert ("case.cannot_finish", "s-d1 not there") in codes_of(made)
    assert made.cases[1].supply["m-d1"].short_l > 0.0


def test_a_separated_diver_has_only_the_own_gas() -> None:
    """Each diver alone is a schedule of one; a shared cylinder goes with the first, the second finishes without."""
    base = dive(settings=only("separated"))
    shared = tuple(deco("e", "d1 d2", volume_l=24.0) if c.id == "e-d1" else c for c in base.cylinders if c.id != "e-d2")
    made = plan(replace(base, cylinders=shared), POLICY)
    first, second = case_of(made, "d1 alone"), case_of(made, "d2 alone")
    assert first.schedule is not None
    assert second.schedule is not None
    assert "e" in first.supply
    assert "e" not in second.supply
    assert set(second.schedule.segments[0].gas) == {"d2"}
    assert second.schedule.tts_min > first.schedule.tts_min


def test_a_separated_diver_who_cannot_finish_is_a_stop() -> None:
    """Nobody is there to give anything."""
    base = dive(settings=only("separated"))
    shared = tuple(replace(c, divers=("d2", "d1")) if c.id == "m-d2" else c for c in base.cylinders if c.id != "m-d1")
    made = plan(replace(base, cylinders=shared), POLICY)
    assert ("case.cannot_finish", "d1 alone") in codes_of(made)


def test_one_s_own_cases_are_planned_and_judged_by_how_much_goes_wrong() -> None:
    """One change is a single failure; several at once give a note at most; the changes are those of the case."""
    base = dive(settings=only())
    own = (OwnCase("late", delay_min=5.0), OwnCase("a lot", 6.0, 10.0, lost=("e-d1", "e-d2", "o-d1")))
    made = plan(replace(base, own_cases=own), POLICY)
    assert [c.name for c in made.cases] == ["planned", "late", "a lot"]
    assert (made.cases[2].delta_m, made.cases[2].delta_min, made.cases[2].lost) == (6.0, 10.0, ("e-d1", "e-d2", "o-d1"))
    assert {code for code, _ in codes_of(made)} <= {"case.two_failures"}


def test_an_own_case_without_bottom_gas_has_no_schedule_and_says_whose() -> None:
    """Losing one's mains from the start cannot be dived: a stop that names the diver."""
    made = plan(replace(dive(settings=only()), own_cases=(OwnCase("no mains", lost=("m-d1",)),)), POLICY)
    (stop,) = (f for f in made.findings if f.code == "case.cannot_finish")
    assert "d1 has no bottom gas" in stop.text
    assert made.cases[1].schedule is None


def test_every_case_is_a_full_schedule_that_passed_its_replay() -> None:
    """Whatever is asked for: segments from surface to surface, gradient factors from the replay, supply of all used."""
    every = ("deeper", "longer", "lost-gas", "shared-gas", "lost-bottom", "not-there", "delay", "separated")
    made = plan(dive(team=3, settings=only(*every)), POLICY)
    assert len(made.cases) >= 12
    for case in made.cases:
        assert case.schedule is not None, case.name
        assert case.schedule.worst_gf, case.name
        used = {b.cylinder for s in case.schedule.segments for b in s.gas.values()}
        assert used <= set(case.supply), case.name
