"""Whole dives in bulk, from the surface to the surface: the part of the kernel that only batches need.

The same rules of writing as in `kernel.py`: scalars and flat indexable arrays, no classes, dicts, exceptions or
closures, so that plain Python and a compiler of array code take one source. The arrays of a batch come in a few named
tuples, which are taken apart before the first run.

A straight piece of the way keeps its table until a run needs it from or to another depth, a time at a level until a
run needs another time: what does not vary is computed once.
"""

from math import exp, expm1
from typing import NamedTuple

from gaswright.decompression.kernel import ChangingFloats, ChangingInts, Floats, Ints, go, next_clock, stay, way_up

__all__ = ["Answers", "Model", "Rows", "ToLevels", "WayUp", "Workspace", "dive_runs"]


class Model(NamedTuple):
    """Constants of the model and the place: the sixteen of each, then the scalars."""

    rate_n2: Floats
    rate_he: Floats
    a_n2: Floats
    b_n2: Floats
    a_he: Floats
    b_he: Floats
    scalars: Floats  # surface bar, bar per m, vapour bar, GF low, GF high, standard atmosphere


class ToLevels(NamedTuple):
    """The way to the levels: what is breathed at first, changes on the way down, gases taken at levels."""

    start_n2: Floats
    start_he: Floats
    start_slot: Ints
    down_m: Floats
    down_first: Ints
    down_diver: Ints
    down_slot: Ints
    level_first: Ints
    level_diver: Ints
    level_slot: Ints
    turn_e_n2: Floats
    turn_e_he: Floats
    descent_from_m: Floats
    descent_m_min: Floats
    up_from_m: Floats
    up_m_min: Floats
    scalars: Floats  # minutes of a turn


class WayUp(NamedTuple):
    """The way up from one rung of the grid at one ascent speed; the first node is the last level of each run."""

    node_m: Floats
    node_bar: ChangingFloats
    forced: Ints
    event_first: Ints
    event_diver: Ints
    event_slot: Ints
    event_min: Floats
    event_e_n2: Floats
    event_e_he: Floats
    cycle_at: Ints
    cycle_first: Ints
    phase_end: Ints
    phase_slot: Ints
    e_n2: ChangingFloats
    e_he: ChangingFloats
    k_n2: ChangingFloats
    k_he: ChangingFloats
    step_min: ChangingFloats
    step_bar_min: ChangingFloats
    stop_e_n2: Floats
    stop_e_he: Floats
    fast_from_m: Floats
    fast_m_min: Floats
    slow_from_m: Floats
    slow_m_min: Floats
    ints: Ints  # slow_at, table units, limit units
    scalars: Floats  # stop unit, longest way up


class Rows(NamedTuple):
    """What differs per run; `strides` are 0 where one row holds for all."""

    runs: Ints
    gas_n2: Floats
    gas_he: Floats
    depth_m: Floats
    minutes: Floats
    rmv_bottom: Floats
    rmv_deco: Floats
    use_of: Ints
    strides: Ints  # gas, depth, minutes, consumption; breaths, levels, uses, halts; 1 to count gas


class Answers(NamedTuple):
    """Where the answers of every run go."""

    outcome: ChangingInts
    tts_min: ChangingFloats
    runtime_min: ChangingFloats
    anchor_m: ChangingFloats
    used_l: ChangingFloats
    stop_units: ChangingInts
    bottom_units: ChangingInts


class Workspace(NamedTuple):
    """Arrays that a run writes over; none of them is read before it is written, but for the tables that are kept."""

    n2: ChangingFloats
    he: ChangingFloats
    next_n2: ChangingFloats
    next_he: ChangingFloats
    f_n2: ChangingFloats
    f_he: ChangingFloats
    slot: ChangingInts
    units: ChangingInts
    anchor: ChangingInts
    event_n2: ChangingFloats
    event_he: ChangingFloats
    phase_n2: ChangingFloats
    phase_he: ChangingFloats
    used_l: ChangingFloats
    kept_from_m: ChangingFloats
    kept_to_m: ChangingFloats
    kept_min: ChangingFloats
    kept_bar_min: ChangingFloats
    kept_e_n2: ChangingFloats
    kept_e_he: ChangingFloats
    kept_k_n2: ChangingFloats
    kept_k_he: ChangingFloats
    level_min: ChangingFloats
    level_e_n2: ChangingFloats
    level_e_he: ChangingFloats


