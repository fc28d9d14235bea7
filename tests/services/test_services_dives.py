"""Several dives of a trip: tissues, oxygen and gas carried from one to the next, in one file and over files."""

from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

import pytest

from check import close
from gaswright.errors import InputError
from gaswright.services.checking import check_day, other_plans, plan_day
from gaswright.services.day import Day, load_day, team_dive

DEMO = files("gaswright").joinpath("data", "demo", "quarry-day.toml").read_text(encoding="utf-8")
AFTERNOON = """
[[dive]]
id = "pm"
start = {start}
after = "am"

[[level]]
dive = "pm"
depth = 30
minutes = 15

[surface]
"""


def written(folder: Path, text: str, name: str = "quarry.toml") -> Path:
    """A trip file with this text."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def two_dives(folder: Path, start: str = "2027-05-15T14:00:00", more: str = "") -> Path:
    """The demo day with a second dive."""
    return written(folder, DEMO.replace("[surface]\n", AFTERNOON.format(start=start), 1) + more)


def start_bar(day: Day, cylinder: str) -> float:
    """The pressure a cylinder is planned with."""
    assert day.dive is not None
    (found,) = (c.gauge_bar for c in day.dive.cylinders if c.id == cylinder)
    assert found is not None
    return found


def test_the_first_dive_is_answered_and_the_other_by_its_id(tmp_path: Path) -> None:
    """Without a word the first; the second knows its surface interval: start less the first's end."""
    path = two_dives(tmp_path)
    first, second = load_day(path), load_day(path, dive="pm")
    assert first.row is not None
    assert first.row.id == "am"
    assert first.dive is not None
    assert first.dive.before is None
    printed = plan_day(first).printed
    assert printed is not None
    assert second.dive is not None
    assert second.dive.before is not None
    close(second.dive.before.interval_min, 240.0 - printed.runtime_min, within=1e-9)
    assert set(other_plans(first)) == {"pm"}


def test_an_unknown_dive_is_refused_with_those_that_exist(tmp_path: Path) -> None:
    """A wrong id names the dives of the file."""
    with pytest.raises(InputError, match="known are am, pm"):
        load_day(two_dives(tmp_path), dive="noon")


def test_tissues_and_oxygen_come_along(tmp_path: Path) -> None:
    """The afternoon alone is shorter than after the morning, and its day counts the morning's oxygen."""
    path = two_dives(tmp_path)
    after = plan_day(load_day(path, dive="pm")).planned
    morning = plan_day(load_day(path)).planned
    alone = written(tmp_path, DEMO.replace("depth = 54\nminutes = 20", "depth = 30\nminutes = 15"), "alone.toml")
    fresh = plan_day(load_day(alone)).planned
    assert after.schedule is not None
    assert fresh.schedule is not None
    assert after.schedule.tts_min >= fresh.schedule.tts_min
    assert after.schedule.tissues["ines"].n2_bar[12] > fresh.schedule.tissues["ines"].n2_bar[12]
    close(after.oxygen["ines"].day_otu, after.oxygen["ines"].otu + morning.oxygen["ines"].otu, within=1e-9)


def test_cylinders_hold_what_the_dive_before_leaves(tmp_path: Path) -> None:
    """Nobody filled or read them since: the second dive starts with the end pressures of the first."""
    path = two_dives(tmp_path)
    morning, afternoon = plan_day(load_day(path)).planned, load_day(path, dive="pm")
    for cylinder in ("ines-mains", "ines-50", "noor-oxygen"):
        close(start_bar(afternoon, cylinder), morning.supply[cylinder].end_bar, within=1e-9)


def test_a_pressure_read_between_the_dives_counts(tmp_path: Path) -> None:
    """What somebody read after the first dive stands, for that cylinder alone; the first dive is not changed by it."""
    read = '\n[[pressure]]\ncylinder = "ines-mains"\nat = 2027-05-15T12:00:00\nby = "ines"\nbar = 99\n'
    path = two_dives(tmp_path, more=read)
    afternoon = load_day(path, dive="pm")
    close(start_bar(afternoon, "ines-mains"), 99.0, within=1e-9)
    assert start_bar(afternoon, "tomas-50") < start_bar(load_day(path), "tomas-50")
    plain = load_day(two_dives(tmp_path))
    first = load_day(two_dives(tmp_path, more=read))
    close(start_bar(first, "ines-mains"), start_bar(plain, "ines-mains"), within=1e-9)


def test_a_dive_that_starts_before_the_other_ends_is_refused(tmp_path: Path) -> None:
    """Overlapping dives have no surface interval."""
    with pytest.raises(InputError, match=r"starts \d+ min before dive am ends"):
        load_day(two_dives(tmp_path, start="2027-05-15T10:30:00"), dive="pm")


