"""Corrosion watch: oxygen that falls while nobody changed the gas; and used until the pressure is read."""

import pytest

from custody_facts import POLICY, analysed, applied, change, corrected, fact, standing_of, with_policy
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.same_gas import oxygen_fall
from gaswright.custody.standing import Rung

FIRST = analysed("A-1", "F-1", o2=3200, he=0)


@pytest.mark.parametrize(("o2", "falls"), [(3129, True), (3130, False), (3200, False), (3300, False)])
def test_a_fall_is_more_than_both_uncertainties(o2: int, falls: bool) -> None:  # noqa: FBT001  a case of the table
    """Two readings of U = 0.5 % differ by at most 0.7071 % by chance: 0.70 % is no fall, 0.71 % is one."""
    facts = (change("F-1"), FIRST, analysed("A-2", "F-1", "17:00", o2=o2, he=0, after=("A-1",)))
    assert (oxygen_fall(facts, "A-2", POLICY) is not None) is falls


@pytest.mark.parametrize(("kind", "same"), [
    (Kind.LABELS_REMOVED, True), (Kind.LENT, True), (Kind.RETURNED, True), (Kind.FILLED, False),
    (Kind.TOPPED_UP, False), (Kind.DRAINED, False),
])
def test_the_same_gas_reaches_back_to_what_changed_it(kind: Kind, same: bool) -> None:  # noqa: FBT001  a case of the table
    """Labels off and lending end trust, not the gas; a fill, a top-up and a drain begin another."""
    facts = (change("F-1"), FIRST, change("F-2", kind, "18:00", after=("F-1",)),
             analysed("A-2", "F-2", "19:00", o2=3000, he=0))
    found = oxygen_fall(facts, "A-2", POLICY)
    assert (found is not None) is same
    assert found is None or found.earlier.id == "A-1"


def test_slow_falls_are_compared_with_the_richest() -> None:
    """Each step is within the uncertainty, all of them together are not."""
    facts = (change("F-1"), FIRST, analysed("A-2", "F-1", o2=3160, he=0, after=("A-1",)),
             analysed("A-3", "F-1", o2=3120, he=0, after=("A-1", "A-2")))
    assert oxygen_fall(facts, "A-2", POLICY) is None
    found = oxygen_fall(facts, "A-3", POLICY)
    assert found is not None
    assert found.earlier.id == "A-1"


@pytest.mark.parametrize("facts", [
    (corrected("V-1", "A-1"),), (),
], ids=["corrected", "not here"])
def test_a_reading_that_is_void_or_absent_is_not_compared(facts: tuple[Fact, ...]) -> None:
    """What was corrected away, or is not known here, says nothing about rust."""
    newest = analysed("A-2", "F-1", o2=3000, he=0, after=("A-1",))
    earlier = (FIRST,) if facts else ()
    assert oxygen_fall((change("F-1"), *earlier, *facts, newest), "A-2", POLICY) is None
    assert oxygen_fall((change("F-1"),), "A-2", POLICY) is None


BREATHED = fact(Kind.BREATHED, "B-1", "10:00", rests_on=("A-1",))
LABELLED = (change("F-1"), analysed("A-1", "F-1", gauge_centibar=20000), applied("L-1", "A-1"))


def test_a_cylinder_is_used_until_its_pressure_is_read() -> None:
    """Breathing does not change the gas: used, the pressure unknown; then labelled with the new pressure."""
    used = standing_of(*LABELLED, BREATHED, now="11:00")
    assert (used.rung, used.gauge_centibar) == (Rung.USED, None)
    assert used.known is not None
    read = fact(Kind.PRESSURE_READ, "P-1", "11:00", rests_on=("A-1", "B-1"), gauge_centibar=9000)
    after = standing_of(*LABELLED, BREATHED, read, now="12:00")
    assert (after.rung, after.gauge_centibar) == (Rung.LABELLED, 9000)


def test_a_reading_that_does_not_know_of_the_dive_does_not_end_used() -> None:
    """A pressure that was read before, whatever its clock says, is not what is left."""
    read = fact(Kind.PRESSURE_READ, "P-1", "10:30", rests_on=("A-1",), gauge_centibar=20000)
    assert standing_of(*LABELLED, BREATHED, read, now="11:00").rung is Rung.USED


def test_the_evening_switch_lets_an_analysis_reach_the_next_dive_day() -> None:
    """Read at 20:00: by the shipped policy until 04:00, switched on until 14:00, never past two dive days."""
    evening = (change("F-1", at="19:00"), analysed("A-1", "F-1", "20:00"))
    switched = with_policy(evening_analysis=1.0)
    night, morning = (standing_of(*evening, now=None, policy=one).known for one in (POLICY, switched))
    assert night is not None
    assert morning is not None
    assert night.expires is not None
    assert morning.expires is not None
    assert (morning.expires - night.expires).total_seconds() == 10 * 3600  # 14:00 and 04:00
    longest = standing_of(*evening, now=None, policy=with_policy(evening_analysis=1.0, analysis_valid_h=36.0)).known
    assert longest is not None
    assert longest.expires is not None
    assert (longest.expires - night.expires).total_seconds() == 24 * 3600
