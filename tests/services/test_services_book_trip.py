"""A day as a trip file into the book and back, its plan and clearance: nothing is lost, nothing is made better."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from book_hands import NOW, TRIP, act, at_hand, cylinder, new_book, row, url
from gaswright.book.draft import Draft
from gaswright.custody.fact import Fact, Kind
from gaswright.errors import InputError, Refused
from gaswright.exchange.toml_file import toml_of_text
from gaswright.exchange.trip_facts import facts_of
from gaswright.exchange.trip_reader import trip_of_bytes
from gaswright.exchange.trip_writer import header_of, toml_text
from gaswright.services.book_clearance import clear_team, log_dive, withdraw_diver
from gaswright.services.book_day import today
from gaswright.services.book_gas import Fill, Typed, analyse, fill, label
from gaswright.services.book_handling import correct, lift, stage
from gaswright.services.book_people import init_book
from gaswright.services.book_trip import day_text, take_trip, write_day

DAY = datetime(2027, 5, 15, tzinfo=UTC).date()
MORNING = datetime(2027, 5, 15, 6, 30, tzinfo=UTC)  # 08:30 in Vienna, when the last label is on
ROWLESS = TRIP.partition("# the evening before: fills")[0] + "[[dive]]" + TRIP.partition("[[dive]]")[2]


def taken(folder: Path, text: str = TRIP, name: str = "boat") -> None:
    """A new book that took a trip file at half past eight."""
    init_book(url(folder, name), act(at=MORNING), name="Ines", zone="Europe/Vienna", now=MORNING,
              origins=folder / "own")
    with at_hand(folder, name, now=MORNING) as book:
        take_trip(book, act(at=MORNING), text.encode(), "quarry-day.toml")


def told(text: str) -> list[Fact]:
    """What a trip file tells, ids and gaps in them aside: each fact with what it names told by place."""
    facts = facts_of(trip_of_bytes(text.encode(), "x"))
    streams: dict[str, int] = {}
    places: dict[str, str] = {}
    for fact in facts:
        streams[f"{fact.stream} {fact.kind}"] = number = streams.get(f"{fact.stream} {fact.kind}", 0) + 1
        places[fact.id] = f"{fact.stream} {fact.kind} {number}"
    bare = [replace(fact, id=places[fact.id], after=tuple(places[one] for one in fact.after),
                    rests_on=tuple(places[one] for one in fact.rests_on)) for fact in facts]
    return sorted(bare, key=lambda fact: fact.id)


def test_a_day_comes_back_as_it_went_in(tmp_path: Path) -> None:
    """Every fact of the demo day is told by the exported file as by the first one: readings, times, people, plan."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        text = day_text(book, DAY)
    assert told(text) == told(TRIP)
    first, back = (trip_of_bytes(one.encode(), "x") for one in (TRIP, text))
    for field in ("name", "day", "zone", "units", "place", "settings", "policy", "divers", "dives", "surface",
                  "emergency"):
        assert getattr(back, field) == getattr(first, field), field
    assert [replace(one, line=0) for one in back.cylinders] == [replace(one, line=0) for one in first.cylinders]


def test_a_day_goes_through_two_books(tmp_path: Path) -> None:
    """Out of one book into another and out again: the same text."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        text = day_text(book, DAY)
    taken(tmp_path, text, "other")
    with at_hand(tmp_path, "other", now=MORNING) as book:
        assert day_text(book, DAY) == text


def test_no_name_stands_in_the_chain(tmp_path: Path) -> None:
    """The facts hold ids and hashes: neither a diver's name nor a line of the card."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        written = " ".join(str(fact.data) for fact in book.book.facts())
        for word in ("Noor", "Tomas", "north ramp", "Hollow Mill"):
            assert word not in written
        assert {person.name for person in book.book.people.all()} == {"Ines", "Tomas", "Noor"}


def test_the_same_file_twice_is_recorded_once(tmp_path: Path) -> None:
    """Under its key the first ids come again; under another key the book's own history is not doubled."""
    new_book(tmp_path, now=MORNING)
    with at_hand(tmp_path, now=MORNING) as book:
        first = take_trip(book, act(at=MORNING, key="file"), TRIP.encode(), "x.toml")
        assert take_trip(book, act(at=MORNING, key="file"), TRIP.encode(), "x.toml").ids == first.ids
        with pytest.raises(Refused, match="history of"):
            take_trip(book, act(at=MORNING), TRIP.encode(), "x.toml")


