"""Records, evidence and erasing out of a real book, checked with hashlib, zipfile, csv and pdfium."""

import csv
import hashlib
import io
import json
import os
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from book_days import NOW, draft, made, put, reopened
from gaswright.book.bundle import export_bundle
from gaswright.book.handle import Book
from gaswright.book.merge import merge_bundle
from gaswright.book.verify import verify
from gaswright.custody.fact import Kind
from gaswright.errors import InputError, Refused
from gaswright.exchange.records import Period, RecordKind
from gaswright.services.book_acts import Act
from gaswright.services.erasing import erase_note, erase_person
from gaswright.services.evidence import evidence_bytes, write_evidence
from gaswright.services.records import record_files, records_of, write_records
from papers.measuring import page_text
from record_days import AT_ONCE, ORIGIN, REASON, TO, day_book, judged

ACT = Act("d1", NOW, "erase-1", "erase")


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """The book of a day."""
    with day_book(tmp_path) as opened:
        yield opened


def members(content: bytes) -> dict[str, bytes]:
    """The files in a zip."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def lines_of(kind: RecordKind, book: Book) -> dict[str, dict[str, str]]:
    """Fact id to the line of it in the CSV of a record."""
    text = record_files(records_of(judged(book), kind), ["csv"]).files[f"{kind}.csv"].decode()
    return {row["fact"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}


def test_every_fact_of_the_book_stands_in_a_record(book: Book) -> None:
    """All fifteen facts are lines of some record; the kept cylinder is a line of two."""
    facts = [name for kind in RecordKind for name in lines_of(kind, book)]
    assert sorted(set(facts), key=lambda name: int(name.partition("-")[2])) == [f"{ORIGIN}-{n}" for n in range(1, 16)]
    assert {name for name in facts if facts.count(name) > 1} == {f"{ORIGIN}-14"}


def test_names_and_notes_are_read_from_their_tables(book: Book) -> None:
    """The chain holds ids and hashes; the record says names and the reason."""
    lines = lines_of(RecordKind.ANALYSIS_LOG, book)
    assert lines[f"{ORIGIN}-5"]["witness"] == "Łucja (d2)"
    assert REASON in lines[f"{ORIGIN}-6"]["remark"]
    assert lines[f"{ORIGIN}-4"]["voided_by"] == f"{ORIGIN}-6"
    assert lines_of(RecordKind.FILL_LOG, book)[f"{ORIGIN}-12"]["remark"] == f"to: {TO}"


def test_a_correction_stands_only_beside_what_it_voids(book: Book) -> None:
    """The record of labels does not show the correction of an analysis, though it is in the same stream."""
    assert f"{ORIGIN}-6" not in lines_of(RecordKind.LABELS, book)
    assert f"{ORIGIN}-6" not in lines_of(RecordKind.FILL_LOG, book)


def test_a_record_shows_the_heads_of_the_book(book: Book) -> None:
    """Number and hash of the latest fact are those that the book itself says, and change with the next fact."""
    head = records_of(judged(book), RecordKind.DIVES).heads[0]
    assert (head.origin, (head.number, head.hash)) == (ORIGIN, book.head_hashes()[ORIGIN])
    assert head.number == 15
    put(book, draft(Kind.PRESSURE_READ, gauge_centibar=7900))
    assert records_of(judged(book), RecordKind.DIVES).heads[0].number == 16


def test_a_period_takes_what_happened_in_it(book: Book) -> None:
    """The next day has nothing, the day everything."""
    day = Period(date(2027, 5, 14), date(2027, 5, 14))
    assert len(records_of(judged(book), RecordKind.FILL_LOG, day).rows) == 4
    assert records_of(judged(book), RecordKind.FILL_LOG, Period(date(2027, 5, 15))).rows == ()


def test_who_made_it_must_be_known(book: Book) -> None:
    """A record names who asked for it; an unknown id is refused with the nearest."""
    assert records_of(judged(book), RecordKind.DIVES, by="d1").made_by == "Ines (d1)"
    with pytest.raises(InputError, match="nearest is"):
        records_of(judged(book), RecordKind.DIVES, by="d3")


def test_files_are_written_whole_or_not_at_all(book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three files stand in the folder; where the disk refuses, the old file stays and no half one is left."""
    files = record_files(records_of(judged(book), RecordKind.FILL_LOG))
    folder = tmp_path / "out" / "may"
    written = write_records(files, folder)
    assert [path.name for path in written] == ["fill-log.pdf", "fill-log.csv", "fill-log.json"]
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == dict(files.files)

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="No space left on device"):
        write_records(replace(files, files={"fill-log.csv": b"new"}), folder)
    assert (folder / "fill-log.csv").read_bytes() == files.files["fill-log.csv"]
    assert len(list(folder.iterdir())) == 3
    with pytest.raises(InputError, match="choose another folder"):
        write_records(files, folder / "fill-log.csv" / "x")


