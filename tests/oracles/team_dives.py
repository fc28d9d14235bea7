"""Random but divable team dives for hypothesis: one to six divers, each on gases of his or her own."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from hypothesis import strategies as st

from gaswright.decompression.request import (
    Breath,
    BreathingCycle,
    CyclePhase,
    Direction,
    GasChange,
    ProfileLevel,
    ScheduleRequest,
    SpeedZone,
)
from gaswright.physics.place import Place

__all__ = ["cycle_dives", "team_dives", "tenths"]

SWITCHES_M = {3.0: (36.0, 30.0, 21.0, 12.0, 9.0, 6.0), 3.048: (36.576, 30.48, 21.336, 12.192, 9.144, 6.096)}


def tenths(low: int, high: int, scale: int = 10) -> st.SearchStrategy[float]:
    """Numbers on a decimal grid, as people type them."""
    return st.integers(low, high).map(lambda number: number / scale)


@st.composite
def places(draw: st.DrawFn) -> Place:
    """Sea or lake, low or high, acclimatised or just arrived."""
    surface_bar = draw(tenths(70, 104, 100))
    return Place(
        surface_bar=surface_bar, bar_per_m=draw(st.sampled_from([0.1, 0.0980665, 0.100518])),
        saturated_bar=draw(st.sampled_from([surface_bar, 1.01325])),
    )


@st.composite
def speeds(draw: st.DrawFn) -> dict[str, object]:
    """One speed, zones, or the default."""
    kind = draw(st.sampled_from(["one", "zones", "default", "default", "own"]))
    if kind == "one":
        return {"ascent_m_min": draw(st.sampled_from([3.0, 9.0, 10.0]))}
    if kind == "zones":
        border_m = draw(st.sampled_from([6.0, 10.0, 21.0, 22.5]))
        zones = (SpeedZone(0.0, draw(st.sampled_from([1.0, 3.0]))), SpeedZone(border_m, 9.0))
        return {"zones": zones + ((SpeedZone(40.0, 12.0),) if draw(st.booleans()) else ())}
    if kind == "own":
        return {"travel_m_min": 9.0, "between_stops_m_min": draw(st.sampled_from([6.0, 9.0])), "last_m_min": 2.0}
    return {}


@st.composite
def gas_chain(draw: st.DrawFn, links: int, *, wild: bool) -> list[tuple[float, float]]:
    """Gases of the way up, each with more oxygen and no more helium than the one before; wild: anything goes."""
    if wild:
        shares = [(draw(tenths(10, 100, 100)), draw(tenths(0, 90, 100))) for _ in range(links + 1)]
        return [(o2, round(min(he, 1.0 - o2), 2)) for o2, he in shares]
    o2, he = draw(tenths(10, 32, 100)), draw(st.sampled_from([0.0, 0.0, 0.2, 0.35, 0.45, 0.6]))
    chain = [(o2, he)]
    for _ in range(links):
        o2 = round(o2 + draw(tenths(2, 30, 100)), 2)
        o2 = min(o2, 1.0)
        he = min(he, round(1.0 - o2, 2), draw(st.sampled_from([0.0, 0.0, 0.1, 0.25])))
        chain.append((o2, max(0.0, he)))
    return chain


def _changes(
    divers: tuple[str, ...], chains: Mapping[str, list[tuple[float, float]]], depths_m: list[float], links: int
) -> list[GasChange]:
    return [
        GasChange(Direction.UP, depths_m[link], {
            diver: Breath(f"{diver}-{link + 1}", *chains[diver][link + 1]) for diver in divers
        })
        for link in range(links)
    ]


@st.composite
def team_dives(
    draw: st.DrawFn, *, most_divers: int = 6, seconds: bool = False, most_levels: int = 3, wild: bool = False
) -> ScheduleRequest:
    """A team's dive; ceilings may still forbid a level. Seconds: stops of whole seconds. Wild: helium may come back."""
    divers = tuple(f"d{number + 1}" for number in range(draw(st.integers(1, most_divers))))
    step_m = draw(st.sampled_from([3.0, 3.048]))
    links = draw(st.integers(0, 3))
    depths_m = sorted(draw(st.sets(st.sampled_from(SWITCHES_M[step_m]), min_size=links, max_size=links)), reverse=True)
    chains = {diver: draw(gas_chain(links, wild=wild)) for diver in divers}
    switch_min = draw(st.sampled_from([0.0, 0.5, 1.0, 1.0, 2.0, 1.0 / 3.0]))
    changes = _changes(divers, chains, depths_m, links)
    start_gas = {diver: Breath(f"{diver}-0", *chains[diver][0]) for diver in divers}
    levels_m = [draw(tenths(60, 700)) for _ in range(draw(st.integers(1, most_levels)))]
    if draw(st.booleans()):
        changes.insert(0, GasChange(Direction.DOWN, min(5.0, levels_m[0]), start_gas))
        start_gas = {diver: Breath(f"{diver}-travel", 0.36, 0.0) for diver in divers}
    travel_min = [abs(to_m - from_m) / 3.0 for from_m, to_m in zip([0.0, *levels_m], levels_m, strict=False)]
    levels = tuple(
        ProfileLevel(depth_m, round(minutes + 6 * switch_min + draw(tenths(0, 250)), 1) + 0.1)
        for depth_m, minutes in zip(levels_m, travel_min, strict=True)
    )
    low = draw(tenths(10, 100, 100))
    request = ScheduleRequest(
        divers, start_gas, levels, tuple(changes), draw(places()),
        gf_low=low, gf_high=max(low, draw(tenths(50, 100, 100))), descent_m_min=draw(st.sampled_from([10.0, 20.0])),
        stop_step_m=step_m, last_stop_m=step_m * draw(st.sampled_from([1, 2])),
        stop_unit_min=1.0 / 60.0 if seconds else 1.0, switch_min=switch_min,
        coefficient_set=draw(st.sampled_from(["A", "B", "C"])),
    )
    return replace(request, **draw(speeds()))  # type: ignore[arg-type]  # the names are those of the request


