"""Every command as a user types it: exit codes, one sentence for bad input, nothing written, no traceback."""

import json
import re
import socket
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaswright.cli.main import COMMANDS, run

TRIP = files("gaswright").joinpath("data/demo/quarry-day.toml").read_text(encoding="utf-8")
NOW = "2027-05-15T09:00:00"


@pytest.fixture
def trip(tmp_path: Path) -> Path:
    """The demo trip as a file of its own."""
    path = tmp_path / "trip.toml"
    path.write_text(TRIP, encoding="utf-8")
    return path


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The one text of a call that ends with exit code 2."""
    assert run(list(arguments)) == 2
    out, err = capsys.readouterr()
    assert not out
    assert "Traceback" not in err
    assert "defect" not in err
    return err


BAD_TEXT = {
    "bad TOML": (TRIP.replace("units =", "units = = "), "trip.toml"),
    "unknown key": (TRIP.replace("rmv_deco = 15\n", "rmv_deco = 15\nrmv_dceo = 15\n", 1), "rmv_dceo"),
    "o2 and he over the whole": (TRIP.replace("o2 = 18.4\nhe = 41.2", "o2 = 60\nhe = 41.2"), "100"),
    "a fraction for a percentage": (TRIP.replace("o2 = 49.6", "o2 = 0.32"), "32"),
    "negative depth": (TRIP.replace("depth = 54", "depth = -54"), "depth"),
    "NaN": (TRIP.replace("depth = 54", "depth = nan"), "depth"),
    "infinity": (TRIP.replace("minutes = 20", "minutes = inf"), "minutes"),
    "duplicate ids": (TRIP.replace('id = "tomas-50"', 'id = "ines-50"'), "ines-50"),
    "unknown ids": (TRIP.replace('cylinder = "noor-50"\no2', 'cylinder = "nor-50"\no2'), "nor-50"),
    "text where a number belongs": (TRIP.replace("volume = 7.0", 'volume = "seven"', 1), "volume"),
    "a bool where a number belongs": (TRIP.replace("o2 = 99.4", "o2 = true"), "o2"),
    "a number where text belongs": (TRIP.replace('name = "Ines"', "name = 7"), "name"),
    "ten megabytes": (TRIP + "#" * 10_000_000, "trip.toml"),
    "hard cap passed": (TRIP.replace("gf_low = 35", "ppo2_deco_ata = 1.8\ngf_low = 35"), "1.65"),
    "switch off the grid": (TRIP.replace('target = "50"\n', 'target = "50"\nswitch_depth = 20\n', 1), "switch_depth"),
    "seven planned divers": (
        TRIP + "".join(
            f'\n[[diver]]\nid = "x{n}"\nname = "X"\ninitials = "X"\nrmv_bottom = 18\nrmv_deco = 15\n' for n in range(4)
        ),
        "diver",
    ),
    "empty file": ("", "trip"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_TEXT)
def test_a_bad_trip_file_is_one_clear_refusal(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2, the place is named, nothing is written, by every command that reads a trip."""
    text, named = BAD_TEXT[name]
    path = tmp_path / "trip.toml"
    path.write_text(text, encoding="utf-8")
    out = tmp_path / "papers"
    assert text != TRIP, "the fault was not made"
    for arguments in (["plan", str(path)], ["check", str(path), "--now", NOW],
                      ["papers", str(path), "--out", str(out), "--now", NOW]):  # fmt: skip
        said = refused(capsys, *arguments)
        assert "trip.toml" in said
        assert named in said
    assert not out.exists()