def lesser(one: float, other: float) -> float:
    """The lesser of two numbers, in the unit of both.

    Args:
        one: a number [-]
        other: another in the same unit [-]
    """
    if one < other:
        return one
    return other


def fewer(one: int, other: int) -> int:
    """The fewer of two counts.

    Args:
        one: a count.
        other: another.
    """
    if one < other:
        return one
    return other


def chain_piece(
    e: ChangingFloats, k: ChangingFloats, at: int, rate: Floats,
    minutes: float, dry_bar: float, bar_min: float,
) -> None:
    """Nothing; a straight piece is put behind what a table of sixteen holds so far.

    Args:
        e: what is left of a tension, changed [-]
        k: what a fraction of 1 adds, changed [bar]
        at: where the sixteen begin.
        rate: ln 2 / half-time, shape (16,) [1/min]
        minutes: how long the piece takes [min]
        dry_bar: ambient pressure at its start less water vapour [bar]
        bar_min: change of ambient pressure per minute, below 0 on the way up [bar/min]

    Source: SCHREINER.
    """
    for c in range(16):
        lost = -expm1(-rate[c] * minutes)
        e_piece = 1.0 - lost
        k_piece = dry_bar * lost + bar_min * (minutes - lost / rate[c])
        e[at + c] = e[at + c] * e_piece
        k[at + c] = k[at + c] * e_piece + k_piece


def straight(
    e_n2: ChangingFloats, e_he: ChangingFloats,
    k_n2: ChangingFloats, k_he: ChangingFloats, at: int,
    minutes: ChangingFloats, bar_minutes: ChangingFloats, number: int,
    from_m: float, to_m: float, zone_from_m: Floats, zone_m_min: Floats,
    rate_n2: Floats, rate_he: Floats, surface_bar: float, bar_per_m: float, vapour_bar: float,
) -> None:
    """Nothing; the tables, minutes and bar minutes of a change of depth are written, zone by zone.

    Args:
        e_n2: receives what is left of a nitrogen tension [-]
        e_he: receives what is left of a helium tension [-]
        k_n2: receives what a fraction of 1 adds to nitrogen [bar]
        k_he: receives what a fraction of 1 adds to helium [bar]
        at: where the sixteen begin.
        minutes: receives how long it takes [min]
        bar_minutes: receives ambient pressure times minutes [bar min]
        number: where in both.
        from_m: depth at its start [m]
        to_m: depth at its end [m]
        zone_from_m: zones of ascent speed, deep first; on the way down the first is taken [m]
        zone_m_min: their speeds [m/min]
        rate_n2: rates of nitrogen, shape (16,) [1/min]
        rate_he: rates of helium, shape (16,) [1/min]
        surface_bar: absolute pressure at the surface [bar]
        bar_per_m: pressure of a metre of water [bar/m]
        vapour_bar: water vapour in the lungs [bar]
    """
    for c in range(16):
        e_n2[at + c] = 1.0
        e_he[at + c] = 1.0
        k_n2[at + c] = 0.0
        k_he[at + c] = 0.0
    minutes[number] = 0.0
    bar_minutes[number] = 0.0
    at_m = from_m
    for zone in range(len(zone_from_m)):
        down = to_m > at_m
        if down or (zone_from_m[zone] < at_m - 1e-6 and at_m > to_m):
            end_m = to_m
            sign = 1.0
            if not down:
                sign = -1.0
                if zone_from_m[zone] > to_m + 1e-6:
                    end_m = zone_from_m[zone]
            piece_min = (end_m - at_m) * sign / zone_m_min[zone]
            dry_bar = surface_bar + bar_per_m * at_m - vapour_bar
            bar_min = bar_per_m * zone_m_min[zone] * sign
            chain_piece(e_n2, k_n2, at, rate_n2, piece_min, dry_bar, bar_min)
            chain_piece(e_he, k_he, at, rate_he, piece_min, dry_bar, bar_min)
            minutes[number] += piece_min
            bar_minutes[number] += (surface_bar + bar_per_m * ((at_m + end_m) / 2.0)) * piece_min
            at_m = end_m


