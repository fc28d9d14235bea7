"""The book as a user types it: a whole day over SQLite, keys, clocks, people, bad input, exit codes."""

import json
import re
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from check import close
from gaswright.cli.main import run

SCHEMAS = Path(__file__).resolve().parents[2] / "docs" / "schema"
ID = re.compile(r"[A-Z0-9]{8}-[1-9][0-9]*")
ADD = ("cylinder", "add", "c1", "--serial", "HM-11-1187", "--owner", "ines", "--role", "deco", "--volume", "11.1",
       "--working-pressure", "207", "--oxygen-clean")


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """A book of Ines and Tomas in a folder of its own, named by the environment."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("GASWRIGHT_DB", f"sqlite:///{tmp_path}/boat.db")
    assert run(["book", "init", "--by", "ines", "--name", "Ines", "--zone", "Europe/Vienna"]) == 0
    assert run(["people", "add", "tomas", "--name", "Tomas", "--by", "ines"]) == 0
    capsys.readouterr()
    return tmp_path


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Any:  # noqa: ANN401  a function
    """A function that runs a command and gives what it printed, after its exit code was looked at."""

    def call(*arguments: str, code: int = 0) -> str:
        assert run(list(arguments)) == code, capsys.readouterr()
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        assert "defect" not in err
        if code == 2:
            assert not out
            assert err.strip()
        return str(out if code != 2 else err)

    return call


def board(said: Any, *more: str, code: int = 3) -> dict[str, Any]:  # noqa: ANN401  a function
    """The board as JSON, validated against its published schema; without a plan it never goes."""
    answer: dict[str, Any] = json.loads(said("today", "--json", *more, code=code))
    schema = json.loads((SCHEMAS / "today.json").read_text(encoding="utf-8"))
    jsonschema.validate(answer, schema, cls=jsonschema.Draft202012Validator)
    assert list(answer)[:4] == ["schema", "program", "policy", "input_sha256"]
    return answer


def only(answer: dict[str, Any]) -> dict[str, Any]:
    """The one cylinder of a board."""
    found: dict[str, Any] = answer["cylinders"][0]
    assert len(answer["cylinders"]) == 1
    return found


def an_id(text: str) -> str:
    """The fact's id: the last word."""
    word = text.rsplit(maxsplit=1)[-1]
    assert ID.fullmatch(word), text
    return word


@pytest.mark.usefixtures("book")
def test_the_whole_day(said: Any) -> None:  # noqa: ANN401  a function
    """Registered, filled, analysed, accepted, labelled, labels off, log: each step shows on the board, and verifies."""
    said(*ADD, "--by", "ines")
    assert only(board(said))["standing"] == "unknown"
    an_id(said("fill", "c1", "--pressure", "200", "--target", "50", "--by", "tomas"))
    shown = only(board(said))
    assert shown["standing"] == "filled"
    assert [shown[key] for key in ("o2", "he", "mod_m", "mod_ft")] == [None] * 4
    assert shown["why"]
    an_id(said("analyse", "c1", "--o2", "49,6", "--he", "0", "--pressure", "2840 psi", "--by", "tomas", "--witness",
               "ines"))
    shown = only(board(said))
    assert (shown["id"], shown["serial"], shown["diver"]) == ("c1", "HM-11-1187", "ines")
    assert (shown["standing"], shown["mod_m"], shown["mod_ft"]) == ("analysed", 21, 70)  # team mark of EAN50
    close(shown["o2"], 0.496, within=1e-9)
    close(shown["he"], 0.0, within=1e-9)
    assert shown["why"] is None
    assert "analysis.by_another" in {finding["code"] for finding in board(said)["findings"]}
    an_id(said("analyse", "c1", "--accept", "--by", "ines"))
    assert "analysis.by_another" not in {finding["code"] for finding in board(said)["findings"]}
    an_id(said("label", "c1", "--serial-read", "1187", "--by", "ines"))
    answer = board(said)
    assert only(answer)["standing"] == "labelled"  # never cleared without the team's clearance
    assert answer["go"] is False
    assert "LABELLED" in said("today", code=3)
    an_id(said("labels-off", "--all", "--by", "ines"))
    shown = only(board(said))
    assert (shown["standing"], shown["o2"], shown["mod_m"]) == ("unknown", None, None)
    log = said("log", "c1")
    assert [line.split()[3] for line in log.splitlines()] == [
        "cylinder.registered", "cylinder.filled", "gas.analysed", "gas.accepted", "label.applied", "labels.removed"]
    assert "0 problems" in said("book", "verify")


