"""Gases of many runs as the arrays that a batch takes."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from gaswright.decompression.batch_request import breaths_of
from gaswright.decompression.request import Breath, ScheduleRequest

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["column", "gas_columns"]


def gas_columns(
    request: ScheduleRequest, runs: int, changed: Mapping[Breath, Sequence[tuple[float, float]]]
) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
    """Fractions of oxygen and helium, a row per run and a column per `breaths_of(request)`.

    Args:
        request: the team's dive.
        runs: how many.
        changed: a planned gas to oxygen and helium of every run; a gas that is not in it stays.
    """
    breaths = breaths_of(request)
    o2, he = np.empty((runs, len(breaths))), np.empty((runs, len(breaths)))
    for column, breath in enumerate(breaths):
        parts = np.array(changed.get(breath, [(breath.o2, breath.he)]), np.float64)
        o2[:, column], he[:, column] = parts[:, 0], parts[:, 1]
    return o2, he


def column(values: Sequence[float]) -> "NDArray[np.float64]":
    """One number per diver as an array.

    Args:
        values: in the order of the request.
    """
    return np.array(values, np.float64)
