"""The decompression kernel: one source in plain Python that a compiler of array code can take as it stands.

Row = diver * 16 + compartment; a team is only more rows. Only scalars and flat indexable arrays go in, results are
written into arrays; no classes, dicts, exceptions or closures; the constants of the model are arguments. Arrays of
sixteen (one per compartment) stand one after another in the tables, `at` is the index of the first of them.

A step between two depths at constant speed, and a row of steps, act on a tension linearly:
tension = e * tension + k * fraction, with e = e^(-rate t) and k from the closed form for a linear change of depth
(`ladder.py` makes both).
"""

from typing import Protocol

__all__ = [
    "ChangingFloats", "ChangingInts", "Floats", "Ints", "arrive", "blocking_row", "forbids", "go", "inhale_phase",
    "next_clock", "stay", "units_to_clear", "way_up",
]


class Floats(Protocol):
    """Numbers that are read: a list, a tuple or an array."""

    def __len__(self) -> int: ...
    def __getitem__(self, index: int, /) -> float: ...


class ChangingFloats(Floats, Protocol):
    """Numbers that are read and written."""

    def __setitem__(self, index: int, value: float, /) -> None: ...


class Ints(Protocol):
    """Whole numbers that are read."""

    def __len__(self) -> int: ...
    def __getitem__(self, index: int, /) -> int: ...


class ChangingInts(Ints, Protocol):
    """Whole numbers that are read and written."""

    def __setitem__(self, index: int, value: int, /) -> None: ...


def forbids(
    n2: float, he: float, a_n2: float, b_n2: float, a_he: float, b_he: float, gf: float, ambient_bar: float
) -> bool:
    """True if a compartment with these tensions may not be at this ambient pressure.

    The rule is tension > ambient + gf (a + ambient / b - ambient). Both sides are multiplied by tension^2 b, which is
    above 0, so that nothing is divided: here a and b stand for a and b of the mixture times the tension.

    Args:
        n2: nitrogen tension [bar]
        he: helium tension [bar]
        a_n2: a of nitrogen [bar]
        b_n2: b of nitrogen [-]
        a_he: a of helium [bar]
        b_he: b of helium [-]
        gf: gradient factor [fraction]
        ambient_bar: absolute pressure [bar]

    Source: BUHLMANN; a and b weighted by tissue tensions.
    """
    inert = n2 + he
    if inert <= ambient_bar:
        return False
    a = a_n2 * n2 + a_he * he
    b = b_n2 * n2 + b_he * he
    return inert * b * (inert - ambient_bar) > gf * (a * b + ambient_bar * inert * (inert - b))


def stay(
    n2: ChangingFloats, he: ChangingFloats, divers: int, f_n2: Floats, f_he: Floats,
    dry_bar: float, e_n2: Floats, e_he: Floats, at: int,
) -> None:
    """Nothing; every row is moved through a time at constant depth.

    Args:
        n2: nitrogen tensions, changed [bar]
        he: helium tensions, changed [bar]
        divers: how many.
        f_n2: fraction of nitrogen breathed, per diver [fraction]
        f_he: fraction of helium breathed, per diver [fraction]
        dry_bar: ambient pressure less water vapour [bar]
        e_n2: table of e^(-rate t) for nitrogen [-]
        e_he: the same for helium [-]
        at: where the sixteen of this time begin.
    """
    if at < 0:
        return
    for d in range(divers):
        in_n2 = f_n2[d] * dry_bar
        in_he = f_he[d] * dry_bar
        for c in range(16):
            r = d * 16 + c
            n2[r] = in_n2 + (n2[r] - in_n2) * e_n2[at + c]
            he[r] = in_he + (he[r] - in_he) * e_he[at + c]