@pytest.mark.usefixtures("book")
def test_the_log_as_json(said: Any) -> None:  # noqa: ANN401  a function
    """The log validates against its published schema and shows notes that were not erased."""
    said(*ADD, "--by", "ines")
    said("cylinder", "freeze", "c1", "--reason", "smells of oil", "--by", "tomas")
    answer = json.loads(said("log", "--json"))
    schema = json.loads((SCHEMAS / "log.json").read_text(encoding="utf-8"))
    jsonschema.validate(answer, schema, cls=jsonschema.Draft202012Validator)
    assert answer["facts"][-1]["data"] == {"reason": "smells of oil"}
    assert (answer["facts"][-1]["by"], answer["facts"][-1]["name"]) == ("tomas", "Tomas")
    assert only(board(said))["hold"] == "frozen"
    assert len(said("log", "--limit", "2").splitlines()) == 2


@pytest.mark.usefixtures("book")
def test_a_repeated_key_prints_the_first_id(said: Any) -> None:  # noqa: ANN401  a function
    """For every writing command: the same words give the same line, and nothing new in the book."""
    calls = [
        ADD, ("fill", "c1", "--pressure", "200", "--target", "50"), ("analyse", "c1", "--o2", "49.6", "--he", "0"),
        ("label", "c1", "--serial-read", "1187"), ("cylinder", "pressure", "c1", "190"), ("labels-off", "--all"),
        ("people", "add", "noor"), ("cylinder", "mark", "c1", "cleaned"), ("cylinder", "lend", "c1", "--to", "a boat"),
        ("cylinder", "assign", "c1", "--owner", "tomas"),
    ]
    first = [said(*call, "--by", "ines", "--key", f"k{place}") for place, call in enumerate(calls)]
    lines = len(said("log").splitlines())
    assert [said(*call, "--by", "ines", "--key", f"k{place}") for place, call in enumerate(calls)] == first
    assert len(said("log").splitlines()) == lines


@pytest.mark.parametrize("other", [
    ("fill", "c1", "--pressure", "201", "--by", "ines"), ("fill", "c1", "--pressure", "200", "--by", "tomas"),
    ("fill", "c1", "--pressure", "200", "--by", "ines", "--at", "2026-01-01T08:00:00"),
    ("labels-off", "c1", "--by", "ines"),
], ids=["pressure", "person", "time", "command"])
@pytest.mark.usefixtures("book")
def test_the_same_key_with_other_words_is_refused(said: Any, other: tuple[str, ...]) -> None:  # noqa: ANN401  a function
    """Whatever of the words differs: exit code 2, naming the fact that has the key."""
    said(*ADD, "--by", "ines")
    first = an_id(said("fill", "c1", "--pressure", "200", "--by", "ines", "--key", "k"))
    assert first in said(*other, "--key", "k", code=2)


def test_init_is_repeated_under_its_key_and_refused_without(book: Path, said: Any) -> None:  # noqa: ANN401  a function
    """A book that is there is not written over."""
    url = f"sqlite:///{book}/second.db"
    words = ("book", "init", "--by", "noor", "--zone", "UTC", "--db", url)
    first = an_id(said(*words, "--key", "k"))
    assert first.endswith("-1")
    assert an_id(said(*words, "--key", "k")) == first
    assert "already" in said(*words, code=2)


