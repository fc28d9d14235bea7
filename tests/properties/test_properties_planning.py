"""Properties of planning on random teams, gases, depths and settings."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from check import close
from gaswright.analysis.reading import Reading
from gaswright.decompression.request import SegmentKind, Tissues
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.exchange.policy_file import policy_of, shipped_policy
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import ATM_BAR, Place
from gaswright.planning.around import Before, PastDose
from gaswright.planning.carried import before_next
from gaswright.planning.cases import CASES
from gaswright.planning.contents import contents_of
from gaswright.planning.dive import (
    Basis,
    Case,
    Diver,
    Level,
    OwnCase,
    PlanCylinder,
    Rig,
    Role,
    Settings,
    TeamDive,
    UnitSystem,
    Usable,
)
from gaswright.planning.kit import kit_of
from gaswright.planning.minimum_gas import need_at
from gaswright.planning.plan import plan
from gaswright.planning.request import Route, request_of, route_of
from gaswright.planning.way_out import moments_of

POLICY = shipped_policy()
FEW = settings(max_examples=40)


@st.composite
def readings(draw: st.DrawFn, low: int, high: int, *, helium: bool) -> Reading:
    """A reading with oxygen between two percentages, with or without helium."""
    o2_e4 = draw(st.integers(low * 100, high * 100))
    he_e4 = draw(st.integers(0, min(7000, 10_000 - o2_e4))) if helium else 0
    return Reading(Mixture(o2_e4, he_e4), draw(st.sampled_from([0, 50])), 100 if he_e4 else 0)


@st.composite
def cylinders(draw: st.DrawFn, name: str, diver: str, role: Role) -> PlanCylinder:
    """A cylinder of a diver; its gas suits nothing in particular."""
    low, high = {Role.MAIN: (10, 40), Role.TRAVEL: (25, 80), Role.STAGE: (10, 50), Role.DECO: (30, 100)}[role]
    helium = role in {Role.MAIN, Role.STAGE}
    known = draw(st.integers(0, 9)) > 0 or role is Role.MAIN
    target = draw(st.sampled_from([None, Mixture(5000), Mixture(10_000)])) if role is Role.DECO else None
    return PlanCylinder(
        id=name, serial=name, divers=(diver,), role=role, volume_l=draw(st.sampled_from([7.0, 12.0, 24.0])),
        working_pressure_bar=232.0, gas=draw(readings(low, high, helium=helium)) if known else None,
        basis=draw(st.sampled_from(list(Basis))), gauge_bar=draw(st.one_of(st.none(), st.floats(0.0, 230.0))),
        temperature_k=draw(st.floats(275.0, 310.0)), target=target,
        switch_depth_m=draw(st.sampled_from([None, None, 6.0, 9.0, 21.0, 22.5])) if role is not Role.MAIN else None,
        leave_depth_m=draw(st.sampled_from([None, None, 10.0, 40.0])) if role is Role.TRAVEL else None,
        staged=draw(st.booleans()), place_depth_m=draw(st.sampled_from([None, 12.0, 30.0])),
    )


@st.composite
def dives(draw: st.DrawFn) -> TeamDive:
    """Any dive that a trip file could ask for."""
    team = [f"d{n}" for n in range(1, draw(st.integers(1, 3)) + 1)]
    divers = tuple(
        Diver(d, d, d, draw(st.floats(8.0, 30.0)), draw(st.floats(8.0, 30.0)), draw(st.floats(15.0, 60.0)),
              draw(st.sampled_from(list(Rig)))) for d in team
    )
    gases: list[PlanCylinder] = []
    for d in team:
        others = st.sampled_from([Role.MAIN, Role.STAGE, Role.TRAVEL, Role.DECO])
        roles = [Role.MAIN, *draw(st.lists(others, max_size=4))]
        gases += [draw(cylinders(f"{d}-{n}", d, role)) for n, role in enumerate(roles)]
    named = [None, None, *(c.id for c in gases)]
    levels = draw(st.lists(
        st.builds(Level, st.floats(3.0, 90.0), st.floats(0.0, 40.0), st.sampled_from(named), st.booleans()),
        min_size=1, max_size=3,
    ))
    step_m = draw(st.sampled_from([3.0, 3.048]))
    how = Settings(
        gf_low=draw(st.sampled_from([20.0, 30.0, 50.0])), gf_high=draw(st.sampled_from([70.0, 85.0])),
        stop_step_m=step_m, last_stop_m=step_m * draw(st.integers(1, 2)),
        switch_min=draw(st.sampled_from([0.0, 0.5, 1.0])), usable=draw(st.sampled_from(list(Usable))),
        solve_min=draw(st.sampled_from([0.0, 1.0, 2.0])), unusable_bar=draw(st.sampled_from([0.0, 10.0, 30.0])),
        oxygen_breaks=draw(st.booleans()), cases=tuple(draw(st.lists(st.sampled_from(CASES), unique=True, max_size=3))),
        delay_min=draw(st.sampled_from([1.0, 5.0])), share_min=draw(st.sampled_from([1.0, 5.0])),
    )
    place = Place(draw(st.sampled_from([0.85, 1.013])), 0.1, draw(st.sampled_from([None, 277.15, 300.0])), 1.013)
    units = UnitSystem.IMPERIAL if step_m > 3.0 else UnitSystem.METRIC
    lost = tuple(draw(st.lists(st.sampled_from([c.id for c in gases]), unique=True, max_size=2)))
    own = (OwnCase("own", delay_min=2.0, lost=lost),) if lost else ()
    return TeamDive(divers, tuple(gases), tuple(levels), place, how, units, draw(histories(team)), own)


@st.composite
def histories(draw: st.DrawFn, team: list[str]) -> Before | None:
    """Earlier dives of some of the team, or none."""
    if draw(st.booleans()):
        return None
    n2_bar = tuple(draw(st.floats(0.3, 1.4)) for _ in range(16))
    he_bar = tuple(draw(st.floats(0.0, 0.6)) for _ in range(16))
    past = PastDose(draw(st.integers(0, 3)), draw(st.floats(20.0, 3000.0)), 60.0, draw(st.floats(0.0, 2.0)),
                    draw(st.floats(0.0, 1.5)), draw(st.floats(0.0, 900.0)))
    return Before(60.0, {team[0]: Tissues(n2_bar, he_bar)}, {team[0]: (past,)})


@st.composite
def plain_dives(draw: st.DrawFn) -> TeamDive:
    """A dive that works: enough of a known gas in everything."""
    team = [f"d{n}" for n in range(1, draw(st.integers(1, 3)) + 1)]
    divers = tuple(Diver(d, d, d, draw(st.floats(10.0, 25.0)), draw(st.floats(10.0, 20.0)), draw(st.floats(20.0, 40.0)))
                   for d in team)
    def held(name: str, d: str, role: Role, o2: int, he: int) -> PlanCylinder:
        return PlanCylinder(name, name, (d,), role, 200.0, 232.0, Reading(Mixture(o2 * 100, he * 100)),
                            Basis.ANALYSED, 230.0, 281.15)
    gases = tuple(c for d in team for c in (
        held(f"m-{d}", d, Role.MAIN, 21, 35), held(f"e-{d}", d, Role.DECO, 50, 0), held(f"o-{d}", d, Role.DECO, 100, 0),
    ))
    level = Level(draw(st.floats(20.0, 50.0)), draw(st.floats(10.0, 35.0)))
    return TeamDive(divers, gases, (level,), Place(water_temperature_k=281.15))


def consumed_l(asked: TeamDive, case: Case) -> float:
    """What the team breathes in a case, recounted from its segments."""
    assert case.schedule is not None
    leave_min = case.schedule.runtime_min - case.schedule.tts_min
    total_l, halted = 0.0, False
    for s in case.schedule.segments:
        halted = halted or (s.kind is SegmentKind.STOP and s.start_min > leave_min - 1e-6)
        mean_bar = asked.place.surface_bar + asked.place.bar_per_m * (s.from_m + s.to_m) / 2
        rates = sum(d.rmv_deco_l_min if halted else d.rmv_bottom_l_min for d in asked.divers)
        total_l += rates * mean_bar / ATM_BAR * s.minutes
    return total_l


@FEW
@given(dives())
def test_plan_answers_every_dive(asked: TeamDive) -> None:
    """A dive that a trip file can ask for has an answer: a schedule, or a stop that says why there is none."""
    made = plan(asked, POLICY)
    assert made.planned.schedule is not None or any(f.severity == "stop" for f in made.findings)
    assert made.planned.name == "planned"
    for case in made.cases:
        for supply in case.supply.values():
            assert supply.end_bar >= 0.0
            assert (supply.empty_at_min is None) == (supply.short_l <= 0.0)


@FEW
@given(plain_dives())
def test_supply_is_conserved(asked: TeamDive) -> None:
    """In every case what the cylinders give is what the team breathes."""
    for case in plan(asked, POLICY).cases:
        close(sum(s.used_l for s in case.supply.values()), consumed_l(asked, case), within=1e-6)


@FEW
@given(plain_dives(), st.floats(0.1, 10.0))
def test_more_consumption_never_leaves_more(asked: TeamDive, more_l_min: float) -> None:
    """A team that breathes more ends with no more in any cylinder."""
    hungrier = replace(asked, divers=tuple(
        replace(d, rmv_bottom_l_min=d.rmv_bottom_l_min + more_l_min, rmv_deco_l_min=d.rmv_deco_l_min + more_l_min)
        for d in asked.divers
    ))
    before, after = plan(asked, POLICY).planned.supply, plan(hungrier, POLICY).planned.supply
    assert before.keys() == after.keys()
    assert all(after[c].end_bar < before[c].end_bar for c in before)


def minimum_l(asked: TeamDive) -> dict[str, float]:
    """Minimum gas of each diver, the largest over the bottom phase."""
    kit = kit_of(asked, POLICY)
    route = route_of(kit)
    assert isinstance(route, Route)
    schedule = unverified_schedule(request_of(kit, route, asked.levels))
    needs = [need_at(kit, route, moment) for moment in moments_of(schedule, asked.levels)]
    return {d.id: max(need.free_l[d.id] for need in needs) for d in asked.divers}


@FEW
@given(plain_dives(), st.floats(0.1, 20.0))
def test_minimum_gas_grows_with_the_stressed_rate(asked: TeamDive, more_l_min: float) -> None:
    """A team that breathes more under stress needs more."""
    hungrier = replace(asked, divers=tuple(
        replace(d, rmv_stressed_l_min=d.rmv_stressed_l_min + more_l_min) for d in asked.divers
    ))
    before, after = minimum_l(asked), minimum_l(hungrier)
    assert all(after[d] > before[d] for d in before)


@FEW
@given(plain_dives(), st.floats(0.5, 15.0))
def test_minimum_gas_grows_with_depth(asked: TeamDive, deeper_m: float) -> None:
    """The same time deeper needs more minimum gas."""
    level = asked.levels[0]
    deeper = replace(asked, levels=(replace(level, depth_m=level.depth_m + deeper_m),))
    before, after = minimum_l(asked), minimum_l(deeper)
    assert all(after[d] > before[d] for d in before)


@FEW
@given(plain_dives())
def test_turn_lies_between_minimum_gas_and_the_start(asked: TeamDive) -> None:
    """Minimum gas <= turn pressure <= start on every main that holds minimum gas."""
    for supply in plan(asked, POLICY).planned.supply.values():
        if supply.turn_bar is not None and supply.minimum_bar is not None:
            assert supply.minimum_bar <= supply.turn_bar + 1e-9
            assert supply.turn_bar <= supply.start_bar + 1e-9


@FEW
@given(dives())
def test_contents_are_what_the_moles_say(asked: TeamDive) -> None:
    """Nothing can be breathed that is not there: available gas is never negative nor above the content."""
    for content in contents_of(kit_of(asked, POLICY)).values():
        assert 0.0 <= content.available_l <= content.start_l + 1e-9


@FEW
@given(plain_dives(), st.floats(10.0, 300.0), st.floats(1.0, 600.0))
def test_a_longer_surface_interval_never_lengthens_the_way_up(
    asked: TeamDive, interval_min: float, more_min: float
) -> None:
    """The same second dive after a longer rest has no longer TTS; after any rest it is no shorter than a first dive."""
    bare = replace(asked, settings=replace(asked.settings, cases=()))
    first = plan(bare, POLICY)
    rested = [
        plan(bare, POLICY, before_next(bare, first, minutes, 0, bare.place)).planned.schedule
        for minutes in (interval_min, interval_min + more_min)
    ]
    fresh = first.planned.schedule
    assert fresh is not None
    soon, late = rested
    assert soon is not None
    assert late is not None
    assert soon.tts_min >= late.tts_min - 1e-9
    assert late.tts_min >= fresh.tts_min - 1.0 - 1e-9  # after oxygen some tissues hold less than a rested diver's


@FEW
@given(plain_dives(), st.sampled_from([5.0, 10.0, 20.0]), st.integers(1, 10))
def test_breaks_part_the_oxygen(asked: TeamDive, period_min: float, break_min: int) -> None:
    """At the halts nobody breathes oxygen longer than a period, turns apart, and everybody rests at once."""
    how = replace(asked.settings, oxygen_breaks=True, cases=())
    made = plan(replace(asked, settings=how), policy_of(
        {"oxygen_period_min": period_min, "oxygen_break_min": float(break_min)})).planned.schedule
    assert made is not None
    run = dict.fromkeys((d.id for d in asked.divers), 0.0)
    turns_min = len(asked.divers) * how.switch_min
    for s in made.segments:
        if s.kind is not SegmentKind.STOP:
            continue
        for d, breath in s.gas.items():
            run[d] = run[d] + s.minutes if breath.o2 >= 0.98 else 0.0
            assert run[d] <= period_min + turns_min + 1e-6


@FEW
@given(plain_dives(), st.sampled_from(list(Rig)))
def test_bottom_loss_leaves_no_more_than_the_plan(asked: TeamDive, rig: Rig) -> None:
    """Whatever the rig, the lost main ends with no more than planned, and every case is there."""
    lost_of = replace(asked, divers=tuple(replace(d, rig=rig) for d in asked.divers),
                      settings=replace(asked.settings, cases=("lost-bottom",)))
    made = plan(lost_of, POLICY)
    losses = [c for c in made.cases if c.lost]
    assert len(losses) == len(asked.divers) or not made.planned.completed
    for case in losses:
        (cylinder,) = case.lost
        if cylinder in case.supply:
            assert case.supply[cylinder].end_bar <= made.planned.supply[cylinder].end_bar + 1e-9


@FEW
@given(dives())
def test_too_little_oxygen_is_found_wherever_it_is_breathed(asked: TeamDive) -> None:
    """Hypoxic mains with or without travel gas, stages, breaks: a recount of every segment agrees with the finding."""
    made = plan(asked, POLICY)
    if made.planned.schedule is None:
        return
    kit = kit_of(asked, POLICY)
    lowest_ata = min(
        cylinder.gas.lean_o2_e4 / 10_000 * (asked.place.surface_bar + asked.place.bar_per_m * depth_m) / ATM_BAR
        for s in made.planned.schedule.segments for d, breath in s.gas.items()
        for cylinder in kit.pool(d, breath.cylinder) for depth_m in (s.from_m, s.to_m) if cylinder.gas is not None
    )
    assert (lowest_ata < POLICY.ppo2_low_stop_ata - 1e-9) == ("ppo2.low" in {f.code for f in made.findings})


@FEW
@given(dives())
def test_nobody_breathes_what_nobody_carries(asked: TeamDive) -> None:
    """In every case each diver breathes own cylinders, but for gas that the case says is lent."""
    own = {d.id: {c.id for c in asked.cylinders if d.id in c.divers} for d in asked.divers}
    for case in plan(asked, POLICY).cases:
        lent = "shared" in case.name or "at minute" in case.name
        for s in case.schedule.segments if case.schedule is not None else ():
            for d, breath in s.gas.items():
                assert breath.cylinder in own[d] or lent