def test_a_dive_after_one_without_a_schedule_is_refused(tmp_path: Path) -> None:
    """Where the first dive cannot be made nothing is built on it."""
    text = two_dives(tmp_path).read_text(encoding="utf-8")
    text = text.replace("depth = 54\nminutes = 20", "depth = 54\nminutes = 1")
    with pytest.raises(InputError, match=r"dive am\).*no schedule"):
        load_day(written(tmp_path, text, "short.toml"), dive="pm")


def test_the_dive_before_may_be_in_another_file(tmp_path: Path) -> None:
    """The next day's file names the day before: its last dive, through which the morning comes along too."""
    two_dives(tmp_path)
    head = DEMO.partition("[[dive]]")[0].replace("2027-05-15", "2027-05-16")
    tail = '[[dive]]\nid = "sunday"\nstart = 2027-05-16T10:00:00\nafter = "quarry.toml"\n'
    tail += "\n[[level]]\ndepth = 40\nminutes = 20\n"
    sunday = load_day(written(tmp_path, head + tail, "sunday.toml"))
    assert sunday.dive is not None
    assert sunday.dive.before is not None
    assert [dose.days_ago for dose in sunday.dive.before.doses["ines"]] == [1, 1]
    assert plan_day(sunday).planned.schedule is not None
    assert start_bar(sunday, "ines-mains") > 200.0  # its own readings: what a cylinder holds is not carried over files


@pytest.mark.parametrize(("after", "says"), [
    ("friday.toml", "friday.toml"), ("../quarry.toml", "without a folder"), ("self.toml", "comes after itself"),
])
def test_a_file_that_cannot_be_built_on_is_refused(tmp_path: Path, after: str, says: str) -> None:
    """A file that is missing, elsewhere, or comes back to this one."""
    text = DEMO.replace('id = "am"\nstart', f'id = "am"\nafter = "{after}"\nstart', 1)
    with pytest.raises(InputError, match=says):
        load_day(written(tmp_path, text, "self.toml"))


def test_check_judges_the_next_dive_of_the_clock(tmp_path: Path) -> None:
    """In the morning the morning's dive, after it the afternoon's, in the evening the last."""
    path = two_dives(tmp_path)
    for hour, dive in ((7, "am"), (9, "pm"), (18, "pm")):
        now = datetime(2027, 5, 15, hour, tzinfo=UTC)
        day = load_day(path, now=now)
        assert day.row is not None
        assert day.row.id == dive
        assert check_day(day, now).inputs.start == day.row.start


def test_own_cases_of_the_file_are_planned_for_every_dive(tmp_path: Path) -> None:
    """A [[case]] stands beside the usual ones."""
    path = two_dives(tmp_path, more='\n[[case]]\nname = "very late"\ndelay_min = 10\n')
    for dive in ("am", "pm"):
        assert "very late" in [case.name for case in plan_day(load_day(path, dive=dive)).cases]


def test_two_readings_that_agree_plan_the_switch_of_the_label(tmp_path: Path) -> None:
    """50.8 beside 51.2: the label says 18 m, the team switches at 18 m, and the plan is not outdated for it."""
    first = DEMO.replace("o2 = 49.6", "o2 = 50.8", 1)
    at = first.index("o2 = 50.8")
    begin, end = first.rfind("[[analysis]]", 0, at), first.find("[[", at)
    again = first[begin:end].replace("50.8", "51.2").rstrip() + "\nbeside = true\n\n"
    path = written(tmp_path, first[:end] + again + first[end:])
    now = datetime(2027, 5, 15, 7, tzinfo=UTC)
    checked = check_day(load_day(path, now=now), now)
    assert checked.plan is not None
    known = next(s for s in checked.day.standings.values() if s.known and s.known.rich != s.known.lean)
    assert known.known is not None
    assert (known.known.rich.mixture.o2_e4, known.known.lean.mixture.o2_e4) == (5120, 5080)
    assert "plan.outdated" not in {finding.code for finding in checked.clearance.findings}
    assert checked.plan.team_gases[0].depth_m == 18.0


def test_where_only_standings_are_given_one_of_several_dives_must_be_named(tmp_path: Path) -> None:
    """A book knows standings and no moment: it is told which dive is meant, and never guesses the first."""
    day = load_day(two_dives(tmp_path))
    with pytest.raises(InputError, match=r"several dives are planned \(am, pm\)"):
        team_dive(day.trip, day.standings)
    named = team_dive(day.trip, day.standings, "pm")
    assert named is not None
    assert named.before is not None