def draw_gas(
    used_l: ChangingFloats, divers: int, slot: Ints, use_of: Ints, breaths: int,
    rmv: Floats, rmv_at: int, atm_bar_min: float,
) -> None:
    """Nothing; every diver takes gas from what he or she breathes.

    Args:
        used_l: free gas used per pair of diver and cylinder, changed [L]
        divers: how many.
        slot: which gas each diver breathes.
        use_of: the pair of each diver and gas.
        breaths: how many gases there are.
        rmv: consumption [L/min]
        rmv_at: where in it this run's divers begin.
        atm_bar_min: ambient pressure over the standard atmosphere, times minutes [min]
    """
    for d in range(divers):
        use = use_of[d * breaths + slot[d]]
        used_l[use] = used_l[use] + rmv[rmv_at + d] * atm_bar_min


def above_ceiling(
    n2: Floats, he: Floats, divers: int, a_n2: Floats, b_n2: Floats, a_he: Floats, b_he: Floats,
    gf: float, ambient_bar: float,
) -> bool:
    """True if a diver does not tolerate this ambient pressure.

    Args:
        n2: nitrogen tensions [bar]
        he: helium tensions [bar]
        divers: how many.
        a_n2: a of nitrogen, shape (16,) [bar]
        b_n2: b of nitrogen, shape (16,) [-]
        a_he: a of helium, shape (16,) [bar]
        b_he: b of helium, shape (16,) [-]
        gf: gradient factor [fraction]
        ambient_bar: absolute pressure [bar]

    Source: BUHLMANN.
    """
    for d in range(divers):
        for c in range(16):
            n = n2[d * 16 + c]
            h = he[d * 16 + c]
            if n + h > 0.0:
                a = (a_n2[c] * n + a_he[c] * h) / (n + h)
                b = (b_n2[c] * n + b_he[c] * h) / (n + h)
                if (n + h - a * gf) / (gf / b - gf + 1.0) > ambient_bar + 1e-12:
                    return True
    return False


def breathed_up(  # noqa: C901  one walk over the nodes is one thing; a compiler takes it as it stands
    used_l: ChangingFloats, divers: int, slot: ChangingInts, use_of: Ints, breaths: int,
    rmv_bottom: Floats, rmv_deco: Floats, rmv_at: int, atm_bar: float, unit_min: float,
    node_bar: Floats, units: Ints, forced: Ints, slow_node: int, slow_at: int,
    event_first: Ints, event_diver: Ints, event_slot: Ints, event_min: Floats,
    cycle_at: Ints, cycle_first: Ints, phase_end: Ints, phase_slot: Ints, step_bar_min: Floats,
) -> None:
    """Nothing; what the divers take on a way up that is known is added, the deco rate from its first halt on.

    Args:
        used_l: free gas used per pair of diver and cylinder, changed [L]
        divers: how many.
        slot: which gas each diver breathes, changed.
        use_of: the pair of each diver and gas.
        breaths: how many gases there are.
        rmv_bottom: consumption before the first halt [L/min]
        rmv_deco: consumption from it on [L/min]
        rmv_at: where in both this run's divers begin.
        atm_bar: the standard atmosphere [bar]
        unit_min: a stop unit [min]
        node_bar: ambient pressure of the nodes [bar]
        units: of stop per node.
        forced: units that the turns at a node take.
        slow_node: from this node on the slow steps are made.
        slow_at: where the slow tables begin, sixteen per step; 0: there are none.
        event_first: as in `way_up`.
        event_diver: as in `way_up`.
        event_slot: the gas after the change.
        event_min: the wait before it [min]
        cycle_at: as in `way_up`.
        cycle_first: as in `way_up`.
        phase_end: as in `way_up`.
        phase_slot: the gas per phase and diver, -1: not in the cycle.
        step_bar_min: ambient pressure times minutes of each step, then of each slow step [bar min]
    """
    rmv = rmv_bottom
    cycle = -1
    clock = 0
    for node in range(len(node_bar) - 1):
        if cycle_at[node] != cycle:
            cycle = cycle_at[node]
            clock = 0
        if units[node] > 0:
            rmv = rmv_deco
        share = node_bar[node] / atm_bar
        for event in range(event_first[node], event_first[node + 1]):
            draw_gas(used_l, divers, slot, use_of, breaths, rmv, rmv_at, share * event_min[event])
            if event_diver[event] >= 0:
                slot[event_diver[event]] = event_slot[event]
        left = units[node] - forced[node]
        while left > 0:
            part = left
            if cycle >= 0:
                phase = cycle_first[cycle]
                while phase_end[phase] <= clock:
                    phase += 1
                part = fewer(part, phase_end[phase] - clock)
                for d in range(divers):
                    if phase_slot[phase * divers + d] >= 0:
                        slot[d] = phase_slot[phase * divers + d]
                clock = next_clock(clock, part, cycle, cycle_first, phase_end)
            draw_gas(used_l, divers, slot, use_of, breaths, rmv, rmv_at, share * (part * unit_min))
            left -= part
        step = node
        if node >= slow_node and slow_at > 0:
            step = slow_at // 16 + node
        draw_gas(used_l, divers, slot, use_of, breaths, rmv, rmv_at, step_bar_min[step] / atm_bar)


