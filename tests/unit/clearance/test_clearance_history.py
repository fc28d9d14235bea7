"""The evening rule: what a switch of the policy allows, and what is then asked on the new dive day."""

from dataclasses import replace
from datetime import timedelta

import pytest

from gaswright.clearance.gates import clear
from gaswright.clearance.inputs import ClearanceInput
from gaswright.custody.fact import Fact, Kind
from gaswright.findings import Severity
from unit.clearance.day_for_tests import NOW, POLICY, codes, fact, normal_day, with_known

EVENING = NOW - timedelta(hours=12)  # 21:00 the day before
SWITCHED_ON = replace(POLICY, evening_analysis=1.0)


def analysed_in_the_evening(*facts: Fact) -> ClearanceInput:
    """The normal day with EAN50 of the first diver read the evening before, and what was recorded since."""
    day = with_known(normal_day(), "e1", at=EVENING)
    return replace(day, facts=(*day.facts, *facts))


def read(
    minutes_ago: float = 30.0, serial: str = "5201", rests_on: str = "e1-analysis", gauge: int | None = 20000
) -> Fact:
    """ID and pressure read again."""
    one = fact(Kind.PRESSURE_READ, "e1", NOW - timedelta(minutes=minutes_ago),
               {"gauge_centibar": gauge, "serial_read": serial}, "read")
    return replace(one, rests_on=(rests_on,))


def judged(day: ClearanceInput) -> set[str]:
    """The codes of a day under the switched policy."""
    return codes(clear(day, SWITCHED_ON, NOW).findings)


def test_an_analysis_of_the_evening_is_a_stop_until_it_is_read_again() -> None:
    """Without a reading of this dive day it is a stop; with one it is not."""
    findings = clear(analysed_in_the_evening(), SWITCHED_ON, NOW).findings
    assert [f.severity for f in findings if f.code == "gas.read_again"] == [Severity.STOP]
    assert "gas.read_again" not in judged(analysed_in_the_evening(read()))


@pytest.mark.parametrize("reading", [
    read(serial="5202"), read(rests_on="another"), read(minutes_ago=11 * 60), read(minutes_ago=-1), read(gauge=None),
], ids=["another cylinder", "another analysis", "yesterday", "in the future", "no pressure"])
def test_a_reading_that_does_not_count(reading: Fact) -> None:
    """Another cylinder's ID, another analysis, the evening itself, the future and an ID alone do not count."""
    assert "gas.read_again" in judged(analysed_in_the_evening(reading))


def test_a_corrected_reading_does_not_count() -> None:
    """A reading that was corrected away is none."""
    void = fact(Kind.CORRECTED, "e1", NOW, {"voids": "read", "reason": "typed wrongly"}, "void")
    assert "gas.read_again" in judged(analysed_in_the_evening(read(), void))


def test_the_shipped_policy_does_not_ask() -> None:
    """With the switch off an analysis ends with its dive day, and nothing else is asked."""
    assert "gas.read_again" not in codes(clear(analysed_in_the_evening(), POLICY, NOW).findings)
