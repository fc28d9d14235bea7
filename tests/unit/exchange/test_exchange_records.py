"""Records from facts: every fact a line, corrections beside what they void, nothing a spreadsheet could run."""

import csv
import io
import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from check import close
from custody_facts import POLICY, accepted, analysed, applied, at_time, change, corrected, fact, registered
from gaswright.custody.fact import Fact, Kind
from gaswright.errors import InputError
from gaswright.exchange.record_files import csv_text, record_json_text, safe_cell
from gaswright.exchange.record_lines import KINDS, LAYOUT
from gaswright.exchange.record_words import KIND_WORDS
from gaswright.exchange.records import (
    NOTE_ERASED,
    PERSON_ERASED,
    RETENTION,
    BookHead,
    Making,
    Period,
    RecordKind,
    RecordTable,
    heads_of,
    is_read_for,
    record_kind_of,
    record_of,
)

SCHEMA = json.loads((Path(__file__).parents[3] / "docs" / "schema" / "record.json").read_text(encoding="utf-8"))
MAKING = Making(POLICY, (BookHead("K7Q2M9XA", 9, "ab" * 32),), datetime(2027, 5, 14, 18, tzinfo=UTC), "Ines (d1)")
NAMES = {"d1": "Ines", "d2": "Tomas"}
DAY = (
    registered("K7Q2M9XA-1"), change("K7Q2M9XA-2", gauge_centibar=23000, target_o2_e4=1800, target_he_e4=4500),
    analysed("K7Q2M9XA-3", "K7Q2M9XA-2", "07:30", o2=2820), corrected("K7Q2M9XA-4", "K7Q2M9XA-3", "07:35"),
    analysed("K7Q2M9XA-5", "K7Q2M9XA-2", after=("K7Q2M9XA-3",), witness="d2", gauge_centibar=22850, analyser="A2",
             typed={"o2": "18,2", "he": "44.6"}),
    accepted("K7Q2M9XA-6", "K7Q2M9XA-5", "d2"), applied("K7Q2M9XA-7", "K7Q2M9XA-5"),
    fact(Kind.ANALYSER_CALIBRATED, "K7Q2M9XA-8", "06:50", stream="analyser/A2"),
)


def cells(table: RecordTable, name: str) -> dict[str, object]:
    """The cells of one line by the key of their column."""
    row = next(row for row in table.rows if row.fact == name)
    return dict(zip((column.key for column in table.columns), row.cells, strict=True))


def read_back(table: RecordTable) -> list[dict[str, str]]:
    """The lines of the CSV as another program reads them."""
    return list(csv.DictReader(io.StringIO(csv_text(table), newline="")))


def record(kind: RecordKind, *facts: Fact, period: Period | None = None, notes: dict[str, str] | None = None,
           ) -> RecordTable:
    """A record with the names of the tests."""
    return record_of(kind, facts, NAMES, MAKING, period=period, notes=notes)


def test_an_analysis_shows_everything_that_is_asked_for() -> None:
    """Cylinder, time, gas, pressure, analyser and calibration, MOD with its limit, analyst, acceptance, witness.

    Which fields: docs/records.md. The MOD is the label convention by hand: 18.2 % and U of 0.5 % make 18.7 %;
    10 (1.4 / 0.187 - 1) = 64.9 m and 33 (1.4 / 0.187 - 1) = 214.06 ft, rounded down.
    """
    line = cells(record(RecordKind.ANALYSIS_LOG, *DAY), "K7Q2M9XA-5")
    assert (line["cylinder"], line["o2"], line["he"], line["pressure_bar"]) == ("c1", 1820, 4460, 22850)
    assert (line["mod_m"], line["mod_ft"], line["limit_ata"]) == (64, 214, 140)
    assert line["analyser"] == "A2"
    assert line["calibration"] == "2027-05-14 04:50 (K7Q2M9XA-8)"
    assert (line["by"], line["accepted_by"], line["witness"]) == ("Ines (d1)", "Tomas (d2)", "Tomas (d2)")
    assert line["remark"] == "replaces K7Q2M9XA-3; typed: he: 44.6, o2: 18,2"


def test_a_correction_is_a_line_and_what_it_voids_stays() -> None:
    """The voided analysis keeps its numbers and names its correction; the correction names it and the reason."""
    table = record(RecordKind.ANALYSIS_LOG, *DAY)
    assert [row.fact for row in table.rows if row.voided_by] == ["K7Q2M9XA-3"]
    voided, correction = cells(table, "K7Q2M9XA-3"), cells(table, "K7Q2M9XA-4")
    assert voided["o2"] == 2820
    assert str(voided["remark"]).startswith("VOIDED by K7Q2M9XA-4")
    assert (correction["what"], correction["o2"]) == ("CORRECTION", None)
    assert correction["remark"] == "voids K7Q2M9XA-3: typed wrongly"
    assert "K7Q2M9XA-4" not in {row.fact for row in record(RecordKind.FILL_LOG, *DAY).rows}


