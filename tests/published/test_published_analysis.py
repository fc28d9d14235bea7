"""Analysis against published tables."""

from collections.abc import Mapping
from typing import Any

import pytest

from gaswright.analysis.galvanic import saturation_hpa
from gaswright.analysis.uncertainty import combined, rectangular
from published_checks import Compute, all_cases, judge

COMPUTE: Mapping[str, Compute] = {
    "analysis_saturation.toml": lambda case: saturation_hpa(case["temperature_c"]),
    "analysis_gum_rectangular.toml": lambda case: rectangular(case["half_width"]),
    "analysis_gum_combined.toml": lambda case: combined(case["components"]),
}


@pytest.mark.parametrize(("name", "case"), all_cases(COMPUTE))
def test_analysis_agrees_with_the_published_value(name: str, case: Mapping[str, Any]) -> None:
    """What analysis computes agrees with the printed value, within its last digit or its stated band."""
    judge(name, case, COMPUTE[name](case))