@pytest.mark.parametrize(("old", "new", "why"), [
    ('serial = "HM-11-1187"', 'serial = "HM-11-1188"', "serial"),
    ('name = "Ines"', 'name = "Inez"', "Ines in the book"),
])
def test_a_file_that_says_otherwise_is_refused(tmp_path: Path, old: str, new: str, why: str) -> None:
    """A serial or a name that the book knows otherwise is settled by a person, not by a file."""
    taken(tmp_path, ROWLESS)
    with at_hand(tmp_path, now=MORNING) as book:
        count = sum(1 for _ in book.book.facts())
        with pytest.raises(Refused, match=why):
            take_trip(book, act(at=MORNING), ROWLESS.replace(old, new).encode(), "x.toml")
        assert sum(1 for _ in book.book.facts()) == count


def test_a_witness_whom_nobody_knows_is_refused(tmp_path: Path) -> None:
    """The chain holds person ids, no free text."""
    new_book(tmp_path, now=MORNING)
    with at_hand(tmp_path, now=MORNING) as book, pytest.raises(InputError, match="a mate"):
        take_trip(book, act(at=MORNING), TRIP.replace('witness = "tomas"', 'witness = "a mate"').encode(), "x.toml")


def test_go_without_a_clearance_is_labelled_and_with_one_is_cleared(tmp_path: Path) -> None:
    """The gates open; the word cleared needs the team's own act, and ends when a diver withdraws."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        shown = today(book)
        assert shown.checked.clearance.go
        assert {one.standing for one in shown.rows} == {"labelled"}
        done = clear_team(book, act(at=MORNING))
        assert len(done.ids) == 3
        assert {one.standing for one in today(book).rows} == {"cleared"}
        withdraw_diver(book, act(at=MORNING), "noor")
        found = {one.cylinder: one.standing for one in today(book).rows}
        assert found["noor-50"] == "labelled"
        assert found["ines-50"] == "cleared"
        clear_team(book, act(at=MORNING))
        assert {one.standing for one in today(book).rows} == {"cleared"}


def test_a_spare_that_the_dive_does_not_use_is_not_cleared(tmp_path: Path) -> None:
    """The team's clearance does not rest on it, so it stays labelled while the team goes."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        cylinder(book, "spare", "HM 0009")
        analyse(book, act(at=MORNING), "spare", Typed(4960, 0, "49.6", "0", gauge_bar=190.0))
        label(book, act(at=MORNING), "spare", "0009")
        clear_team(book, act(at=MORNING))
        found = {one.cylinder: one.standing for one in today(book).rows}
        assert found["spare"] == "labelled"
        assert found["ines-50"] == "cleared"


def test_a_new_analysis_ends_the_clearance_it_did_not_rest_on(tmp_path: Path) -> None:
    """Nothing is carried over: the diver's cylinder is analysed only, and the others are no longer cleared with it."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        clear_team(book, act(at=MORNING))
        analyse(book, act(at=MORNING), "ines-50", Typed(4970, 0, "49.7", "0", gauge_bar=196.0))
        found = {one.cylinder: one.standing for one in today(book).rows}
        assert found["ines-50"] == "analysed"
        assert found["ines-oxygen"] == "labelled"
        assert found["noor-50"] == "cleared"


def test_a_team_that_may_not_go_is_not_cleared(tmp_path: Path) -> None:
    """The refusal says what is in the way; nothing is recorded."""
    taken(tmp_path, ROWLESS)
    with at_hand(tmp_path, now=MORNING) as book:
        with pytest.raises(Refused, match="may not go"):
            clear_team(book, act(at=MORNING))
        assert not book.book.streams("clearance/")


def test_a_dived_cylinder_is_used_until_its_pressure_is_read(tmp_path: Path) -> None:
    """After the dive the plan is done; a cylinder without a reading is used, one with it labelled with what is left."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING, minutes=200) as book:
        after = act(at=MORNING + timedelta(minutes=200))
        log_dive(book, after, "am", {"ines-mains": 9000, "ines-50": None})
        shown = today(book)
        found = {one.cylinder: (one.standing, one.pressure_text) for one in shown.rows}
        assert found["ines-mains"] == ("labelled", "90 bar")
        assert found["ines-50"] == ("used", "-")
        assert not shown.checked.clearance.go
        assert shown.plan is None
        assert "book.no_plan" in {one.code for one in shown.checked.clearance.findings}


def test_the_second_dive_of_the_day_builds_on_the_first(tmp_path: Path) -> None:
    """Once the morning is logged the afternoon is the dive of the board, and its divers bring what they had left."""
    dive = '[[dive]]\nid = "pm"\nstart = 2027-05-15T17:00:00\nafter = "am"'
    level = '[[level]]\ndive = "pm"\ndepth = 21\nminutes = 15'
    taken(tmp_path, f"{TRIP}\n{dive}\n{level}\n")
    with at_hand(tmp_path, now=MORNING, minutes=200) as book:
        log_dive(book, act(at=MORNING + timedelta(minutes=200)), "am", {"ines-mains": 12000, "tomas-mains": 12000,
                                                                        "noor-mains": 12000})
        planned = today(book).checked.day.dive
        assert planned is not None
        assert [one.depth_m for one in planned.levels] == [21.0]
        assert planned.before is not None
        assert {one.gauge_bar for one in planned.cylinders if one.id == "ines-mains"} == {120.0}


