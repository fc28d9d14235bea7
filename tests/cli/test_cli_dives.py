"""`plan --dive`: which dive of a file is answered, and what is said of the others."""

import json
from importlib.resources import files
from pathlib import Path

import pytest

from check import close
from gaswright.cli.main import run

SECOND = """
[[dive]]
id = "pm"
start = 2027-05-15T14:00:00
after = "am"

[[level]]
dive = "pm"
depth = 30
minutes = 15

[surface]
"""


@pytest.fixture
def trip(tmp_path: Path) -> Path:
    """The demo day with a second dive and a pass on the way home."""
    text = files("gaswright").joinpath("data", "demo", "quarry-day.toml").read_text(encoding="utf-8")
    text = text.replace("[surface]\n", SECOND, 1).replace("temperature_c", "pass_m = 1500\ntemperature_c", 1)
    path = tmp_path / "two.toml"
    path.write_text(text, encoding="utf-8")
    return path


def said(capsys: pytest.CaptureFixture[str], code: int, *words: object) -> str:
    """What the command answers with this exit code, all white space one blank."""
    assert run([str(word) for word in words]) == code
    out, err = capsys.readouterr()
    return " ".join((out + err).split())


def test_the_first_dive_is_answered_and_the_other_named(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without --dive the first, and a line on the other; flight and pass are said for each diver."""
    output = said(capsys, 0, "plan", trip)
    assert "Dive pm: nothing to mend; see --dive pm." in output
    assert "Ines: flying after 24 h, better 48 h" in output
    assert "over the pass after" in output


def test_the_second_dive_says_how_long_the_team_was_up(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--dive pm answers the afternoon, with its surface interval and the sums of the day."""
    output = said(capsys, 0, "plan", trip, "--dive", "pm")
    assert "After am: " in output
    assert "at the surface." in output
    assert "CNS 24 h" in output


def test_the_json_names_dive_interval_and_afterwards(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same in the JSON answer; the first dive has no interval."""
    first = json.loads(said(capsys, 0, "plan", trip, "--json"))
    second = json.loads(said(capsys, 0, "plan", trip, "--dive", "pm", "--json"))
    assert (first["dive"], first["surface_interval_min"], [d["id"] for d in first["dives"]]) == ("am", None, ["pm"])
    assert (second["dive"], second["dives"][0]["id"], second["dives"][0]["stops"]) == ("pm", "am", 0)
    assert second["surface_interval_min"] > 120.0
    assert second["afterwards"]["ines"]["fly_h"] == 24.0
    morning, day = first["cases"][0]["oxygen"]["ines"], second["cases"][0]["oxygen"]["ines"]
    close(day["day_otu"], morning["otu"] + day["otu"], within=1e-9)


def test_an_unknown_dive_is_bad_input(trip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2 and the dives that exist."""
    output = said(capsys, 2, "plan", trip, "--dive", "noon")
    assert "known are am, pm" in output
