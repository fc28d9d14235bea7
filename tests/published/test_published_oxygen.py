"""Oxygen against the NOAA table, the REPEX table and the closed ramp form."""

from collections.abc import Mapping
from typing import Any

import pytest

from gaswright.oxygen.clock import cns_rate_per_min, piece_otu
from gaswright.oxygen.limits import daily_limit_min, repex_average_otu
from published_checks import Compute, all_cases, judge

__all__ = ["COMPUTE"]


def _single_min(case: Mapping[str, Any]) -> float:
    return 1 / cns_rate_per_min(case["PO2_ata"])


def _day_min(case: Mapping[str, Any]) -> float:
    return float(daily_limit_min(round(case["PO2_ata"] * 10)))


def _otu(case: Mapping[str, Any]) -> float:
    return piece_otu(case["minutes"], case["from_ata"], case["to_ata"])


def _repex_total(case: Mapping[str, Any]) -> float:
    return float(case["days"] * repex_average_otu(case["days"]))


COMPUTE: dict[str, Compute] = {
    "oxygen_noaa_single.toml": _single_min,
    "oxygen_noaa_day.toml": _day_min,
    "oxygen_ramp.toml": _otu,
    "oxygen_repex.toml": _repex_total,
}


@pytest.mark.parametrize(("name", "case"), all_cases(COMPUTE))
def test_oxygen_agrees_with_the_printed_value(name: str, case: Mapping[str, Any]) -> None:
    """Every node of the tables and every worked example comes out to the printed digits."""
    judge(name, case, COMPUTE[name](case))