def go(
    n2: ChangingFloats, he: ChangingFloats, divers: int, f_n2: Floats, f_he: Floats,
    e_n2: Floats, e_he: Floats, k_n2: Floats, k_he: Floats, at: int,
) -> None:
    """Nothing; every row is moved through a change of depth.

    Args:
        n2: nitrogen tensions, changed [bar]
        he: helium tensions, changed [bar]
        divers: how many.
        f_n2: fraction of nitrogen breathed, per diver [fraction]
        f_he: fraction of helium breathed, per diver [fraction]
        e_n2: table of what is left of the tension, nitrogen [-]
        e_he: the same for helium [-]
        k_n2: table of what a fraction of 1 adds, nitrogen [bar]
        k_he: the same for helium [bar]
        at: where the sixteen of this change begin.
    """
    if at < 0:
        return
    for d in range(divers):
        for c in range(16):
            r = d * 16 + c
            n2[r] = n2[r] * e_n2[at + c] + f_n2[d] * k_n2[at + c]
            he[r] = he[r] * e_he[at + c] + f_he[d] * k_he[at + c]


def arrive(
    n2: Floats, he: Floats, next_n2: ChangingFloats, next_he: ChangingFloats,
    d: int, f_n2: float, f_he: float,
    e_n2: Floats, e_he: Floats, k_n2: Floats, k_he: Floats, at: int,
    a_n2: Floats, b_n2: Floats, a_he: Floats, b_he: Floats, gf: float, ambient_bar: float,
) -> int:
    """The first row of a diver that forbids the step, or -1; then `next_n2`, `next_he` hold the state on arrival.

    Args:
        n2: nitrogen tensions before the step [bar]
        he: helium tensions before the step [bar]
        next_n2: receives the tensions on arrival [bar]
        next_he: receives the tensions on arrival [bar]
        d: index of the diver.
        f_n2: fraction of nitrogen breathed [fraction]
        f_he: fraction of helium breathed [fraction]
        e_n2: table of the steps, as in `go` [-]
        e_he: table of the steps [-]
        k_n2: table of the steps [bar]
        k_he: table of the steps [bar]
        at: where the sixteen of this step begin.
        a_n2: a of nitrogen, shape (16,) [bar]
        b_n2: b of nitrogen, shape (16,) [-]
        a_he: a of helium, shape (16,) [bar]
        b_he: b of helium, shape (16,) [-]
        gf: gradient factor at the depth of arrival [fraction]
        ambient_bar: absolute pressure at the depth of arrival [bar]
    """
    if at < 0 or d < 0:
        return 0
    for c in range(16):
        r = d * 16 + c
        n = n2[r] * e_n2[at + c] + f_n2 * k_n2[at + c]
        h = he[r] * e_he[at + c] + f_he * k_he[at + c]
        if n + h > ambient_bar and forbids(n, h, a_n2[c], b_n2[c], a_he[c], b_he[c], gf, ambient_bar):
            return r
        next_n2[r] = n
        next_he[r] = h
    return -1


def line_gf(gf_low: float, gf_high: float, anchor_bar: float, surface_bar: float, ambient_bar: float) -> float:
    """The gradient factor of the line at an ambient pressure between anchor and surface [fraction].

    Args:
        gf_low: at the anchor [fraction]
        gf_high: at the surface [fraction]
        anchor_bar: absolute pressure at the anchor [bar]
        surface_bar: absolute pressure at the surface [bar]
        ambient_bar: absolute pressure [bar]
    """
    return gf_low + (gf_high - gf_low) * (anchor_bar - ambient_bar) / (anchor_bar - surface_bar)


