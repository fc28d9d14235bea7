"""accept, stress, choose, plan-b, booklet and pictures as a user types them."""

import csv
import io
import json
import re
import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from check import close
from gaswright.cli import progress
from gaswright.cli.main import run

ROOT = Path(__file__).parents[2]
TRIP = files("gaswright").joinpath("data/demo/quarry-day.toml").read_text(encoding="utf-8")


@pytest.fixture
def trip(tmp_path: Path) -> str:
    """The demo trip as a file of its own."""
    path = tmp_path / "trip.toml"
    path.write_text(TRIP, encoding="utf-8")
    return str(path)


def answered(capsys: pytest.CaptureFixture[str], code: int, *arguments: str) -> dict[str, Any]:
    """The JSON answer of a call, valid against its schema, the answer alone on the output."""
    assert run([*arguments, "--json"]) == code
    out, err = capsys.readouterr()
    assert not err
    answer: dict[str, Any] = json.loads(out)
    name = answer["schema"].removeprefix("gaswright.").removesuffix("/1")
    schema = json.loads((ROOT / "docs" / "schema" / f"{name}.json").read_text(encoding="utf-8"))
    Draft202012Validator(schema).validate(answer)
    assert {"schema", "program", "policy", "input_sha256"} <= set(answer)
    return answer


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The text of a call that ends with exit code 2 and answers nothing."""
    assert run(list(arguments)) == 2
    out, err = capsys.readouterr()
    assert not out
    assert "Traceback" not in err
    assert "defect" not in err
    return err


def reading(trip: str, cylinder: str, o2: str, he: str) -> tuple[str, ...]:
    """The words of `accept`."""
    return ("accept", trip, "--cylinder", cylinder, "--o2", o2, "--he", he)


@pytest.mark.parametrize(("cylinder", "o2", "he", "code", "word"), [
    ("ines-50", "50.6", "none", 0, "holds"), ("ines-50", "50,6 %", "0", 0, "holds"),
    ("ines-50", "55.6", "none", 0, "re-plan"), ("ines-mains", "22", "45", 3, "refuse"),
    ("ines-mains", "18.4", "none", 3, "refuse"), ("noor-mains", "17.8", "45.1", 0, "holds"),
])  # fmt: skip
def test_accept_answers_by_the_contract(
    trip: str, cylinder: str, o2: str, he: str, code: int, word: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Verdict, reasons, changes and window; exit code 3 on refuse and on nothing else."""
    answer = answered(capsys, code, *reading(trip, cylinder, o2, he))
    assert answer["verdict"] == word
    assert {"verdict", "reasons", "changes", "window"} <= set(answer)
    stops = [one for one in answer["reasons"] if one["severity"] != "note"]
    assert bool(stops) == (word != "holds")
    window = answer["window"]
    assert len(window["rows"]) == len(window["he"]) == 41
    assert all(len(row) == len(window["o2"]) == 41 for row in window["rows"])
    assert set("".join(window["rows"])) <= {".", "-"} | set(window["legend"])
    assert all(0.0 <= part <= 1.0 for part in (*window["o2"], *window["he"]))
    assert all(one["rule"]["source"] for one in window["boundaries"])


