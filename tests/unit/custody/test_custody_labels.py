"""Labels count only while they show the analysis in force on the cylinder they were made for."""

import pytest

from custody_facts import analysed, applied, at_time, change, corrected, fact, standing_of
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.labels import same_serial
from gaswright.custody.standing import Rung

FILL = change("F-1")
ANALYSIS = analysed("A-1", "F-1")
LABEL = applied("L-1", "A-1")


def hangs(*facts: Fact) -> tuple[str | None, bool | None, Rung]:
    """The label, whether it is this cylinder's, and the rung."""
    standing = standing_of(FILL, ANALYSIS, *facts)
    return standing.label, standing.label_serial_matches, standing.rung


def test_label_on_the_analysis_in_force_counts() -> None:
    """A label that shows the analysis in force makes the cylinder labelled."""
    assert hangs(LABEL) == ("L-1", True, Rung.LABELLED)


def test_without_label_it_is_analysed() -> None:
    """A known gas without a label is analysed, and nothing is said about a serial."""
    assert hangs() == (None, None, Rung.ANALYSED)


def test_new_analysis_takes_the_label_off() -> None:
    """A label of an analysis that was replaced does not count."""
    assert hangs(LABEL, analysed("A-2", "F-1", after=("A-1",))) == (None, None, Rung.ANALYSED)


@pytest.mark.parametrize(("read", "matches"), [
    ("4711", True), ("AB 4711", True), ("ab4711", True), (" 47 11 ", True),
    ("4712", False), ("711", False), ("AB", False), ("", False), (None, False),
])
def test_serial_read_from_the_metal(read: str | None, matches: bool) -> None:  # noqa: FBT001  a case of the table
    """The last four or the whole serial match, whatever case and spaces; anything else is another cylinder's."""
    label, same, rung = hangs(applied("L-1", "A-1", read=read))
    assert (label, same) == ("L-1", matches)
    assert rung is (Rung.LABELLED if matches else Rung.ANALYSED)


def test_short_serial_is_read_whole() -> None:
    """A serial of fewer than four characters matches only as a whole."""
    assert same_serial("b7", "B7")
    assert not same_serial("7", "B7")


def test_label_of_a_cylinder_not_in_the_register_matches_nothing() -> None:
    """Without a register entry nobody can say that the serial is right."""
    unreadable = fact(Kind.REGISTERED, "R-9", stream="register/c1")
    assert standing_of(unreadable, FILL, ANALYSIS, LABEL).label_serial_matches is False


def test_one_label_on_another_cylinder_speaks_first() -> None:
    """Of two labels of one analysis the wrong one is reported, until a later label names it."""
    wrong = applied("L-0", "A-1", read="9999")
    assert hangs(wrong, LABEL) == ("L-0", False, Rung.ANALYSED)
    assert hangs(wrong, applied("L-1", "A-1", after=("L-0",))) == ("L-1", True, Rung.LABELLED)


def test_lost_and_voided_labels_do_not_count() -> None:
    """A label lost or corrected away is no label; one put on anew that names the loss is."""
    lost = fact(Kind.LABEL_LOST, "M-1", "08:00", rests_on=("L-1",))
    assert hangs(LABEL, lost)[0] is None
    assert hangs(LABEL, fact(Kind.LABEL_LOST, "M-1", "08:00"))[0] is None
    assert hangs(LABEL, corrected("C-1", "L-1"))[0] is None
    assert hangs(LABEL, corrected("C-1", "L-1"), applied("L-2", "A-1"))[0] is None
    assert hangs(LABEL, lost, applied("L-2", "A-1"))[0] == "L-2"
    assert hangs(LABEL, corrected("C-1", "L-1"), applied("L-2", "A-1", after=("L-1",)))[0] == "L-2"


def test_label_from_the_future_does_not_count() -> None:
    """A label put on later than now, by its author or its machine, does not count."""
    assert hangs(applied("L-1", "A-1", at="09:06"))[0] is None
    assert hangs(applied("L-1", "A-1", at="09:05"))[0] == "L-1"


def test_of_two_readings_the_label_shows_the_one_that_gives_the_mod() -> None:
    """With two agreeing analyses a label of the leaner one alone does not count: its MOD would be too deep."""
    richer = analysed("A-2", "F-1", o2=1860, by="d2")
    assert hangs(richer, LABEL)[0] is None
    assert hangs(richer, applied("L-1", "A-2"))[0] == "L-1"
    wide = analysed("A-2", "F-1", o2=1810, u=(80, 100), by="d2")  # leaner reading, higher upper end
    assert hangs(wide, LABEL)[0] is None
    assert hangs(wide, applied("L-1", "A-2"))[0] is None
    assert hangs(wide, applied("L-1", "A-1", "A-2"))[0] == "L-1"


def test_label_without_an_analysis_does_not_count() -> None:
    """A label that names no analysis, or one that is not in force besides one that is, does not count."""
    assert hangs(applied("L-1"))[0] is None
    assert hangs(applied("L-1", "A-1", "F-1"))[0] is None


def test_latest_pressure_counts_since_the_last_change() -> None:
    """The latest pressure of this filling is shown, the lower of equal times; a corrected one leaves none."""
    def gauge(*facts: Fact) -> int | None:
        return standing_of(FILL, analysed("A-1", "F-1", gauge_centibar=22800), *facts).gauge_centibar

    later = fact(Kind.PRESSURE_READ, "P-1", "08:30", gauge_centibar=21000)
    assert gauge() == 22800
    assert gauge(later) == 21000
    assert gauge(later, fact(Kind.PRESSURE_READ, "P-2", "08:30", gauge_centibar=20900)) == 20900
    assert gauge(later, corrected("C-1", "P-1")) is None
    assert gauge(later, change("F-2", Kind.TOPPED_UP, "08:40", after=("F-1",))) is None
    assert gauge(fact(Kind.PRESSURE_READ, "P-1", recorded=at_time("11:00"), gauge_centibar=23000)) == 22800