def test_a_correction_of_a_correction_strikes_nothing() -> None:
    """Voiding a correction has no effect, but its line is there."""
    table = record(RecordKind.ANALYSIS_LOG, *DAY, corrected("K7Q2M9XA-9", "K7Q2M9XA-4", "09:00"))
    assert {row.fact: row.voided_by for row in table.rows}["K7Q2M9XA-9"] == ()
    assert {row.fact: row.voided_by for row in table.rows}["K7Q2M9XA-4"] == ()
    assert {row.fact: row.voided_by for row in table.rows}["K7Q2M9XA-3"] == ("K7Q2M9XA-4",)


def test_a_correction_of_another_stream_strikes_nothing() -> None:
    """A correction counts in the stream of what it voids; one that stands elsewhere is shown and strikes nothing."""
    elsewhere = corrected("K7Q2M9XA-9", "K7Q2M9XA-5", stream="gas/c2")
    rows = {row.fact: row.voided_by for row in record(RecordKind.ANALYSIS_LOG, *DAY, elsewhere).rows}
    assert rows["K7Q2M9XA-5"] == ()
    assert "K7Q2M9XA-9" in rows


def test_a_voided_acceptance_or_calibration_does_not_count_for_the_analysis() -> None:
    """What was corrected away is struck in its own line and gone from the lines that would rest on it."""
    table = record(RecordKind.ANALYSIS_LOG, *DAY, corrected("K7Q2M9XA-9", "K7Q2M9XA-6"),
                   corrected("K7Q2M9XA-10", "K7Q2M9XA-8", stream="analyser/A2"))
    line = cells(table, "K7Q2M9XA-5")
    assert (line["accepted_by"], line["calibration"]) == (None, None)


def test_a_calibration_after_the_analysis_is_not_its_own() -> None:
    """The latest calibration before the reading stands with it, not one that came later."""
    between = fact(Kind.ANALYSER_CALIBRATED, "K7Q2M9XA-9", "07:38", stream="analyser/A2")
    later = fact(Kind.ANALYSER_CALIBRATED, "K7Q2M9XA-10", "08:00", stream="analyser/A2")
    line = cells(record(RecordKind.ANALYSIS_LOG, *DAY, later, between), "K7Q2M9XA-5")
    assert line["calibration"] == "2027-05-14 05:38 (K7Q2M9XA-9)"


def test_no_mod_without_a_gas_that_is_fully_read() -> None:
    """Helium not measured, a suit gas, a cylinder that is not in the register: no MOD, never a guess."""
    half = analysed("K7Q2M9XA-5", "K7Q2M9XA-2", he=None)
    gas = analysed("K7Q2M9XA-5", "K7Q2M9XA-2")
    for facts in ((registered(), half), (registered(role="suit"), gas), (gas,)):
        line = cells(record(RecordKind.ANALYSIS_LOG, *facts), "K7Q2M9XA-5")
        assert (line["mod_m"], line["mod_ft"], line["limit_ata"]) == (None, None, None)
        assert line["o2"] == 1820


def test_every_kind_of_fact_stands_in_a_record() -> None:
    """Each kind but the correction and the entry of a person is a line of a record, and has words; none twice."""
    lines = [kind for kinds in KINDS.values() for kind in kinds]
    assert set(lines) == (set(Kind) | {PERSON_ERASED, NOTE_ERASED}) - {Kind.CORRECTED, Kind.PERSON_ADDED}
    assert {kind for kind in lines if lines.count(kind) > 1} == {Kind.FROZEN}  # also an incident
    assert set(KIND_WORDS) == set(lines) | {Kind.CORRECTED}
    assert set(LAYOUT) == set(KINDS) == set(RETENTION) == set(RecordKind)


@pytest.mark.parametrize("kind", RecordKind)
def test_nothing_that_a_fact_says_is_left_out(kind: RecordKind) -> None:
    """Data of any key, also one that no column knows or of a type that its column cannot show, is in the line."""
    data: dict[str, Any] = {"gauge_centibar": "about half", "text": ["a", "b"], "valve": "left", "depth_cm": 2150,
                            "ok": True, "serial_read": 4711, "analyser": {"id": "A2"}}
    stream = {RecordKind.EQUIPMENT: "register/c1"}.get(kind, "gas/c1")
    for name in KINDS[kind]:
        line = " ".join(read_back(record(kind, fact(name, "K7Q2M9XA-1", stream=stream, **data)))[0].values())
        for said in ("about half", "a, b", "valve: left", "depth: 21.5 m", "ok: yes", "4711", "id: A2"):
            assert said in line, f"{name}: {said} is missing in {line}"


