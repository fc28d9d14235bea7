"""Whether two readings of one gas agree, what several agreeing readings say together, and how a pair differs."""

from collections.abc import Sequence
from dataclasses import dataclass

from gaswright.analysis.reading import Reading

__all__ = ["PairDifference", "agree", "leanest", "pair_difference", "richest"]


@dataclass(frozen=True, slots=True)
class PairDifference:
    """By how much two readings differ, without sign.

    Args:
        o2_e4: oxygen [e-4].
        he_e4: helium [e-4].
    """

    o2_e4: int
    he_e4: int


def pair_difference(first: Reading, second: Reading) -> PairDifference:
    """By how much two readings differ, the readings themselves without their uncertainty.

    Args:
        first: reading of one cylinder.
        second: reading of the other.
    """
    one, other = first.mixture, second.mixture
    return PairDifference(abs(one.o2_e4 - other.o2_e4), abs(one.he_e4 - other.he_e4))


def agree(first: Reading, second: Reading) -> bool:
    """True if two readings differ by no more than U of their difference, in oxygen and in helium.

    Two independent readings: U of the difference is the root of the sum of the squares of both U. Judged in integers.

    Args:
        first: one reading.
        second: another reading of the same gas.

    Source: JCGM100, 5.1.2.
    """
    apart = pair_difference(first, second)
    return (
        apart.o2_e4**2 <= first.u_o2_e4**2 + second.u_o2_e4**2
        and apart.he_e4**2 <= first.u_he_e4**2 + second.u_he_e4**2
    )


def richest(readings: Sequence[Reading]) -> Reading:
    """The reading that speaks for MOD: the one with most oxygen, with U wide enough to cover all of them.

    Args:
        readings: of one gas, at least one.
    """
    top = max(readings, key=lambda reading: (reading.mixture.o2_e4, -reading.mixture.he_e4))
    u_o2_e4 = max(reading.mixture.o2_e4 + reading.u_o2_e4 for reading in readings) - top.mixture.o2_e4
    return Reading(top.mixture, u_o2_e4, max(reading.u_he_e4 for reading in readings))


def leanest(readings: Sequence[Reading]) -> Reading:
    """The reading that speaks for hypoxia and decompression: least oxygen, with U wide enough to cover all of them.

    Args:
        readings: of one gas, at least one.
    """
    low = min(readings, key=lambda reading: (reading.mixture.o2_e4, reading.mixture.he_e4))
    u_o2_e4 = low.mixture.o2_e4 - min(reading.mixture.o2_e4 - reading.u_o2_e4 for reading in readings)
    u_he_e4 = max(low.u_he_e4, *(low.mixture.he_e4 - one.mixture.he_e4 + one.u_he_e4 for one in readings))
    return Reading(low.mixture, u_o2_e4, u_he_e4)