def begin(
    divers: int, start_n2: Floats, start_he: Floats, start_slot: Ints, gas_n2: Floats, gas_he: Floats, gas_at: int,
    n2: ChangingFloats, he: ChangingFloats,
    f_n2: ChangingFloats, f_he: ChangingFloats, slot: ChangingInts,
    used_l: ChangingFloats,
) -> None:
    """Nothing; the team stands at the surface, and no gas is used.

    Args:
        divers: how many.
        start_n2: nitrogen tensions [bar]
        start_he: helium tensions [bar]
        start_slot: which gas each diver breathes.
        gas_n2: fraction of nitrogen of every gas [fraction]
        gas_he: fraction of helium of every gas [fraction]
        gas_at: where in both this run's gases begin.
        n2: receives the tensions [bar]
        he: receives the tensions [bar]
        f_n2: receives what is breathed [fraction]
        f_he: receives what is breathed [fraction]
        slot: receives which gas is breathed.
        used_l: receives zeros [L]
    """
    for r in range(divers * 16):
        n2[r] = start_n2[r]
        he[r] = start_he[r]
    for d in range(divers):
        slot[d] = start_slot[d]
        f_n2[d] = gas_n2[gas_at + start_slot[d]]
        f_he[d] = gas_he[gas_at + start_slot[d]]
    for use in range(len(used_l)):
        used_l[use] = 0.0