@st.composite
def cycle_dives(draw: st.DrawFn, *, most_divers: int = 3, seconds: bool = False) -> ScheduleRequest:
    """A team's dive with breathing cycles: some divers change in turns between gases that they carry."""
    request = draw(team_dives(most_divers=most_divers, seconds=seconds, most_levels=2))
    grid_m = [depth_m for depth_m in SWITCHES_M[request.stop_step_m] if depth_m >= request.last_stop_m]
    cuts = sorted(draw(st.sets(st.sampled_from([*grid_m, 0.0]), min_size=2, max_size=3)), reverse=True)
    cycles = []
    for begin_m, until_m in pairwise(cuts):
        members = sorted(draw(st.sets(st.sampled_from(request.divers), min_size=1)))
        cycles.append(BreathingCycle(begin_m, tuple(
            CyclePhase(draw(st.integers(1, 150 if seconds else 6)), {
                diver: draw(st.sampled_from(_carried(request, diver))) for diver in members
            }) for _ in range(draw(st.integers(1, 3)))
        ), until_m))
    taken = {diver for cycle in cycles for phase in cycle.phases for diver in phase.gas}
    kept = tuple(
        change for change in request.changes
        if change.direction is Direction.DOWN or change.depth_m in cuts or not taken & set(change.gas)
    )
    return replace(request, cycles=tuple(cycles), changes=kept)


def _carried(request: ScheduleRequest, diver: str) -> list[Breath]:
    gases = [request.start_gas, *(change.gas for change in request.changes)]
    return [*dict.fromkeys(gas[diver] for gas in gases if diver in gas), Breath(f"{diver}-oxygen", 1.0, 0.0)]
