"""The demo days, end to end: what a leader sees on a day that clears and on one that does not."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from gaswright.cli.main import run
from gaswright.services.demo import DemoDay, demo_days

SCHEMAS = Path(__file__).parents[2] / "docs" / "schema"
SEVEN_FAULTS = {
    "gas.filled_since": "noor-50",
    "mod.planned_use": "tomas-50",
    "label.other_cylinder": "noor-oxygen",
    "gas.helium_not_measured": "ines-mains",
    "cylinder.out_of_test": "tomas-oxygen",
    "cylinder.not_oxygen_clean": "ines-oxygen",
    "supply.minimum_passed": "noor-mains",
}


@pytest.fixture(scope="module")
def days(tmp_path_factory: pytest.TempPathFactory) -> tuple[DemoDay, ...]:
    """Both demo days, run once."""
    return demo_days(tmp_path_factory.mktemp("demo"))


def test_the_first_day_clears_with_at_most_one_ask_per_diver(days: tuple[DemoDay, ...]) -> None:
    """A normal day is GO, every cylinder is cleared, and no diver meets more than one ask."""
    checked = days[0].checked
    assert checked.clearance.go
    asks = [f for f in checked.clearance.findings if f.severity == "ask"]
    for diver in checked.day.trip.divers:
        own = {c for c, record in checked.day.register.items() if diver.id in record.divers}
        assert sum(f.subject.diver == diver.id or f.subject.cylinder in own for f in asks) <= 1
    assert not [f for f in checked.clearance.findings if f.severity == "stop"]


def test_the_first_day_prints_every_paper(days: tuple[DemoDay, ...]) -> None:
    """Nine cylinders, three slates, the switch card, the deck sheet and the picture are written."""
    names = {path.name for path in days[0].written}
    assert {f"slate-{diver}.pdf" for diver in ("ines", "tomas", "noor")} <= names
    assert {"switch-card.pdf", "deck-sheet.pdf", "labels-walk-round.pdf", "plan.svg"} <= names
    assert sum(name.startswith("label-") for name in names) == 9
    assert all(path.stat().st_size > 1000 for path in days[0].written)
    assert not days[0].papers.withheld


def test_the_second_day_names_seven_faults_each_with_its_mend(days: tuple[DemoDay, ...]) -> None:
    """NO GO: exactly the seven faults that the trip file holds are stops, each on its cylinder and with a mend."""
    clearance = days[1].checked.clearance
    assert not clearance.go
    stops = {f.code: f.subject.cylinder for f in clearance.findings if f.severity == "stop"}
    assert stops == SEVEN_FAULTS
    assert all(f.mend and f.rule.source for f in clearance.findings)


def test_the_second_day_withholds_slates_cards_and_the_labels_of_bad_cylinders(days: tuple[DemoDay, ...]) -> None:
    """No slate and no card; a label only where that cylinder alone is in order."""
    written = {path.name for path in days[1].written}
    assert not [name for name in written if name.startswith(("slate", "switch"))]
    refused = {one.subject for one in days[1].papers.withheld if one.kind == "labels"}
    assert refused == {"ines-mains", "noor-50", "ines-oxygen", "tomas-oxygen"}
    assert "label-tomas-50.pdf" in written  # rich for its switch, but the label says 18 m


@pytest.mark.parametrize("name", ["quarry-day.toml", "no-go-day.toml"])
def test_answers_validate_against_the_published_schemas(days: tuple[DemoDay, ...], name: str,
                                                        capsys: pytest.CaptureFixture[str]) -> None:
    """plan and check of a real trip keep the JSON contract."""
    trip = next(str(day.trip_file) for day in days if day.trip_file.name == name)
    now = "2027-05-15T09:00:00" if name == "quarry-day.toml" else "2027-05-16T09:00:00"
    expected = 0 if name == "quarry-day.toml" else 3
    for command in (["plan", trip, "--json"], ["check", trip, "--now", now, "--json"]):
        assert run(command) == expected
        answer = json.loads(capsys.readouterr().out)
        schema = json.loads((SCHEMAS / f"{command[0]}.json").read_text(encoding="utf-8"))
        Draft202012Validator(schema).validate(answer)
        assert answer["go"] is (expected == 0)
