"""The fold: when a gas is known, and if not, why not."""

import pytest

from custody_facts import accepted, analysed, applied, at_time, change, corrected, fact, registered, standing_of
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.folding import fold
from gaswright.custody.standing import Rung, Unknown
from gaswright.errors import InputError, Refused
from gaswright.exchange.policy_file import shipped_policy
from gaswright.physics.mixture import Mixture

FILL = change("F-1")
ANALYSIS = analysed("A-1", "F-1")


def why(*facts: Fact, now: str | None = "09:00") -> Unknown | None:
    """The reason why the gas of c1 is unknown."""
    standing = standing_of(*facts, now=now)
    assert (standing.known is None) == (standing.why is not None)
    return standing.why


def test_one_fill_one_analysis_is_known() -> None:
    """A gas is known by one analysis that names the one fill, and the answer says who, when and on what."""
    known = standing_of(FILL, ANALYSIS).known
    assert known is not None
    assert known.reading.mixture == Mixture(1820, 4460)
    assert (known.analysis, known.fill, known.by, known.at) == ("A-1", "F-1", "d1", at_time("07:40"))
    assert known.reading == known.rich == known.lean
    assert known.notes == ()


def test_nothing_recorded_is_unknown() -> None:
    """A cylinder of which nothing was recorded is unknown, not air."""
    standing = standing_of()
    assert (standing.why, standing.rung) == (Unknown.NEVER_ANALYSED, Rung.UNKNOWN)


def test_fill_alone_is_filled_and_unknown() -> None:
    """A fill makes no gas known, whatever it aimed at."""
    standing = standing_of(change("F-1", target_o2_e4=3200, target_he_e4=0))
    assert (standing.why, standing.rung, standing.known) == (Unknown.NEVER_ANALYSED, Rung.FILLED, None)


@pytest.mark.parametrize(("kind", "reason"), [
    (Kind.FILLED, Unknown.FILLED_SINCE), (Kind.TOPPED_UP, Unknown.FILLED_SINCE), (Kind.DRAINED, Unknown.FILLED_SINCE),
    (Kind.LABELS_REMOVED, Unknown.LABELS_OFF), (Kind.LENT, Unknown.LENT), (Kind.RETURNED, Unknown.LENT),
    (Kind.FROZEN, Unknown.FROZEN),
])
def test_every_change_after_an_analysis_makes_unknown(kind: str, reason: Unknown) -> None:
    """Each gas-changing kind makes the gas unknown with its own reason, at the time it happened."""
    standing = standing_of(FILL, ANALYSIS, change("F-2", kind, "08:10", after=("F-1",)))
    assert standing.why is reason
    assert standing.why_values == (() if reason is Unknown.FROZEN else (("changed", "08:10"),))


@pytest.mark.parametrize("kind", [Kind.TOPPED_UP, Kind.LABELS_REMOVED, Kind.LENT])
def test_a_new_analysis_after_the_change_is_known(kind: str) -> None:
    """An analysis that names the change makes the gas known again."""
    later = change("F-2", kind, "08:10", after=("F-1",))
    assert why(FILL, ANALYSIS, later, analysed("A-2", "F-2", "08:30")) is None


def test_frozen_stays_unknown_though_analysed() -> None:
    """A cylinder kept as evidence is never known, analysed or not, and says that it is frozen."""
    standing = standing_of(FILL, change("F-2", Kind.FROZEN, after=("F-1",)), analysed("A-2", "F-2"))
    assert (standing.why, standing.frozen) == (Unknown.FROZEN, True)


def test_fill_that_did_not_see_the_other_gives_two_heads() -> None:
    """A top-up by somebody who had not seen the fill leaves two heads: unknown, analysed or not."""
    assert why(FILL, ANALYSIS, change("L-1", Kind.TOPPED_UP)) is Unknown.TWO_HEADS
    assert why(FILL, change("L-1", Kind.TOPPED_UP), ANALYSIS, analysed("A-2", "L-1")) is Unknown.TWO_HEADS


def test_two_heads_are_mended_by_a_change_that_names_both() -> None:
    """A later change that names both histories, with its own analysis, is known."""
    joined = change("F-3", after=("F-1", "L-1"))
    assert why(FILL, change("L-1", Kind.TOPPED_UP), joined, analysed("A-3", "F-3")) is None


