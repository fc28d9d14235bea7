"""The board's words: standing, hold, and never a gas that is unknown."""

import re
from datetime import datetime
from importlib.resources import files

import pytest

from gaswright.exchange.trip_reader import trip_of_bytes
from gaswright.services.board import BoardRow, board_rows
from gaswright.services.checking import Checked, check_day, local_moment
from gaswright.services.day import day_of

TEXT = files("gaswright").joinpath("data/demo/quarry-day.toml").read_text(encoding="utf-8")


def checked(text: str, now_text: str = "2027-05-15T09:00:00") -> Checked:
    """The demo day, changed, at a moment."""
    trip = trip_of_bytes(text.encode(), "trip.toml")
    now = local_moment(datetime.fromisoformat(now_text), trip.zone)
    return check_day(day_of(trip, now), now)


def row(of: Checked, cylinder: str) -> BoardRow:
    """One cylinder of the board."""
    return next(row for row in board_rows(of) if row.cylinder == cylinder)


def without(table: str, cylinder: str) -> str:
    """The demo trip without one row of a table."""
    changed = re.sub(rf'\[\[{table}\]\]\ncylinder = "{cylinder}"\n(?:[^\[\n][^\n]*\n)*', "", TEXT)
    assert changed != TEXT
    return changed


def test_a_filled_cylinder_that_waits_for_its_analysis_is_filled_and_unknown() -> None:
    """Filled is the word, and no gas, MOD or number is shown."""
    text = re.sub(r'\[\[label\]\]\ncylinder = "ines-50"\n(?:[^\[\n][^\n]*\n)*', "", without("analysis", "ines-50"))
    found = row(checked(text), "ines-50")
    assert found.standing == "filled"
    assert (found.o2, found.he, found.mod_m, found.mod_ft) == (None, None, None, None)
    assert found.gas_text == found.mod_text == "?"
    assert found.why


def test_one_divers_fault_does_not_hold_another_diver() -> None:
    """Noor's missing label leaves her cylinders uncleared; Ines and Tomas stay cleared."""
    found = {row.cylinder: row.standing for row in board_rows(checked(without("label", "noor-50")))}
    assert found["noor-50"] == "analysed"
    assert found["noor-mains"] == "labelled"
    assert found["ines-mains"] == found["tomas-oxygen"] == "cleared"


TOMAS_50 = 'target = "50"\noxygen_clean = true\ntested_until = 2028-08-01'


@pytest.mark.parametrize(("old", "new", "hold"), [
    ("o2 = 50.2", "o2 = 53.5", None),
    (TOMAS_50, TOMAS_50.replace("2028", "2027"), None),
    (TOMAS_50, TOMAS_50.replace("2028-08", "2027-01"), "out of test"),
    (TOMAS_50, TOMAS_50.replace("true", "false"), "refuse"),
    (TOMAS_50, TOMAS_50.replace('"50"', '"50"\nswitch_depth = 24'), "re-plan"),
])  # fmt: skip
def test_a_hold_says_what_blocks_the_cylinder(old: str, new: str, hold: str | None) -> None:
    """Out of test, refuse, re-plan: the contract's words; a richer gas that only pulls the switch holds nothing."""
    text = TEXT.replace(old, new, 1)
    assert text != TEXT
    assert row(checked(text), "tomas-50").hold == hold


def test_a_rich_reading_pulls_the_switch_of_all_and_asks() -> None:
    """53.5 % allows 18 m: the team switches there, and somebody must answer for it."""
    found = checked(TEXT.replace("o2 = 50.2", "o2 = 53.5"))
    ask = next(f for f in found.clearance.findings if f.code == "team.pulled_shallower")
    assert ask.severity == "ask"
    assert ask.subject.cylinder == "tomas-50"
    assert not found.clearance.go
    answer = """
[[answer]]
code = "team.pulled_shallower"
subject = "tomas-50"
by = "ines"
at = 2027-05-15T08:40:00
text = "we take the minutes"
"""
    assert checked(TEXT.replace("o2 = 50.2", "o2 = 53.5") + answer).clearance.go
