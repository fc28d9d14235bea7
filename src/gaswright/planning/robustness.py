"""How a plan is put under stress: which inputs spread and how far, which limits and reserves may break.

Types and thresholds only; the runs are drawn and made where arrays are at home (`services/stress_runs.py`).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from gaswright.decompression.batch_request import breaths_of
from gaswright.physics.content import free_litres
from gaswright.planning.contents import Content
from gaswright.planning.dive import Plan, Role
from gaswright.planning.held_plan import HeldPlan

__all__ = [
    "MOST_DEVIATIONS", "Broken", "InputKind", "Reserve", "Sensitivity", "Spread", "Spreading", "Stress",
    "reserves_of", "spreading_inputs",
]

MOST_DEVIATIONS = 3.0  # what is drawn is cut at so many standard deviations [GASWRIGHT]
U_PER_DEVIATION = 2.0  # an expanded uncertainty is two standard deviations [JCGM100]

InputKind = str  # "o2", "he", "depth", "minutes", "speed", "consumption"


@dataclass(frozen=True, slots=True)
class Spread:
    """How far the inputs of a dive spread; every value is common practice, no source, and a setting.

    Args:
        depth_m: standard deviation of the depth of all levels together [m]
        bottom_min: standard deviation of the time on the deepest level [min]
        least_share: of the planned time that is always spent on that level [fraction]
        ascent_factors: ascent speeds as shares of the planned, each as likely as the others [-]
        consumption_share: standard deviation of the logarithm of a diver's consumption against the planned [-]
        analyser_share: of a reading's uncertainty that is drawn; 0: readings are exact [fraction]
    """

    depth_m: float = 1.0
    bottom_min: float = 2.0
    least_share: float = 0.5
    ascent_factors: tuple[float, ...] = (0.7, 0.85, 1.0, 1.15)
    consumption_share: float = 0.15
    analyser_share: float = 1.0


@dataclass(frozen=True, slots=True)
class Spreading:
    """One input that spreads, a column of what is drawn.

    Args:
        kind: "o2", "he", "depth", "minutes", "speed" or "consumption".
        of: id of the cylinder or diver, "": the team.
        deviation: standard deviation, in fractions, m, min or as a logarithm; 0 for a choice [-]
    """

    kind: InputKind
    of: str
    deviation: float

    @property
    def name(self) -> str:
        """The input as an answer names it."""
        return f"{self.kind} {self.of}".strip()


@dataclass(frozen=True, slots=True)
class Reserve:
    """A limit on what may be taken from a cylinder.

    Args:
        code: in the catalogue.
        cylinder: id.
        most_l: free gas that may be used without breaking it [L]
        at_bottom: True where only what is used up to the end of the last level counts.
    """

    code: str
    cylinder: str
    most_l: float
    at_bottom: bool = False


@dataclass(frozen=True, slots=True)
class Broken:
    """How often a limit or a reserve was broken.

    Args:
        code: in the catalogue.
        cylinder: id, None: the team.
        runs: in how many runs.
        share: of all runs [fraction]
    """

    code: str
    cylinder: str | None
    runs: int
    share: float


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """How much of the spread of a result goes with one input.

    Args:
        name: of the input.
        tts: squared rank correlation with TTS, signed by its direction [-]
        least_left: the same with the least share of gas left in any cylinder [-]
    """

    name: str
    tts: float
    least_left: float


@dataclass(frozen=True, slots=True)
class Stress:
    """A plan under stress.

    Args:
        runs: how many were made.
        seed: they were drawn from.
        made: runs that have a schedule; quantiles are theirs.
        verified: runs that the verifier has replayed.
        spread: what was drawn.
        planned_tts_min: of the plan [min]
        tts_min: quantiles 5, 50, 95 %, rounded up by at most 5 s [min]
        left_bar: cylinder id to its quantiles of gauge pressure left, rounded down; 0 where it ran out [bar]
        planned_left_bar: cylinder id to what the plan leaves [bar]
        broken: every limit and reserve that was looked at.
        sensitivity: of each input, the strongest on TTS first.
        sampled: runs that the sensitivity rests on.
        word: for people: why it took its time, else empty.
    """

    runs: int
    seed: int
    made: int
    verified: int
    spread: Spread
    planned_tts_min: float
    tts_min: tuple[float, float, float] | None
    left_bar: Mapping[str, tuple[float, float, float]]
    planned_left_bar: Mapping[str, float]
    broken: tuple[Broken, ...]
    sensitivity: tuple[Sensitivity, ...]
    sampled: int
    word: str


def spreading_inputs(held: HeldPlan, spread: Spread) -> tuple[Spreading, ...]:
    """The inputs that spread, in a fixed order: readings, depth, time, speed, consumption.

    Args:
        held: the planned dive.
        spread: how far.
    """
    return (*_readings(held, spread), Spreading("depth", "", spread.depth_m),
            Spreading("minutes", "", spread.bottom_min), Spreading("speed", "", 0.0),
            *(Spreading("consumption", diver.id, spread.consumption_share) for diver in held.kit.dive.divers))


def _readings(held: HeldPlan, spread: Spread) -> Iterator[Spreading]:
    for cylinder in dict.fromkeys(breath.cylinder for breath in breaths_of(held.request)):
        gas = held.kit.cylinders[cylinder].gas
        if gas is None:
            continue
        yield Spreading("o2", cylinder, gas.u_o2_e4 / 10_000 / U_PER_DEVIATION * spread.analyser_share)
        if gas.mixture.he_e4:
            yield Spreading("he", cylinder, gas.u_he_e4 / 10_000 / U_PER_DEVIATION * spread.analyser_share)


def reserves_of(held: HeldPlan, planned: Plan) -> tuple[Reserve, ...]:
    """The limits on what may be taken from each cylinder: what it holds, its reserve, minimum gas on the mains.

    Args:
        held: the planned dive.
        planned: its plan, which knows minimum gas.
    """
    return tuple(
        reserve for cylinder, content in held.contents.items() if cylinder in held.shown.used_l
        for reserve in _reserves(held, planned, cylinder, content)
    )


def _reserves(held: HeldPlan, planned: Plan, cylinder: str, content: Content) -> Iterator[Reserve]:
    policy, asked = held.kit.policy, held.kit.cylinders[cylinder]
    yield Reserve("supply.runs_out", cylinder, content.available_l)
    if asked.role is Role.DECO:
        yield Reserve("supply.deco_reserve", cylinder, content.available_l / policy.deco_reserve_factor)
    if asked.role is Role.STAGE and asked.switch_depth_m is None:
        yield Reserve("supply.stage_reserve", cylinder,
                      content.start_l - _litres(content, content.start_bar / 2 + policy.stage_reserve_bar))
    supply = planned.planned.supply.get(cylinder)
    if supply is not None and supply.minimum_bar is not None:
        yield Reserve("supply.minimum_passed", cylinder, content.start_l - _litres(content, supply.minimum_bar),
                      at_bottom=True)


def _litres(content: Content, gauge_bar: float) -> float:
    return free_litres(gauge_bar, content.volume_l, content.temperature_k, content.mixture)
