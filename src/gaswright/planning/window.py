"""The acceptance window of a cylinder: for which readings the plan still holds, and which rule bounds it where."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from gaswright.analysis.reading import Reading
from gaswright.errors import InputError
from gaswright.findings import Rule
from gaswright.physics.mixture import WHOLE_E4, Mixture
from gaswright.planning.dive import TeamDive
from gaswright.planning.held_batch import shown_in_bulk
from gaswright.planning.held_plan import HeldPlan, held_plan
from gaswright.planning.kit import BREATHED_ROLES
from gaswright.planning.window_rules import (
    AT_THE_PLACE,
    DENSITY,
    END,
    MOD,
    NO_SCHEDULE,
    PPO2_LOW,
    PRESSURE,
    RUNS_OUT,
    STOP_MOVED,
    TTS_MOVED,
    Questions,
    available_with_l,
    by_helium,
    by_oxygen,
    by_sheet,
    questions_of,
    rule_of,
    too_dense,
)
from gaswright.policy import Policy
from gaswright.units import percent_text

__all__ = [
    "HELIUM_SPAN_E4", "HOLDS", "NO_GAS", "OXYGEN_SPAN_E4", "Boundary", "Window", "uncertainty_e4", "window",
    "window_of",
]

OXYGEN_SPAN_E4 = 400  # shown to each side of the planned gas [GASWRIGHT]
HELIUM_SPAN_E4 = 1_000  # shown to each side of the planned gas [GASWRIGHT]
LEAST_O2_E4 = 100  # 1 %: nothing leaner is read at any door
HOLDS, NO_GAS = "", "-"  # what a cell says where no rule is broken, and where the parts exceed the whole
CONTENT_KNOTS = 5  # contents are solved at 5 x 5 mixtures and taken straight between: smooth far below a litre

Edge = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Boundary:
    """One rule that bounds the window.

    Args:
        code: in the catalogue.
        rule: its name and source.
        says: the limit in words, as numbers where it is straight.
        edges: where it is the border of what holds: oxygen, helium, oxygen, helium of each piece, shape (n, 4) [e-4].
    """

    code: str
    rule: Rule
    says: str
    edges: tuple[Edge, ...]


@dataclass(frozen=True, slots=True)
class Window:
    """The readings of a cylinder for which the plan holds, on a grid.

    Args:
        cylinder: id.
        planned: the gas that the plan rests on.
        u_o2_e4: expanded uncertainty counted into every cell's oxygen [e-4].
        u_he_e4: the same for helium, where there is some [e-4].
        o2_e4: oxygen of the columns [e-4].
        he_e4: helium of the rows [e-4].
        cells: rows of columns: HOLDS, NO_GAS, or the code of the first rule that is broken.
        boundaries: every rule that is broken somewhere on the grid; those without edges do not border what holds.
    """

    cylinder: str
    planned: Mixture
    u_o2_e4: int
    u_he_e4: int
    o2_e4: tuple[int, ...]
    he_e4: tuple[int, ...]
    cells: tuple[tuple[str, ...], ...]
    boundaries: tuple[Boundary, ...]

    @property
    def holding(self) -> tuple[Mixture, ...]:
        """Every gas of the grid for which the plan holds."""
        return tuple(
            Mixture(o2, he)
            for he, row in zip(self.he_e4, self.cells, strict=True)
            for o2, code in zip(self.o2_e4, row, strict=True) if code == HOLDS
        )


def window(dive: TeamDive, policy: Policy, cylinder: str, *, steps: int = 41) -> Window:
    """The acceptance window of a cylinder in a dive.

    The plan is held as it is, switch depths and all; decompression and supply are computed on each reading itself,
    MOD, hypoxia, narcosis and density on the safe side of its uncertainty. Minimum gas is not judged here: the verdict
    on a reading plans the whole dive again.

    Args:
        dive: as given.
        policy: the limits.
        cylinder: id of a cylinder that the plan breathes.
        steps: cells along each side, 3 or more.

    Raises:
        InputError: no such cylinder, the plan does not breathe it, or there is no plan.
    """
    return window_of(held_plan(dive, policy), cylinder, steps=steps)


def window_of(
    held: HeldPlan, cylinder: str, *, steps: int = 41, u_e4: tuple[int, int] | None = None
) -> Window:
    """The acceptance window of a cylinder in a planned dive.

    Args:
        held: the planned dive.
        cylinder: id of a cylinder that the plan breathes.
        steps: cells along each side, 3 to 401.
        u_e4: expanded uncertainty of oxygen and helium, None: as `uncertainty_e4` says [e-4].

    Raises:
        InputError: no such cylinder, the plan does not breathe it, or no such number of steps.
    """
    if not 3 <= steps <= 401:
        raise InputError(f"a window of {steps} cells a side cannot be drawn; allowed are 3 to 401")
    usual = uncertainty_e4(held, cylinder)
    u_o2_e4, u_he_e4 = usual if u_e4 is None else u_e4
    asked = questions_of(held, cylinder, u_o2_e4, u_he_e4)
    planned = held.contents[cylinder].mixture if cylinder in held.contents else _planned(held, cylinder)
    o2_e4 = _axis(planned.o2_e4, OXYGEN_SPAN_E4, LEAST_O2_E4, steps)
    he_e4 = _axis(planned.he_e4, HELIUM_SPAN_E4, 0, steps)
    cells = _cells(asked, o2_e4, he_e4)
    return Window(cylinder, planned, u_o2_e4, u_he_e4, o2_e4, he_e4, cells, _boundaries(asked, o2_e4, he_e4, cells))


def uncertainty_e4(held: HeldPlan, cylinder: str) -> tuple[int, int]:
    """The uncertainty of a reading's oxygen and helium: the last reading's, where larger than the policy's [e-4].

    Args:
        held: the planned dive.
        cylinder: id of a cylinder that the plan breathes.

    Raises:
        InputError: no such cylinder, or the plan does not breathe it.
    """
    asked = held.kit.cylinders.get(cylinder)
    if asked is None or cylinder not in held.uses:
        ids = ", ".join(held.uses)
        known = any(c.id == cylinder for c in held.kit.dive.cylinders if c.role in BREATHED_ROLES)
        why = "the plan never breathes it" if known else "there is no such cylinder to breathe from"
        raise InputError(f"cylinder {cylinder!r} has no window: {why}; the plan breathes {ids}")
    policy = held.kit.policy
    given = (0, 0) if asked.gas is None else (asked.gas.u_o2_e4, asked.gas.u_he_e4)
    return max(given[0], round(policy.u_o2_percent * 100)), max(given[1], round(policy.u_he_percent * 100))


def _planned(held: HeldPlan, cylinder: str) -> Mixture:
    gas = held.kit.cylinders[cylinder].gas
    if gas is None:
        raise ValueError(f"{cylinder} has no known gas: a defect, a kit holds none")
    return gas.mixture


def _axis(centre_e4: int, span_e4: int, least_e4: int, steps: int) -> tuple[int, ...]:
    """Whole hundredths around the planned gas, which is one of them; moved where a side would leave the range [e-4]."""
    step_e4 = max(1, 2 * span_e4 // (steps - 1))
    before = (steps - 1) // 2
    before = min(before, (centre_e4 - least_e4) // step_e4)
    before = max(before, steps - 1 - (WHOLE_E4 - centre_e4) // step_e4)
    return tuple(centre_e4 + (n - before) * step_e4 for n in range(steps))


def _cells(asked: Questions, o2_e4: Sequence[int], he_e4: Sequence[int]) -> tuple[tuple[str, ...], ...]:
    """Every cell: first the rules that need no schedule, then decompression and supply of those that are left."""
    oxygen = [by_oxygen(asked, asked.reading(Mixture(o2))) for o2 in o2_e4]
    helium = [by_helium(asked, _helium_reading(asked, he)) for he in he_e4]
    cells = [[_early(asked, o2, he, oxygen[column] or helium[row]) for column, o2 in enumerate(o2_e4)]
             for row, he in enumerate(he_e4)]
    left = [(row, column) for row, line in enumerate(cells) for column, code in enumerate(line) if code == HOLDS]
    available = _Available(asked, o2_e4, he_e4)
    gases = [Mixture(o2_e4[column], he_e4[row]) for row, column in left]
    for (row, column), shown in zip(left, shown_in_bulk(asked.held, asked.cylinder.id, gases), strict=True):
        cells[row][column] = next(iter(by_sheet(asked, shown, available(column, row))), HOLDS)
    return tuple(map(tuple, cells))


def _helium_reading(asked: Questions, he_e4: int) -> Reading:
    return asked.reading(Mixture(LEAST_O2_E4, min(he_e4, WHOLE_E4 - LEAST_O2_E4)))


def _early(asked: Questions, o2_e4: int, he_e4: int, known: str | None) -> str:
    if o2_e4 + he_e4 > WHOLE_E4:
        return NO_GAS
    return known or too_dense(asked, asked.reading(Mixture(o2_e4, he_e4))) or HOLDS


class _Available:
    """Free gas of the cylinder on each gas of the grid: solved at a few mixtures, straight between them."""

    def __init__(self, asked: Questions, o2_e4: Sequence[int], he_e4: Sequence[int]) -> None:
        content = asked.held.contents.get(asked.cylinder.id)
        self.table: list[list[float]] = []
        if content is None:
            return
        unusable_bar = asked.held.kit.dive.settings.unusable_bar
        self.across, self.down = (len(o2_e4) - 1) / (CONTENT_KNOTS - 1), (len(he_e4) - 1) / (CONTENT_KNOTS - 1)
        for j in range(CONTENT_KNOTS):
            he = he_e4[0] + (he_e4[-1] - he_e4[0]) * j // (CONTENT_KNOTS - 1)
            knots = [o2_e4[0] + (o2_e4[-1] - o2_e4[0]) * i // (CONTENT_KNOTS - 1) for i in range(CONTENT_KNOTS)]
            gases = [Mixture(min(o2, WHOLE_E4 - he), he) for o2 in knots]
            self.table.append([available_with_l(content, gas, unusable_bar) for gas in gases])

    def __call__(self, column: int, row: int) -> float | None:
        if not self.table:
            return None
        i, j = min(int(column / self.across), CONTENT_KNOTS - 2), min(int(row / self.down), CONTENT_KNOTS - 2)
        x, y = column / self.across - i, row / self.down - j
        upper = self.table[j][i] * (1 - x) + self.table[j][i + 1] * x
        lower = self.table[j + 1][i] * (1 - x) + self.table[j + 1][i + 1] * x
        return upper * (1 - y) + lower * y


def _boundaries(
    asked: Questions, o2_e4: Sequence[int], he_e4: Sequence[int], cells: Sequence[Sequence[str]]
) -> tuple[Boundary, ...]:
    edges: dict[str, list[Edge]] = {code: [] for row in cells for code in row if code not in {HOLDS, NO_GAS}}
    for code, edge in _borders(o2_e4, he_e4, cells):
        edges[code].append(edge)
    return tuple(
        Boundary(code, rule_of(asked.policy, code), _says(asked, code, o2_e4, he_e4), tuple(pieces))
        for code, pieces in edges.items()
    )


def _borders(
    o2_e4: Sequence[int], he_e4: Sequence[int], cells: Sequence[Sequence[str]]
) -> Iterator[tuple[str, Edge]]:
    """Each side of a cell that holds whose neighbour does not, with the neighbour's code."""
    half_o2, half_he = (o2_e4[1] - o2_e4[0]) / 2, (he_e4[1] - he_e4[0]) / 2
    for row, he in enumerate(he_e4):
        for column, o2 in enumerate(o2_e4):
            if cells[row][column] != HOLDS:
                continue
            for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1)):
                x, y = column + dx, row + dy
                if not (0 <= x < len(o2_e4) and 0 <= y < len(he_e4)) or cells[y][x] in {HOLDS, NO_GAS}:
                    continue
                middle_o2, middle_he = o2 + dx * half_o2, he + dy * half_he
                across_o2, across_he = half_o2 * abs(dy), half_he * abs(dx)
                yield cells[y][x], (middle_o2 - across_o2, middle_he - across_he,
                                    middle_o2 + across_o2, middle_he + across_he)