def test_unknown_formats_are_refused(book: Book) -> None:
    """A format that is not there, or none, is refused before anything is made."""
    table = records_of(judged(book), RecordKind.FILL_LOG)
    for formats in (["pdf", "xls"], []):
        with pytest.raises(InputError, match="choose from pdf, csv, json"):
            record_files(table, formats)


def test_paper_csv_and_json_say_the_same(book: Book) -> None:
    """Each cell of the CSV that stands on paper is in the PDF, each line of it in the JSON."""
    files = record_files(records_of(judged(book), RecordKind.LABELS)).files
    rows = list(csv.DictReader(io.StringIO(files["labels.csv"].decode(), newline="")))
    text = " ".join(page_text(files["labels.pdf"]).split())
    answer = json.loads(files["labels.json"])
    assert [row["fact"] for row in answer["rows"]] == [row["fact"] for row in rows]
    for row in rows:
        for key in ("fact", "what", "cylinder", "serial", "serial_read", "o2_percent", "mod_m", "by", "rests_on"):
            assert row[key] in text


# ---- evidence


def test_evidence_holds_the_facts_as_stored_and_their_hashes(book: Book) -> None:
    """SHA-256 over the previous hash and the line is the hash of each fact, as the README tells a stranger to check."""
    files = members(evidence_bytes(judged(book), "c1"))
    lines = files["facts.jsonl"].decode().splitlines()
    chain = list(csv.DictReader(io.StringIO(files["chain.csv"].decode(), newline="")))
    assert [json.loads(line)["id"] for line in lines] == [row["fact"] for row in chain]
    for line, row in zip(lines, chain, strict=True):
        assert hashlib.sha256((row["previous"] + line).encode()).hexdigest() == row["hash"]
    heads = list(csv.DictReader(io.StringIO(files["heads.csv"].decode(), newline="")))
    assert heads == [{"origin": ORIGIN, "number": "15", "hash": book.head_hashes()[ORIGIN][1]}]
    assert chain[-1]["hash"] == heads[0]["hash"]  # the last fact of this book is the incident


def test_evidence_holds_what_concerns_the_cylinder_and_nothing_else(book: Book) -> None:
    """Its gas, its register, its analyser, its incident; neither another cylinder nor a plan that does not name it."""
    files = members(evidence_bytes(judged(book), "c1"))
    ids = [json.loads(line)["id"] for line in files["facts.jsonl"].decode().splitlines()]
    assert ids == [f"{ORIGIN}-{n}" for n in range(1, 16) if n not in {9, 13}]
    shown = {row["fact"] for name, content in files.items() if name.startswith("records/") and name.endswith(".csv")
             for row in csv.DictReader(io.StringIO(content.decode(), newline=""))}
    assert shown == set(ids)