def test_two_plans_of_one_day_are_no_plan(tmp_path: Path) -> None:
    """A file that replaces the plan is followed; a plan that does not know of the other leaves nobody to go."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        take_trip(book, act(at=MORNING), ROWLESS.replace("depth = 54", "depth = 48").encode(), "x.toml")
        shown = today(book)
        assert shown.checked.day.dive is not None
        assert [level.depth_m for level in shown.checked.day.dive.levels] == [48.0]
        first = book.book.stream("plan/2027-05-15")[0]
        book.book.append([_again(first)], key="elsewhere", request="typed", now=MORNING)
        shown = today(book)
        assert not shown.checked.clearance.go
        assert [one.text for one in shown.checked.clearance.findings if one.code == "book.no_plan"]


def _again(fact: Fact) -> Draft:
    return Draft(Kind.PLAN_MADE, fact.stream, MORNING, "ines", data=fact.data)


def test_what_a_trip_file_cannot_tell_is_refused(tmp_path: Path) -> None:
    """A top-up and a correction have no row: the export names the cylinder and the way that loses nothing."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        wrong = analyse(book, act(at=MORNING), "ines-50", Typed(3200, 0, "32", "0")).ids[0]
        correct(book, act(at=MORNING), wrong, "another cylinder")
        with pytest.raises(Refused, match=r"ines-50.*bundle"):
            day_text(book, DAY)


def test_a_top_up_has_no_row(tmp_path: Path) -> None:
    """It is refused rather than told as an ordinary fill."""
    taken(tmp_path)
    with at_hand(tmp_path, now=MORNING) as book:
        fill(book, act(at=MORNING), "noor-50", Fill(199.0, top_up=True, air="oxygen_compatible"))
        with pytest.raises(Refused, match=r"cylinder\.topped_up"):
            day_text(book, DAY)


def test_what_happened_at_hand_is_told_too(tmp_path: Path) -> None:
    """A plan without rows, filled, analysed and staged by command: the file reads to the same standings."""
    taken(tmp_path, ROWLESS)
    with at_hand(tmp_path, now=MORNING) as book:
        fill(book, act(at=MORNING - timedelta(minutes=60)), "ines-50", Fill(200.0))
        analyse(book, act(at=MORNING), "ines-50", Typed(4960, 0, "49,6", "0", gauge_bar=196.0, witness="tomas"))
        analyse(book, act(at=MORNING + timedelta(minutes=1)), "ines-50", Typed(4980, 0, "49.8", "0", beside=True))
        stage(book, act(at=MORNING + timedelta(minutes=2)), "ines-50", depth_m=21.0, gauge_bar=None, witness="noor")
        target = tmp_path / "day.toml"
        write_day(book, DAY, target)
        with pytest.raises(InputError, match="nothing was written over"):
            write_day(book, DAY, target)
        text = target.read_text(encoding="utf-8")
        assert "staged_by" in text
        lift(book, act(at=MORNING + timedelta(minutes=3)), "ines-50", None)
        with pytest.raises(Refused, match=r"cylinder\.lifted"):
            day_text(book, DAY)


def test_a_day_without_a_plan_has_no_file(tmp_path: Path) -> None:
    """Place and people of a day come from its plan; nothing is invented."""
    new_book(tmp_path)
    with at_hand(tmp_path) as book, pytest.raises(InputError, match="plan"):
        day_text(book, DAY)


def test_a_tighter_policy_of_the_plan_holds_on_the_board(tmp_path: Path) -> None:
    """A plan that lets an analysis vouch for one hour makes the board ask for new ones."""
    taken(tmp_path, TRIP.replace("gf_low = 35", "analysis_valid_h = 1\ngf_low = 35"))
    with at_hand(tmp_path, now=MORNING, minutes=30) as book:
        assert row(today(book), "ines-mains") == "unknown"
        assert NOW < MORNING


@pytest.mark.parametrize("value", ['a "quoted" word', "back\\slash", "tab\there", "line\nbreak", "Grüße ∆", ""])
def test_texts_survive_the_writer(value: str) -> None:
    """Whatever a text holds, TOML reads it back."""
    rows: list[object] = [{"list": [value], "n": 7, "b": True}]
    data: dict[str, object] = {"top": value, "table": {"odd key": value}, "rows": rows}
    assert toml_of_text(toml_text(data), "x") == data


def test_the_header_reads_back_as_data() -> None:
    """Every table and key of the demo trip but its rows, names replaced by ids."""
    header = header_of(TRIP.encode(), "x")
    assert toml_of_text(toml_text(header), "x") == header
    assert [one["name"] for one in header["diver"]] == ["ines", "tomas", "noor"]  # type: ignore[attr-defined]
