"""What the register learns after a cylinder was entered: tests, cleaning, divers, the end of its use."""

from dataclasses import replace
from datetime import date
from itertools import permutations
from typing import Any

import pytest

from custody_facts import corrected, fact, registered
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.register import CylinderRecord
from gaswright.custody.registering import register


def later(kind: Kind, id: str, after: tuple[str, ...] = ("R-1",), **data: Any) -> Fact:  # noqa: A002, ANN401  the field is called id; any value
    """A register fact of c1 after its entry."""
    return fact(kind, id, after=after, stream="register/c1", **data)


def record(*facts: Fact) -> CylinderRecord:
    """The record of c1, the same in every order of arrival."""
    found = [register(list(order))["c1"] for order in permutations((registered(), *facts))]
    assert all(one == found[0] for one in found)
    return found[0]


def test_an_inspection_gives_the_date_that_it_states() -> None:
    """The visual date is new, the hydrostatic one stays."""
    found = record(later(Kind.INSPECTED, "R-2", visual_until="2028-12-01", tested_until=None))
    assert (found.visual_until, found.tested_until) == (date(2028, 12, 1), date(2028, 5, 1))


def test_of_two_inspections_that_do_not_know_each_other_the_earlier_date_counts() -> None:
    """Nobody's clock decides; one that knows the other replaces it."""
    first = later(Kind.INSPECTED, "R-2", tested_until="2033-01-01")
    second = later(Kind.INSPECTED, "R-3", tested_until="2032-01-01")
    assert record(first, second).tested_until == date(2032, 1, 1)
    assert record(first, replace(second, after=("R-1", "R-2"))).tested_until == date(2032, 1, 1)
    assert record(replace(first, after=("R-1", "R-3")), second).tested_until == date(2033, 1, 1)


def test_an_inspection_that_did_not_see_the_entry_does_not_lengthen_it() -> None:
    """The entry's own date stands beside it, and the earlier counts."""
    assert record(later(Kind.INSPECTED, "R-2", after=(), tested_until="2033-01-01")).tested_until == date(2028, 5, 1)


def test_a_corrected_inspection_does_not_lengthen() -> None:
    """What it superseded counts beside it."""
    voided = corrected("R-3", "R-2", stream="register/c1")
    assert record(later(Kind.INSPECTED, "R-2", tested_until="2033-01-01"), voided).tested_until == date(2028, 5, 1)


LOST = later(Kind.OXYGEN_CLEAN_LOST, "R-2", air="ordinary")
CLEANED = later(Kind.OXYGEN_CLEANED, "R-3", after=("R-1", "R-2"))


@pytest.mark.parametrize(("facts", "clean"), [
    ((LOST,), False),
    ((LOST, CLEANED), True),
    ((LOST, later(Kind.OXYGEN_CLEANED, "R-3")), False),
    ((LOST, corrected("R-4", "R-2", stream="register/c1")), False),
    ((LOST, CLEANED, corrected("R-4", "R-3", stream="register/c1")), False),
    ((LOST, CLEANED, later(Kind.OXYGEN_CLEAN_LOST, "R-4", after=("R-1", "R-2", "R-3"))), False),
    ((LOST, CLEANED, later(Kind.OXYGEN_CLEAN_LOST, "R-4", after=("R-1",))), False),
    ((later(Kind.OXYGEN_CLEAN_LOST, "R-2", after=()),), False),
], ids=["lost", "cleaned", "cleaning unaware", "loss voided", "cleaning voided", "lost again", "lost elsewhere",
        "lost unaware"])
def test_oxygen_clean_only_by_a_cleaning_that_knows_of_every_loss(facts: tuple[Fact, ...], clean: bool) -> None:  # noqa: FBT001  a case of the table
    """A loss that the cleaning did not see, or a correction of either, leaves it unclean."""
    assert record(*facts).oxygen_clean is clean


def test_divers_are_those_of_the_latest_assignment() -> None:
    """It replaces the entry's; two that do not know each other name everybody."""
    first = later(Kind.ASSIGNED, "R-2", divers=["d2"])
    assert record(first).divers == ("d2",)
    assert set(record(first, later(Kind.ASSIGNED, "R-3", divers=["d3"])).divers) == {"d2", "d3"}


def test_a_corrected_assignment_takes_nobody_away() -> None:
    """Those of before and those of the corrected one all have to accept the gas."""
    voided = corrected("R-3", "R-2", stream="register/c1")
    assert set(record(later(Kind.ASSIGNED, "R-2", divers=["d2"]), voided).divers) == {"d1", "d2"}


def test_retired_until_it_is_entered_anew() -> None:
    """Neither a correction nor an entry that does not know of it brings a cylinder back."""
    gone = later(Kind.RETIRED, "R-2")
    assert record(gone).retired
    assert record(gone, corrected("R-3", "R-2", stream="register/c1")).retired
    assert record(gone, registered("R-3", after=("R-1",))).retired
    assert not record(gone, registered("R-3", after=("R-1", "R-2"))).retired


@pytest.mark.parametrize("broken", [
    later(Kind.INSPECTED, "R-2", tested_until="soon"), later(Kind.ASSIGNED, "R-2", divers="d2"),
    later(Kind.ASSIGNED, "R-2"),
], ids=["date", "divers", "no divers"])
def test_what_cannot_be_read_leaves_the_cylinder_out_of_the_register(broken: Fact) -> None:
    """Nothing is guessed: an unregistered cylinder is a stop."""
    assert register([registered(), broken]) == {}