def blocking_row(
    n2: Floats, he: Floats, next_n2: ChangingFloats, next_he: ChangingFloats,
    divers: int, f_n2: Floats, f_he: Floats,
    e_n2: Floats, e_he: Floats, k_n2: Floats, k_he: Floats, at: int,
    a_n2: Floats, b_n2: Floats, a_he: Floats, b_he: Floats, gf_low: float, gf_high: float,
    node_bar: Floats, node: int, anchor: ChangingInts,
) -> int:
    """The row that forbids the team's step from `node`, or -1; divers refused by GF low are anchored here.

    First those who have an anchor are asked; while one of them forbids, the others only wait and are not asked. Then
    every diver without an anchor is asked with GF low; whom it refuses is anchored at this node and asked again
    with the line.

    Args:
        n2: nitrogen tensions [bar]
        he: helium tensions [bar]
        next_n2: receives the tensions on arrival [bar]
        next_he: receives the tensions on arrival [bar]
        divers: how many.
        f_n2: fraction of nitrogen breathed, per diver [fraction]
        f_he: fraction of helium breathed, per diver [fraction]
        e_n2: table of the steps, as in `go` [-]
        e_he: table of the steps [-]
        k_n2: table of the steps [bar]
        k_he: table of the steps [bar]
        at: where the sixteen of this step begin.
        a_n2: a of nitrogen, shape (16,) [bar]
        b_n2: b of nitrogen, shape (16,) [-]
        a_he: a of helium, shape (16,) [bar]
        b_he: b of helium, shape (16,) [-]
        gf_low: gradient factor at and below the anchor [fraction]
        gf_high: gradient factor at the surface [fraction]
        node_bar: ambient pressure of the nodes; the last is the surface [bar]
        node: where the team is.
        anchor: node of the anchor per diver, -1: none yet; changed.
    """
    surface_bar = node_bar[len(node_bar) - 1]
    bar = node_bar[node + 1]
    for d in range(divers):
        if anchor[d] >= 0:
            gf = line_gf(gf_low, gf_high, node_bar[anchor[d]], surface_bar, bar)
            row = arrive(n2, he, next_n2, next_he, d, f_n2[d], f_he[d], e_n2, e_he, k_n2, k_he, at,
                         a_n2, b_n2, a_he, b_he, gf, bar)
            if row >= 0:
                return row
    blocking = -1
    for d in range(divers):
        if anchor[d] < 0:
            row = arrive(n2, he, next_n2, next_he, d, f_n2[d], f_he[d], e_n2, e_he, k_n2, k_he, at,
                         a_n2, b_n2, a_he, b_he, gf_low, bar)
            if row >= 0:
                anchor[d] = node
                gf = line_gf(gf_low, gf_high, node_bar[node], surface_bar, bar)
                row = arrive(n2, he, next_n2, next_he, d, f_n2[d], f_he[d], e_n2, e_he, k_n2, k_he, at,
                             a_n2, b_n2, a_he, b_he, gf, bar)
                if row >= 0:
                    blocking = row
    return blocking


def units_to_clear(
    n2: float, he: float, in_n2: float, in_he: float,
    left_n2: float, left_he: float, add_n2: float, add_he: float,
    stop_e_n2: Floats, stop_e_he: Floats, c: int, table_units: int,
    a_n2: float, b_n2: float, a_he: float, b_he: float, gf: float, ambient_bar: float,
) -> int:
    """The first whole unit of waiting after which one row allows the step, at most the length of the table.

    Args:
        n2: nitrogen tension [bar]
        he: helium tension [bar]
        in_n2: inspired nitrogen at the stop [bar]
        in_he: inspired helium at the stop [bar]
        left_n2: e of the step, nitrogen [-]
        left_he: e of the step, helium [-]
        add_n2: what the step adds, nitrogen [bar]
        add_he: what the step adds, helium [bar]
        stop_e_n2: table of e^(-rate u), nitrogen [-]
        stop_e_he: table of e^(-rate u), helium [-]
        c: index of the compartment.
        table_units: units in the table.
        a_n2: a of nitrogen [bar]
        b_n2: b of nitrogen [-]
        a_he: a of helium [bar]
        b_he: b of helium [-]
        gf: gradient factor at the depth of arrival [fraction]
        ambient_bar: absolute pressure at the depth of arrival [bar]
    """
    if c < 0:
        return 1
    base_n2 = add_n2 + left_n2 * in_n2
    base_he = add_he + left_he * in_he
    fall_n2 = left_n2 * (n2 - in_n2)
    fall_he = left_he * (he - in_he)
    for u in range(1, table_units + 1):
        i = u * 16 + c
        n = base_n2 + fall_n2 * stop_e_n2[i]
        h = base_he + fall_he * stop_e_he[i]
        if not forbids(n, h, a_n2, b_n2, a_he, b_he, gf, ambient_bar):
            return u
    return table_units