def _says(asked: Questions, code: str, o2_e4: Sequence[int], he_e4: Sequence[int]) -> str:
    policy = asked.policy
    if code in {MOD, AT_THE_PLACE}:
        most = _last_holding(asked, code, o2_e4, upwards=True)
        return f"oxygen at most {percent_text(most)}" if most is not None else "oxygen too rich"
    if code == PPO2_LOW:
        least = _last_holding(asked, code, o2_e4, upwards=False)
        return f"oxygen at least {percent_text(least)}" if least is not None else "oxygen too lean"
    if code == END:
        least = _least_helium(asked, he_e4)
        return f"helium at least {percent_text(least)}" if least is not None else "too little helium"
    return {
        DENSITY: f"density at most {asked.density_limit_g_l:.2f} g/L",
        NO_SCHEDULE: "no schedule",
        RUNS_OUT: "a cylinder runs out",
        TTS_MOVED: f"TTS moves by more than {policy.sheet_tts_min:g} min",
        STOP_MOVED: f"a stop moves by more than {policy.sheet_stop_min:g} min",
        PRESSURE: f"a pressure moves by more than {policy.sheet_bar:g} bar",
    }[code]


def _least_helium(asked: Questions, he_e4: Sequence[int]) -> int | None:
    """The least hundredths of a percent of helium with which END holds, within the grid [e-4]."""
    for low, high in pairwise(he_e4):
        if by_helium(asked, _helium_reading(asked, low)) and not by_helium(asked, _helium_reading(asked, high)):
            return next(he for he in range(low, high + 1) if not by_helium(asked, _helium_reading(asked, he)))
    return None


def _last_holding(asked: Questions, code: str, o2_e4: Sequence[int], *, upwards: bool) -> int | None:
    """The last hundredth of a percent before a rule on oxygen breaks, within the grid [e-4]."""
    broken = [by_oxygen(asked, asked.reading(Mixture(o2))) == code for o2 in o2_e4]
    for (low, low_broken), (high, high_broken) in pairwise(zip(o2_e4, broken, strict=True)):
        if low_broken is not high_broken and high_broken is upwards:
            steps = range(low, high) if upwards else range(high, low, -1)
            ahead = 1 if upwards else -1
            return next(o2 for o2 in steps if by_oxygen(asked, asked.reading(Mixture(o2 + ahead))) == code)
    return None
