"""Acts on a book: one command in, facts and findings out, and a gas that is known only as the rules say."""

from datetime import timedelta
from pathlib import Path

import pytest

from book_hands import NOW, act, at_hand, cylinder, new_book, row
from check import close
from gaswright.book.errors import KeyReused
from gaswright.book.verify import verify
from gaswright.custody.fact import Kind
from gaswright.custody.registering import register
from gaswright.errors import InputError, Refused
from gaswright.physics.mixture import AIR, Mixture
from gaswright.services.book_cylinders import assign, clean, inspect_cylinder, retire
from gaswright.services.book_day import today
from gaswright.services.book_findings import standing_now
from gaswright.services.book_gas import Fill, Typed, accept, analyse, fill, label, labels_off
from gaswright.services.book_handling import change, correct, freeze, lend, lift, read_pressure, stage
from gaswright.services.book_opening import OpenBook

EAN50 = Typed(4960, 0, "49.6", "0", gauge_bar=196.0)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a book of Ines and Tomas, and the cylinder c1 of Ines."""
    new_book(tmp_path)
    with at_hand(tmp_path) as book:
        cylinder(book)
    return tmp_path


def filled_and_analysed(book: OpenBook) -> None:
    """EAN50, filled and read by Ines."""
    fill(book, act(), "c1", Fill(200.0, Mixture(5000, 0)))
    analyse(book, act(), "c1", EAN50)


def record_clean(book: OpenBook) -> bool:
    """Whether the register says that c1 is oxygen clean."""
    return register(book.book.stream("register/c1"))["c1"].oxygen_clean


def test_the_ladder_of_a_day(folder: Path) -> None:
    """Unknown, filled, analysed, labelled, and unknown again once the labels are off; never cleared without a team."""
    with at_hand(folder, minutes=5) as book:
        seen = [row(book)]
        fill(book, act(), "c1", Fill(200.0, Mixture(5000, 0)))
        seen.append(row(book))
        analyse(book, act(), "c1", EAN50)
        seen.append(row(book))
        label(book, act(), "c1", "1187")
        seen.append(row(book))
        labels_off(book, act(), None)
        seen.append(row(book))
        assert not verify(book.book).problems
    assert seen == ["unknown", "filled", "analysed", "labelled", "unknown"]


def test_filled_again_after_labels_off_waits_for_its_analysis(folder: Path) -> None:
    """The next day's fill is filled, whatever was read before; a fill over an analysis that vouched is unknown."""
    with at_hand(folder, minutes=5) as book:
        filled_and_analysed(book)
        labels_off(book, act(), ("c1",))
        fill(book, act(), "c1", Fill(200.0, Mixture(5000, 0)))
        assert row(book) == "filled"
        analyse(book, act(), "c1", EAN50)
        fill(book, act(), "c1", Fill(205.0, Mixture(5000, 0)))
        assert row(book) == "unknown"


def test_an_analysis_without_a_fill_measures_one_implied_fill(folder: Path) -> None:
    """The gas is known, and a second analysis replaces the first."""
    with at_hand(folder) as book:
        analyse(book, act(), "c1", EAN50)
        done = analyse(book, act(), "c1", Typed(4980, 0, "49.8"))
        known = standing_now(book, "c1").known
        assert known is not None
        assert known.analysis == done.ids[0]
        assert not known.notes
        assert [fact.data["implied"] for fact in book.book.stream("gas/c1") if fact.kind == Kind.FILLED] == [True]


def test_a_second_reading_beside_the_first_counts_with_it(folder: Path) -> None:
    """The leaner is planned on and a note says that there are two."""
    with at_hand(folder) as book:
        analyse(book, act(), "c1", EAN50)
        analyse(book, act(), "c1", Typed(4980, 0, "49.8", "0", beside=True))
        known = standing_now(book, "c1").known
        assert known is not None
        close(known.lean.mixture.o2, 0.496, within=1e-9)
        close(known.rich.mixture.o2, 0.498, within=1e-9)
        assert known.notes == ("gas.two_readings",)