def test_evidence_can_be_summed(book: Book) -> None:
    """SHA256SUMS names every other file with its SHA-256."""
    files = members(evidence_bytes(judged(book), "c1"))
    lines = [line.split("  ") for line in files.pop("SHA256SUMS").decode().splitlines()]
    sums = {name: told for told, name in lines}
    assert sums == {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}


def test_evidence_says_what_it_is_and_is_not(book: Book) -> None:
    """The README names the cylinder, the fact that froze it, the head, and that it proves no identity."""
    text = members(evidence_bytes(judged(book), "c1", by="d2"))["README.txt"].decode()
    for said in ("CYLINDER c1", f"Frozen by: {ORIGIN}-14", "13 facts", book.head_hashes()[ORIGIN][1], "Łucja (d2)",
                 "not proof of identity", "It is not an analysis of the gas"):
        assert said in text
    assert "{" not in text


def test_equal_books_give_equal_evidence(book: Book, tmp_path: Path) -> None:
    """The same book at the same time gives the same bytes, opened again too; nothing is compressed or dated by us."""
    first = evidence_bytes(judged(book), "c1", by="d1")
    with reopened(tmp_path) as again:
        assert evidence_bytes(judged(again), "c1", by="d1") == first
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert archive.namelist() == sorted(archive.namelist())
        assert {entry.compress_type for entry in archive.infolist()} == {zipfile.ZIP_STORED}
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_a_cylinder_that_is_not_frozen_gives_no_evidence(book: Book, tmp_path: Path) -> None:
    """Its gas could still change: refused, and no file; unknown cylinders are named with the nearest."""
    put(book, draft(Kind.REGISTERED, "register/c2", id="c2"))
    with pytest.raises(Refused, match="is not frozen"):
        write_evidence(judged(book), "c2", tmp_path / "c2.zip")
    with pytest.raises(InputError, match="nearest is"):
        write_evidence(judged(book), "c11", tmp_path / "c2.zip")
    assert not (tmp_path / "c2.zip").exists()


def test_evidence_is_written_whole(book: Book, tmp_path: Path) -> None:
    """The file holds the bytes; where it cannot be written the sentence names it and nothing is left."""
    path = write_evidence(judged(book), "c1", tmp_path / "c1.zip", by="d1")
    assert path.read_bytes() == evidence_bytes(judged(book), "c1", by="d1")
    with pytest.raises(InputError, match=r"none.c1\.zip"):
        write_evidence(judged(book), "c1", tmp_path / "none" / "c1.zip")


def test_evidence_of_a_merged_book_counts_one_entry_once(book: Book, tmp_path: Path) -> None:
    """An entry that reached two books is in the file as both stored it, and is one line of a record."""
    (tmp_path / "station").mkdir()
    read = draft(Kind.PRESSURE_READ, gauge_centibar=7900)
    with made(tmp_path / "station", origin="B4BBBBBB") as station:
        put(station, read, key="both")
        export_bundle(station, tmp_path / "bundle.jsonl", by="d1", now=NOW)
    put(book, read, key="both")
    merge_bundle(book, tmp_path / "bundle.jsonl", now=NOW)
    files = members(evidence_bytes(judged(book), "c1"))
    assert files["facts.jsonl"].count(b"pressure_read") == 2
    assert files["records/dives.csv"].count(b"pressure read") == 1
    heads = list(csv.DictReader(io.StringIO(files["heads.csv"].decode(), newline="")))
    assert [head["origin"] for head in heads] == ["B4BBBBBB", ORIGIN]


# ---- erasing


def test_an_erased_person_is_an_id_and_the_chain_stays_whole(book: Book) -> None:
    """The name is gone from every record and from the file of the book; the chain verifies; the act is a fact."""
    erased = erase_person(judged(book), replace(ACT, at=AT_ONCE), "d2", "asked for it")
    assert (erased.count, erased.done.ids) == (1, (f"{ORIGIN}-16",))
    assert book.people.name("d2") is None
    assert lines_of(RecordKind.ANALYSIS_LOG, book)[f"{ORIGIN}-5"]["witness"] == "d2"
    assert verify(book).problems == ()
    stored = Path(book.url.removeprefix("sqlite:///")).read_bytes()
    assert "Łucja".encode() not in stored
    line = lines_of(RecordKind.APPROVALS, book)[f"{ORIGIN}-16"]
    assert (line["what"], line["by"]) == ("person erased", "Ines (d1)")
    assert "asked for it" in line["remark"]