def test_all_problems_of_a_file_are_named_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three faults in one file are three lines, each with its own line number."""
    text = TRIP.replace("depth = 54", "depth = -54").replace("o2 = 49.6", "o2 = 0.5")
    text = text.replace("rmv_deco = 14", 'rmv_deco = "x"')
    path = tmp_path / "trip.toml"
    path.write_text(text, encoding="utf-8")
    lines = refused(capsys, "plan", str(path)).strip().splitlines()
    numbers = [match.group(1) for line in lines if (match := re.search(r"line (\d+)", line))]
    assert len(lines) == 3
    assert len(set(numbers)) == 3


@pytest.mark.parametrize("arguments", [
    ["plan", "missing.toml"], ["check", "."], ["gas", "0.32"], ["gas", "18/95"], ["gas", "nitrox"], ["gas", "0"],
    ["gas", "32", "--ppo2", "1.8"], ["gas", "32", "--ppo2", "nan"], ["gas", "32", "--depth", "-3"], ["gas", ""],
    ["gas", "32", "--depth", "inf"], ["gas", "32", "--depth", "20 furlongs"], ["gas", "32", "--nope"], ["nope"],
    ["gas", "-5"], ["gas"],
])  # fmt: skip
def test_bad_words_on_the_command_line_are_refused(
    arguments: list[str], capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit 2 and one sentence."""
    monkeypatch.chdir(tmp_path)
    assert refused(capsys, *arguments).strip()


