"""JSON answers follow the contract, validate against the published schemas, and hold no NaN."""

import importlib.util
import json
from dataclasses import MISSING, fields
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema
import pytest

from check import close
from gaswright.custody.folding import fold
from gaswright.custody.registering import register
from gaswright.decompression.request import (
    Breath,
    GradientUse,
    Schedule,
    ScheduleRequest,
    Segment,
    SegmentKind,
    Tissues,
)
from gaswright.exchange.answer_types import AtDepthAnswer, ModAnswer
from gaswright.exchange.answers import (
    DEFAULT_SPEEDS,
    Json,
    check_answer,
    demo_answer,
    doctor_answer,
    finding_answer,
    gas_answer,
    json_text,
    papers_answer,
    plan_answer,
    standing_answer,
)
from gaswright.exchange.policy_file import shipped_policy
from gaswright.exchange.trip_facts import facts_of
from gaswright.findings import Finding, Rule, Severity, Subject
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Basis, Case, OxygenDose, Plan, Supply
from unit.exchange.trip_texts import BASE, edited, trip_of

ROOT = Path(__file__).resolve().parents[3]
SCHEMAS = ROOT / "docs" / "schema"
ASK = Finding("narcosis.end", Severity.ASK, Subject(diver="d1", depth_m=60.0), "END 31 m", "answer",
              Rule("end_limit_m", "common practice, no source"))
STOP = Finding("gas.never_analysed", Severity.STOP, Subject(cylinder="c1"), "no analysis", "analyse it",
               Rule("known gas", "common practice, no source"))


def validated(name: str, answer: Json) -> dict[str, Any]:
    """The answer as its JSON text reads, after it was validated against the published schema."""
    read: dict[str, Any] = json.loads(json_text(answer))
    schema = json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(read, schema, cls=jsonschema.Draft202012Validator)
    return read


def plan_of(basis: Basis = Basis.ANALYSED, findings: tuple[Finding, ...] = (), depth_m: float = 60.0) -> Plan:
    """A plan with one scheduled and one impossible case; its numbers are made up."""
    gas = {"d1": Breath("c1", 0.182, 0.446)}
    segments = (
        Segment(SegmentKind.DESCENT, 0.0, depth_m, 0.0, 3.0, gas),
        Segment(SegmentKind.ASCENT, depth_m, 0.0, 3.0, 7.0, gas),
    )
    schedule = Schedule(segments, {"d1": 27.0}, 7.0, 10.0, {"d1": Tissues((0.8,) * 16, (0.0,) * 16)},
                        (GradientUse(6.0, 79.5, "d1"),))
    supply = {"c1": Supply(228.0, 180.5, 900.0, 61.2, 170.0), "c2": Supply(200.0, 200.0, 0.0)}
    done = Case("planned", (), 0.0, 0.0, True, schedule, {"d1": OxygenDose(12.0, 20.0)}, supply)  # noqa: FBT003  field
    lost = Case("lost c2", ("c2",), 0.0, 0.0, False, None, {}, {})  # noqa: FBT003  completed, a field of plain data
    return Plan(basis, (), (done, lost), 25.0, findings)