@pytest.mark.parametrize(("target", "known"), [(Mixture(5000, 0), True), (Mixture(1800, 4500), False), (None, False)])
def test_helium_that_nobody_read(folder: Path, target: Mixture | None, known: bool) -> None:  # noqa: FBT001  a case of the table
    """It is none where the target has none; otherwise it was not measured and the gas is unknown."""
    with at_hand(folder) as book:
        fill(book, act(), "c1", Fill(200.0, target))
        analyse(book, act(), "c1", Typed(4960, None, "49.6", he_given=False))
        assert (standing_now(book, "c1").known is not None) is known


def test_a_reading_of_the_whole_and_more_is_refused(folder: Path) -> None:
    """Oxygen and helium above 100 % cannot be: nothing is recorded."""
    with at_hand(folder) as book:
        with pytest.raises(InputError, match="100 %"):
            analyse(book, act(), "c1", Typed(6000, 4100, "60", "41"))
        assert not book.book.stream("gas/c1")


def test_a_fill_that_its_author_did_not_see_leaves_two_histories(folder: Path) -> None:
    """A phone that rendered its door before the top-up records it; the gas is unknown and no analysis settles it."""
    with at_hand(folder) as book:
        first = fill(book, act(), "c1", Fill(200.0)).ids
        fill(book, act(), "c1", Fill(210.0, top_up=True, air="oxygen_compatible"))
        fill(book, act("tomas", heads=first), "c1", Fill(205.0, top_up=True, air="oxygen_compatible"))
        assert standing_now(book, "c1").why == "two_heads"
        with pytest.raises(Refused, match="two histories"):
            analyse(book, act(), "c1", EAN50)
        fill(book, act(), "c1", Fill(200.0))
        analyse(book, act(), "c1", EAN50)
        assert standing_now(book, "c1").known is not None


def test_an_analysis_of_a_door_that_is_too_old_does_not_vouch(folder: Path) -> None:
    """The offline analysis names the fill it saw, so the top-up after it leaves the gas unknown; it is kept."""
    with at_hand(folder) as book:
        seen = fill(book, act(), "c1", Fill(200.0)).ids
        fill(book, act("tomas"), "c1", Fill(210.0, top_up=True))
        done = analyse(book, act(heads=seen), "c1", EAN50)
        assert standing_now(book, "c1").known is None
        assert done.ids[0] in {fact.id for fact in book.book.stream("gas/c1")}


def test_the_breather_accepts_what_another_read(folder: Path) -> None:
    """Until Ines accepts what Tomas read it is an ask; then it is not."""
    with at_hand(folder, minutes=5) as book:
        fill(book, act(), "c1", Fill(200.0, Mixture(5000, 0)))
        done = analyse(book, act("tomas"), "c1", EAN50)
        assert [finding.code for finding in done.findings if finding.blocks] == ["analysis.by_another"]
        accept(book, act("ines"), "c1")
        assert "analysis.by_another" not in {one.code for one in today(book).checked.clearance.findings}


def test_a_label_of_another_cylinder_is_recorded_and_a_stop(folder: Path) -> None:
    """The label says whose metal was read; putting it right mends it."""
    with at_hand(folder, minutes=5) as book:
        filled_and_analysed(book)
        done = label(book, act(), "c1", "9999")
        assert "label.other_cylinder" in {finding.code for finding in done.findings}
        assert row(book) == "analysed"
        assert not label(book, act(), "c1", "hm 1187").findings
        assert row(book) == "labelled"


def test_nothing_is_labelled_or_accepted_while_the_gas_is_unknown(folder: Path) -> None:
    """A label is the record of an analysis: without one there is none."""
    with at_hand(folder) as book:
        with pytest.raises(Refused, match="analyse it first"):
            label(book, act(), "c1", "1187")
        with pytest.raises(Refused, match="analyse it first"):
            accept(book, act(), "c1")