def test_stale_analysis_does_not_count() -> None:
    """An analysis made after a top-up it had not seen names the old head and makes nothing known, whatever its time."""
    top_up = change("F-2", Kind.TOPPED_UP, "08:00", after=("F-1",))
    assert why(FILL, top_up, analysed("A-9", "F-1", "08:50")) is Unknown.FILLED_SINCE


def test_later_analysis_replaces_what_it_names() -> None:
    """A repeated analysis that names the first one speaks alone, however far apart they read."""
    standing = standing_of(FILL, ANALYSIS, analysed("A-2", "F-1", "08:00", o2=2100, after=("A-1",)))
    assert standing.known is not None
    assert (standing.known.analysis, standing.known.reading.mixture.o2_e4) == ("A-2", 2100)


def test_two_readings_that_agree_speak_for_the_safe_side() -> None:
    """Of two agreeing analyses the richer gives the MOD, the leaner hypoxia and decompression, and a note says so."""
    known = standing_of(FILL, ANALYSIS, analysed("A-2", "F-1", o2=1880, by="d2")).known
    assert known is not None
    assert known.rich.rich_o2_e4 == 1930
    assert (known.lean.lean_o2_e4, known.reading.mixture.o2_e4) == (1770, 1820)
    assert known.notes == ("gas.two_readings",)


@pytest.mark.parametrize(("o2", "he", "expected"), [
    (1890, 4460, None), (1891, 4460, Unknown.DISAGREE),  # root of 50^2 + 50^2 = 70.7
    (1820, 4601, None), (1820, 4602, Unknown.DISAGREE),  # root of 100^2 + 100^2 = 141.4
])
def test_readings_apart_by_more_than_u_disagree(o2: int, he: int, expected: Unknown | None) -> None:
    """Two analyses in force agree up to the root of the sum of squares of their U, in oxygen and in helium."""
    assert why(FILL, ANALYSIS, analysed("A-2", "F-1", o2=o2, he=he)) is expected


def test_helium_not_measured_is_unknown() -> None:
    """A reading of oxygen alone leaves the gas unknown, also beside a complete one."""
    half = analysed("A-2", "F-1", he=None)
    assert why(FILL, half) is Unknown.HELIUM_NOT_MEASURED
    assert why(FILL, ANALYSIS, half) is Unknown.HELIUM_NOT_MEASURED


def test_equal_times_are_unknown_until_analysed_again() -> None:
    """A fill and an analysis of one time leave the order open; a later analysis that names the first settles it."""
    equal = analysed("A-1", "F-1", "07:00", equal_time=True)
    assert why(FILL, equal) is Unknown.EQUAL_TIMES
    assert why(change("F-1", equal_time=True), analysed("A-1", "F-1", "07:00")) is Unknown.EQUAL_TIMES
    assert why(FILL, equal, analysed("A-2", "F-1", "07:30", after=("A-1",))) is None
    assert why(change("F-1", equal_time=True), analysed("A-2", "F-1", "07:30")) is None


def test_absent_fact_names_what_is_missing() -> None:
    """A fact that names another which is not here makes the gas unknown and says which one is missing."""
    standing = standing_of(change("F-1", after=("K7Q2M9XA-412",)), ANALYSIS)
    assert (standing.why, standing.why_values) == (Unknown.ABSENT_FACT, (("fact", "K7Q2M9XA-412"),))
    assert why(analysed("A-1", "F-0")) is Unknown.ABSENT_FACT
    assert why(FILL, ANALYSIS, corrected("C-1", "X-7")) is Unknown.ABSENT_FACT


@pytest.mark.parametrize("newer", [
    fact("cylinder.teleported", "N-1"), fact(Kind.PRESSURE_READ, "N-1", version=2),
    fact(Kind.CORRECTED, "N-1"), analysed("N-1", "F-1", o2=0), fact(Kind.ANALYSED, "N-1", rests_on=("F-1",)),
    analysed("N-1", "F-1", u=(-1, 0)),
])
def test_what_cannot_be_read_makes_unknown(newer: Fact) -> None:
    """A kind, a version or a reading that this program cannot read makes the cylinder unknown."""
    standing = standing_of(FILL, ANALYSIS, newer)
    assert (standing.why, standing.known) == (Unknown.UNKNOWN_KIND, None)