def script() -> ModuleType:
    """The script that writes the schemas."""
    spec = importlib.util.spec_from_file_location("write_schemas", ROOT / "scripts" / "write_schemas.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_published_schemas_are_current() -> None:
    """docs/schema holds what the types say now, and nothing else."""
    texts = script().schema_texts()
    assert {path.name for path in SCHEMAS.iterdir()} == set(texts)
    for name, text in texts.items():
        assert (SCHEMAS / name).read_text(encoding="utf-8") == text, f"run scripts/write_schemas.py ({name})"


def test_a_plan_has_the_shape_of_the_contract() -> None:
    """Keys and nesting of the plan answer are those that outside checks rely on."""
    trip = trip_of(BASE)
    answer = validated("plan", plan_answer(trip, plan_of(), trip.policy))
    assert {"schema", "program", "policy", "input_sha256", "place", "settings", "basis", "cases", "findings",
            "go"} <= set(answer)
    assert (answer["schema"], answer["basis"], answer["input_sha256"]) == (
        "gaswright.plan/1", "analysed", trip.input_sha256
    )  # fmt: skip
    planned, lost = answer["cases"]
    assert {"name", "lost", "delta_m", "delta_min", "completed", "segments", "anchor_m", "tts_min", "runtime_min",
            "worst_gf", "oxygen", "supply"} <= set(planned)
    assert planned["segments"][0] == {
        "kind": "descent", "from_m": 0.0, "to_m": 60.0, "start_min": 0.0, "minutes": 3.0,
        "gas": {"d1": {"cylinder": "c1", "o2": 0.182, "he": 0.446}},
    }  # fmt: skip
    assert (planned["anchor_m"], planned["worst_gf"]) == (
        {"d1": 27.0}, [{"depth_m": 6.0, "gf_percent": 79.5, "diver": "d1"}]
    )  # fmt: skip
    assert {"start_bar", "end_bar", "used_l", "minimum_bar", "turn_bar"} <= set(planned["supply"]["c1"])
    assert {"cns_percent": 12.0, "otu": 20.0}.items() <= planned["oxygen"]["d1"].items()
    assert {"dive", "dives", "surface_interval_min", "afterwards"} <= set(answer)
    assert (lost["lost"], lost["completed"], lost["segments"], lost["tts_min"]) == (["c2"], False, [], None)


def test_settings_of_the_answer_are_all_that_were_used() -> None:
    """Every key of [settings] is in the answer with its unit, and the policy with its values."""
    trip = trip_of(edited(("gf_low = 30", "gf_low = 20\nppo2_deco_ata = 1.5\nascent_m_min = 6")))
    settings = validated("plan", plan_answer(trip, plan_of(), trip.policy))["settings"]
    assert {"gf_low", "gf_high", "descent_m_min", "ascent_m_min", "stop_step_m", "last_stop_m", "stop_unit_min",
            "switch_min", "oxygen_breaks", "cases", "deeper", "longer", "usable", "solve_min",
            "unusable_bar"} <= set(settings)
    assert (settings["gf_low"], settings["ascent_m_min"], settings["ascent_default"], settings["usable"]) == (
        20.0, 6.0, None, "third"
    )  # fmt: skip
    close(settings["policy"]["ppo2_deco_ata"], 1.5, within=0.0)
    default = validated("plan", plan_answer(trip_of(BASE), plan_of(), trip.policy))["settings"]
    assert (default["ascent_m_min"], default["ascent_default"]["to_first_stop_m_min"]) == (None, 9.0)
    zoned = trip_of(edited(("gf_low = 30", "ascent_m_min = [{from_m = 0, m_min = 3}]")))
    zones = validated("plan", plan_answer(zoned, plan_of(), trip.policy))["settings"]
    assert zones["ascent_m_min"] == [{"from_m": 0.0, "m_min": 3.0}]


def test_default_speeds_are_those_of_the_scheduler() -> None:
    """The speeds that the answer names are the defaults that the scheduler uses."""
    defaults = {field.name: field.default for field in fields(ScheduleRequest) if field.default is not MISSING}
    assert (DEFAULT_SPEEDS.to_first_stop_m_min, DEFAULT_SPEEDS.between_stops_m_min,
            DEFAULT_SPEEDS.from_last_stop_m_min) == (
        defaults["travel_m_min"], defaults["between_stops_m_min"], defaults["last_m_min"]
    )  # fmt: skip


@pytest.mark.parametrize(("basis", "findings", "go"), [
    (Basis.ANALYSED, (), True), (Basis.TARGET, (), False), (Basis.ANALYSED, (ASK,), False),
    (Basis.ANALYSED, (STOP,), False),
])  # fmt: skip
def test_go_of_a_plan(basis: Basis, findings: tuple[Finding, ...], go: bool) -> None:  # noqa: FBT001  a table's column
    """Go = analysed gas, no stop, no unanswered ask; never on targets."""
    trip = trip_of(BASE)
    assert validated("plan", plan_answer(trip, plan_of(basis, findings), trip.policy))["go"] is go


def test_an_answered_ask_is_go_and_says_who_answered() -> None:
    """Findings with answers applied replace the plan's own."""
    trip = trip_of(BASE)
    answered = Finding(ASK.code, ASK.severity, ASK.subject, ASK.text, ASK.mend, ASK.rule, answered_by="d1")
    answer = validated("plan", plan_answer(trip, plan_of(findings=(ASK,)), trip.policy, [answered]))
    assert answer["go"] is True
    assert answer["findings"] == [finding_answer(answered)]


def test_a_finding_leaves_out_what_it_is_not_about() -> None:
    """The subject holds only the parts that apply; rule and source are named."""
    assert validated("finding", finding_answer(ASK)) == {
        "code": "narcosis.end", "severity": "ask", "subject": {"diver": "d1", "depth_m": 60.0}, "text": "END 31 m",
        "mend": "answer", "rule": {"name": "end_limit_m", "source": "common practice, no source"}, "answered_by": None,
    }  # fmt: skip


def test_nan_never_becomes_json() -> None:
    """A NaN that slipped in is a loud defect, not JSON."""
    trip = trip_of(BASE)
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_text(plan_answer(trip, plan_of(depth_m=float("nan")), trip.policy))


def test_check_gives_null_where_the_gas_is_unknown() -> None:
    """A standing without a known gas has null o2, he and MOD and says why; a known one has its reading."""
    trip = trip_of(edited(("he = 44.6\n", "")))
    facts, records = facts_of(trip), register(facts_of(trip))
    rows = [
        standing_answer(records[row.id], fold(facts, row.id, trip.policy, zone=trip.zone, now=None),
                        LabelMod(160, 21, 70))
        for row in trip.cylinders
    ]
    answer = validated("check", check_answer(trip, rows, [STOP], go=False, now=datetime(2027, 5, 14, 8, tzinfo=UTC)))
    assert (answer["schema"], answer["go"]) == ("gaswright.check/1", False)
    unknown, known = answer["standings"]
    assert unknown == {
        "id": "c1", "serial": "SP-4711", "diver": "d1", "standing": "filled", "hold": None, "o2": None, "he": None,
        "mod_m": None, "mod_ft": None, "why": "helium_not_measured",
    }  # fmt: skip
    assert (known["o2"], known["he"], known["mod_m"], known["mod_ft"], known["why"]) == (0.506, 0.0, 21, 70, None)


def test_gas_papers_demo_and_doctor_validate() -> None:
    """The other answers validate against their schemas too."""
    policy, trip = shipped_policy(), trip_of(BASE)
    gas = validated("gas", gas_answer(
        Mixture(1800, 4500), [ModAnswer(1.4, 67, 223, 67.9)], 0.0, AtDepthAnswer(60.0, 1.24, 29.0, 20.0, 6.0, None),
        policy, typed="18/45",
    ))  # fmt: skip
    assert (gas["o2"], gas["he"], gas["n2"]) == (0.18, 0.45, 0.37)
    papers = validated("papers", papers_answer(trip, [("a.pdf", "labels")], [("slates", "d1", [STOP])], go=False))
    assert papers["papers"] == [{"file": "a.pdf", "kind": "labels"}]
    check = check_answer(trip, [], [], go=True, now=datetime(2027, 5, 14, 8, tzinfo=UTC))
    assert validated("demo", demo_answer(policy, ["trip.toml"], [check]))["files"] == ["trip.toml"]
    doctor = doctor_answer(policy, [("typst", True, "works"), ("fonts", False, "gone")])
    assert validated("doctor", doctor)["ok"] is False


def test_the_schemas_refuse_another_shape() -> None:
    """The schemas can fail: a percentage text where a fraction belongs, or a missing key, is not valid."""
    trip = trip_of(BASE)
    answer = json.loads(json_text(plan_answer(trip, plan_of(), trip.policy)))
    schema = json.loads((SCHEMAS / "plan.json").read_text(encoding="utf-8"))
    answer["cases"][0]["segments"][0]["gas"]["d1"]["o2"] = "18.2 %"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({key: value for key, value in answer.items() if key != "go"}, schema)