def test_a_time_that_is_none_is_refused(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--now takes a time and nothing else."""
    assert "--now" in refused(capsys, "check", str(trip), "--now", "soon")


def test_an_unwritable_folder_is_refused_and_named(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Papers cannot be written into a file; the sentence names it."""
    assert str(trip) in refused(capsys, "papers", str(trip), "--out", str(trip / "x"), "--now", NOW)
    assert str(trip) in refused(capsys, "plan", str(trip), "--plot", str(trip / "x.svg"))


def test_an_unknown_paper_is_refused(trip: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--only takes labels, slates, cards."""
    said = refused(capsys, "papers", str(trip), "--out", str(tmp_path / "o"), "--now", NOW, "--only", "poster")
    assert "poster" in said
    assert not (tmp_path / "o").exists()


@pytest.mark.parametrize("mix", ["air", "oxygen", "32", "EAN32", "18/45", "50/0", "18,5/44.5"])
def test_gas_answers_with_the_contract_keys(mix: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The JSON of `gas` carries the keys that outside checks rely on; fractions sum to one."""
    assert run(["gas", mix, "--depth", "40", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert {"schema", "program", "policy", "input_sha256", "mod", "minimum_depth_m", "at_depth"} <= set(answer)
    assert abs(answer["o2"] + answer["he"] + answer["n2"] - 1) < 1e-12
    assert {"ppo2", "label_m", "label_ft", "place_m"} == set(answer["mod"][0])
    assert {"depth_m", "ppo2", "end_oxygen_narcotic_m", "end_nitrogen_only_m", "density_g_l"} <= set(answer["at_depth"])


@pytest.mark.parametrize(("depth", "units"), [("200ft", "metric"), ("60.96", "metric"), ("200", "imperial"),
                                              ("60,96 m", "imperial")])  # fmt: skip
def test_a_text_with_a_unit_is_read_as_such(depth: str, units: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The same depth, however it is typed, is 60.96 m."""
    assert run(["gas", "18/45", "--depth", depth, "--units", units, "--json"]) == 0
    assert abs(json.loads(capsys.readouterr().out)["at_depth"]["depth_m"] - 60.96) < 1e-9


def test_targets_give_plan_only_and_never_go(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without any analysis the plan stands on targets, says PLAN ONLY, and neither plan nor check is go."""
    text = re.sub(r"\[\[(analysis|label)\]\]\n(?:[^\[\n][^\n]*\n|\n)*", "", TRIP)
    path = tmp_path / "trip.toml"
    path.write_text(text, encoding="utf-8")
    assert run(["plan", str(path), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["basis"] == "target"
    assert answer["go"] is False
    assert answer["cases"][0]["segments"]
    assert run(["plan", str(path)]) == 0
    assert "PLAN ONLY" in capsys.readouterr().out
    assert run(["check", str(path), "--now", NOW, "--json"]) == 3
    checked = json.loads(capsys.readouterr().out)
    assert all(row["o2"] is None and row["he"] is None and row["mod_m"] is None for row in checked["standings"])
    assert run(["papers", str(path), "--out", str(tmp_path / "o"), "--now", NOW]) == 3
    assert not list((tmp_path / "o").glob("label*"))


def test_the_next_morning_every_gas_is_unknown(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An analysis vouches until the end of the dive day at the latest."""
    assert run(["check", str(trip), "--now", "2027-05-16T06:00:00", "--json"]) == 3
    answer = json.loads(capsys.readouterr().out)
    assert {row["standing"] for row in answer["standings"]} == {"unknown"}


def test_a_defect_of_ours_is_one_sentence(
    trip: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An error that nobody foresaw ends with exit code 1 and no traceback."""
    monkeypatch.setattr("gaswright.services.checking.plan", lambda *_: 1 / 0)
    assert run(["plan", str(trip)]) == 1
    err = capsys.readouterr().err
    assert "defect of ours" in err
    assert "Traceback" not in err


def test_everything_runs_without_a_network(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The demo opens no socket."""

    def no_socket(*_: object, **__: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", no_socket)
    assert run(["demo", "--out", str(tmp_path / "d"), "--json"]) == 0


def test_help_and_the_caution_are_there(capsys: pytest.CaptureFixture[str]) -> None:
    """Every command explains itself; the start says the caution."""
    assert run(["--help"]) == 0
    assert "certified divers" in capsys.readouterr().out.replace("\n  ", " ")
    for name in COMMANDS:
        assert run([name, "--help"]) == 0
        assert "Usage" in capsys.readouterr().out


def test_the_installed_program_answers() -> None:
    """The program runs as a process of its own, and a refused input is exit code 2 there too."""
    command = [sys.executable, "-m", "gaswright.cli.main"]
    assert subprocess.run([*command, "gas", "32"], check=False, capture_output=True).returncode == 0
    assert subprocess.run([*command, "gas", "0.32"], check=False, capture_output=True).returncode == 2


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for fuzzed files."""
    return tmp_path_factory.mktemp("fuzz")


@settings(max_examples=150)
@given(words=st.lists(st.text(min_size=0, max_size=12), min_size=0, max_size=4))
def test_no_words_make_gas_fail(words: list[str]) -> None:
    """Whatever is typed after `gas` is an answer or a refusal, never a defect."""
    assert run(["gas", *words]) in {0, 2}


@settings(max_examples=60)
@given(at=st.integers(0, len(TRIP) - 1), cut=st.integers(0, 40), put=st.text(max_size=6))
def test_no_change_of_a_trip_file_makes_a_command_fail(folder: Path, at: int, cut: int, put: str) -> None:
    """A trip file with any piece cut out and any text put in is an answer, a finding or a refusal."""
    path = folder / "trip.toml"
    path.write_bytes((TRIP[:at] + put + TRIP[at + cut :]).encode("utf-8", errors="replace"))
    assert run(["check", str(path), "--now", NOW, "--json"]) in {0, 2, 3}
    assert run(["plan", str(path), "--json"]) in {0, 2, 3}


def test_a_comma_in_a_number_is_told_what_to_write(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """TOML takes no decimal comma; the sentence says what to write instead."""
    path = tmp_path / "trip.toml"
    path.write_text(TRIP.replace("o2 = 49.6", "o2 = 49,6"), encoding="utf-8")
    said = refused(capsys, "plan", str(path))
    assert "write 49.6" in said
    path.write_text(TRIP.replace("o2 = 49.6", 'o2 = "49,6 %"'), encoding="utf-8")
    assert run(["plan", str(path)]) == 0


def test_the_plan_on_the_screen_survives_a_gas_that_kills(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Beyond the oxygen table there is no dose; the plan is printed all the same and ends with a stop."""
    trip.write_text(TRIP.replace("depth = 54", "depth = 90"), encoding="utf-8")
    assert run(["plan", str(trip)]) == 3
    out = capsys.readouterr().out
    assert "DOES NOT HOLD" in out
    assert "decompression illness" in out


def test_a_limit_may_carry_its_unit(capsys: pytest.CaptureFixture[str]) -> None:
    """A text with its unit is read as such."""
    assert run(["gas", "32", "--ppo2", "1.4 ata", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["mod"][0]["label_m"] == 33
