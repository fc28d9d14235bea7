"""`records`, `evidence` and `erase` as a user types them."""

import csv
import io
import re
import zipfile
from pathlib import Path

import pytest

from gaswright.cli.main import COMMANDS, run
from record_days import ORIGIN, TO, day_book


@pytest.fixture
def db(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The address of the book of a day; this machine's list of origins is the test's own."""
    with day_book(tmp_path) as book:
        url = book.url
    monkeypatch.setattr("gaswright.book.store.origins_folder", lambda: tmp_path / "origins")
    return url


def said(capsys: pytest.CaptureFixture[str], code: int, *arguments: str) -> str:
    """What a call prints that ends with this exit code: answer and complaint never together."""
    assert run(list(arguments)) == code
    out, err = capsys.readouterr()
    assert not (out and err)
    assert "Traceback" not in err
    assert "defect" not in err
    return out or err


def test_records_are_written_and_named(db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each kind gives its files; stdout says how many entries and which files."""
    out = tmp_path / "out"
    kinds = ("fill-log", "analysis-log", "labels", "equipment", "approvals", "dives", "incidents")
    text = said(capsys, 0, "records", *(word for kind in kinds for word in ("--kind", kind)), "--out", str(out),
                "--db", db, "--by", "d1")
    ends = ("pdf", "csv", "json")
    assert {path.name for path in out.iterdir()} == {f"{kind}.{end}" for kind in kinds for end in ends}
    assert "Fill log, the beginning to now: 4 entries" in text
    assert all(str(path) in text for path in out.iterdir())


def test_a_period_and_formats(db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
                              monkeypatch: pytest.MonkeyPatch) -> None:
    """--from, --to and --format are obeyed; the book's address may stand in the environment."""
    monkeypatch.setenv("GASWRIGHT_DB", db)
    text = said(capsys, 0, "records", "--kind", "fill-log", "--out", str(tmp_path / "o"), "--from", "2027-05-15",
                "--format", "csv")
    assert "Fill log, 2027-05-15 to now: 0 entries" in text
    assert [path.name for path in (tmp_path / "o").iterdir()] == ["fill-log.csv"]


@pytest.mark.parametrize(("wrong", "named"), [
    (("--kind", "fills"), "choose fill-log"), (("--from", "soon"), "--from"), (("--to", "2027-13-01"), "--to"),
    (("--from", "2027-05-15", "--to", "2027-05-14"), "before it begins"), (("--format", "xls"), "choose from pdf"),
    (("--format", ","), "choose from pdf"), (("--by", "nobody"), "there is no person"), (("--stock", "a3"), "a4 or"),
])
def test_bad_words_are_refused_and_nothing_is_written(
    wrong: tuple[str, ...], named: str, db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2, the option is named, no folder is made."""
    out = tmp_path / "none"
    assert named in said(capsys, 2, "records", "--kind", "fill-log", "--out", str(out), "--db", db, *wrong)
    assert not out.exists()


def test_a_book_that_is_not_there_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No book is made by asking for a record of it."""
    url = f"sqlite:///{tmp_path / 'no.db'}"
    for arguments in (("records", "--kind", "dives", "--out", str(tmp_path / "o")),
                      ("evidence", "c1", "--out", str(tmp_path / "e.zip")),
                      ("erase", "person", "d1", "--by", "d1", "--reason", "why")):
        assert "no.db" in said(capsys, 2, *arguments, "--db", url)
    assert list(tmp_path.iterdir()) == []


def test_evidence_is_one_file(db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A frozen cylinder gives a zip with its facts; another is refused with exit 3 or 2 and no file."""
    path = tmp_path / "c1.zip"
    assert said(capsys, 0, "evidence", "c1", "--out", str(path), "--db", db, "--by", "d2") == f"{path}\n"
    with zipfile.ZipFile(path) as archive:
        assert archive.read("facts.jsonl").count(b"\n") == 13
    assert "there is no cylinder 'c9'" in said(capsys, 2, "evidence", "c9", "--out", str(tmp_path / "x"), "--db", db)
    assert not (tmp_path / "x").exists()


def test_evidence_of_a_cylinder_in_use_is_refused(db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 3: the facts forbid it, and the sentence says what to do."""
    from book_days import draft, put, reopened  # noqa: PLC0415  only here

    with reopened(tmp_path) as book:
        put(book, draft("cylinder.registered", "register/c2", id="c2"))
    assert "freeze it first" in said(capsys, 3, "evidence", "c2", "--out", str(tmp_path / "x"), "--db", db)
    assert not (tmp_path / "x").exists()


def test_erasing_prints_the_id_of_its_fact_last(db: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The last word of stdout is the id; afterwards the record shows the id of the person and the lost note."""
    request = ("erase", "person", "d2", "--by", "d1", "--reason", "asked for it", "--key", "k1", "--db", db)
    person = said(capsys, 0, *request)
    assert person.split()[-1] == f"{ORIGIN}-16"
    assert "1 text erased" in person
    assert "backups and bundles made before still hold" in person
    again = said(capsys, 0, *request)
    assert again.split()[-1] == f"{ORIGIN}-16"
    note = said(capsys, 0, "erase", "note", f"{ORIGIN}-12", "--by", "d1", "--reason", "not ours", "--db", db, "--at",
                "2027-05-14T20:00:00")
    assert note.split()[-1] == f"{ORIGIN}-17"
    said(capsys, 0, "records", "--kind", "fill-log", "--kind", "analysis-log", "--out", str(tmp_path), "--db", db)
    fills = (tmp_path / "fill-log.csv").read_text(encoding="utf-8")
    assert TO not in fills
    rows = list(csv.DictReader(io.StringIO((tmp_path / "analysis-log.csv").read_text(encoding="utf-8"), newline="")))
    assert {row["witness"] for row in rows} == {"d2", ""}


@pytest.mark.parametrize(("arguments", "named"), [
    (("erase", "cylinder", "c1"), "write person or note"), (("erase", "person", "d22"), "nearest is"),
    (("erase", "note", "K7Q2M9XA-3"), "holds no note"), (("erase", "person", "d2", "--at", "soon"), "--at"),
    (("erase", "person", "d2", "--key", "a#b"), "is no key"), (("erase", "person", "d2", "--key", "lend"), "lend"),
])
def test_what_cannot_be_erased_is_refused(
    arguments: tuple[str, ...], named: str, db: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2 and one sentence; a key that stands for another request is refused too."""
    assert named in said(capsys, 2, *arguments, "--by", "d1", "--reason", "why", "--db", db)


def test_the_three_commands_are_there_and_explain_themselves(capsys: pytest.CaptureFixture[str]) -> None:
    """--help of each says what it does."""
    for name in ("records", "evidence", "erase"):
        assert name in COMMANDS
        assert re.search(r"Options:", said(capsys, 0, name, "--help"))
