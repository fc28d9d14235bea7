"""The rows of a trip become facts that name what they rest on, by the times of the file alone."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from gaswright.custody.fact import Fact, Kind
from gaswright.custody.folding import fold
from gaswright.custody.registering import register
from gaswright.custody.standing import Rung, Standing, Unknown
from gaswright.exchange.trip_facts import facts_of
from unit.exchange.trip_texts import BASE, edited, trip_of


def facts(text: str) -> tuple[Fact, ...]:
    """The facts of a text."""
    return facts_of(trip_of(text))


def standing(text: str, cylinder: str = "c1", now: datetime | None = None) -> Standing:
    """The standing of a cylinder of a text."""
    trip = trip_of(text)
    return fold(facts_of(trip), cylinder, trip.policy, zone=trip.zone, now=now)


def of_kind(found: Sequence[Fact], kind: Kind, cylinder: str = "c1") -> list[Fact]:
    """The facts of one kind about one cylinder."""
    return [fact for fact in found if fact.kind == kind and fact.stream == f"gas/{cylinder}"]


ANOTHER = """\
[[analysis]]
cylinder = "c1"
o2 = 19.0
he = 44.0
at = 2027-05-14T{at}
by = "d2"
{more}
"""


def test_facts_are_numbered_in_file_order() -> None:
    """Ids are the origin and 1, 2, 3 down the file; the implied fill stands just before its analysis."""
    found = facts(BASE)
    assert [fact.id for fact in found] == [f"TRIPFILE-{number}" for number in range(1, len(found) + 1)]
    assert [fact.kind for fact in found] == [
        Kind.REGISTERED, Kind.REGISTERED, Kind.FILLED, Kind.ANALYSED, Kind.FILLED, Kind.ANALYSED, Kind.LABEL_APPLIED,
    ]  # fmt: skip
    assert all(fact.recorded == fact.at and fact.zone == "Europe/Vienna" for fact in found)


def test_data_are_integers_in_fixed_units() -> None:
    """Facts hold no floats: pressures in 0.01 bar, temperatures in 0.01 K, gas in hundredths, readings as typed."""
    analysis = of_kind(facts(BASE), Kind.ANALYSED)[0]
    assert dict(analysis.data) == {
        "o2_e4": 1820, "he_e4": 4460, "u_o2_e4": 50, "u_he_e4": 100, "gauge_centibar": 22800,
        "temperature_centi_k": 28915, "witness": None, "accepted_by": None, "analyser": None,
        "typed": {"o2": "18.2", "he": "44.6"},
    }  # fmt: skip
    fill = of_kind(facts(BASE), Kind.FILLED)[0]
    assert dict(fill.data) == {"gauge_centibar": 23000, "implied": False, "target_o2_e4": 1800, "target_he_e4": 4500}
    record = register(facts(BASE))["c2"]
    assert (record.volume_ml, record.working_centibar, record.permanent_mark) == (11097, 20684, "70 ft")
    assert record.divers == ("d2",)


def test_an_analysis_rests_on_the_last_change_before_it() -> None:
    """Fill, analysis, label: labelled. The label shows the analysis, the analysis measured the fill."""
    found = facts(BASE)
    fill, analysis, label = (of_kind(found, kind)[0] for kind in (Kind.FILLED, Kind.ANALYSED, Kind.LABEL_APPLIED))
    assert (analysis.rests_on, label.rests_on, fill.after) == ((fill.id,), (analysis.id,), ())
    assert standing(BASE).rung is Rung.LABELLED


def test_analyses_without_a_fill_row_measured_one_implied_fill() -> None:
    """A cylinder with analyses and no fill row has one implied fill just before the first of them, in time."""
    later = '[[analysis]]\ncylinder = "c2"\no2 = 50.4\nat = 2027-05-14T07:30:00\nby = "d2"\n'
    (implied,) = of_kind(facts(BASE + later), Kind.FILLED, "c2")
    assert implied.data["implied"] is True
    assert implied.by == "unknown"
    assert implied.at == datetime(2027, 5, 14, 5, 30, tzinfo=UTC) - timedelta(seconds=1)
    assert standing(BASE, "c2").rung is Rung.ANALYSED


def test_a_cylinder_without_rows_is_never_analysed() -> None:
    """No analysis: no implied fill and no gas."""
    text = BASE[: BASE.index('[[analysis]]\ncylinder = "c2"')]
    assert of_kind(facts(text), Kind.FILLED, "c2") == []
    assert standing(text, "c2").why is Unknown.NEVER_ANALYSED


def test_a_fill_after_the_analysis_makes_the_gas_unknown() -> None:
    """A later fill is a new head without analysis; rows may stand in any order in the file."""
    text = BASE + '[[fill]]\ncylinder = "c1"\nat = 2027-05-14T08:10:00\nby = "d2"\n'
    first, second = of_kind(facts(text), Kind.FILLED)
    assert second.after == (first.id,)
    assert standing(text).why is Unknown.FILLED_SINCE
    moved = edited(("at = 2027-05-13T18:00:00", "at = 2027-05-14T08:10:00"))
    assert of_kind(facts(moved), Kind.ANALYSED)[0].rests_on == ()
    assert standing(moved).why is Unknown.FILLED_SINCE


def test_equal_times_of_a_fill_and_an_analysis_are_unknown() -> None:
    """Which came first cannot be known, so the gas is not."""
    text = edited(("at = 2027-05-13T18:00:00", "at = 2027-05-14T05:40:00Z"))
    analysis = of_kind(facts(text), Kind.ANALYSED)[0]
    assert analysis.data["equal_time"] is True
    assert standing(text).why is Unknown.EQUAL_TIMES
    assert "equal_time" not in of_kind(facts(BASE), Kind.ANALYSED)[0].data


def test_labels_off_end_the_gas_until_it_is_analysed_anew() -> None:
    """Labels off is a change like a fill; a later analysis rests on it."""
    text = BASE + '[[labels_off]]\ncylinder = "c1"\nat = 2027-05-14T18:00:00\nby = "d1"\n'
    assert standing(text).why is Unknown.LABELS_OFF
    anew = standing(text + ANOTHER.format(at="18:30:00", more=""))
    assert (anew.rung, anew.known is not None and anew.known.reading.mixture.o2_e4) == (Rung.ANALYSED, 1900)


def test_a_later_analysis_replaces_the_earlier_and_its_label() -> None:
    """Analysed again after the label: the new reading is in force and the label no longer shows it."""
    text = BASE + ANOTHER.format(at="08:30:00", more="")
    first, second = of_kind(facts(text), Kind.ANALYSED)
    assert second.after == (first.id,)
    state = standing(text)
    assert (state.rung, state.known is not None and state.known.reading.mixture.o2_e4) == (Rung.ANALYSED, 1900)


def test_a_second_reading_beside_the_first_must_agree_with_it() -> None:
    """`beside` keeps both in force: within U the richer gives the MOD, outside U the gas is unknown."""
    far = standing(BASE + ANOTHER.format(at="08:30:00", more="beside = true").replace("19.0", "21.0"))
    assert far.why is Unknown.DISAGREE
    near = standing(BASE + ANOTHER.format(at="07:50:00", more="beside = true").replace("19.0", "18.4"))
    assert near.known is not None
    assert (near.known.rich.mixture.o2_e4, near.known.notes) == (1840, ("gas.two_readings",))
    assert near.rung is Rung.LABELLED


def test_readings_of_the_same_time_stand_beside_each_other() -> None:
    """Two analyses of one time: neither replaces the other."""
    same = facts(BASE + ANOTHER.format(at="07:40:00", more=""))
    assert [fact.after for fact in of_kind(same, Kind.ANALYSED)] == [(), ()]


def test_a_label_put_on_before_the_analysis_shows_nothing() -> None:
    """A label rests on the analyses in force when it was put on; before them on none."""
    text = edited(("at = 2027-05-14T08:00:00", "at = 2027-05-14T07:00:00"))
    assert of_kind(facts(text), Kind.LABEL_APPLIED)[0].rests_on == ()
    assert standing(text).rung is Rung.ANALYSED


def test_a_label_read_from_another_cylinder_is_kept_as_read() -> None:
    """The ID read from the metal is compared by the fold."""
    assert standing(edited(('serial_read = "4711"', 'serial_read = "0815"'))).label_serial_matches is False


def test_helium_not_measured_in_a_helium_mix_is_unknown() -> None:
    """Only oxygen read of a helium target: unknown."""
    assert standing(edited(("he = 44.6\n", ""))).why is Unknown.HELIUM_NOT_MEASURED


def test_acceptance_witness_and_pressure_rows_reach_the_fold() -> None:
    """accepted_by (one or several), witness and a later pressure are folded in."""
    row = 'divers = ["d1", "d2"]\nrole = "main"\nvolume = "24 L"\nworking_pressure = "232 bar"'
    more = 'by = "d1"\naccepted_by = ["d1", "d2"]\nwitness = "Cy"\n\n[[analysis]]'
    text = edited(('diver = "d1"\nrole = "main"\nvolume = 24.0\nworking_pressure = 232', row),
                  ("pressure = 230", 'pressure = "230 bar"'), ("pressure = 228", 'pressure = "228 bar"'),
                  ('by = "d1"\n\n[[analysis]]', more))
    later = '[[pressure]]\ncylinder = "c1"\nat = 2027-05-14T09:00:00\nby = "d1"\nbar = "221,5 bar"\n'
    state = standing(text + later)
    assert state.known is not None
    assert (state.known.accepted_by, state.known.witness, state.gauge_centibar) == (("d1", "d2"), "Cy", 22150)


def test_a_planned_staging_keeps_no_analysis_and_a_witnessed_one_does() -> None:
    """Only a staging with time and two names keeps an analysis over night, at most the policy's days."""
    where = "switch_depth = 21", 'where = "staged"\nplace_depth = 21'
    night = datetime(2027, 5, 15, 8, 0, tzinfo=UTC)
    assert standing(edited(where), "c2", night).why is Unknown.EXPIRED
    names = '\nstaged_at = 2027-05-14T10:00:00\nstaged_by = "d1"\nstaged_witness = "d2"'
    staged = standing(edited((where[0], where[1] + names)), "c2", night)
    assert (staged.known is not None, staged.staged) == (True, True)
    assert standing(edited((where[0], where[1] + names)), "c2", night + timedelta(days=3)).why is Unknown.EXPIRED


