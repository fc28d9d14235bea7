"""Oxygen over dives and days: sums against both columns of the NOAA table, and the rows of the REPEX table."""

import csv
from dataclasses import dataclass
from pathlib import Path

import pytest

from check import close
from gaswright.oxygen.clock import DAY_RATES_PER_MIN, cns_rate_per_min, piece_cns
from gaswright.oxygen.days import day_fraction, day_otu, repex_limit, single_fraction

OUTSIDE = Path(__file__).resolve().parents[2] / "outside"


@dataclass(frozen=True)
class Past:
    """Oxygen of an earlier dive."""

    days_ago: int = 0
    ended_min: float = 0.0
    minutes: float = 60.0
    cns_fraction: float = 0.0
    day_fraction: float = 0.0
    otu: float = 0.0


def rows(name: str) -> list[list[str]]:
    """The rows of a table of tests/outside, without its comments and its head."""
    text = (OUTSIDE / name).read_text(encoding="utf-8")
    return list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))[1:]


@pytest.mark.parametrize("row", rows("noaa_o2_limits_normal.csv"), ids=lambda row: row[0])
def test_both_columns_are_full_after_the_printed_minutes(row: list[str]) -> None:
    """NOAA Diving Manual, both columns (status of each row in the file): the printed minutes are 100 %."""
    ata, single_min, day_min = float(row[0]), float(row[1]), float(row[2])
    close(piece_cns(single_min, ata, ata), 1.0, within=1e-9)
    close(piece_cns(day_min, ata, ata, DAY_RATES_PER_MIN), 1.0, within=1e-9)


@pytest.mark.parametrize("row", rows("noaa_o2_limits_normal.csv"), ids=lambda row: row[0])
def test_two_half_exposures_fill_the_single_limit_only_together(row: list[str]) -> None:
    """Two dives of half the single limit: 50 % each if they lie far apart, 100 % as one; the day is the same."""
    ata, single_min, day_min = float(row[0]), float(row[1]), float(row[2])
    half, half_day = piece_cns(single_min / 2, ata, ata), piece_cns(single_min / 2, ata, ata, DAY_RATES_PER_MIN)
    near = Past(ended_min=119.0, minutes=single_min / 2, cns_fraction=half, day_fraction=half_day)
    far = Past(ended_min=120.0, minutes=single_min / 2, cns_fraction=half, day_fraction=half_day)
    close(single_fraction(half, [near], 120.0), 1.0, within=1e-9)
    close(single_fraction(half, [far], 120.0), 0.5, within=1e-9)
    for past in (near, far):
        close(day_fraction(half_day, single_min / 2, [past]), single_min / day_min, within=1e-9)


def test_the_day_never_counts_faster_than_the_single_exposure() -> None:
    """In the table no limit within 24 h is shorter than the single one, nor is the rate between its nodes."""
    for milli_ata in range(600, 1651, 5):
        ata = milli_ata / 1000
        assert cns_rate_per_min(ata, DAY_RATES_PER_MIN) <= cns_rate_per_min(ata) + 1e-15


def test_dives_in_a_row_count_as_one_exposure() -> None:
    """A third dive with short intervals brings both before it; a long interval cuts off all that is older."""
    row = [Past(ended_min=30.0, minutes=40.0, cns_fraction=0.2), Past(ended_min=130.0, minutes=50.0, cns_fraction=0.3)]
    close(single_fraction(0.1, row, 120.0), 0.6, within=1e-12)
    apart = [Past(ended_min=200.0, cns_fraction=0.2), Past(ended_min=290.0, cns_fraction=0.3)]
    close(single_fraction(0.1, apart, 120.0), 0.1, within=1e-12)


def test_a_dive_that_reaches_into_the_24_hours_counts_whole() -> None:
    """The window ends with this dive: what ended less than 24 h before its end counts, with all of it."""
    inside, outside = Past(ended_min=1379.0, day_fraction=0.4), Past(ended_min=1380.0, day_fraction=0.4)
    close(day_fraction(0.1, 60.0, [inside]), 0.5, within=1e-12)
    close(day_fraction(0.1, 60.0, [outside]), 0.1, within=1e-12)


def test_otu_of_a_day_are_those_of_its_dives() -> None:
    """The dive day counts, not 24 hours."""
    close(day_otu(100.0, [Past(0, otu=50.0), Past(1, otu=500.0)]), 150.0, within=1e-12)


@pytest.mark.parametrize("row", [r for r in rows("repex_otu_memory.csv") if r[0].isdigit()], ids=lambda row: row[0])
def test_a_mission_at_the_average_is_at_its_limit(row: list[str]) -> None:
    """REPEX (from memory; two rows seen quoted): so many days at the average come to the printed total."""
    days, average, total = int(row[0]), float(row[1]), float(row[2])
    limit = repex_limit(average, [Past(n, otu=average) for n in range(1, days)])
    assert limit.days == days
    close(limit.total_otu, total, within=1e-9)
    close(limit.limit_otu, total, within=1e-9)


def test_one_hard_day_is_found_among_easy_ones() -> None:
    """The run of days that is tightest counts: 900 today after two days of 100 passes the first row, not the third."""
    limit = repex_limit(900.0, [Past(1, otu=100.0), Past(2, otu=100.0)])
    assert (limit.days, limit.total_otu, limit.limit_otu) == (1, 900.0, 850.0)


def test_days_without_a_dive_count_as_days() -> None:
    """850 today and 850 two days ago are three days: 1700 of 1860."""
    limit = repex_limit(600.0, [Past(2, otu=1250.0)])
    assert (limit.days, limit.total_otu, limit.limit_otu) == (3, 1850.0, 1860.0)


def test_what_lies_beyond_the_table_is_not_counted() -> None:
    """The table ends at 30 days."""
    limit = repex_limit(100.0, [Past(31, otu=5000.0)])
    assert limit.days == 1