@pytest.mark.parametrize(("words", "hint"), [
    (("fill", "c1", "--by", "inez"), "ines"),
    (("fill", "c1", "--by", "Tomas"), "tomas"),
    (("fill", "c11", "--by", "ines"), "c1"),
    (("fill", "c1"), "--by"),
    (("fill", "c1", "--pressure", "nan", "--by", "ines"), "nan"),
    (("fill", "c1", "--pressure", "-5", "--by", "ines"), "0 bar"),
    (("fill", "c1", "--pressure", "20000", "--by", "ines"), "310"),
    (("fill", "c1", "--pressure", "200 m", "--by", "ines"), "200 m"),
    (("fill", "c1", "--target", "0.5", "--by", "ines"), "50"),
    (("fill", "c1", "--target", "60/60", "--by", "ines"), "100"),
    (("fill", "c1", "--at", "yesterday", "--by", "ines"), "--at"),
    (("fill", "c1", "--at", "2027-10-31T02:30:00", "--by", "ines"), "offset"),
    (("fill", "c1", "--key", "a#b", "--by", "ines"), "key"),
    (("fill", "c1", "--key", "", "--by", "ines"), "key"),
    (("analyse", "c1", "--o2", "0.32", "--by", "ines"), "32"),
    (("analyse", "c1", "--o2", "inf", "--by", "ines"), "inf"),
    (("analyse", "c1", "--o2", "60", "--he", "60", "--by", "ines"), "100 %"),
    (("analyse", "c1", "--by", "ines"), "--o2"),
    (("analyse", "c1", "--o2", "50", "--accept", "--by", "ines"), "--accept"),
    (("analyse", "c1", "--o2", "50", "--witness", "nobody", "--by", "ines"), "nobody"),
    (("label", "c1", "--serial-read", " ", "--by", "ines"), "metal"),
    (("labels-off", "--by", "ines"), "--all"),
    (("labels-off", "c1", "--all", "--by", "ines"), "--all"),
    (("labels-off", "--all", "--by", "ines"), "nothing was recorded"),
    (("cylinder", "add", "c1", *ADD[3:], "--by", "ines"), "registered already"),
    (("cylinder", "add", "c2", *ADD[3:], "--by", "ines"), "c1 already"),
    (("cylinder", "add", "bad id", "--serial", "9", *ADD[5:], "--by", "ines"), "id"),
    (("cylinder", "add", "c2", "--serial", "9", "--owner", "nobody", *ADD[7:], "--by", "ines"), "nobody"),
    (("cylinder", "add", "c2", "--serial", "9", "--owner", "ines", "--role", "pony", *ADD[9:], "--by", "ines"), "role"),
    (("cylinder", "add", "c2", "--serial", "9", "--owner", "ines", "--role", "main", "--volume", "9000",
      "--working-pressure", "200", "--by", "ines"), "120"),
    (("cylinder", "add", "c2", "--serial", "9", "--mark", "21", *ADD[5:], "--by", "ines"), "21 m"),
    (("cylinder", "inspect", "c1", "--by", "ines"), "--tested-until"),
    (("cylinder", "inspect", "c1", "--tested-until", "soon", "--by", "ines"), "soon"),
    (("cylinder", "stage", "c1", "--by", "ines"), "--depth"),
    (("people", "add", "team", "--by", "ines"), "team"),
    (("people", "add", "x", "--name", "", "--by", "inez"), "ines"),
    (("book", "correct", "AAAAAAAA-1", "--reason", "wrong", "--by", "ines"), "AAAAAAAA-1"),
    (("book", "correct", "nonsense", "--reason", "wrong", "--by", "ines"), "nonsense"),
    (("book", "merge", "missing.bundle"), "missing.bundle"),
    (("book", "merge", "missing.toml", "--by", "ines"), "missing.toml"),
    (("book", "merge", "missing.toml"), "--by"),
    (("book", "export", "x.toml", "--day", "2027-05-15"), "plan"),
    (("book", "verify", "--db", "sqlite:////nowhere/x.db"), "book init"),
    (("book", "init", "--by", "ines", "--zone", "Nowhere/Here", "--db", "sqlite:///y.db"), "Nowhere"),
    (("today", "--now", "soon"), "--now"),
    (("today", "--by", "ines"), "--clear"),
    (("today", "--clear"), "--by"),
    (("today", "--withdraw", "ines", "--by", "ines"), "withdraw"),
    (("log", "--limit", "0"), "0"),
    (("log", "c9"), "c1"),
    (("today", "--db", "mysql://x"), "sqlite:///"),
])
def test_bad_input_is_one_sentence_and_records_nothing(
    book: Path, said: Any, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], hint: str,  # noqa: ANN401  a function
) -> None:
    """Exit code 2, what is wrong and what to do, nothing on standard output, nothing in the book."""
    monkeypatch.chdir(book)
    said(*ADD, "--by", "ines")
    before = said("log")
    assert hint in said(*words, code=2)
    assert said("log") == before


@pytest.mark.usefixtures("book")
def test_a_label_of_another_cylinder_is_kept_and_stops(said: Any) -> None:  # noqa: ANN401  a function
    """Exit code 3, the id still the last word; the cylinder is not labelled."""
    said(*ADD, "--by", "ines")
    said("analyse", "c1", "--o2", "49.6", "--he", "0", "--by", "ines")
    an_id(said("label", "c1", "--serial-read", "9999", "--by", "ines", code=3))
    assert only(board(said))["standing"] == "analysed"


@pytest.mark.usefixtures("book")
def test_an_unknown_gas_is_not_labelled(said: Any) -> None:  # noqa: ANN401  a function
    """Exit code 3 and nothing printed that could be taken for an id."""
    said(*ADD, "--by", "ines")
    assert not said("label", "c1", "--serial-read", "1187", "--by", "ines", code=3)


