"""Until when an analysis vouches: clocks only take trust away."""

from datetime import UTC, datetime

import pytest

from custody_facts import POLICY, analysed, at_time, change, corrected, fact, standing_of, with_policy
from gaswright.custody.ages import clock_of
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.folding import fold
from gaswright.custody.standing import Standing, Unknown

FILL = change("F-1", at="03:00")


def expires(analysis: Fact, *facts: Fact) -> datetime | None:
    """Until when the gas of c1 is known."""
    known = standing_of(FILL, analysis, *facts, now=None).known
    assert known is not None
    return known.expires


def later(analysis: Fact, now: datetime | None, *facts: Fact) -> Standing:
    """The standing of c1 at another moment."""
    return standing_of(FILL, analysis, *facts, now=now)


@pytest.mark.parametrize(("at", "until", "days"), [
    ("07:40", "01:40", 1),  # 18 h
    ("09:59", "03:59", 1),  # 18 h
    ("10:01", "04:00", 1),  # the dive day ends first
    ("20:00", "04:00", 1),
    ("03:59", "04:00", 0),
    ("04:00", "22:00", 0),  # a new dive day has begun
])
def test_eighteen_hours_or_the_end_of_the_dive_day(at: str, until: str, days: int) -> None:
    """An analysis vouches for 18 h, or until 04:00 local time, whichever comes first."""
    assert expires(analysed("A-1", "F-1", at)) == at_time(until, days=days)


def test_known_until_the_moment_and_not_at_it() -> None:
    """A minute before its end the analysis vouches, at its end it does not; without a clock ages are not judged."""
    analysis = analysed("A-1", "F-1", "07:40")
    assert later(analysis, at_time("01:39", days=1)).known is not None
    gone = later(analysis, at_time("01:40", days=1))
    assert (gone.why, gone.why_values) == (Unknown.EXPIRED, (("at", "2027-05-14 07:40"),))
    assert later(analysis, None).known is not None


def test_expired_if_either_time_says_so() -> None:
    """The earlier answer of `at` and `recorded` holds."""
    assert expires(analysed("A-1", "F-1", "09:00", recorded=at_time("07:00"))) == at_time("01:00", days=1)
    assert expires(analysed("A-1", "F-1", "07:00", recorded=at_time("09:00"))) == at_time("01:00", days=1)


@pytest.mark.parametrize(("at", "recorded", "known"), [
    ("09:05", "09:00", True), ("09:06", "09:00", False), ("09:00", "09:06", False),
])
def test_future_does_not_vouch(at: str, recorded: str, known: bool) -> None:  # noqa: FBT001  a case of the table
    """More than five minutes ahead of now, by the author or by the machine, an analysis does not vouch."""
    assert (later(analysed("A-1", "F-1", at, recorded=at_time(recorded)), at_time("09:00")).known is not None) == known


@pytest.mark.parametrize(("at", "ahead"), [("09:12", "12 min"), ("11:00", "2 h"), ("11:10", "2 h 10 min")])
def test_future_says_by_how_much(at: str, ahead: str) -> None:
    """The reason names the time and how far ahead it is."""
    standing = later(analysed("A-1", "F-1", at), at_time("09:00"))
    assert standing.why is Unknown.IN_THE_FUTURE
    assert dict(standing.why_values) == {"ahead": ahead, "at": at}


def test_every_analysis_in_force_must_be_young_enough() -> None:
    """Of two agreeing analyses the older one ends the trust; a later one that names it renews it."""
    old, now = analysed("A-1", "F-1", "07:00"), at_time("03:00", days=1)
    assert later(old, now, analysed("A-2", "F-1", "22:00")).why is Unknown.EXPIRED
    assert later(old, now, analysed("A-2", "F-1", "22:00", after=("A-1",))).known is not None


@pytest.mark.parametrize(("analysis", "end"), [
    (datetime(2027, 3, 27, 22, tzinfo=UTC), datetime(2027, 3, 28, 2, tzinfo=UTC)),  # 04:00 is summer time already
    (datetime(2027, 10, 30, 22, tzinfo=UTC), datetime(2027, 10, 31, 3, tzinfo=UTC)),  # 04:00 is winter time already
])
def test_dive_day_ends_by_the_local_clock_when_clocks_change(analysis: datetime, end: datetime) -> None:
    """In the nights when clocks change the dive day ends when local clocks show 04:00 (EU dates, from memory)."""
    assert clock_of(None, "Europe/Berlin", POLICY).dive_day_end(analysis) == end


def test_ambiguous_end_of_the_dive_day_is_the_earlier_one() -> None:
    """If the hour at which the day ends comes twice in the night, the first one counts."""
    clock = clock_of(None, "Europe/Berlin", with_policy(dive_day_end_h=2.5))
    assert clock.dive_day_end(datetime(2027, 10, 30, 22, tzinfo=UTC)) == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)


def test_hours_of_age_are_hours_and_not_wall_time() -> None:
    """Eighteen hours pass in eighteen hours also when the clocks change in between."""
    policy = with_policy(dive_day_end_h=12.0, analysis_valid_h=6.0)
    moment = datetime(2027, 3, 27, 22, tzinfo=UTC)
    filled = Fact("F-1", Kind.FILLED, "gas/c1", moment, moment, "d1")
    known = fold([filled, Fact("A-1", Kind.ANALYSED, "gas/c1", moment, moment, "d1", (), ("F-1",),
                               {"o2_e4": 2100, "he_e4": 0})], "c1", policy, zone="Europe/Berlin", now=None).known
    assert known is not None
    assert known.expires == datetime(2027, 3, 28, 4, tzinfo=UTC)