def test_labels_off_is_one_act_with_one_fact_for_each_cylinder(folder: Path) -> None:
    """Both cylinders get a fact of one act; staged and frozen ones keep theirs."""
    with at_hand(folder, minutes=5) as book:
        for name, serial in (("c2", "HM 0002"), ("c3", "HM 0003"), ("c4", "HM 0004")):
            cylinder(book, name, serial)
        for name in ("c1", "c2", "c3", "c4"):
            analyse(book, act(), name, EAN50)
        stage(book, act(), "c3", depth_m=6.0, gauge_bar=180.0, witness="tomas")
        freeze(book, act(), "c4", "smells of oil")
        done = labels_off(book, act(), None)
        facts = [fact for name in ("c1", "c2", "c3", "c4") for fact in book.book.stream(f"gas/{name}")
                 if fact.kind == Kind.LABELS_REMOVED]
        assert {fact.stream for fact in facts} == {"gas/c1", "gas/c2"}
        assert len({fact.act for fact in facts}) == 1
        assert set(done.ids) == {fact.id for fact in facts}
        assert standing_now(book, "c3").staged
        assert standing_now(book, "c4").frozen
        with pytest.raises(InputError, match="nothing was recorded"):
            labels_off(book, act(), None)


def test_lent_is_unknown_until_analysed_anew(folder: Path) -> None:
    """Out of sight is unknown; so is the cylinder that came back."""
    with at_hand(folder) as book:
        filled_and_analysed(book)
        lend(book, act(), "c1", "the boat next door")
        assert standing_now(book, "c1").why == "lent"
        change(book, act(), "c1", Kind.RETURNED, {})
        assert standing_now(book, "c1").why == "lent"
        analyse(book, act(), "c1", EAN50)
        assert standing_now(book, "c1").known is not None


def test_frozen_evidence_is_not_filled(folder: Path) -> None:
    """Nothing is filled or taken off; the reason is a note whose text can be erased."""
    with at_hand(folder) as book:
        filled_and_analysed(book)
        freeze(book, act(), "c1", "smells of oil")
        with pytest.raises(Refused, match="frozen as evidence"):
            fill(book, act(), "c1", Fill(200.0))
        with pytest.raises(Refused, match="frozen as evidence"):
            labels_off(book, act(), ("c1",))
        assert next(one.hold for one in today(book).rows) == "frozen"
        reason = str(book.book.stream("gas/c1")[-1].data["reason_sha256"])
        assert book.book.note(reason) == "smells of oil"
        assert not any("oil" in str(fact.data) for fact in book.book.facts())


def test_a_correction_takes_trust_away_and_never_gives_it(folder: Path) -> None:
    """A voided analysis does not bring back the one before it; one that names the correction counts."""
    with at_hand(folder) as book:
        filled_and_analysed(book)
        wrong = analyse(book, act(), "c1", Typed(3200, 0, "32", "0")).ids[0]
        correct(book, act(), wrong, "read the wrong cylinder")
        assert standing_now(book, "c1").why == "voided"
        analyse(book, act(), "c1", EAN50)
        assert standing_now(book, "c1").known is not None
        with pytest.raises(InputError, match="no fact"):
            correct(book, act(), "NOSUCHIT-1", "nothing")


def test_a_staged_cylinder_keeps_its_analysis_until_it_is_lifted(folder: Path) -> None:
    """On the next dive day it still vouches, with an ask; a lift ends it."""
    with at_hand(folder) as book:
        filled_and_analysed(book)
        label(book, act(), "c1", "1187")
        with pytest.raises(InputError, match="two names"):
            stage(book, act(), "c1", depth_m=6.0, gauge_bar=190.0, witness="ines")
        stage(book, act(), "c1", depth_m=6.0, gauge_bar=190.0, witness="tomas")
    tomorrow = NOW + timedelta(days=1)
    with at_hand(folder, now=tomorrow) as book:
        shown = today(book)
        assert row(shown) == "labelled"
        assert [one.hold for one in shown.rows] == ["staged"]
        lift(book, act(at=tomorrow), "c1", 190.0)
        assert standing_now(book, "c1").why == "lifted"


