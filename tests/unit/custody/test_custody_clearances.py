"""A clearance counts only for exactly what it was given on."""

from datetime import timedelta

import pytest

from custody_facts import POLICY, at_time, corrected, fact
from gaswright.custody.clearances import cleared_divers
from gaswright.custody.fact import Fact, Kind

STREAM = "clearance/d1"
NEEDED = {"d1": frozenset({"P-1", "A-1", "L-1"})}
CLEARED = fact(Kind.TEAM_CLEARED, "C-1", "09:00", stream=STREAM, rests_on=("A-1", "L-1", "P-1"))
WITHDRAWN = fact(Kind.CLEARANCE_WITHDRAWN, "W-1", "09:10", stream=STREAM, after=("C-1",))
AGAIN = fact(Kind.TEAM_CLEARED, "C-2", "09:20", stream=STREAM, rests_on=("A-1", "L-1", "P-1"), after=("C-1", "W-1"))


def cleared(*facts: Fact, now: str = "10:00") -> bool:
    """Whether d1 is cleared."""
    return "d1" in cleared_divers(facts, NEEDED, POLICY, at_time(now))


@pytest.mark.parametrize(("facts", "counts"), [
    ((CLEARED,), True),
    ((), False),
    ((CLEARED, WITHDRAWN), False),
    ((CLEARED, WITHDRAWN, AGAIN), True),
    ((CLEARED, fact(Kind.CLEARANCE_WITHDRAWN, "W-1", "09:10", stream=STREAM)), False),
    ((CLEARED, corrected("V-1", "C-1", stream=STREAM)), False),
    ((CLEARED, WITHDRAWN, corrected("V-1", "W-1", stream=STREAM)), False),
    ((fact(Kind.TEAM_CLEARED, "C-1", "09:00", stream=STREAM, rests_on=("A-1", "P-1")),), False),
    ((fact(Kind.TEAM_CLEARED, "C-1", "09:00", stream=STREAM, rests_on=("A-1", "L-1", "P-1", "X-1")),), False),
    ((fact(Kind.TEAM_CLEARED, "C-1", "09:00", stream="clearance/d2", rests_on=("A-1", "L-1", "P-1")),), False),
], ids=["cleared", "nobody", "withdrawn", "cleared again", "withdrawal that names nothing", "corrected",
        "withdrawal corrected", "too little", "too much", "another diver"])
def test_what_counts(facts: tuple[Fact, ...], counts: bool) -> None:  # noqa: FBT001  a case of the table
    """Exactly the plan, analyses and labels in force, neither withdrawn nor corrected, in any order of arrival."""
    assert cleared(*facts) is counts
    assert cleared(*facts[::-1]) is counts


def test_a_clearance_of_the_future_does_not_count() -> None:
    """More than five minutes ahead of now it does not vouch."""
    assert cleared(CLEARED, now="08:55")
    assert not cleared(CLEARED, now="08:54")


def test_a_diver_with_something_unknown_is_not_cleared() -> None:
    """Where nothing is in force there is nothing to rest on."""
    empty = fact(Kind.TEAM_CLEARED, "C-1", "09:00", stream=STREAM)
    assert not cleared_divers((empty,), {"d1": frozenset()}, POLICY, at_time("10:00") + timedelta(0))