def inhale_phase(
    f_n2: ChangingFloats, f_he: ChangingFloats, divers: int,
    cycle: int, cycle_first: Ints, phase_end: Ints, phase_n2: Floats, phase_he: Floats, clock: int, at_most: int,
) -> int:
    """Units to the end of the phase that the next unit is in, at most `at_most`; its divers breathe its gases.

    Args:
        f_n2: fraction of nitrogen breathed, per diver, changed [fraction]
        f_he: fraction of helium breathed, per diver, changed [fraction]
        divers: how many.
        cycle: which cycle holds, -1: none, and nothing changes.
        cycle_first: index of the first phase of each cycle; one more than cycles.
        phase_end: units from the beginning of its cycle to the end of each phase.
        phase_n2: fraction of nitrogen per phase and diver, below 0: not in the cycle [fraction]
        phase_he: fraction of helium, the same shape [fraction]
        clock: units of the cycle that are over, less than all of it.
        at_most: the answer without a cycle.
    """
    if cycle < 0:
        return at_most
    phase = cycle_first[cycle]
    while phase_end[phase] <= clock:
        phase += 1
    for d in range(divers):
        if phase_n2[phase * divers + d] >= 0.0:
            f_n2[d] = phase_n2[phase * divers + d]
            f_he[d] = phase_he[phase * divers + d]
    left = phase_end[phase] - clock
    if left > at_most:
        return at_most
    return left


def next_clock(clock: int, units: int, cycle: int, cycle_first: Ints, phase_end: Ints) -> int:
    """The clock of a cycle after some units, none of them beyond its end; there it begins again at 0.

    Args:
        clock: units that are over.
        units: how many more.
        cycle: which cycle holds, -1: none.
        cycle_first: index of the first phase of each cycle; one more than cycles.
        phase_end: units from the beginning of its cycle to the end of each phase.
    """
    if cycle < 0 or clock + units == phase_end[cycle_first[cycle + 1] - 1]:
        return 0
    return clock + units