def leg(
    piece: int, from_m: float, to_m: float, zone_from_m: Floats, zone_m_min: Floats,
    rate_n2: Floats, rate_he: Floats, surface_bar: float, bar_per_m: float, vapour_bar: float, atm_bar: float,
    n2: ChangingFloats, he: ChangingFloats, divers: int, f_n2: Floats, f_he: Floats,
    used_l: ChangingFloats, slot: Ints, use_of: Ints, breaths: int, rmv: Floats, rmv_at: int,
    kept_from_m: ChangingFloats, kept_to_m: ChangingFloats,
    kept_min: ChangingFloats, kept_bar_min: ChangingFloats,
    kept_e_n2: ChangingFloats, kept_e_he: ChangingFloats,
    kept_k_n2: ChangingFloats, kept_k_he: ChangingFloats,
) -> float:
    """The minutes of a change of depth, which the team makes; its table is kept until another one is needed [min].

    Args:
        piece: number of the change of depth in this dive.
        from_m: depth at its start [m]
        to_m: depth at its end [m]
        zone_from_m: zones of speed, as in `straight` [m]
        zone_m_min: their speeds [m/min]
        rate_n2: rates of nitrogen, shape (16,) [1/min]
        rate_he: rates of helium, shape (16,) [1/min]
        surface_bar: absolute pressure at the surface [bar]
        bar_per_m: pressure of a metre of water [bar/m]
        vapour_bar: water vapour in the lungs [bar]
        atm_bar: the standard atmosphere [bar]
        n2: nitrogen tensions, changed [bar]
        he: helium tensions, changed [bar]
        divers: how many.
        f_n2: fraction of nitrogen breathed, per diver [fraction]
        f_he: fraction of helium breathed, per diver [fraction]
        used_l: free gas used, changed [L]
        slot: which gas each diver breathes.
        use_of: the pair of each diver and gas.
        breaths: how many gases there are.
        rmv: consumption [L/min]
        rmv_at: where this run's consumption begins.
        kept_from_m: where each piece that is kept begins; below 0: none is kept [m]
        kept_to_m: where it ends [m]
        kept_min: its minutes [min]
        kept_bar_min: its bar minutes [bar min]
        kept_e_n2: its table [-]
        kept_e_he: its table [-]
        kept_k_n2: its table [bar]
        kept_k_he: its table [bar]
    """
    if kept_from_m[piece] != from_m or kept_to_m[piece] != to_m:
        kept_from_m[piece] = from_m
        kept_to_m[piece] = to_m
        straight(kept_e_n2, kept_e_he, kept_k_n2, kept_k_he, piece * 16, kept_min, kept_bar_min, piece,
                 from_m, to_m, zone_from_m, zone_m_min, rate_n2, rate_he, surface_bar, bar_per_m, vapour_bar)
    go(n2, he, divers, f_n2, f_he, kept_e_n2, kept_e_he, kept_k_n2, kept_k_he, piece * 16)
    draw_gas(used_l, divers, slot, use_of, breaths, rmv, rmv_at, kept_bar_min[piece] / atm_bar)
    return kept_min[piece]