def test_a_period_counts_local_days_and_keeps_later_corrections() -> None:
    """Both ends count, by the clock of whoever recorded; a later correction of a line inside stands with it."""
    late = replace(change("K7Q2M9XA-1", at="00:30"), zone="Etc/GMT-2")  # 13 May in UTC
    next_day = replace(corrected("K7Q2M9XA-2", "K7Q2M9XA-1"), at=at_time("09:00", days=1))
    only = Period(date(2027, 5, 14), date(2027, 5, 14))
    assert [row.fact for row in record(RecordKind.FILL_LOG, late, next_day, period=only).rows] == [
        "K7Q2M9XA-1", "K7Q2M9XA-2"]
    before = Period(None, date(2027, 5, 13))
    assert record(RecordKind.FILL_LOG, late, next_day, period=before).rows == ()
    after = record(RecordKind.FILL_LOG, late, next_day, period=Period(date(2027, 5, 15)))
    assert [row.fact for row in after.rows] == ["K7Q2M9XA-2"]
    with pytest.raises(InputError, match="before it begins"):
        Period(date(2027, 5, 15), date(2027, 5, 14))


def test_lines_stand_in_the_order_of_recording() -> None:
    """Whatever order facts come in: recorded, origin, number (10 after 9)."""
    facts = [change(f"K7Q2M9XA-{number}") for number in (10, 9, 2)] + [change("B4BBBBBB-5")]
    table = record(RecordKind.FILL_LOG, *facts)
    assert [row.fact for row in table.rows] == ["B4BBBBBB-5", "K7Q2M9XA-2", "K7Q2M9XA-9", "K7Q2M9XA-10"]


def test_an_erased_person_and_note_leave_the_id_and_a_sentence() -> None:
    """Whose name is not there stands with the id; a text behind a hash is shown, or said to be gone."""
    lent = fact(Kind.LENT, "K7Q2M9XA-2", by="d9", to_sha256="ab" * 32)
    line = cells(record(RecordKind.FILL_LOG, lent, notes={"ab" * 32: "the club next door"}), "K7Q2M9XA-2")
    assert (line["by"], line["remark"]) == ("d9", "to: the club next door")
    gone = cells(record(RecordKind.FILL_LOG, lent), "K7Q2M9XA-2")
    assert gone["remark"] == "to: text erased or not in this book (abababab...)"


def test_the_file_of_a_plan_is_named_by_its_hash() -> None:
    """A text of pages behind a hash does not fill the record: its length and hash stand for it."""
    plan = fact(Kind.PLAN_MADE, "K7Q2M9XA-2", stream="plan/am", text_sha256="ab" * 32)
    named = f"text of 1001 letters, SHA-256 with its salt {'ab' * 32}"
    for text, shown in (("x" * 1000, "x" * 1000), ("x" * 1001, named)):
        line = cells(record(RecordKind.APPROVALS, plan, notes={"ab" * 32: text}), "K7Q2M9XA-2")
        assert (line["text"], line["remark"]) == (shown, None)


def test_a_kind_of_a_newer_program_is_named() -> None:
    """What no record can show is not passed over in silence."""
    table = record(RecordKind.FILL_LOG, *DAY, fact("cylinder.weighed", "K7Q2M9XA-30"))
    assert any("K7Q2M9XA-30 (cylinder.weighed)" in note for note in table.notes)
    newer = cells(record(RecordKind.FILL_LOG, change("K7Q2M9XA-2", version=2)), "K7Q2M9XA-2")
    assert "version 2 of its kind, which this program does not know" in str(newer["remark"])


def test_the_equipment_log_names_what_is_out_of_test() -> None:
    """A test counts through its last day; retired cylinders are not asked for."""
    on_the_day = registered("K7Q2M9XA-1", tested_until="2027-05-14")
    assert record(RecordKind.EQUIPMENT, on_the_day).notes == ("Out of test on 2027-05-14: none.",)
    late = registered("K7Q2M9XA-1", tested_until="2027-05-13")
    assert "c1 (serial AB 4711), hydrostatic test until 2027-05-13" in record(RecordKind.EQUIPMENT, late).notes[0]
    retired = fact(Kind.RETIRED, "K7Q2M9XA-2", stream="register/c1", after=("K7Q2M9XA-1",))
    assert record(RecordKind.EQUIPMENT, late, retired).notes == ("Out of test on 2027-05-14: none.",)