@pytest.mark.usefixtures("book")
def test_clocks(said: Any) -> None:  # noqa: ANN401  a function
    """An analysis of two hours ahead does not vouch; one of twenty hours ago is too old; a local time is the zone's."""
    said(*ADD, "--by", "ines")
    ahead = (datetime.now(UTC) + timedelta(hours=2)).isoformat()
    an_id(said("analyse", "c1", "--o2", "49.6", "--he", "0", "--at", ahead, "--by", "ines", code=3))
    assert "gas.in_the_future" in {finding["code"] for finding in board(said)["findings"]}
    old = (datetime.now(UTC) - timedelta(hours=20)).isoformat()
    an_id(said("analyse", "c1", "--o2", "49.6", "--he", "0", "--at", old, "--by", "ines", code=3))
    assert "gas.expired" in {finding["code"] for finding in board(said)["findings"]}
    an_id(said("analyse", "c1", "--o2", "49.6", "--he", "0", "--by", "ines"))
    later = (datetime.now(UTC) + timedelta(days=2)).isoformat()
    assert only(board(said, "--now", later))["standing"] == "unknown"
    assert only(board(said))["standing"] == "analysed"
    said("cylinder", "pressure", "c1", "190", "--at", "2026-07-01T08:00:00", "--by", "ines")
    assert json.loads(said("log", "c1", "--json"))["facts"][-1]["at"] == "2026-07-01T06:00:00+00:00"


def test_a_bundle_goes_from_one_book_to_another(book: Path, said: Any) -> None:  # noqa: ANN401  a function
    """Facts, people and standings come along; a second merge brings nothing new; a fork is refused with 3."""
    said(*ADD, "--by", "ines")
    said("fill", "c1", "--pressure", "200", "--by", "ines")
    said("book", "export", str(book / "boat.bundle"), "--by", "ines")
    other = ("--db", f"sqlite:///{book}/station.db")
    said("book", "init", "--by", "noor", "--zone", "Europe/Vienna", *other)
    assert "4 new facts" not in said("book", "merge", str(book / "boat.bundle"), *other)
    assert "0 new facts" in said("book", "merge", str(book / "boat.bundle"), *other)
    assert only(board(said, *other))["standing"] == "filled"
    assert "Tomas" in said("people", "list", *other)
    damaged = (book / "boat.bundle").read_bytes().replace(b"20000", b"20001")
    (book / "bad.bundle").write_bytes(damaged)
    assert "altered" in said("book", "merge", str(book / "bad.bundle"), *other, code=2)


def test_a_backup_is_restored_under_a_new_origin(book: Path, said: Any) -> None:  # noqa: ANN401  a function
    """The copy verifies and writes its own numbers; nothing is written over."""
    said(*ADD, "--by", "ines")
    snapshot = said("book", "backup", "--to", str(book / "saved")).strip()
    copy = ("--db", f"sqlite:///{book}/copy.db")
    origin = said("book", "restore", snapshot, *copy).split()[-1]
    assert an_id(said("fill", "c1", "--pressure", "200", "--by", "ines", *copy)) == f"{origin}-1"
    assert "already" in said("book", "restore", snapshot, *copy, code=2)
    adopted = said("book", "adopt", *copy).split()[-1]
    assert an_id(said("fill", "c1", "--pressure", "190", "--by", "ines", *copy)) == f"{adopted}-1"


def test_an_altered_byte_is_found_and_named(book: Path, said: Any) -> None:  # noqa: ANN401  a function
    """Exit code 3, and the sentence names the fact."""
    said(*ADD, "--by", "ines")
    fact = an_id(said("fill", "c1", "--pressure", "200", "--by", "ines"))
    path = book / "boat.db"
    content = path.read_bytes()
    assert b'"gauge_centibar":20000' in content
    path.write_bytes(content.replace(b'"gauge_centibar":20000', b'"gauge_centibar":21000'))
    assert fact in said("book", "verify", code=3)


def test_a_trip_file_comes_back(book: Path, said: Any) -> None:  # noqa: ANN401  a function
    """Taken once, however often; told again by the export, which reads as a trip file."""
    trip = Path(str(files("gaswright").joinpath("data/demo/quarry-day.toml")))
    first = said("book", "merge", str(trip), "--by", "ines")
    assert said("book", "merge", str(trip), "--by", "ines") == first
    an_id(first)
    said("book", "export", str(book / "day.toml"), "--day", "2027-05-15")
    assert "GO" in said("check", str(book / "day.toml"), "--now", "2027-05-15T09:00:00")
    assert said("today", "--clear", "--by", "ines", code=3) == ""


def test_gas_does_not_load_the_book() -> None:
    """One gas is answered without the store, the fold or the trip reader being imported."""
    code = ("import sys; from gaswright.cli.main import run; run(['gas', '18/45']); "
            "sys.exit('sqlalchemy' in sys.modules or 'gaswright.services.book_day' in sys.modules)")
    found = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True, timeout=60)
    assert found.returncode == 0, found.stderr