def to_levels(  # noqa: C901, PLR0912, PLR0915  the way to all levels is one loop; a compiler takes it so
    divers: int, levels: int, breaths: int, gas_at: int, depth_at: int, minutes_at: int, rmv_at: int,
    gas_n2: Floats, gas_he: Floats, depths_m: Floats, level_minutes: Floats, rmv: Floats, use_of: Ints,
    down_m: Floats, down_first: Ints, down_diver: Ints, down_slot: Ints,
    level_first: Ints, level_diver: Ints, level_slot: Ints, turn_e_n2: Floats, turn_e_he: Floats, turn_min: float,
    descent_from_m: Floats, descent_m_min: Floats, up_from_m: Floats, up_m_min: Floats,
    rate_n2: Floats, rate_he: Floats, a_n2: Floats, b_n2: Floats, a_he: Floats, b_he: Floats, gf_low: float,
    surface_bar: float, bar_per_m: float, vapour_bar: float, atm_bar: float,
    n2: ChangingFloats, he: ChangingFloats,
    f_n2: ChangingFloats, f_he: ChangingFloats, slot: ChangingInts,
    used_l: ChangingFloats,
    kept_from_m: ChangingFloats, kept_to_m: ChangingFloats,
    kept_min: ChangingFloats, kept_bar_min: ChangingFloats,
    kept_e_n2: ChangingFloats, kept_e_he: ChangingFloats,
    kept_k_n2: ChangingFloats, kept_k_he: ChangingFloats,
    level_min: ChangingFloats, level_e_n2: ChangingFloats, level_e_he: ChangingFloats,
) -> int:
    """0 if the run gets to the end of its last level, else what became of it: 1 too short, 2 above a ceiling.

    Args:
        divers: how many.
        levels: how many.
        breaths: how many gases there are.
        gas_at: where this run's gases begin.
        depth_at: where this run's depths begin.
        minutes_at: where this run's minutes begin.
        rmv_at: where this run's consumption begins.
        gas_n2: fraction of nitrogen of every gas [fraction]
        gas_he: fraction of helium of every gas [fraction]
        depths_m: depths of the levels [m]
        level_minutes: their minutes, travel included [min]
        rmv: consumption on the bottom [L/min]
        use_of: the pair of each diver and gas.
        down_m: depths of the changes on the way down, shallow first [m]
        down_first: index of the first turn of each; one more than changes.
        down_diver: whose turn it is.
        down_slot: the gas that is taken.
        level_first: index of the first gas taken at each level; one more than levels.
        level_diver: who takes it.
        level_slot: which.
        turn_e_n2: e^(-rate t) of a turn, shape (16,), nitrogen [-]
        turn_e_he: the same for helium [-]
        turn_min: minutes of a turn; 0: all at once [min]
        descent_from_m: one zone for the way down [m]
        descent_m_min: its speed [m/min]
        up_from_m: zones of ascent speed between levels, deep first [m]
        up_m_min: their speeds [m/min]
        rate_n2: rates of nitrogen, shape (16,) [1/min]
        rate_he: rates of helium, shape (16,) [1/min]
        a_n2: a of nitrogen, shape (16,) [bar]
        b_n2: b of nitrogen, shape (16,) [-]
        a_he: a of helium, shape (16,) [bar]
        b_he: b of helium, shape (16,) [-]
        gf_low: gradient factor between levels [fraction]
        surface_bar: absolute pressure at the surface [bar]
        bar_per_m: pressure of a metre of water [bar/m]
        vapour_bar: water vapour in the lungs [bar]
        atm_bar: the standard atmosphere [bar]
        n2: nitrogen tensions, changed [bar]
        he: helium tensions, changed [bar]
        f_n2: fraction of nitrogen breathed, per diver, changed [fraction]
        f_he: fraction of helium breathed, per diver, changed [fraction]
        slot: which gas each diver breathes, changed.
        used_l: free gas used per pair of diver and cylinder, changed [L]
        kept_from_m: where each straight piece that is kept begins; below 0: none is kept [m]
        kept_to_m: where it ends [m]
        kept_min: its minutes [min]
        kept_bar_min: its bar minutes [bar min]
        kept_e_n2: its table [-]
        kept_e_he: its table [-]
        kept_k_n2: its table [bar]
        kept_k_he: its table [bar]
        level_min: the time at each level whose table is kept; below 0: none is kept [min]
        level_e_n2: its table [-]
        level_e_he: its table [-]
    """
    deepest_m = 0.0
    for level in range(levels):
        deepest_m = -lesser(-deepest_m, -depths_m[depth_at + level])
    change = 0
    piece = 0
    at_m = 0.0
    for level in range(levels):
        to_m = depths_m[depth_at + level]
        leg_min = 0.0
        above = to_m < at_m
        turns = to_m > at_m
        while turns:
            stop_m = to_m
            turns = False
            if change < len(down_m):
                met_m = lesser(down_m[change], deepest_m)
                turns = met_m <= to_m + 1e-6
                if turns:
                    stop_m = lesser(met_m, to_m)
            if stop_m > at_m:
                leg_min += leg(
                    piece, at_m, stop_m, descent_from_m, descent_m_min, rate_n2, rate_he,
                    surface_bar, bar_per_m, vapour_bar, atm_bar, n2, he, divers, f_n2, f_he,
                    used_l, slot, use_of, breaths, rmv, rmv_at, kept_from_m, kept_to_m, kept_min, kept_bar_min,
                    kept_e_n2, kept_e_he, kept_k_n2, kept_k_he)
                piece += 1
                at_m = stop_m
            if turns:
                ambient_bar = surface_bar + bar_per_m * at_m
                for turn in range(down_first[change], down_first[change + 1]):
                    d = down_diver[turn]
                    slot[d] = down_slot[turn]
                    f_n2[d] = gas_n2[gas_at + slot[d]]
                    f_he[d] = gas_he[gas_at + slot[d]]
                    if turn_min > 0.0:
                        stay(n2, he, divers, f_n2, f_he, ambient_bar - vapour_bar, turn_e_n2, turn_e_he, 0)
                        leg_min += turn_min
                        draw_gas(used_l, divers, slot, use_of, breaths, rmv, rmv_at, ambient_bar / atm_bar * turn_min)
                change += 1
        ambient_bar = surface_bar + bar_per_m * to_m
        if above:
            leg_min += leg(
                piece, at_m, to_m, up_from_m, up_m_min, rate_n2, rate_he,
                surface_bar, bar_per_m, vapour_bar, atm_bar, n2, he, divers, f_n2, f_he,
                used_l, slot, use_of, breaths, rmv, rmv_at, kept_from_m, kept_to_m, kept_min, kept_bar_min,
                kept_e_n2, kept_e_he, kept_k_n2, kept_k_he)
            piece += 1
            if above_ceiling(n2, he, divers, a_n2, b_n2, a_he, b_he, gf_low, ambient_bar):
                return 2
        at_m = to_m
        left_min = level_minutes[minutes_at + level] - leg_min
        if left_min < -1e-9:
            return 1
        left_min = -lesser(-left_min, 0.0)
        for taken in range(level_first[level], level_first[level + 1]):
            d = level_diver[taken]
            slot[d] = level_slot[taken]
            f_n2[d] = gas_n2[gas_at + slot[d]]
            f_he[d] = gas_he[gas_at + slot[d]]
        if level_min[level] != left_min:
            level_min[level] = left_min
            for c in range(16):
                level_e_n2[level * 16 + c] = exp(-rate_n2[c] * left_min)
                level_e_he[level * 16 + c] = exp(-rate_he[c] * left_min)
        stay(n2, he, divers, f_n2, f_he, ambient_bar - vapour_bar, level_e_n2, level_e_he, level * 16)
        draw_gas(used_l, divers, slot, use_of, breaths, rmv, rmv_at, ambient_bar / atm_bar * left_min)
    return 0


