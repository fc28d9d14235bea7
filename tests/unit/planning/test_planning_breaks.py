"""Oxygen breaks: periods of oxygen with lean gas between them, in a schedule that has passed its replay."""

from dataclasses import replace

from check import close
from gaswright.decompression.request import Segment
from gaswright.planning.breaks import breaks_of
from gaswright.planning.dive import Level, Plan, Settings, TeamDive
from gaswright.planning.kit import kit_of
from gaswright.planning.plan import plan
from gaswright.planning.request import Route, route_of
from unit.planning.dives import POLICY, deco, dive, main, tightened

LONG = Settings(oxygen_breaks=True, cases=())


def long_dive(settings: Settings = LONG, main_gas: tuple[int, int] = (21, 35)) -> TeamDive:
    """A dive with more than a period of oxygen for the way up, and enough of every gas."""
    gases = tuple(
        c for d in ("d1", "d2") for c in (
            main(f"m-{d}", d, main_gas, volume_l=200.0), deco(f"e-{d}", d, volume_l=60.0),
            deco(f"o-{d}", d, (100, 0), volume_l=60.0),
        )
    )
    return replace(dive(), levels=(Level(45.0, 80.0),), cylinders=gases, settings=settings)


def at_last_stop(made: Plan) -> list[Segment]:
    """The pieces of the last stop after everybody has oxygen."""
    assert made.planned.schedule is not None
    stops = [s for s in made.planned.schedule.segments if s.kind == "stop" and s.from_m == 6.0]
    first = next(n for n, s in enumerate(stops) if all(b.o2 == 1.0 for b in s.gas.values()))
    return stops[first:]


def test_a_break_follows_each_period_for_everybody_at_once() -> None:
    """20 min of oxygen, then 5 min on the mains, and so on (common practice, no source; settings of the policy)."""
    parts = at_last_stop(plan(long_dive(), POLICY))
    on = [{d: b.cylinder for d, b in s.gas.items()} for s in parts]
    oxygen, rest = {"d1": "o-d1", "d2": "o-d2"}, {"d1": "m-d1", "d2": "m-d2"}
    assert on[:2] == [oxygen, rest]
    close(parts[0].minutes, 20.0, within=1.0 + 1e-9)  # the last turn at the switch is on oxygen too
    close(parts[1].minutes, 5.0, within=1e-9)
    assert all(gas in (oxygen, rest) for gas in on)


def test_the_periods_are_those_of_the_policy() -> None:
    """A team that takes 10 and 6 min gets them."""
    parts = at_last_stop(plan(long_dive(), tightened(oxygen_period_min=10.0, oxygen_break_min=6.0)))
    close(parts[0].minutes, 10.0, within=1.0 + 1e-9)
    close(parts[1].minutes, 6.0, within=1e-9)


def test_breaks_make_the_way_up_no_shorter_and_the_note_goes() -> None:
    """Time on lean gas is not saved elsewhere; the note on long oxygen is made without breaks only."""
    with_breaks, without = plan(long_dive(), POLICY), plan(long_dive(Settings(cases=())), POLICY)
    assert with_breaks.planned.schedule is not None
    assert without.planned.schedule is not None
    assert with_breaks.planned.schedule.tts_min >= without.planned.schedule.tts_min
    assert "oxygen.no_break" not in {f.code for f in with_breaks.findings}
    assert "oxygen.no_break" in {f.code for f in without.findings}


def test_a_hypoxic_main_is_no_gas_for_a_break() -> None:
    """The last move may fall into a break: with 15/50 in the mains the team takes its 50 % instead."""
    parts = at_last_stop(plan(long_dive(main_gas=(15, 50)), POLICY))
    assert {b.cylinder for b in parts[1].gas.values()} == {"e-d1", "e-d2"}


def test_breaks_use_gas_of_the_lean_cylinder_and_spare_oxygen() -> None:
    """What is breathed in the breaks comes out of the cylinder it comes from."""
    with_breaks, without = plan(long_dive(), POLICY).planned, plan(long_dive(Settings(cases=())), POLICY).planned
    assert with_breaks.supply["m-d1"].used_l > without.supply["m-d1"].used_l


def test_a_diver_without_a_lean_gas_stays_on_oxygen() -> None:
    """Where nothing leaner may be breathed up to the surface there is no break, and nothing is made up."""
    base = long_dive(main_gas=(15, 50))
    kit = kit_of(replace(base, cylinders=tuple(c for c in base.cylinders if not c.id.startswith("e-"))), POLICY)
    route = route_of(kit)
    assert isinstance(route, Route)
    assert breaks_of(kit, (), route.steps[-1]) == {}


def test_every_schedule_with_breaks_is_printed_too() -> None:
    """The slate's whole minutes pass the replay with the breaks in them."""
    assert plan(long_dive(), POLICY).printed is not None
