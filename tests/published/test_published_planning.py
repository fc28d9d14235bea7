"""Gas supply against the US Navy Diving Manual, with the manual's own ideal-gas rule."""

import json
import math
from collections.abc import Mapping
from typing import Any

import pytest

from gaswright.physics.place import ATM_BAR
from gaswright.planning.minimum_gas import Leg, gas_for_legs_l
from gaswright.planning.supply import empty_at_min
from gaswright.planning.usage import Draw
from published_checks import OUTSIDE, Compute, all_cases, judge

__all__ = ["COMPUTE"]

ATM_PSI = 14.7  # as the manual rounds it
FSW_PER_ATM = 33.0
EXAMPLE = json.loads((OUTSIDE / "worked_examples.json").read_text(encoding="utf-8"))["usn_minimum_gas"]["inputs"]


def _leg(depth_fsw: float, minutes: float) -> Leg:
    return Leg((depth_fsw + FSW_PER_ATM) / FSW_PER_ATM * ATM_BAR, minutes)


def _minimum_gas(case: Mapping[str, Any]) -> float:
    rate_cf_min = EXAMPLE["rate_acfm"]  # any unit of volume: the answer comes in the same one
    bottom = gas_for_legs_l(rate_cf_min, [_leg(EXAMPLE["depth_fsw"], EXAMPLE["bottom_min"])])
    ascent = gas_for_legs_l(rate_cf_min, [_leg(EXAMPLE["mean_ascent_depth_fsw"], EXAMPLE["ascent_min_rounded_up"])])
    total = round(bottom, 2) + round(ascent, 2)  # the manual adds its rounded figures
    psig = round(total, 2) / EXAMPLE["cylinder_scf_per_atm"] * EXAMPLE["atm_psi"] + EXAMPLE["minimum_psig"]
    rounded = math.ceil(psig / 100) * 100.0
    found = {"bottom": bottom, "ascent": ascent, "total": total, "psig": psig, "rounded": rounded}
    return float(found[str(case["wanted"])])


def _endurance_min(case: Mapping[str, Any]) -> float:
    available = (case["from_psig"] - case["to_psig"]) / ATM_PSI * case["scf_per_atm"] * case["cylinders"]
    hour = gas_for_legs_l(case["rate_acfm"], [_leg(case["depth_fsw"], 60.0)])
    found = empty_at_min(available, (Draw(0.0, 60.0, hour),))
    assert found is not None
    return found


COMPUTE: dict[str, Compute] = {
    "planning_usn_minimum_gas.toml": _minimum_gas,
    "planning_usn_endurance.toml": _endurance_min,
}


@pytest.mark.parametrize(("name", "case"), all_cases(COMPUTE))
def test_supply_agrees_with_the_printed_value(name: str, case: Mapping[str, Any]) -> None:
    """Minimum gas and endurance come out to the printed digits under the manual's own rule."""
    judge(name, case, COMPUTE[name](case))
