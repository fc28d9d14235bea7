"""Several dives in one file, cases of one's own, and the settings that go with them."""

import pytest

from check import close
from gaswright.physics.place import surface_bar_at
from gaswright.planning.dive import OwnCase
from unit.exchange.trip_texts import BASE, edited, problems_of, the_problem, trip_of

TWO = """\
[[dive]]
id = "am"
start = 2027-05-14T10:00:00
[[dive]]
id = "pm"
start = 2027-05-14T14:00:00
after = "am"
[[level]]
dive = "pm"
depth = 20
minutes = 30
[[level]]
dive = "am"
"""


def two(*changes: tuple[str, str]) -> str:
    """The file with two dives, pieces replaced."""
    text = edited(("[[level]]\n", TWO))
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def test_two_dives_are_read_in_order() -> None:
    """Each with its start and what it comes after."""
    morning, afternoon = trip_of(two()).dives
    assert (morning.id, morning.after, afternoon.after) == ("am", None, "am")
    assert morning.start is not None
    assert afternoon.start is not None
    assert (afternoon.start - morning.start).total_seconds() == 4 * 3600


@pytest.mark.parametrize(("change", "parts"), [
    (('after = "am"\n', ""), ["dive[2].after: is missing", "after which dive pm comes (am)", "a guess"]),
    (("start = 2027-05-14T14:00:00\n", ""), ["dive[2].start: is missing", "say when it starts"]),
    (("start = 2027-05-14T10:00:00\n", ""), ["dive[1].start: is missing"]),
    (('after = "am"', 'after = "an"'), ["dive[2].after", "no other dive an", "nearest is am"]),
    (('after = "am"', 'after = "pm"'), ["dive[2].after", "no other dive pm"]),
])
def test_a_dive_that_cannot_be_put_in_order_is_one_sentence(change: tuple[str, str], parts: list[str]) -> None:
    """What is missing between two dives is said once, with its place."""
    problem = the_problem(two(change))
    assert all(part in problem for part in parts), problem


def test_a_circle_of_dives_is_refused() -> None:
    """Two dives that each come after the other have no first."""
    text = two(('id = "am"\n', 'id = "am"\nafter = "pm"\n'))
    (problem,) = problems_of(text)
    assert "comes after itself" in str(problem)


def test_the_dive_before_may_be_in_another_file() -> None:
    """A name that ends in .toml is a file: whether it is there is seen when the dive is planned."""
    row = '[[dive]]\nid = "am"\nstart = 2027-05-14T10:00:00\nafter = "friday.toml"\n[[level]]\n'
    trip = trip_of(edited(("[[level]]\n", row)))
    assert trip.dives[0].after == "friday.toml"


def test_own_cases_are_read_with_their_units() -> None:
    """Depths in the team's units, minutes as minutes, one cylinder or a list of them."""
    more = """
[[case]]
name = "late"
delay_min = 4
[[case]]
name = "a lot"
deeper = "10 ft"
longer = 7
lost = ["c1", "c2"]
"""
    late, a_lot = trip_of(BASE + more).cases
    assert late == OwnCase("late", delay_min=4.0)
    assert (a_lot.name, a_lot.longer_min, a_lot.lost, a_lot.failures) == ("a lot", 7.0, ("c1", "c2"), 4)
    close(a_lot.deeper_m, 3.048, within=1e-9)


@pytest.mark.parametrize(("rows", "parts"), [
    ('name = "x"\n', ["case[1]", "changes nothing", "delay_min or lost"]),
    ('name = "x"\nlost = "c9"\n', ["case[1].lost", "no cylinder c9", "nearest is"]),
    ('name = "x"\nlonger = 0\n', ["case[1].longer", "1 to 60 min"]),
    ("longer = 5\n", ["case[1].name: is missing"]),
    ('name = "x"\nlonger = 5\n[[case]]\nname = "x"\nlonger = 6\n', ["case[2].name", "x is already taken"]),
])
def test_a_wrong_case_is_one_sentence(rows: str, parts: list[str]) -> None:
    """What a case lacks or names wrongly is said once, with its place."""
    problem = the_problem(f"{BASE}\n[[case]]\n{rows}")
    assert all(part in problem for part in parts), problem


def test_delay_turns_and_the_pass_are_read() -> None:
    """New settings and the altitude of the way home, with what holds where they are absent."""
    plain = trip_of(BASE)
    assert (plain.settings.delay_min, plain.settings.share_min, plain.pass_bar) == (3.0, 5.0, None)
    text = edited(("gf_low = 30", 'gf_low = 30\ndelay_min = 4\nshare_min = 3\ncases = ["delay", "separated"]'),
                  ('water = "fresh"', 'water = "fresh"\npass_m = 1850'))
    trip = trip_of(text)
    assert (trip.settings.delay_min, trip.settings.share_min, trip.settings.cases) == (4.0, 3.0, ("delay", "separated"))
    close(trip.pass_bar or 0.0, surface_bar_at(1850.0), within=1e-12)


def test_every_case_of_planning_can_be_asked_for_in_a_file() -> None:
    """The words of the file are those of planning."""
    from gaswright.exchange.trip_fields import TABLES  # noqa: PLC0415  beside what it is compared with
    from gaswright.planning.cases import CASES  # noqa: PLC0415

    assert TABLES["settings"].fields["cases"].choices == CASES
