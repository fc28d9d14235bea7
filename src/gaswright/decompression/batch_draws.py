"""Numbers for the runs of a batch from a seed and the number of the run, and counts of what came out.

A number depends on seed, run and column alone, so it does not matter in which blocks or on how many workers the runs
are made. Counts are whole numbers: adding them up gives the same answer in every order.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from gaswright.errors import RangeError

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Counts", "normals", "uniforms"]

RUNS_AT_MOST = 2**40
COLUMNS_AT_MOST = 4096
BINS_AT_MOST = 1_000_000


def uniforms(seed: int, first_run: int, runs: int, columns: int) -> "NDArray[np.float64]":
    """Numbers evenly spread over 0 to 1, both ends left out, shape (runs, columns).

    Args:
        seed: any whole number from 0 to 2^63 - 1.
        first_run: number of the first run.
        runs: how many.
        columns: how many per run.

    Raises:
        RangeError: one of them is outside what can be numbered.

    Source: [SPLITMIX] two rounds of the mixing function over a counter.
    """
    for name, value, most in (
        ("seed", seed, 2**63 - 1), ("first run", first_run, RUNS_AT_MOST), ("runs", runs, RUNS_AT_MOST),
        ("columns", columns, COLUMNS_AT_MOST),
    ):
        if not 0 <= value <= most:
            raise RangeError(name, value, "", 0, most)
    run = np.arange(first_run, first_run + runs, dtype=np.uint64)[:, None]
    column = np.arange(columns, dtype=np.uint64)[None, :]
    mixed = _mixed(_mixed(run * np.uint64(COLUMNS_AT_MOST) + column) ^ _mixed(np.array([seed], np.uint64)))
    return ((mixed >> np.uint64(12)).astype(np.float64) + 0.5) * 2.0**-52


def _mixed(number: "NDArray[np.uint64]") -> "NDArray[np.uint64]":
    number = number + np.uint64(0x9E3779B97F4A7C15)
    number = (number ^ (number >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    number = (number ^ (number >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return number ^ (number >> np.uint64(31))


def normals(seed: int, first_run: int, runs: int, columns: int) -> "NDArray[np.float64]":
    """Numbers of the normal distribution, mean 0 and deviation 1, shape (runs, columns).

    Args:
        seed: any whole number from 0 to 2^63 - 1.
        first_run: number of the first run.
        runs: how many.
        columns: how many per run.

    Raises:
        RangeError: one of them is outside what can be numbered.

    Source: [BOX-MULLER] the cosine half.
    """
    pairs = uniforms(seed, first_run, runs, 2 * columns)
    distance: NDArray[np.float64] = np.sqrt(-2.0 * np.log(pairs[:, :columns]))
    return distance * np.cos(2.0 * np.pi * pairs[:, columns:])


@dataclass(slots=True)
class Counts:
    """How many values fell into each bin of equal width; values outside the first and last bin are counted apart.

    Args:
        low: lower edge of the first bin, in the unit of the values.
        width: of a bin.
        bins: how many.
    """

    low: float
    width: float
    bins: int
    inside: "NDArray[np.int64]" = field(init=False)
    below: int = field(init=False, default=0)
    above: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        """Begin with nothing counted.

        Raises:
            RangeError: too many bins, or none.
        """
        if not 1 <= self.bins <= BINS_AT_MOST:
            raise RangeError("bins", self.bins, "", 1, BINS_AT_MOST)
        self.inside = np.zeros(self.bins, np.int64)

    def add(self, values: "NDArray[np.float64]") -> None:
        """Nothing; these values are counted.

        Args:
            values: any number of them.
        """
        number = np.floor((values - self.low) / self.width)
        self.below += int(np.count_nonzero(number < 0))
        self.above += int(np.count_nonzero(number >= self.bins))
        kept = number[(number >= 0) & (number < self.bins)].astype(np.int64)
        self.inside += np.bincount(kept, minlength=self.bins)

    @property
    def total(self) -> int:
        """How many values were counted."""
        return self.below + self.above + int(self.inside.sum())

    def quantile(self, share: float) -> float:
        """The upper edge of the bin at which at least this share of the values is reached, in their unit.

        Args:
            share: above 0, to 1 [fraction]

        Raises:
            RangeError: nothing was counted, or the quantile lies outside the bins: give wider bins.
        """
        wanted = share * self.total - 1e-9
        reached = self.below + np.cumsum(self.inside)
        number = int(np.searchsorted(reached, wanted))
        if not self.total or not 0.0 < share <= 1.0 or self.below >= wanted or number >= self.bins:
            raise RangeError("share of the values", share, "", 0.0, 1.0, "count into bins that hold them")
        return self.low + (number + 1) * self.width
