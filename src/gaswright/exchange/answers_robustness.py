"""The JSON answers of `accept`, `stress`, `choose` and `plan-b`: shapes, and the values put into them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gaswright.exchange.answer_types import FindingAnswer, Head, RuleAnswer
from gaswright.exchange.answers import PROGRAM, Json, finding_shape, plain_json
from gaswright.exchange.trip import Trip
from gaswright.physics.mixture import WHOLE_E4, Mixture
from gaswright.planning.changes import Change
from gaswright.planning.gas_choice import Choice
from gaswright.planning.plan_b import PlanB
from gaswright.planning.robustness import MOST_DEVIATIONS, Broken, Spread, Stress
from gaswright.planning.verdict import Verdict
from gaswright.planning.window import HOLDS, NO_GAS, Boundary, Window
from gaswright.planning.window_rules import rule_of

__all__ = [
    "ROBUSTNESS_ANSWERS", "AcceptAnswer", "BoundaryAnswer", "BrokenAnswer", "ChangeAnswer", "ChoiceAnswer",
    "ChooseAnswer", "GasPartsAnswer", "LeftAnswer", "MendAnswer", "PlanBAnswer", "PlanBCellAnswer", "QuantilesAnswer",
    "ReadingAnswer", "SensitivityAnswer", "SpreadAnswer", "StepAnswer", "StressAnswer", "WindowAnswer",
    "accept_answer", "choose_answer", "plan_b_answer", "stress_answer", "window_letters",
]

HOLDS_LETTER, NO_GAS_LETTER = ".", "-"


@dataclass(frozen=True, slots=True)
class GasPartsAnswer:
    """A gas as fractions."""

    o2: float
    he: float


@dataclass(frozen=True, slots=True)
class ReadingAnswer:
    """A reading with its expanded uncertainty, as fractions."""

    o2: float
    he: float
    u_o2: float
    u_he: float


@dataclass(frozen=True, slots=True)
class ChangeAnswer:
    """One number that moves if the dive is planned again; `unit` says in what it is."""

    what: str
    diver: str | None
    cylinder: str | None
    depth_m: float | None
    before: float | None
    after: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class MendAnswer:
    """A fill that would hold, and between which readings of oxygen."""

    o2: float
    he: float
    from_o2: float
    to_o2: float
    text: str


@dataclass(frozen=True, slots=True)
class BoundaryAnswer:
    """A rule that borders what holds; each edge is oxygen, helium, oxygen, helium of a piece of the border."""

    code: str
    rule: RuleAnswer
    says: str
    edges: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True, slots=True)
class WindowAnswer:
    """The acceptance window: rows of helium, columns of oxygen; `.` holds, `-` is no gas, letters are the legend's."""

    planned: GasPartsAnswer
    u_o2: float
    u_he: float
    o2: tuple[float, ...]
    he: tuple[float, ...]
    rows: tuple[str, ...]
    legend: Mapping[str, str]
    boundaries: tuple[BoundaryAnswer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptAnswer(Head):
    """`accept`: what a reading of one cylinder does to the plan."""

    cylinder: str
    reading: ReadingAnswer | None
    verdict: str
    reasons: tuple[FindingAnswer, ...]
    changes: tuple[ChangeAnswer, ...]
    mend: MendAnswer | None
    tts_min: float | None
    tts_within_u_min: tuple[float, float] | None
    window: WindowAnswer


@dataclass(frozen=True, slots=True)
class QuantilesAnswer:
    """Three quantiles of a number."""

    p5: float
    p50: float
    p95: float


@dataclass(frozen=True, slots=True)
class LeftAnswer(QuantilesAnswer):
    """What a cylinder has left at the end, gauge bar at the water's temperature; 0 where it ran out."""

    planned: float


@dataclass(frozen=True, slots=True)
class BrokenAnswer:
    """How often a limit or a reserve was broken: share of the runs, 0 to 1."""

    code: str
    cylinder: str | None
    share: float
    runs: int
    rule: RuleAnswer


@dataclass(frozen=True, slots=True)
class SensitivityAnswer:
    """How much of the spread of a result goes with one input: squared rank correlation, and its sign."""

    input: str
    tts: float
    least_left: float
    tts_sign: int
    least_left_sign: int


@dataclass(frozen=True, slots=True)
class SpreadAnswer:
    """How far the inputs were spread: standard deviations, cut at so many; common practice, no source."""

    depth_m: float
    bottom_min: float
    bottom_least_share: float
    ascent_factors: tuple[float, ...]
    consumption_log: float
    analyser_share: float
    cut_at_deviations: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StressAnswer(Head):
    """`stress`: the plan under the spread of readings, depth, time, speed and consumption."""

    runs: int
    seed: int
    made: int
    verified: int
    spread: SpreadAnswer
    tts_min: QuantilesAnswer | None
    planned_tts_min: float
    left_bar: Mapping[str, LeftAnswer]
    broken: tuple[BrokenAnswer, ...]
    sensitivity: tuple[SensitivityAnswer, ...]
    sensitivity_runs: int
    word: str


def accept_answer(trip: Trip, judged: Verdict) -> Json:
    """The answer of `accept`.

    Args:
        trip: as read.
        judged: the verdict.
    """
    reading = judged.reading
    return plain_json(AcceptAnswer(
        schema="gaswright.accept/1", program=PROGRAM, policy=trip.policy.version, input_sha256=trip.input_sha256,
        cylinder=judged.cylinder, verdict=judged.verdict.value,
        reading=None if reading is None else ReadingAnswer(
            reading.mixture.o2, reading.mixture.he, reading.u_o2_e4 / WHOLE_E4, reading.u_he_e4 / WHOLE_E4),
        reasons=tuple(finding_shape(one) for one in judged.reasons),
        changes=tuple(_change(one) for one in judged.changes), mend=_mend(judged), tts_min=judged.tts_min,
        tts_within_u_min=judged.tts_within_u_min, window=_window(judged.window),
    ))  # fmt: skip


def _change(one: Change) -> ChangeAnswer:
    return ChangeAnswer(one.what, one.diver, one.cylinder, one.depth_m, one.before, one.after, one.unit)


def _mend(judged: Verdict) -> MendAnswer | None:
    fill = judged.mend
    if fill is None:
        return None
    return MendAnswer(fill.mixture.o2, fill.mixture.he, fill.low_o2_e4 / WHOLE_E4, fill.high_o2_e4 / WHOLE_E4,
                      fill.text)


def _window(seen: Window) -> WindowAnswer:
    letters = window_letters(seen)
    return WindowAnswer(
        _parts(seen.planned), seen.u_o2_e4 / WHOLE_E4, seen.u_he_e4 / WHOLE_E4,
        tuple(o2 / WHOLE_E4 for o2 in seen.o2_e4), tuple(he / WHOLE_E4 for he in seen.he_e4),
        tuple("".join(letters[code] for code in row) for row in seen.cells),
        {letter: code for code, letter in letters.items() if code not in {HOLDS, NO_GAS}},
        tuple(_boundary(one) for one in seen.boundaries),
    )


def window_letters(seen: Window) -> dict[str, str]:
    """Code of a cell to its letter: `.` holds, `-` is no gas, `a`, `b`, ... in the order of the codes.

    Args:
        seen: a window.
    """
    codes = sorted({code for row in seen.cells for code in row} - {HOLDS, NO_GAS})
    return {HOLDS: HOLDS_LETTER, NO_GAS: NO_GAS_LETTER} | {code: chr(ord("a") + n) for n, code in enumerate(codes)}


def _parts(mixture: Mixture) -> GasPartsAnswer:
    return GasPartsAnswer(mixture.o2, mixture.he)


def _boundary(one: Boundary) -> BoundaryAnswer:
    edges: Sequence[tuple[float, float, float, float]] = [
        (a / WHOLE_E4, b / WHOLE_E4, c / WHOLE_E4, d / WHOLE_E4) for a, b, c, d in one.edges
    ]
    return BoundaryAnswer(one.code, RuleAnswer(one.rule.name, one.rule.source), one.says, tuple(edges))


@dataclass(frozen=True, slots=True)
class StepAnswer:
    """A deco gas at the depth of its switch."""

    depth_m: float
    o2: float
    he: float


@dataclass(frozen=True, slots=True)
class ChoiceAnswer:
    """One set of gases; TTS and helium are null where a limit forbids it."""

    name: str
    loses: bool
    bottom: GasPartsAnswer
    steps: tuple[StepAnswer, ...]
    tts_min: float | None
    helium_l: float | None
    minutes_more: float | None
    helium_more_l: float | None
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChooseAnswer(Head):
    """`choose`: the best gases for a depth first, then the house gases against them."""

    choices: tuple[ChoiceAnswer, ...]


@dataclass(frozen=True, slots=True)
class PlanBCellAnswer:
    """One depth and bottom time; `stop` is null where it holds."""

    depth_m: float
    minutes: float
    holds: bool
    stop: FindingAnswer | None
    asks: tuple[str, ...]
    tts_min: float | None
    runtime_min: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanBAnswer(Head):
    """`plan-b`: which depths and minutes hold with the gas in hand."""

    cells: tuple[PlanBCellAnswer, ...]


def choose_answer(trip: Trip, found: Sequence[Choice]) -> Json:
    """The answer of `choose`.

    Args:
        trip: as read.
        found: the choices, the best first.
    """
    return plain_json(ChooseAnswer(
        schema="gaswright.choose/1", program=PROGRAM, policy=trip.policy.version, input_sha256=trip.input_sha256,
        choices=tuple(
            ChoiceAnswer(one.name, one.loses, _parts(one.bottom),
                         tuple(StepAnswer(step.depth_m, step.mixture.o2, step.mixture.he) for step in one.steps),
                         one.tts_min, one.helium_l, one.minutes_more, one.helium_more_l, one.why)
            for one in found
        ),
    ))  # fmt: skip


def plan_b_answer(trip: Trip, made: PlanB) -> Json:
    """The answer of `plan-b`.

    Args:
        trip: as read.
        made: the map.
    """
    return plain_json(PlanBAnswer(
        schema="gaswright.plan-b/1", program=PROGRAM, policy=trip.policy.version, input_sha256=trip.input_sha256,
        cells=tuple(
            PlanBCellAnswer(cell.depth_m, cell.minutes, cell.holds,
                            None if cell.stop is None else finding_shape(cell.stop), cell.asks, cell.tts_min,
                            cell.runtime_min)
            for row in made.rows for cell in row
        ),
    ))  # fmt: skip


def stress_answer(trip: Trip, made: Stress) -> Json:
    """The answer of `stress`.

    Args:
        trip: as read.
        made: the plan under stress.
    """
    return plain_json(StressAnswer(
        schema="gaswright.stress/1", program=PROGRAM, policy=trip.policy.version, input_sha256=trip.input_sha256,
        runs=made.runs, seed=made.seed, made=made.made, verified=made.verified, spread=_spread(made.spread),
        tts_min=None if made.tts_min is None else QuantilesAnswer(*made.tts_min),
        planned_tts_min=made.planned_tts_min,
        left_bar={c: LeftAnswer(*three, made.planned_left_bar[c]) for c, three in made.left_bar.items()},
        broken=tuple(_broken(trip, one) for one in made.broken),
        sensitivity=tuple(SensitivityAnswer(one.name, abs(one.tts), abs(one.least_left), _sign(one.tts),
                                            _sign(one.least_left)) for one in made.sensitivity),
        sensitivity_runs=made.sampled, word=made.word,
    ))  # fmt: skip


def _spread(spread: Spread) -> SpreadAnswer:
    return SpreadAnswer(spread.depth_m, spread.bottom_min, spread.least_share, spread.ascent_factors,
                        spread.consumption_share, spread.analyser_share, MOST_DEVIATIONS)


def _broken(trip: Trip, one: Broken) -> BrokenAnswer:
    rule = rule_of(trip.policy, one.code)
    return BrokenAnswer(one.code, one.cylinder, one.share, one.runs, RuleAnswer(rule.name, rule.source))


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)


ROBUSTNESS_ANSWERS: Mapping[str, type] = {
    "accept": AcceptAnswer, "stress": StressAnswer, "choose": ChooseAnswer, "plan-b": PlanBAnswer,
}