def way_up(  # noqa: C901  one loop over stops is one thing; a compiler takes it as it stands
    n2: ChangingFloats, he: ChangingFloats, divers: int,
    f_n2: ChangingFloats, f_he: ChangingFloats,
    node_bar: Floats, forced_units: Ints,
    event_first: Ints, event_diver: Ints, event_n2: Floats, event_he: Floats,
    event_e_n2: Floats, event_e_he: Floats,
    cycle_at: Ints, cycle_first: Ints, phase_end: Ints, phase_n2: Floats, phase_he: Floats,
    e_n2: Floats, e_he: Floats, k_n2: Floats, k_he: Floats, slow_at: int,
    stop_e_n2: Floats, stop_e_he: Floats, table_units: int, limit_units: int,
    a_n2: Floats, b_n2: Floats, a_he: Floats, b_he: Floats, gf_low: float, gf_high: float, vapour_bar: float,
    next_n2: ChangingFloats, next_he: ChangingFloats,
    units: ChangingInts, anchor: ChangingInts,
) -> int:
    """The node at which the first stop by decompression begins, the last node if there is none, or -1: too long.

    A stop cannot end while any row forbids the step. Only that row is stepped to its first clear unit, then all are
    asked there; one that forbids becomes the row that is stepped. Every unit that is skipped has a row that is proved
    to forbid it, so the answer is that of asking at every unit, without assuming that anything is monotonic.

    Where the speed changes at the first stop: the stop is there because the step was refused at the speed before it,
    so it has at least one unit; then the step is asked at the speed after it.

    In a breathing cycle the leader is stepped to the end of the phase at most, where all are asked on its gas.

    Args:
        n2: nitrogen tensions at the end of the last level, changed to those at the surface [bar]
        he: helium tensions, the same [bar]
        divers: how many.
        f_n2: fraction of nitrogen breathed, per diver; changed by the events [fraction]
        f_he: fraction of helium breathed, per diver; changed by the events [fraction]
        node_bar: ambient pressure from the last level over the stop grid to the surface [bar]
        forced_units: units that the turns at a node take.
        event_first: index of the first event of each node; one more than nodes.
        event_diver: whose gas changes, -1: nobody's; the wait of an event comes before its change.
        event_n2: fraction of nitrogen after the change [fraction]
        event_he: fraction of helium after the change [fraction]
        event_e_n2: e^(-rate t) of the wait of each event, sixteen per event, nitrogen [-]
        event_e_he: the same for helium [-]
        cycle_at: which breathing cycle holds at each node once its turns are over, -1: none.
        cycle_first: index of the first phase of each cycle; one more than cycles.
        phase_end: units from the beginning of its cycle to the end of each phase.
        phase_n2: fraction of nitrogen per phase and diver, below 0: the diver is not in the cycle [fraction]
        phase_he: fraction of helium, the same shape [fraction]
        e_n2: table of the steps from each node, as in `go` [-]
        e_he: table of the steps [-]
        k_n2: table of the steps [bar]
        k_he: table of the steps [bar]
        slow_at: where in it the steps after the first stop begin; 0: the same steps.
        stop_e_n2: e^(-rate u) for whole units, nitrogen [-]
        stop_e_he: the same for helium [-]
        table_units: units in the table.
        limit_units: more units of stops than this are too long.
        a_n2: a of nitrogen, shape (16,) [bar]
        b_n2: b of nitrogen, shape (16,) [-]
        a_he: a of helium, shape (16,) [bar]
        b_he: b of helium, shape (16,) [-]
        gf_low: gradient factor at and below the anchor [fraction]
        gf_high: gradient factor at the surface [fraction]
        vapour_bar: water vapour in the lungs [bar]
        next_n2: working space, as long as n2 [bar]
        next_he: working space, as long as he [bar]
        units: receives the units of stop per node.
        anchor: receives the node of each diver's anchor; -1: none.
    """
    last = len(node_bar) - 1
    surface_bar = node_bar[last]
    rows = divers * 16
    offset = 0
    slow_node = last
    total = 0
    cycle = -1
    clock = 0
    for node in range(last):
        if cycle_at[node] != cycle:
            cycle = cycle_at[node]
            clock = 0
        dry_bar = node_bar[node] - vapour_bar
        for event in range(event_first[node], event_first[node + 1]):
            if event_e_n2[event * 16] < 1.0:
                stay(n2, he, divers, f_n2, f_he, dry_bar, event_e_n2, event_e_he, event * 16)
            d = event_diver[event]
            if d >= 0:
                f_n2[d] = event_n2[event]
                f_he[d] = event_he[event]
        units[node] = forced_units[node]
        total += forced_units[node]
        while True:
            at = offset + node * 16
            row = blocking_row(n2, he, next_n2, next_he, divers, f_n2, f_he, e_n2, e_he, k_n2, k_he, at,
                               a_n2, b_n2, a_he, b_he, gf_low, gf_high, node_bar, node, anchor)
            if row < 0:
                break
            if slow_node == last:
                slow_node = node
                if slow_at > 0:
                    offset = slow_at
                    if units[node] == 0:
                        inhale_phase(f_n2, f_he, divers, cycle, cycle_first, phase_end, phase_n2, phase_he, clock, 1)
                        clock = next_clock(clock, 1, cycle, cycle_first, phase_end)
                        stay(n2, he, divers, f_n2, f_he, dry_bar, stop_e_n2, stop_e_he, 16)
                        units[node] = 1
                        total += 1
                    continue
            longest = inhale_phase(f_n2, f_he, divers, cycle, cycle_first, phase_end, phase_n2, phase_he, clock,
                                   table_units)
            d = row // 16
            c = row - d * 16
            gf = line_gf(gf_low, gf_high, node_bar[anchor[d]], surface_bar, node_bar[node + 1])
            wait = units_to_clear(
                n2[row], he[row], f_n2[d] * dry_bar, f_he[d] * dry_bar, e_n2[at + c], e_he[at + c],
                f_n2[d] * k_n2[at + c], f_he[d] * k_he[at + c], stop_e_n2, stop_e_he, c, longest,
                a_n2[c], b_n2[c], a_he[c], b_he[c], gf, node_bar[node + 1],
            )
            units[node] += wait
            total += wait
            clock = next_clock(clock, wait, cycle, cycle_first, phase_end)
            if total > limit_units:
                return -1
            stay(n2, he, divers, f_n2, f_he, dry_bar, stop_e_n2, stop_e_he, wait * 16)
        for r in range(rows):
            n2[r] = next_n2[r]
            he[r] = next_he[r]
    return slow_node
