"""Oxygen over several dives and days: single exposure, 24 hours, and the REPEX limits of a mission."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from gaswright.oxygen.limits import REPEX_LONGEST_DAYS, repex_average_otu

__all__ = ["DAY_MIN", "EarlierDose", "RepexLimit", "day_fraction", "day_otu", "repex_limit", "single_fraction"]

DAY_MIN = 1440.0  # 24 h, exact


class EarlierDose(Protocol):
    """Oxygen of one earlier dive."""

    @property
    def days_ago(self) -> int:
        """Dive days before this one; 0: the same day."""

    @property
    def ended_min(self) -> float:
        """From its end to the start of this dive [min]."""

    @property
    def minutes(self) -> float:
        """How long it took [min]."""

    @property
    def cns_fraction(self) -> float:
        """Share of the NOAA single-exposure limit [fraction]."""

    @property
    def day_fraction(self) -> float:
        """Share of the NOAA limit within 24 hours [fraction]."""

    @property
    def otu(self) -> float:
        """Oxygen tolerance units."""


def single_fraction(own: float, earlier: Sequence[EarlierDose], interval_min: float) -> float:
    """Share of the single-exposure limit of this dive and of those that count as one exposure with it [fraction].

    Dives in a row whose surface intervals are all shorter count as one: nothing fades meanwhile.

    Args:
        own: of this dive [fraction]
        earlier: the last dive first.
        interval_min: shortest surface interval that parts two exposures [min]

    Source:
        NOAA
    """
    total, gap_from_min = own, 0.0
    for dive in earlier:
        if dive.ended_min - gap_from_min >= interval_min:
            break
        total += dive.cns_fraction
        gap_from_min = dive.ended_min + dive.minutes
    return total


def day_fraction(own: float, minutes: float, earlier: Sequence[EarlierDose]) -> float:
    """Share of the limit within the 24 hours before the end of this dive [fraction].

    A dive that reaches into them counts whole.

    Args:
        own: of this dive [fraction]
        minutes: runtime of this dive [min]
        earlier: in any order.

    Source:
        NOAA
    """
    return own + sum(dive.day_fraction for dive in earlier if dive.ended_min + minutes < DAY_MIN)


def day_otu(own: float, earlier: Sequence[EarlierDose]) -> float:
    """Oxygen tolerance units of this dive day.

    Args:
        own: of this dive [OTU]
        earlier: in any order.
    """
    return own + sum(dive.otu for dive in earlier if dive.days_ago == 0)


@dataclass(frozen=True, slots=True)
class RepexLimit:
    """The row of the REPEX table that a mission comes nearest to, or passes most.

    Args:
        days: how many days, today the last.
        total_otu: of these days.
        limit_otu: what the table allows in so many days.
    """

    days: int
    total_otu: float
    limit_otu: float


def repex_limit(own: float, earlier: Sequence[EarlierDose]) -> RepexLimit:
    """The tightest row of the table over every run of days that ends today; a day without a dive counts as a day.

    Args:
        own: of this dive [OTU]
        earlier: in any order; beyond 30 days nothing is known and nothing is counted.

    Source:
        REPEX
    """
    by_day: dict[int, float] = {0: day_otu(own, earlier)}
    for dive in earlier:
        if 0 < dive.days_ago < REPEX_LONGEST_DAYS:
            by_day[dive.days_ago] = by_day.get(dive.days_ago, 0.0) + dive.otu
    rows = [_row(by_day, days + 1) for days in by_day]
    return max(rows, key=lambda row: row.total_otu / row.limit_otu)


def _row(by_day: Mapping[int, float], days: int) -> RepexLimit:
    total = sum(otu for day, otu in by_day.items() if day < days)
    return RepexLimit(days, total, float(days * repex_average_otu(days)))
