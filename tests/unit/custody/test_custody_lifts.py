"""A lift ends the analyses of the filling it concerns, and no others."""

from custody_facts import analysed, change, fact, standing_of
from gaswright.custody.fact import Kind


def test_lift_of_an_older_filling_leaves_a_later_one_known() -> None:
    """A lift that names the older filling does not end an analysis of a later one, though that names older analyses."""
    older = (change("F-1"), analysed("A-1", "F-1"), fact(Kind.LIFTED, "U-1", "08:30", after=("F-1",)))
    later = (change("F-2", at="08:00", after=("F-1",)), analysed("A-2", "F-2", "08:10", after=("A-1",)))
    assert standing_of(*older, *later).known is not None