def test_an_erased_person_does_not_come_back_by_merging(book: Book, tmp_path: Path) -> None:
    """A bundle made before still holds the name; merging it brings the facts and not the name."""
    export_bundle(book, tmp_path / "bundle.jsonl", by="d1", now=NOW)
    erase_person(judged(book), ACT, "d2", "asked for it")
    merge_bundle(book, tmp_path / "bundle.jsonl", now=NOW)
    assert book.people.name("d2") is None


@pytest.mark.parametrize("by_fact", [True, False])
def test_an_erased_note_leaves_its_hash(book: Book, *, by_fact: bool) -> None:
    """A note goes by its hash or by the fact that holds it; the record says that it is gone; the chain verifies."""
    hash_ = str(next(fact for fact in book.stream("gas/c1") if fact.kind == Kind.LENT).data["to_sha256"])
    assert book.note(hash_) == TO
    erased = erase_note(judged(book), ACT, f"{ORIGIN}-12" if by_fact else hash_, "not ours to keep")
    assert erased.count == 1
    assert book.note(hash_) is None
    assert "text erased or not in this book" in lines_of(RecordKind.FILL_LOG, book)[f"{ORIGIN}-12"]["remark"]
    assert verify(book).problems == ()
    assert TO.encode() not in Path(book.url.removeprefix("sqlite:///")).read_bytes()


def test_erasing_is_done_once_a_key(book: Book) -> None:
    """The same request under the same key gives the first id and records nothing new."""
    first = erase_person(judged(book), ACT, "d2", "asked for it")
    again = erase_person(judged(book), ACT, "d2", "asked for it")
    assert (again.done.ids, again.count) == (first.done.ids, 0)
    assert book.head_hashes()[ORIGIN][0] == 16
    note = replace(ACT, key="erase-2")
    assert erase_note(judged(book), note, f"{ORIGIN}-12", "why").done == erase_note(
        judged(book), note, f"{ORIGIN}-12", "why").done


def test_the_last_person_cannot_be_erased(book: Book) -> None:
    """With nobody left nobody could record: refused until another one is entered."""
    erase_person(judged(book), ACT, "d2", "asked for it")
    with pytest.raises(Refused, match="is the only person in this book"):
        erase_person(judged(book), replace(ACT, key="erase-2"), "d1", "asked for it")
    assert book.people.name("d1") == "Ines"


def test_what_cannot_be_erased_is_refused_and_nothing_recorded(book: Book) -> None:
    """Unknown people, facts without notes, unknown hashes, no reason, an unknown eraser."""
    opened = judged(book)
    for wrong, person in (("nearest is", "d22"), ("there is no person", "zzzz")):
        with pytest.raises(InputError, match=wrong):
            erase_person(opened, ACT, person, "why")
    for wrong, note in (("holds no note", f"{ORIGIN}-3"), ("there is no note", "0" * 64), ("neither the hash", "x")):
        with pytest.raises(InputError, match=wrong):
            erase_note(opened, ACT, note, "why")
    with pytest.raises(InputError, match="is empty"):
        erase_person(opened, ACT, "d2", "  ")
    with pytest.raises(InputError, match="there is no person 'nobody'"):
        erase_note(opened, replace(ACT, by="nobody"), f"{ORIGIN}-12", "why")
    assert book.head_hashes()[ORIGIN][0] == 15
    assert book.people.name("d2") == "Łucja"
    assert NOW + timedelta(hours=12) == opened.now
