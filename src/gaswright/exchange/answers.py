"""The JSON answers: from what the rooms computed to plain data that `docs/schema` describes."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import datetime

from gaswright import __version__
from gaswright.custody.register import CylinderRecord
from gaswright.custody.standing import Standing
from gaswright.decompression.request import Schedule, Segment
from gaswright.exchange.answer_types import (
    AfterwardsAnswer,
    AtDepthAnswer,
    BreathAnswer,
    CaseAnswer,
    CheckAnswer,
    CheckupAnswer,
    DefaultSpeedsAnswer,
    DemoAnswer,
    DiveAnswer,
    DoctorAnswer,
    DoseAnswer,
    FindingAnswer,
    GasAnswer,
    GradientAnswer,
    ModAnswer,
    PaperAnswer,
    PapersAnswer,
    PlaceAnswer,
    PlanAnswer,
    PrintedAnswer,
    RuleAnswer,
    SegmentAnswer,
    SettingsAnswer,
    StandingAnswer,
    SubjectAnswer,
    SupplyAnswer,
    WithheldAnswer,
    ZoneAnswer,
)
from gaswright.exchange.policy_file import POLICY_NAMES
from gaswright.exchange.trip import Trip
from gaswright.findings import Finding, Severity
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning.dive import Basis, Case, OxygenDose, Plan, Settings, Supply
from gaswright.policy import Policy
from gaswright.units import ZERO_CELSIUS_K

__all__ = [
    "DEFAULT_SPEEDS", "PROGRAM", "Json", "check_answer", "demo_answer", "doctor_answer", "finding_answer",
    "finding_shape", "gas_answer", "json_text", "papers_answer", "plain_json", "plan_answer", "sha256_of_text",
    "standing_answer",
]

PROGRAM = f"gaswright {__version__}"
DEFAULT_SPEEDS = DefaultSpeedsAnswer(9.0, 3.0, 1.0)  # as decompression.request.ScheduleRequest has them; tested

Json = dict[str, object]


def json_text(answer: Mapping[str, object]) -> str:
    """An answer as JSON text.

    Args:
        answer: of one of the functions below.

    Raises:
        ValueError: a number is NaN or infinite: a defect of ours.
    """
    return json.dumps(answer, indent=2, allow_nan=False)


def sha256_of_text(text: str) -> str:
    """SHA-256 of a text in UTF-8, for answers to what was typed.

    Args:
        text: as typed.
    """
    return hashlib.sha256(text.encode("utf-8", errors="surrogatepass")).hexdigest()


def _plain(value: object) -> object:
    """Dataclasses as dicts, tuples as lists; of a subject only the parts that it has."""
    if is_dataclass(value) and not isinstance(value, type):
        parts = {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
        if isinstance(value, SubjectAnswer):
            return {name: part for name, part in parts.items() if part is not None}
        return parts
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value


def plain_json(answer: object) -> Json:
    """An answer as what JSON knows: dicts, lists, numbers, texts.

    Args:
        answer: one of the answer types.
    """
    plain = _plain(answer)
    return dict(plain) if isinstance(plain, dict) else {}


def finding_answer(finding: Finding) -> Json:
    """One finding.

    Args:
        finding: of any room.
    """
    return plain_json(finding_shape(finding))


def finding_shape(finding: Finding) -> FindingAnswer:
    """One finding in the shape of the answers.

    Args:
        finding: of any room.
    """
    subject = finding.subject
    return FindingAnswer(
        finding.code, finding.severity.value,
        SubjectAnswer(subject.diver, subject.cylinder, subject.case, subject.depth_m, subject.at_min),
        finding.text, finding.mend, RuleAnswer(finding.rule.name, finding.rule.source), finding.answered_by,
    )


def gas_answer(
    mixture: Mixture, mods: Sequence[ModAnswer], minimum_depth_m: float, at_depth: AtDepthAnswer | None,
    policy: Policy, *, typed: str,
) -> Json:
    """The answer of `gas`.

    Args:
        mixture: as typed.
        mods: one per limit.
        minimum_depth_m: from the lower ppO2 limit [m].
        at_depth: None where no depth was given.
        policy: whose limits were used.
        typed: the words of the command, for `input_sha256`.
    """
    return plain_json(GasAnswer(
        schema="gaswright.gas/1", program=PROGRAM, policy=policy.version, input_sha256=sha256_of_text(typed),
        o2=mixture.o2, he=mixture.he, n2=mixture.n2, mod=tuple(mods), minimum_depth_m=minimum_depth_m,
        at_depth=at_depth,
    ))


def plan_answer(
    trip: Trip, plan: Plan, policy: Policy, findings: Sequence[Finding] | None = None, *, dive: str | None = None,
    others: Mapping[str, Plan] | None = None, interval_min: float | None = None,
) -> Json:
    """The answer of `plan`; go = analysed gas, no stop and no unanswered ask.

    Args:
        trip: as read.
        plan: of its dive.
        policy: that was used.
        findings: of the plan with answers applied; None: as the plan gives them.
        dive: id of the dive, None where nobody said.
        others: id of each other dive of the file to its plan.
        interval_min: at the surface since the dive before it, None: it is the first [min].
    """
    judged = plan.findings if findings is None else findings
    return plain_json(PlanAnswer(
        schema="gaswright.plan/1", program=PROGRAM, policy=policy.version, input_sha256=trip.input_sha256,
        place=_place(trip.place), settings=_settings(trip.settings, policy), basis=plan.basis.value,
        cases=tuple(_case(case) for case in plan.cases), findings=tuple(finding_shape(finding) for finding in judged),
        go=plan.basis is Basis.ANALYSED and not any(finding.blocks for finding in judged),
        dive=dive, dives=tuple(_dive(trip, one, other) for one, other in (others or {}).items()),
        surface_interval_min=interval_min,
        afterwards={
            diver: AfterwardsAnswer(one.fly_h, one.fly_better_h, one.fly_tissues_h, one.pass_h)
            for diver, one in plan.afterwards.items()
        },
        printed=_printed(plan.printed),
    ))


def _printed(schedule: Schedule | None) -> PrintedAnswer | None:
    if schedule is None:
        return None
    return PrintedAnswer(
        tuple(_segment(segment) for segment in schedule.segments), schedule.tts_min, schedule.runtime_min
    )


def _dive(trip: Trip, dive: str, plan: Plan) -> DiveAnswer:
    row = next(one for one in trip.dives if one.id == dive)
    made = plan.planned.schedule
    return DiveAnswer(
        dive, None if row.start is None else row.start.isoformat(), row.after,
        tts_min=None if made is None else made.tts_min, runtime_min=None if made is None else made.runtime_min,
        stops=sum(finding.severity is Severity.STOP for finding in plan.findings),
    )


def _place(place: Place) -> PlaceAnswer:
    water_k = place.water_temperature_k
    celsius = None if water_k is None else round(water_k - ZERO_CELSIUS_K, 6)
    return PlaceAnswer(place.surface_bar, place.bar_per_m, celsius, place.saturated_bar)


def _settings(settings: Settings, policy: Policy) -> SettingsAnswer:
    zones = tuple(ZoneAnswer(zone.from_m, zone.m_min) for zone in settings.zones)
    default = DEFAULT_SPEEDS if settings.ascent_m_min is None and not zones else None
    return SettingsAnswer(
        settings.gf_low, settings.gf_high, settings.descent_m_min, zones or settings.ascent_m_min, default,
        settings.stop_step_m, settings.last_stop_m, settings.stop_unit_min, settings.switch_min,
        settings.oxygen_breaks, settings.cases, settings.deeper_m, settings.longer_min, settings.usable.value,
        settings.solve_min, settings.unusable_bar, settings.delay_min,
        settings.share_min, settings.stage_usable.value, {name: getattr(policy, name) for name in POLICY_NAMES},
    )


def _case(case: Case) -> CaseAnswer:
    schedule = case.schedule
    return CaseAnswer(
        case.name, case.lost, case.delta_m, case.delta_min, case.completed,
        segments=tuple(_segment(segment) for segment in schedule.segments) if schedule else (),
        anchor_m=schedule.anchor_m if schedule else {},
        tts_min=schedule.tts_min if schedule else None,
        runtime_min=schedule.runtime_min if schedule else None,
        worst_gf=_worst(schedule),
        oxygen={diver: _dose(dose) for diver, dose in case.oxygen.items()},
        supply={cylinder: _supply(supply) for cylinder, supply in case.supply.items()},
    )


def _dose(dose: OxygenDose) -> DoseAnswer:
    return DoseAnswer(dose.cns_percent, dose.otu, dose.single_percent, dose.day_percent, dose.day_otu)


def _segment(segment: Segment) -> SegmentAnswer:
    gas = {diver: BreathAnswer(breath.cylinder, breath.o2, breath.he) for diver, breath in segment.gas.items()}
    return SegmentAnswer(segment.kind.value, segment.from_m, segment.to_m, segment.start_min, segment.minutes, gas)


def _worst(schedule: Schedule | None) -> tuple[GradientAnswer, ...]:
    used = schedule.worst_gf if schedule else ()
    return tuple(GradientAnswer(one.depth_m, one.gf_percent, one.diver) for one in used)


def _supply(supply: Supply) -> SupplyAnswer:
    return SupplyAnswer(
        supply.start_bar, supply.end_bar, supply.used_l, supply.minimum_bar, supply.turn_bar, supply.short_l,
        supply.empty_at_min,
    )


def standing_answer(
    record: CylinderRecord, standing: Standing, mod: LabelMod | None, *, word: str | None = None,
    hold: str | None = None, why: str | None = None,
) -> StandingAnswer:
    """Where one cylinder stands, for `check_answer`.

    Args:
        record: the cylinder in the register.
        standing: as folded.
        mod: its label MOD; None where its gas is unknown.
        word: the rung as the board shows it; None: as folded.
        hold: what blocks it, None.
        why: the sentence; None: the code of the reason.
    """
    gas = None if standing.known is None else standing.known.reading.mixture
    known_mod = mod if gas is not None else None
    return StandingAnswer(
        id=record.id, serial=record.serial, diver=", ".join(record.divers), standing=word or standing.rung.value,
        hold=hold, o2=gas.o2 if gas else None, he=gas.he if gas else None,
        mod_m=known_mod.metres if known_mod else None, mod_ft=known_mod.feet if known_mod else None,
        why=why or (standing.why.value if standing.why else None),
    )


def check_answer(
    trip: Trip, standings: Sequence[StandingAnswer], findings: Sequence[Finding], *, go: bool, now: datetime
) -> Json:
    """The answer of `check`.

    Args:
        trip: as read.
        standings: of all cylinders.
        findings: with answers applied.
        go: as clearance decided.
        now: the moment it was judged at; aware.
    """
    return plain_json(_check(trip, standings, findings, go=go, now=now))


def _check(
    trip: Trip, standings: Sequence[StandingAnswer], findings: Sequence[Finding], *, go: bool, now: datetime
) -> CheckAnswer:
    return CheckAnswer(
        schema="gaswright.check/1", program=PROGRAM, policy=trip.policy.version, input_sha256=trip.input_sha256,
        now=now.isoformat(), standings=tuple(standings), findings=tuple(finding_shape(finding) for finding in findings),
        go=go,
    )


def papers_answer(
    trip: Trip, papers: Sequence[tuple[str, str]], withheld: Sequence[tuple[str, str, Sequence[Finding]]], *, go: bool
) -> Json:
    """The answer of `papers`.

    Args:
        trip: as read.
        papers: file name and kind ("labels", "slates", "cards") of each.
        withheld: kind, subject (id of a cylinder or diver, or "team") and reasons of what was asked for and not made.
        go: as clearance decided.
    """
    return plain_json(PapersAnswer(
        schema="gaswright.papers/1", program=PROGRAM, policy=trip.policy.version, input_sha256=trip.input_sha256,
        papers=tuple(PaperAnswer(file, kind) for file, kind in papers),
        withheld=tuple(
            WithheldAnswer(kind, subject, tuple(finding_shape(finding) for finding in why))
            for kind, subject, why in withheld
        ),
        go=go,
    ))


def demo_answer(policy: Policy, files: Sequence[str], checks: Sequence[Json]) -> Json:
    """The answer of `demo`.

    Args:
        policy: shipped.
        files: written.
        checks: answers of `check`, one per trip.
    """
    answer = plain_json(DemoAnswer(
        schema="gaswright.demo/1", program=PROGRAM, policy=policy.version,
        input_sha256=sha256_of_text(json.dumps([check["input_sha256"] for check in checks])),
        files=tuple(files), checks=(),
    ))
    return {**answer, "checks": [dict(check) for check in checks]}


def doctor_answer(policy: Policy, checkups: Sequence[tuple[str, bool, str]]) -> Json:
    """The answer of `doctor`; ok where every check-up is.

    Args:
        policy: shipped.
        checkups: name, whether it is well, and the sentence.
    """
    return plain_json(DoctorAnswer(
        schema="gaswright.doctor/1", program=PROGRAM, policy=policy.version, input_sha256=sha256_of_text("doctor"),
        checkups=tuple(CheckupAnswer(name, ok, says) for name, ok, says in checkups),
        ok=all(ok for _, ok, _ in checkups),
    ))