def test_the_planned_gas_is_a_dot_of_the_window(trip: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The cell of the analysis in force holds in the answer's own rows."""
    window = answered(capsys, 0, *reading(trip, "tomas-50", "50.2", "0"))["window"]
    row, column = window["he"].index(window["planned"]["he"]), window["o2"].index(window["planned"]["o2"])
    assert window["rows"][row][column] == "."


def test_accept_in_words_says_who_and_what(trip: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The verdict, the reason, each diver's new switch, and a fill that mends it."""
    assert run(list(reading(trip, "ines-50", "55.6", "none"))) == 0
    out = capsys.readouterr().out
    assert "RE-PLAN" in out
    for name in ("Ines", "Tomas", "Noor"):
        assert f"{name}: switch of {name.lower()}-50: 21 m -> 18 m" in out
    assert "fill to 49.6 %" in out


@pytest.mark.parametrize(("cylinder", "o2", "he", "named"), [
    ("nobody", "50", "none", "nobody"), ("ines-50", "0.5", "none", "50"), ("ines-50", "abc", "none", "--o2"),
    ("ines-50", "101", "none", "100"), ("ines-50", "nan", "none", "--o2"), ("ines-50", "60", "60", "100"),
    ("ines-mains", "18", "-1", "--he"), ("ines-50", "0", "none", "1"), ("ines-50", "", "", "--o2"),
])  # fmt: skip
def test_a_reading_that_cannot_be_is_refused(
    trip: str, cylinder: str, o2: str, he: str, named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2, one sentence that names what is wrong."""
    assert named in refused(capsys, *reading(trip, cylinder, o2, he))


def test_the_picture_of_a_window_is_written_whole(
    trip: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """--plot writes an SVG; where it cannot be written, nothing is left and the place is named."""
    assert run([*reading(trip, "ines-50", "50.6", "none"), "--plot", str(tmp_path / "w.svg")]) == 0
    assert (tmp_path / "w.svg").read_text(encoding="utf-8").endswith("</svg>\n")
    capsys.readouterr()
    missing = str(tmp_path / "nowhere" / "w.svg")
    assert missing in refused(capsys, *reading(trip, "ines-50", "50.6", "none"), "--plot", missing)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["trip.toml", "w.svg"]


def test_stress_answers_by_the_contract(trip: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Runs, seed, quantiles in order, gas left, shares, what matters; 64 runs were replayed."""
    answer = answered(capsys, 0, "stress", trip, "--runs", "400", "--seed", "5")
    assert (answer["runs"], answer["seed"], answer["made"], answer["verified"]) == (400, 5, 400, 64)
    assert answer["tts_min"]["p5"] <= answer["tts_min"]["p50"] <= answer["tts_min"]["p95"]
    assert set(answer["left_bar"]) == {f"{d}-{c}" for d in ("ines", "tomas", "noor") for c in ("mains", "50", "oxygen")}
    for left in answer["left_bar"].values():
        assert 0.0 <= left["p5"] <= left["p50"] <= left["p95"]
    for one in answer["broken"]:
        close(one["share"], one["runs"] / 400, within=1e-12)
        assert one["rule"]["source"]
    assert answer["sensitivity"][0]["input"] == "minutes"
    assert all(0.0 <= one["tts"] <= 1.0 for one in answer["sensitivity"])


def test_stress_is_the_same_with_any_number_of_workers(trip: str, capsys: pytest.CaptureFixture[str]) -> None:
    """One worker or four: the same answer to the last digit; another seed: another answer."""
    one = answered(capsys, 0, "stress", trip, "--runs", "3000", "--workers", "1")
    assert answered(capsys, 0, "stress", trip, "--runs", "3000", "--workers", "4") == one
    assert answered(capsys, 0, "stress", trip, "--runs", "3000", "--seed", "2")["left_bar"] != one["left_bar"]


@pytest.mark.parametrize("words", [("--runs", "0"), ("--runs", "x"), ("--runs", "10", "--seed", "-1"), (),
                                   ("--runs", "10", "--workers", "0"), ("--runs", "99999999999")])  # fmt: skip
def test_stress_refuses_what_cannot_be(trip: str, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """No runs, a negative seed, no workers: exit code 2."""
    assert refused(capsys, "stress", trip, *words)


def test_an_interrupt_leaves_nothing_half(
    trip: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C during a map ends with 130, no output, no picture."""

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("gaswright.planning.plan_b.plan", stop)
    assert run(["plan-b", trip, "--plot", str(tmp_path / "map.svg")]) == 130
    out, err = capsys.readouterr()
    assert not out
    assert "stopped" in err
    assert [path.name for path in tmp_path.iterdir()] == ["trip.toml"]


def test_long_work_shows_its_progress(
    trip: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Work past the quiet time shows a bar on the error stream; the output stays the answer."""
    monkeypatch.setattr(progress, "QUIET_S", -1.0)
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert run(["plan-b", trip, "--depths", "30", "--minutes", "5 10", "--json"]) == 0
    out, err = capsys.readouterr()
    assert len(json.loads(out)["cells"]) == 2
    assert "plan B" in err


def test_choose_puts_the_best_first_and_gives_every_loser_its_reason(
    trip: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """House gases in one text or several; the best choice costs nothing against itself."""
    answer = answered(capsys, 0, "choose", trip, "--house", "18/45 21/35", "--house", "50 oxygen")
    best, *others = answer["choices"]
    assert (best["name"], best["minutes_more"], best["loses"]) == ("best", 0.0, False)
    assert len(others) == 4
    assert all(one["why"] for one in others if one["loses"])
    assert run(["choose", trip, "--depth", "100 ft", "--minutes", "30", "--deco", "1"]) == 0
    assert "BEST" in capsys.readouterr().out


@pytest.mark.parametrize("words", [("--house", "nitrox"), ("--depth", "-3"), ("--depth", "400"), ("--minutes", "0"),
                                   ("--depth", "30 40"), ("--deco", "4"), ("--depth", "nan")])  # fmt: skip
def test_choose_refuses_what_cannot_be(trip: str, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """Unknown gas, no depth, no gas for it: exit code 2."""
    assert refused(capsys, "choose", trip, *words)


def test_plan_b_names_the_rule_that_stops(trip: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Cells hold or carry the finding that stops them; series are read in metres and in feet; the map is drawn."""
    answer = answered(capsys, 0, "plan-b", trip, "--depths", "30 to 66 by 18", "--minutes", "10 40")
    assert [(one["depth_m"], one["minutes"]) for one in answer["cells"]] == [
        (depth, minutes) for depth in (30.0, 48.0, 66.0) for minutes in (10.0, 40.0)
    ]
    assert all((one["stop"] is None) == one["holds"] for one in answer["cells"])
    assert answer["cells"][-1]["stop"]["code"] == "mod.planned_use"
    feet = answered(capsys, 0, "plan-b", trip, "--depths", "100ft 120ft", "--minutes", "10")
    close(feet["cells"][0]["depth_m"], 30.48, within=1e-9)
    assert run(["plan-b", trip, "--depths", "30", "--minutes", "10", "--plot", str(tmp_path / "m.svg")]) == 0
    assert "30 m: holds to 10 min" in capsys.readouterr().out
    assert (tmp_path / "m.svg").exists()


@pytest.mark.parametrize("words", [("--depths", "deep"), ("--depths", "30 to 60"), ("--depths", "60 to 30 by 3"),
                                   ("--depths", ""), ("--minutes", "0"), ("--minutes", "1 to 400 by 1"),
                                   ("--depths", "30 to 60 by 0"), ("--depths", "inf")])  # fmt: skip
def test_a_series_that_cannot_be_is_refused(
    trip: str, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """No series, backwards, empty, too many: exit code 2 and how to write it."""
    assert words[0] in refused(capsys, "plan-b", trip, *words)


def test_the_booklet_is_comma_separated(trip: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A line per depth and time on the output or in a file; TTS without each gas is longer or there is no way up."""
    out = tmp_path / "booklet.csv"
    arguments = ["booklet", trip, "--depths", "45 54", "--minutes", "15 20"]
    assert run([*arguments, "--out", str(out)]) == 0
    assert capsys.readouterr().out.strip() == str(out)
    assert run(arguments) == 0
    text = capsys.readouterr().out
    assert text == out.read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["depth"] for row in rows] == ["45 m", "45 m", "54 m", "54 m"]
    for row in rows:
        without = row["TTS min, lost 21 m gas and 6 m gas"]
        assert without == "NO WAY UP" or float(without) > float(row["TTS min"])


def test_pictures_are_all_drawn(trip: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Profile, pressures, supersaturation, oxygen and a window for each cylinder breathed."""
    assert run(["pictures", trip, "--out", str(tmp_path / "p")]) == 0
    written = {Path(line).name for line in capsys.readouterr().out.split()}
    assert written == {path.name for path in (tmp_path / "p").iterdir()}
    assert {"profile.svg", "pressures.svg", "supersaturation.svg", "oxygen.svg", "window-noor-50.svg"} <= written
    assert len(written) == 13
    assert run(["pictures", trip, "--out", str(tmp_path / "trip.toml" / "x")]) == 2


@pytest.mark.parametrize("words", [("accept", "--cylinder", "ines-50", "--o2", "50", "--he", "none"),
                                   ("stress", "--runs", "10"), ("choose",), ("plan-b",), ("booklet",)])  # fmt: skip
def test_a_bad_trip_or_one_without_a_dive_is_refused(
    words: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bad TOML, and a file that plans nothing: exit code 2 from every command."""
    path = tmp_path / "trip.toml"
    path.write_text(TRIP.replace("units =", "units = ="), encoding="utf-8")
    assert "trip.toml" in refused(capsys, words[0], str(path), *words[1:])
    nothing = re.sub(r"\[\[(level|dive)\]\]\n(?:[^\[\n][^\n]*\n|\n)*", "", TRIP)
    path.write_text(nothing, encoding="utf-8")
    assert "level" in refused(capsys, words[0], str(path), *words[1:])


def test_stress_runs_as_a_process_of_its_own(trip: str) -> None:
    """The installed program answers with JSON alone."""
    command = [sys.executable, "-m", "gaswright.cli.main", "stress", trip, "--runs", "64", "--json"]
    made = subprocess.run(command, check=True, capture_output=True, text=True)
    assert json.loads(made.stdout)["verified"] == 64


def test_the_uncertainty_of_an_analyser_can_be_given(trip: str, capsys: pytest.CaptureFixture[str]) -> None:
    """51.1 % holds with half a percent; with 3 % its MOD does not cover the switch."""
    words = reading(trip, "ines-50", "51.1", "none")
    assert answered(capsys, 0, *words)["verdict"] == "holds"
    wide = answered(capsys, 0, *words, "--uncertainty-o2", "3")
    assert (wide["verdict"], wide["reading"]["u_o2"]) == ("re-plan", 0.03)
    assert "--uncertainty-o2" in refused(capsys, *words, "--uncertainty-o2", "0.01")
    assert "--uncertainty-he" in refused(capsys, *words, "--uncertainty-he", "much")


SECOND_DIVE = """
[[dive]]
id = "pm"
start = 2027-05-15T14:00:00
after = "am"

[[level]]
dive = "pm"
depth = 40
minutes = 25
"""


def test_a_second_dive_carries_the_first(trip: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--dive names it: TTS is longer than that of the same dive made fresh, and oxygen shows both dives."""
    Path(trip).write_text(TRIP + SECOND_DIVE, encoding="utf-8")
    fresh = tmp_path / "fresh.toml"
    fresh.write_text(TRIP.replace("depth = 54\nminutes = 20", "depth = 40\nminutes = 25"), encoding="utf-8")
    second = answered(capsys, 0, "stress", trip, "--runs", "64", "--dive", "pm")
    alone = answered(capsys, 0, "stress", str(fresh), "--runs", "64")
    assert second["planned_tts_min"] > alone["planned_tts_min"]
    assert second["tts_min"]["p50"] > alone["tts_min"]["p50"]
    chosen = answered(capsys, 0, "choose", trip, "--dive", "pm", "--house", "21/35")
    same = answered(capsys, 0, "choose", str(fresh), "--house", "21/35")
    assert chosen["choices"][1]["tts_min"] >= same["choices"][1]["tts_min"]
    assert answered(capsys, 0, *reading(trip, "ines-50", "49.6", "none"), "--dive", "pm")["verdict"] == "holds"
    assert run(["pictures", trip, "--out", str(tmp_path / "p"), "--dive", "pm"]) == 0
    oxygen = (tmp_path / "p" / "oxygen.svg").read_text(encoding="utf-8")
    assert oxygen.count("am, ") == oxygen.count("pm, ") == 3
    capsys.readouterr()
    assert "noon" in refused(capsys, "plan-b", trip, "--dive", "noon")