def test_analysis_that_names_two_heads_measures_none() -> None:
    """An analysis names the one head it measured; one that names two does not vouch."""
    assert why(FILL, fact(Kind.ANALYSED, "A-1", rests_on=("F-1", "F-1"), o2_e4=2100, he_e4=0)) is Unknown.TWO_HEADS


def test_analyses_that_replace_each_other_are_unknown() -> None:
    """Analyses that name each other in a ring leave none that speaks; so do changes."""
    ring = (analysed("A-1", "F-1", after=("A-2",)), analysed("A-2", "F-1", after=("A-1",)))
    assert why(FILL, *ring) is Unknown.TWO_HEADS
    assert why(change("F-1", after=("F-2",)), change("F-2", after=("F-1",))) is Unknown.TWO_HEADS


def test_uncertainty_not_stated_is_the_policys() -> None:
    """An analysis without its own uncertainty carries the policy's 0.5 % oxygen and 1 % helium."""
    known = standing_of(FILL, fact(Kind.ANALYSED, "A-1", rests_on=("F-1",), o2_e4=2100, he_e4=0)).known
    assert known is not None
    assert (known.reading.u_o2_e4, known.reading.u_he_e4) == (50, 100)


def test_other_cylinders_do_not_matter() -> None:
    """Facts of another cylinder's stream change nothing here."""
    other = fact(Kind.TOPPED_UP, "F-2", after=("F-1",), stream="gas/c2")
    assert why(FILL, ANALYSIS, other) is None


def test_forked_id_is_refused() -> None:
    """One id with two contents is refused; the same fact twice is one fact."""
    assert why(FILL, FILL, ANALYSIS, ANALYSIS) is None
    with pytest.raises(Refused, match="F-1"):
        standing_of(FILL, change("F-1", at="06:59"))


def test_zone_and_clock_must_be_usable() -> None:
    """An unknown time zone, or a time without an offset, is refused with a sentence."""
    with pytest.raises(InputError, match="Atlantis"):
        fold([FILL], "c1", shipped_policy(), zone="Atlantis/Capital", now=None)
    with pytest.raises(InputError, match="offset"):
        fold([FILL], "c1", shipped_policy(), zone="UTC", now=at_time("09:00").replace(tzinfo=None))


def test_accepted_by_names_only_those_who_breathe_it() -> None:
    """The analyst counts if he breathes it; others by an acceptance of the analysis in force, and nobody else."""
    shared = registered(divers=["d1", "d2", "d4"])
    first = (FILL, analysed("A-1", "F-1", by="d1", accepted_by="d4"))

    def people(*facts: Fact) -> tuple[str, ...]:
        known = standing_of(shared, *facts).known
        assert known is not None
        return known.accepted_by

    assert people(FILL, analysed("A-1", "F-1", by="blender")) == ()
    assert people(*first, accepted("B-1", "A-1", "d2"), accepted("B-2", "A-1", "d3")) == ("d1", "d2", "d4")
    again = analysed("A-2", "F-1", by="d1", after=("A-1",))
    assert people(*first, accepted("B-1", "A-1", "d2"), again) == ("d1",)
    assert people(*first, accepted("B-1", "A-1", "d2"), corrected("C-1", "B-1")) == ("d1", "d4")


def test_witness_pressure_and_temperature_come_from_the_analysis() -> None:
    """The known gas carries what was read with it."""
    known = standing_of(FILL, analysed("A-1", "F-1", gauge_centibar=22800, temperature_centi_k=28915,
                                       witness="d2")).known
    assert known is not None
    assert (known.gauge_centibar, known.temperature_centi_k, known.witness) == (22800, 28915, "d2")


def test_order_in_which_facts_arrive_does_not_matter() -> None:
    """Two labels, two analyses, two lifts and two missing facts give one answer in any order."""
    labelled = [registered(), FILL, ANALYSIS, applied("L-1", "A-1"), applied("L-2", "A-1"),
                analysed("A-2", "F-1", "07:50", by="d2")]
    lifted = [*labelled, fact(Kind.LIFTED, "U-1", "08:10"), fact(Kind.LIFTED, "U-2", "08:20")]
    missing = [*labelled, fact(Kind.PRESSURE_READ, "P-1", after=("X-2",)), fact(Kind.STAGED, "S-1", after=("X-1",))]
    for facts in (labelled, lifted, missing):
        assert standing_of(*facts) == standing_of(*facts[::-1]) == standing_of(*facts[3:], *facts[:3])