def test_answers_become_facts() -> None:
    """An answer names code, subject, person and text."""
    text = BASE + '[[answer]]\ncode = "narcosis.end"\nby = "d1"\nat = 2027-05-14T08:30:00\ntext = "accepted"\n'
    (fact,) = [fact for fact in facts(text) if fact.kind == Kind.ANSWERED]
    assert (fact.stream, fact.by, dict(fact.data)) == (
        "answer/narcosis.end", "d1", {"code": "narcosis.end", "subject": "", "text": "accepted"}
    )  # fmt: skip


def test_rows_written_inline_keep_their_own_acceptances() -> None:
    """Rows that share one line of the file are still told apart."""
    rows = ", ".join(
        f'{{cylinder = "c1", o2 = 18.{n}, he = 45, at = 2027-05-14T07:{n}0:00, by = "d2", accepted_by = ["d1", "d2"]}}'
        for n in (1, 2)
    )
    head, tail = BASE.split("[[analysis]]", 1)[0], BASE[BASE.index("[[label]]") :]
    found = facts(f"analysis = [{rows}]\n" + head + tail)
    readings, accepted = of_kind(found, Kind.ANALYSED), of_kind(found, Kind.ACCEPTED)
    assert [fact.rests_on for fact in accepted] == [(fact.id,) for fact in readings]