def test_an_analysis_ends_with_its_dive_day(folder: Path) -> None:
    """What was known today is unknown tomorrow, and the board says from when it was."""
    with at_hand(folder) as book:
        filled_and_analysed(book)
    with at_hand(folder, now=NOW + timedelta(days=1)) as book:
        shown = today(book)
        assert row(shown) == "unknown"
        assert "2027-05-15" in shown.rows[0].why


def test_a_clock_ahead_does_not_vouch(folder: Path) -> None:
    """An analysis that says two hours from now is kept, and is a stop that names the lead."""
    with at_hand(folder) as book:
        fill(book, act(), "c1", Fill(200.0, Mixture(5000, 0)))
        done = analyse(book, act(at=NOW + timedelta(hours=2)), "c1", EAN50)
        assert "gas.in_the_future" in {finding.code for finding in done.findings}
        assert standing_now(book, "c1").known is None


def test_the_board_is_never_earlier_than_the_latest_record(folder: Path) -> None:
    """A clock that was set back by a day does not make an expired analysis vouch again."""
    with at_hand(folder) as book:
        filled_and_analysed(book)
    with at_hand(folder, now=NOW + timedelta(days=2)) as book:
        cylinder(book, "c2", "HM 0002")
    with at_hand(folder, minutes=10) as book:
        assert row(book) == "unknown"
        assert today(book).checked.now == NOW + timedelta(days=2)


@pytest.mark.parametrize(("filling", "clean_after"), [
    (Fill(210.0, top_up=True), False),
    (Fill(210.0, top_up=True, air="ordinary"), False),
    (Fill(210.0, top_up=True, air="oxygen_compatible"), True),
    (Fill(200.0, AIR), False),
    (Fill(200.0, AIR, air="oxygen_compatible"), True),
    (Fill(200.0, Mixture(5000, 0)), True),
    (Fill(200.0, Mixture(5000, 0), air="ordinary"), False),
], ids=["top-up, nobody says", "ordinary", "compatible", "air", "compatible air", "EAN50", "EAN50, ordinary air"])
def test_ordinary_air_ends_oxygen_clean_until_it_is_cleaned(folder: Path, filling: Fill, clean_after: bool) -> None:  # noqa: FBT001  a case of the table
    """The loss stands in the register, in the same act as the fill; a cleaning that knows of it gives it back."""
    with at_hand(folder) as book:
        done = fill(book, act(), "c1", filling)
        assert record_clean(book) is clean_after
        if not clean_after:
            lost = [fact for fact in book.book.stream("register/c1") if fact.kind == Kind.OXYGEN_CLEAN_LOST]
            assert [fact.act for fact in lost] == [fact.act for fact in book.book.stream("gas/c1")]
            assert lost[0].rests_on == done.ids
        clean(book, act(), "c1")
        assert record_clean(book)


def test_a_cylinder_no_longer_clean_is_a_stop_for_rich_gas(folder: Path) -> None:
    """EAN50 in a cylinder topped with ordinary air holds it back."""
    with at_hand(folder, minutes=5) as book:
        fill(book, act(), "c1", Fill(200.0, Mixture(5000, 0)))
        fill(book, act(), "c1", Fill(210.0, top_up=True, air="ordinary"))
        analyse(book, act(), "c1", Typed(4700, 0, "47", "0"))
        shown = today(book)
        assert "cylinder.not_oxygen_clean" in {one.code for one in shown.checked.clearance.findings}
        assert shown.rows[0].hold == "refuse"