def test_what_is_read_for_a_record_is_enough_for_it() -> None:
    """A record of the facts that it asks for, with what corrections void, equals the record of all."""
    voided = {str(one.data.get("voids")) for one in DAY if one.kind == Kind.CORRECTED}
    for kind in RecordKind:
        some = [one for one in DAY if is_read_for(kind, one) or one.id in voided]
        assert record(kind, *some) == record(kind, *DAY)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "\uff1d1"])
def test_a_cell_that_could_be_a_formula_gets_an_apostrophe(text: str) -> None:
    """The signs that spreadsheets run are behind an apostrophe, also after spaces (common practice, no source)."""
    assert safe_cell(text) == f"'{text}"
    table = record(RecordKind.FILL_LOG, fact(Kind.FILLED, "K7Q2M9XA-1", by=text))
    assert read_back(table)[0]["by"] == f"'{text}"


@given(st.text(max_size=40), st.text(max_size=40))
def test_any_text_comes_back_from_csv_as_it_was(by: str, note: str) -> None:
    """Commas, quotes, line ends and every other letter survive; no cell begins with a sign that would run."""
    table = record(RecordKind.FILL_LOG, fact(Kind.FILLED, "K7Q2M9XA-1", by=by, note=note))
    line = read_back(table)[0]
    assert line["by"] == safe_cell(by)
    assert line["remark"] == safe_cell(f"note: {note}")
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in line.values())


def test_csv_is_as_rfc_4180_has_it() -> None:
    """CR LF at each line end, as many fields in each line, quotes where a comma stands; numbers in their units."""
    text = csv_text(record(RecordKind.ANALYSIS_LOG, *DAY))
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert {len(row) for row in rows} == {len(rows[0])}
    line = next(row for row in read_back(record(RecordKind.ANALYSIS_LOG, *DAY)) if row["fact"] == "K7Q2M9XA-5")
    assert (line["o2_percent"], line["he_percent"], line["pressure_bar"], line["limit_ata"]) == (
        "18.2", "44.6", "228.5", "1.4")
    assert line["at"] == "2027-05-14T05:40:00+00:00"


@pytest.mark.parametrize("kind", RecordKind)
def test_json_is_as_its_schema_says(kind: RecordKind) -> None:
    """Every record, also an empty one, holds to docs/schema/record.json."""
    for facts in ((), DAY):
        answer = json.loads(record_json_text(record(kind, *facts)))
        jsonschema.Draft202012Validator(SCHEMA).validate(answer)
        assert answer["schema"] == "gaswright.record/1"
        assert answer["heads"] == [{"origin": "K7Q2M9XA", "number": 9, "hash": "ab" * 32}]


def test_json_has_fractions_and_bar() -> None:
    """Oxygen and helium are fractions, pressures bar, and the columns say so."""
    answer = json.loads(record_json_text(record(RecordKind.ANALYSIS_LOG, *DAY)))
    line = next(row for row in answer["rows"] if row["fact"] == "K7Q2M9XA-5")["cells"]
    close(line["o2"], 0.182, within=1e-12)
    close(line["he"], 0.446, within=1e-12)
    close(line["pressure_bar"], 228.5, within=1e-12)
    units = {column["key"]: column["unit"] for column in answer["columns"]}
    assert (units["o2"], units["pressure_bar"], units["mod_ft"]) == ("fraction", "bar", "ft")


def test_retention_names_its_rule() -> None:
    """Each class says how long and by which rule: 29 CFR 1910.440 and DWR 1997 reg. 6 for dives (as named)."""
    dive = RETENTION[RecordKind.DIVES]
    assert "2 years" in dive.keep
    assert "5 years after decompression illness" in dive.keep
    assert "29 CFR 1910.440" in dive.source
    assert "1997 reg. 6" in dive.source
    for kind in (RecordKind.FILL_LOG, RecordKind.ANALYSIS_LOG, RecordKind.LABELS):
        assert RETENTION[kind].status == "policy"


def test_names_of_records_and_heads() -> None:
    """A record is known by its name; heads are sorted by origin."""
    assert record_kind_of("fill-log") is RecordKind.FILL_LOG
    with pytest.raises(InputError, match="choose fill-log"):
        record_kind_of("fills")
    assert [head.origin for head in heads_of({"B": (1, "x"), "A": (2, "y")})] == ["A", "B"]