def dive_runs(  # noqa: C901, PLR0912, PLR0915  one loop over runs is one thing; a compiler takes it as it stands
    divers: int, model: Model, way: ToLevels, up: WayUp, rows: Rows, answers: Answers, space: Workspace,
) -> None:
    """Nothing; every run of `rows.runs` is made and its answers written.

    Args:
        divers: how many.
        model: constants of model and place.
        way: to the levels.
        up: from the last level; the tables of its first step are written over.
        rows: what differs per run.
        answers: receives what the runs come to.
        space: working space.
    """
    rate_n2, rate_he, a_n2, b_n2, a_he, b_he, constants = model
    (start_n2, start_he, start_slot, down_m, down_first, down_diver, down_slot, level_first, level_diver, level_slot,
     turn_e_n2, turn_e_he, descent_from_m, descent_m_min, up_from_m, up_m_min, turn_minutes) = way
    (node_m, node_bar, forced, event_first, event_diver, event_slot, event_min, event_e_n2, event_e_he,
     cycle_at, cycle_first, phase_end, phase_slot, e_n2, e_he, k_n2, k_he, step_min, step_bar_min,
     stop_e_n2, stop_e_he, fast_from_m, fast_m_min, slow_from_m, slow_m_min, counts, times) = up
    runs, gas_n2, gas_he, depths_m, level_minutes, rmv_bottom, rmv_deco, use_of, strides = rows
    outcome, tts_min, runtime_min, anchor_m, used_out_l, stop_units, bottom_units = answers
    (n2, he, next_n2, next_he, f_n2, f_he, slot, units, anchor, event_n2, event_he, phase_n2, phase_he, used_l,
     kept_from_m, kept_to_m, kept_min, kept_bar_min, kept_e_n2, kept_e_he, kept_k_n2, kept_k_he,
     level_min, level_e_n2, level_e_he) = space
    surface_bar, bar_per_m, vapour_bar, atm_bar = constants[0], constants[1], constants[2], constants[5]
    gf_low, gf_high = constants[3], constants[4]
    slow_at, table_units, limit_units = counts[0], counts[1], counts[2]
    unit_min, longest_min = times[0], times[1]
    breaths, levels, uses, halts, supply = strides[4], strides[5], strides[6], strides[7], strides[8]
    last = len(node_bar) - 1
    first_column = halts - last  # the rungs above the last level are the last columns
    first_m = -1.0
    for number in range(len(runs)):
        run = runs[number]
        gas_at, depth_at, minutes_at = run * strides[0], run * strides[1], run * strides[2]
        rmv_at = run * strides[3]
        begin(divers, start_n2, start_he, start_slot, gas_n2, gas_he, gas_at, n2, he, f_n2, f_he, slot, used_l)
        became = to_levels(
            divers, levels, breaths, gas_at, depth_at, minutes_at, rmv_at,
            gas_n2, gas_he, depths_m, level_minutes, rmv_bottom, use_of, down_m, down_first, down_diver, down_slot,
            level_first, level_diver, level_slot, turn_e_n2, turn_e_he, turn_minutes[0],
            descent_from_m, descent_m_min, up_from_m, up_m_min, rate_n2, rate_he, a_n2, b_n2, a_he, b_he, gf_low,
            surface_bar, bar_per_m, vapour_bar, atm_bar, n2, he, f_n2, f_he, slot, used_l,
            kept_from_m, kept_to_m, kept_min, kept_bar_min, kept_e_n2, kept_e_he, kept_k_n2, kept_k_he,
            level_min, level_e_n2, level_e_he)
        outcome[run] = became
        if became != 0:
            continue
        bottom_m = depths_m[depth_at + levels - 1]
        if bottom_m != first_m:
            first_m = bottom_m
            node_bar[0] = surface_bar + bar_per_m * bottom_m
            straight(e_n2, e_he, k_n2, k_he, 0, step_min, step_bar_min, 0, bottom_m, node_m[1],
                     fast_from_m, fast_m_min, rate_n2, rate_he, surface_bar, bar_per_m, vapour_bar)
            if slow_at > 0:
                straight(e_n2, e_he, k_n2, k_he, slow_at, step_min, step_bar_min, last, bottom_m, node_m[1],
                         slow_from_m, slow_m_min, rate_n2, rate_he, surface_bar, bar_per_m, vapour_bar)
        for event in range(len(event_slot)):
            event_n2[event] = gas_n2[gas_at + event_slot[event]]
            event_he[event] = gas_he[gas_at + event_slot[event]]
        for phase in range(len(phase_slot)):
            phase_n2[phase] = -1.0
            phase_he[phase] = -1.0
            if phase_slot[phase] >= 0:
                phase_n2[phase] = gas_n2[gas_at + phase_slot[phase]]
                phase_he[phase] = gas_he[gas_at + phase_slot[phase]]
        for node in range(last):
            units[node] = 0
        for d in range(divers):
            anchor[d] = -1
        slow_node = way_up(
            n2, he, divers, f_n2, f_he, node_bar, forced, event_first, event_diver, event_n2, event_he,
            event_e_n2, event_e_he, cycle_at, cycle_first, phase_end, phase_n2, phase_he,
            e_n2, e_he, k_n2, k_he, slow_at, stop_e_n2, stop_e_he, table_units, limit_units,
            a_n2, b_n2, a_he, b_he, gf_low, gf_high, vapour_bar, next_n2, next_he, units, anchor)
        up_min = 0.0
        if slow_node >= 0:
            for node in range(last):
                step = node
                if node >= slow_node and slow_at > 0:
                    step = last + node
                up_min += units[node] * unit_min + step_min[step]
        if slow_node < 0 or up_min > longest_min:
            outcome[run] = 3
            continue
        tts_min[run] = up_min
        runtime_min[run] = up_min
        for level in range(levels):
            runtime_min[run] += level_minutes[minutes_at + level]
        for d in range(divers):
            anchor_m[run * divers + d] = 0.0
            if anchor[d] == 0:
                anchor_m[run * divers + d] = bottom_m
            elif anchor[d] > 0:
                anchor_m[run * divers + d] = node_m[anchor[d]]
        bottom_units[run] = units[0]
        for node in range(1, last):
            stop_units[run * halts + first_column + node] = units[node]
        if supply > 0:
            breathed_up(
                used_l, divers, slot, use_of, breaths, rmv_bottom, rmv_deco, rmv_at, atm_bar, unit_min,
                node_bar, units, forced, slow_node, slow_at, event_first, event_diver, event_slot, event_min,
                cycle_at, cycle_first, phase_end, phase_slot, step_bar_min)
            for use in range(uses):
                used_out_l[run * uses + use] = used_l[use]
