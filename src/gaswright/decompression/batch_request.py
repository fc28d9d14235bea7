"""What a batch is asked and what it answers: one team dive in many variations, a row of an array per run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

from gaswright.decompression.request import Breath, ScheduleRequest

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["BatchResult", "Outcome", "Use", "Variations", "breaths_of", "uses_of"]


class Outcome(IntEnum):
    """What became of one run."""

    MADE = 0
    LEVEL_TOO_SHORT = 1
    LEVEL_ABOVE_CEILING = 2
    TOO_LONG = 3


@dataclass(frozen=True, slots=True)
class Use:
    """One column of the gas used: who breathes from which cylinder.

    Args:
        diver: id.
        cylinder: id.
    """

    diver: str
    cylinder: str


@dataclass(frozen=True, slots=True)
class Variations:
    """How the runs differ from the request; what is None stays as the request says.

    The caller draws the numbers (`batch_draws.py` draws them from a seed and the number of the run, so that they do
    not depend on how the runs are cut into blocks). Arrays are float64 but for `speed`.

    Args:
        runs: how many rows every array has.
        o2: fraction of oxygen, a column per `breaths_of(request)`, shape (runs, breaths) [fraction]
        he: fraction of helium, the same columns [fraction]
        depth_m: depth of each level, shape (runs, levels) [m]
        minutes: minutes of each level, travel included, shape (runs, levels) [min]
        speeds: factors on every ascent speed, few and above 0 (each needs its own tables) [-]
        speed: which of `speeds` a run has, integers, shape (runs,); None: the first.
        rmv_bottom_l_min: consumption up to the first halt of the way up, a column per diver, shape (runs, divers) or
            (divers,); None: no gas is counted [L/min]
        rmv_deco_l_min: consumption from that halt on, the same shape [L/min]
    """

    runs: int
    o2: "NDArray[np.float64] | None" = None
    he: "NDArray[np.float64] | None" = None
    depth_m: "NDArray[np.float64] | None" = None
    minutes: "NDArray[np.float64] | None" = None
    speeds: tuple[float, ...] = (1.0,)
    speed: "NDArray[np.int64] | None" = None
    rmv_bottom_l_min: "NDArray[np.float64] | None" = None
    rmv_deco_l_min: "NDArray[np.float64] | None" = None

    @property
    def counts_gas(self) -> bool:
        """True if both rates of consumption are given."""
        return self.rmv_bottom_l_min is not None and self.rmv_deco_l_min is not None


@dataclass(frozen=True, slots=True)
class BatchResult:
    """What the runs came to; a run that is not MADE has -1 in every number of its row, never a guess.

    Args:
        outcome: an `Outcome` per run, int64, shape (runs,)
        tts_min: from the end of the last level to the surface, shape (runs,) [min]
        runtime_min: the whole dive, shape (runs,) [min]
        anchor_m: anchor per diver in the order of the request, 0: none, shape (runs, divers) [m]
        uses: the columns of `used_l`.
        used_l: free gas used at 1.01325 bar, shape (runs, uses); None where no consumption was given [L]
        halt_m: the columns of `stop_min`, deep first; a wait at the last level itself stands in `bottom_wait_min`,
            also where that level is on the grid [m]
        stop_min: minutes of each halt, turns included, shape (runs, halts); None where not asked for [min]
        bottom_wait_min: turns and waits at the last level after its minutes, shape (runs,) [min]
        compiled: True if the compiled kernel made them.
        verified: how many of the runs the replay verifier has passed.
        word: for people: why it took its time, where numba is missing; else empty.
    """

    outcome: "NDArray[np.int64]"
    tts_min: "NDArray[np.float64]"
    runtime_min: "NDArray[np.float64]"
    anchor_m: "NDArray[np.float64]"
    uses: tuple[Use, ...]
    used_l: "NDArray[np.float64] | None"
    halt_m: tuple[float, ...]
    stop_min: "NDArray[np.float64] | None"
    bottom_wait_min: "NDArray[np.float64]"
    compiled: bool
    verified: int
    word: str = ""

    @property
    def feasible(self) -> "NDArray[np.bool_]":
        """True for every run that has a schedule, shape (runs,)."""
        made: NDArray[np.bool_] = self.outcome == Outcome.MADE
        return made


def breaths_of(request: ScheduleRequest) -> tuple[Breath, ...]:
    """Every gas of the request once: start, levels, changes, cycles, in this order; the columns of `Variations.o2`.

    A cylinder that several divers breathe from (equal id and fractions) is one column.

    Args:
        request: the team's dive.
    """
    seen: dict[Breath, None] = {}
    for gas in _gases(request):
        for diver in request.divers:
            if diver in gas:
                seen.setdefault(gas[diver])
    return tuple(seen)


def uses_of(request: ScheduleRequest) -> tuple[Use, ...]:
    """Every pair of diver and cylinder of the request, diver by diver; the columns of `BatchResult.used_l`.

    Args:
        request: the team's dive.
    """
    gases = _gases(request)
    seen = {Use(diver, gas[diver].cylinder): None for diver in request.divers for gas in gases if diver in gas}
    return tuple(seen)


def _gases(request: ScheduleRequest) -> Sequence[Mapping[str, Breath]]:
    return (
        request.start_gas, *(level.gas for level in request.levels), *(change.gas for change in request.changes),
        *(phase.gas for cycle in request.cycles for phase in cycle.phases),
    )