def test_oxygen_that_falls_between_analyses_is_noted(folder: Path) -> None:
    """The same fill read 31.8 % on one day and 30.9 % on the next, labels off between: a note."""
    with at_hand(folder) as book:
        fill(book, act(), "c1", Fill(200.0, Mixture(3200, 0)))
        analyse(book, act(), "c1", Typed(3180, 0, "31.8", "0"))
        labels_off(book, act(), ("c1",))
    tomorrow = NOW + timedelta(days=1)
    with at_hand(folder, now=tomorrow) as book:
        done = analyse(book, act(at=tomorrow), "c1", Typed(3090, 0, "30.9", "0"))
        assert "gas.oxygen_falls" in {finding.code for finding in done.findings}
        assert "gas.oxygen_falls" in {one.code for one in today(book).checked.clearance.findings}
        fill(book, act(at=tomorrow), "c1", Fill(200.0, Mixture(3200, 0)))
        again = analyse(book, act(at=tomorrow), "c1", Typed(3090, 0, "30.9", "0"))
        assert "gas.oxygen_falls" not in {finding.code for finding in again.findings}


def test_the_evening_switch_asks_for_id_and_pressure_in_the_morning(folder: Path, tmp_path: Path) -> None:
    """On: last evening's analysis vouches once ID and pressure are read; off: it is too old."""
    policy = tmp_path / "mine.toml"
    policy.write_text("evening_analysis = 1\n", encoding="utf-8")
    evening = NOW - timedelta(hours=9, minutes=30)  # 22:00 in Vienna
    with at_hand(folder, now=NOW - timedelta(days=1)) as book:
        cylinder(book, "c2", "HM 0002")
    with at_hand(folder, "boat", now=evening) as book:
        analyse(book, act(at=evening), "c2", EAN50)
    with at_hand(folder, policy=policy) as book:
        codes = {one.code for one in today(book).checked.clearance.findings if one.subject.cylinder == "c2"}
        assert "gas.read_again" in codes
        assert "gas.expired" not in codes
        read_pressure(book, act(), "c2", 195.0, "0002")
        codes = {one.code for one in today(book).checked.clearance.findings if one.subject.cylinder == "c2"}
        assert "gas.read_again" not in codes
    with at_hand(folder, minutes=5) as book:
        assert standing_now(book, "c2").why == "expired"


def test_register_facts_after_the_first(folder: Path) -> None:
    """Test dates, other divers, and the end of use; a retired cylinder leaves the board and is not filled."""
    with at_hand(folder) as book:
        soon = NOW.date() + timedelta(days=10)
        inspect_cylinder(book, act(), "c1", visual_until=soon)
        assert "cylinder.test_soon" in {one.code for one in today(book).checked.clearance.findings}
        assign(book, act(), "c1", ("tomas",))
        assert today(book).rows[0].divers == ("tomas",)
        retire(book, act(), "c1")
        assert not today(book).rows
        with pytest.raises(Refused, match="taken out of use"):
            fill(book, act(), "c1", Fill(200.0))


def test_a_repeated_key_gives_the_first_ids(folder: Path) -> None:
    """The same request under the same key records once, also after the day went on; another request is refused."""
    with at_hand(folder) as book:
        first = fill(book, act(key="k", request="fill c1"), "c1", Fill(200.0))
        analyse(book, act(), "c1", EAN50)
        count = len(book.book.stream("gas/c1"))
        assert fill(book, act(key="k", request="fill c1"), "c1", Fill(200.0)).ids == first.ids
        with pytest.raises(KeyReused):
            fill(book, act(key="k", request="fill c1 210"), "c1", Fill(210.0))
        assert len(book.book.stream("gas/c1")) == count


def test_unknown_people_and_cylinders_are_refused_with_the_nearest(folder: Path) -> None:
    """The sentence names who or what was probably meant."""
    with at_hand(folder) as book:
        with pytest.raises(InputError, match="nearest is tomas"):
            fill(book, act("toms"), "c1", Fill(200.0))
        with pytest.raises(InputError, match="nearest is c1"):
            fill(book, act(), "c11", Fill(200.0))
        with pytest.raises(InputError, match="meant is tomas"):
            fill(book, act("Tomas"), "c1", Fill(200.0))
        assert not book.book.stream("gas/c1")