ANALYSIS = analysed("A-1", "F-1", "07:40")
STAGED = fact(Kind.STAGED, "S-1", "11:00", rests_on=("A-1",), place_depth_cm=2100, gauge_centibar=19000)


def test_staged_cylinder_keeps_its_analysis_for_three_days() -> None:
    """A staging that names the analysis extends it to three days after the analysis, and no longer."""
    assert expires(ANALYSIS, STAGED) == at_time("07:40", days=3)
    standing = later(ANALYSIS, at_time("07:39", days=3), STAGED)
    assert (standing.known is not None, standing.staged) == (True, True)
    assert later(ANALYSIS, at_time("07:40", days=3), STAGED).why is Unknown.EXPIRED


@pytest.mark.parametrize("staging", [
    fact(Kind.STAGED, "S-1", "11:00"),  # names no analysis
    fact(Kind.STAGED, "S-1", "11:00", rests_on=("F-1",)),  # names the fill only
    fact(Kind.STAGED, "S-1", "02:00", days=1, rests_on=("A-1",)),  # the analysis had ended
    fact(Kind.STAGED, "S-1", "11:00", rests_on=("A-1",), recorded=at_time("02:00", days=1)),  # written too late
])
def test_staging_extends_only_what_it_names_and_in_time(staging: Fact) -> None:
    """A staging that does not name the analysis, or came when it had ended, extends nothing."""
    assert later(ANALYSIS, at_time("12:00", days=1), staging).why is Unknown.EXPIRED


def test_corrected_staging_extends_nothing() -> None:
    """A staging that was corrected away neither extends the analysis nor leaves the cylinder staged."""
    standing = later(ANALYSIS, at_time("12:00", days=1), STAGED, corrected("C-1", "S-1"))
    assert (standing.why, standing.staged) == (Unknown.EXPIRED, False)


def test_policy_of_no_days_extends_nothing() -> None:
    """With zero days a staged cylinder's analysis ends like any other."""
    known = standing_of(FILL, ANALYSIS, STAGED, now=None, policy=with_policy(staged_valid_days=0.0)).known
    assert known is not None
    assert known.expires == at_time("01:40", days=1)


@pytest.mark.parametrize("names", [("S-1",), ("A-1",), ()])
def test_lifted_cylinder_is_unknown_until_analysed_anew(names: tuple[str, ...]) -> None:
    """A lift ends the analysis, whether it names the staging, the analysis or nothing, and whatever its clock says."""
    lift = fact(Kind.LIFTED, "U-1", "13:00", rests_on=names)
    standing = later(ANALYSIS, at_time("13:30"), STAGED, lift)
    assert (standing.why, standing.why_values, standing.staged) == (Unknown.LIFTED, (("changed", "13:00"),), False)
    assert later(ANALYSIS, None, STAGED, lift).why is Unknown.LIFTED
    assert later(ANALYSIS, at_time("12:00"), STAGED, lift).why is Unknown.LIFTED
    anew = analysed("A-2", "F-1", "13:20", after=("A-1", "U-1"))
    assert later(ANALYSIS, at_time("13:30"), STAGED, lift, anew).known is not None


def test_lift_ends_an_analysis_that_its_author_had_not_seen() -> None:
    """A lift that names the head ends every analysis of it that does not know of the lift, and none of a later fill."""
    lift = fact(Kind.LIFTED, "U-1", "13:00", after=("F-1",))
    unseen = analysed("A-2", "F-1", "13:20", after=("A-1",))
    assert later(ANALYSIS, at_time("13:30"), STAGED, lift, unseen).why is Unknown.LIFTED
    filled = change("F-2", at="14:00", after=("F-1",))
    assert later(ANALYSIS, at_time("15:00"), STAGED, lift, filled, analysed("A-3", "F-2", "14:30")).known is not None


def test_voided_lift_still_ends() -> None:
    """A lift that was corrected away still ends the analysis: a correction gives no trust."""
    lift = fact(Kind.LIFTED, "U-1", "13:00", rests_on=("S-1",))
    assert later(ANALYSIS, at_time("13:30"), STAGED, lift, corrected("C-1", "U-1")).why is Unknown.LIFTED


def test_staged_again_on_a_new_analysis() -> None:
    """A cylinder lifted, analysed and staged again is staged and known by the new analysis."""
    lift = fact(Kind.LIFTED, "U-1", "13:00", rests_on=("S-1",))
    anew = analysed("A-2", "F-1", "13:20", after=("A-1", "U-1"))
    again = fact(Kind.STAGED, "S-2", "15:00", rests_on=("A-2",))
    standing = later(ANALYSIS, at_time("12:00", days=2), STAGED, lift, anew, again)
    assert (standing.known is not None, standing.staged) == (True, True)


def test_change_of_gas_ends_the_staging() -> None:
    """A cylinder filled since is not staged any more."""
    assert not later(ANALYSIS, at_time("13:00"), STAGED, change("F-2", at="12:00", after=("F-1",))).staged
    assert later(ANALYSIS, at_time("13:00"), fact(Kind.STAGED, "S-1", "11:00")).staged
    assert not later(ANALYSIS, at_time("14:00"), fact(Kind.STAGED, "S-1", "11:00"), fact(Kind.LIFTED, "U-1")).staged
