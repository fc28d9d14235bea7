"""The shapes of the JSON answers: metric, every key names its unit, ppO2 in ata, parts of a gas as fractions.

`docs/schema` is generated from these types. Keys may be added, never renamed.
"""

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = [
    "ANSWERS",
    "AfterwardsAnswer",
    "AtDepthAnswer",
    "BreathAnswer",
    "CaseAnswer",
    "CheckAnswer",
    "CheckupAnswer",
    "DefaultSpeedsAnswer",
    "DemoAnswer",
    "DiveAnswer",
    "DoctorAnswer",
    "DoseAnswer",
    "FindingAnswer",
    "GasAnswer",
    "GradientAnswer",
    "ModAnswer",
    "PaperAnswer",
    "PapersAnswer",
    "PlaceAnswer",
    "PlanAnswer",
    "PrintedAnswer",
    "RuleAnswer",
    "SegmentAnswer",
    "SettingsAnswer",
    "StandingAnswer",
    "SubjectAnswer",
    "SupplyAnswer",
    "WithheldAnswer",
    "ZoneAnswer",
]


@dataclass(frozen=True, slots=True)
class RuleAnswer:
    """The rule behind a finding."""

    name: str
    source: str


@dataclass(frozen=True, slots=True)
class SubjectAnswer:
    """What a finding is about; parts that do not apply are left out."""

    diver: str | None = None
    cylinder: str | None = None
    case: str | None = None
    depth_m: float | None = None
    at_min: float | None = None


@dataclass(frozen=True, slots=True)
class FindingAnswer:
    """One judgement; `answered_by` is null while nobody's answer covers it."""

    code: str
    severity: str
    subject: SubjectAnswer
    text: str
    mend: str
    rule: RuleAnswer
    answered_by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What every answer begins with."""

    schema: str
    program: str
    policy: str
    input_sha256: str


@dataclass(frozen=True, slots=True)
class ModAnswer:
    """The MOD of a gas at one limit: by the label convention and at the place."""

    ppo2: float
    label_m: int
    label_ft: int
    place_m: float


@dataclass(frozen=True, slots=True)
class AtDepthAnswer:
    """What a gas does at one depth."""

    depth_m: float
    ppo2: float
    end_oxygen_narcotic_m: float
    end_nitrogen_only_m: float
    density_g_l: float
    ead_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GasAnswer(Head):
    """`gas`: what one mixture may do."""

    o2: float
    he: float
    n2: float
    mod: tuple[ModAnswer, ...]
    minimum_depth_m: float
    at_depth: AtDepthAnswer | None


@dataclass(frozen=True, slots=True)
class PlaceAnswer:
    """Where the dive happens."""

    surface_bar: float
    bar_per_m: float
    temperature_c: float | None
    saturated_bar: float


@dataclass(frozen=True, slots=True)
class ZoneAnswer:
    """One ascent zone."""

    from_m: float
    m_min: float


@dataclass(frozen=True, slots=True)
class DefaultSpeedsAnswer:
    """The ascent speeds used where the trip gives none."""

    to_first_stop_m_min: float
    between_stops_m_min: float
    from_last_stop_m_min: float


@dataclass(frozen=True, slots=True)
class SettingsAnswer:
    """All settings that were used; `ascent_m_min` is null where the default speeds were.

    `policy` holds every value of the policy, by name.
    """

    gf_low: float
    gf_high: float
    descent_m_min: float
    ascent_m_min: float | tuple[ZoneAnswer, ...] | None
    ascent_default: DefaultSpeedsAnswer | None
    stop_step_m: float
    last_stop_m: float
    stop_unit_min: float
    switch_min: float
    oxygen_breaks: bool
    cases: tuple[str, ...]
    deeper: float
    longer: float
    usable: str
    solve_min: float
    unusable_bar: float
    delay_min: float
    share_min: float
    stage_usable: str
    policy: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class BreathAnswer:
    """What one diver breathes."""

    cylinder: str
    o2: float
    he: float


@dataclass(frozen=True, slots=True)
class SegmentAnswer:
    """One straight piece of the profile; it never spans a gas change."""

    kind: str
    from_m: float
    to_m: float
    start_min: float
    minutes: float
    gas: Mapping[str, BreathAnswer]


@dataclass(frozen=True, slots=True)
class GradientAnswer:
    """The highest gradient factor really used at one depth."""

    depth_m: float
    gf_percent: float
    diver: str


@dataclass(frozen=True, slots=True)
class DoseAnswer:
    """Oxygen exposure of one diver."""

    cns_percent: float
    otu: float
    single_percent: float
    day_percent: float
    day_otu: float


@dataclass(frozen=True, slots=True)
class AfterwardsAnswer:
    """When one diver may fly or drive over a pass, hours from surfacing; null: not within 72 h, or not asked."""

    fly_h: float | None
    fly_better_h: float | None
    fly_tissues_h: float | None
    pass_h: float | None


@dataclass(frozen=True, slots=True)
class DiveAnswer:
    """One dive of the file in short; TTS and runtime are null where no schedule exists."""

    id: str
    start: str | None
    after: str | None
    tts_min: float | None
    runtime_min: float | None
    stops: int


@dataclass(frozen=True, slots=True)
class SupplyAnswer:
    """What one cylinder gives; minimum and turn of mains only."""

    start_bar: float
    end_bar: float
    used_l: float
    minimum_bar: float | None
    turn_bar: float | None
    short_l: float
    empty_at_min: float | None


@dataclass(frozen=True, slots=True)
class CaseAnswer:
    """One way the dive may go; times are null where no schedule exists."""

    name: str
    lost: tuple[str, ...]
    delta_m: float
    delta_min: float
    completed: bool
    segments: tuple[SegmentAnswer, ...]
    anchor_m: Mapping[str, float]
    tts_min: float | None
    runtime_min: float | None
    worst_gf: tuple[GradientAnswer, ...]
    oxygen: Mapping[str, DoseAnswer]
    supply: Mapping[str, SupplyAnswer]


@dataclass(frozen=True, slots=True)
class PrintedAnswer:
    """The planned schedule as slates print it: every halt left on a whole minute, replayed."""

    segments: tuple[SegmentAnswer, ...]
    tts_min: float
    runtime_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAnswer(Head):
    """`plan`: the first case is the planned one.

    `dives` are the other dives of the file; `surface_interval_min` is null where no dive comes before this one.
    """

    place: PlaceAnswer
    settings: SettingsAnswer
    basis: str
    cases: tuple[CaseAnswer, ...]
    findings: tuple[FindingAnswer, ...]
    go: bool
    dive: str | None
    dives: tuple[DiveAnswer, ...]
    surface_interval_min: float | None
    afterwards: Mapping[str, AfterwardsAnswer]
    printed: PrintedAnswer | None


@dataclass(frozen=True, slots=True)
class StandingAnswer:
    """Where one cylinder stands; o2, he and MOD are null where its gas is unknown."""

    id: str
    serial: str
    diver: str
    standing: str
    hold: str | None
    o2: float | None
    he: float | None
    mod_m: float | None
    mod_ft: float | None
    why: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckAnswer(Head):
    """`check`: standings and findings at a moment."""

    now: str
    standings: tuple[StandingAnswer, ...]
    findings: tuple[FindingAnswer, ...]
    go: bool


@dataclass(frozen=True, slots=True)
class PaperAnswer:
    """One printed file."""

    file: str
    kind: str


@dataclass(frozen=True, slots=True)
class WithheldAnswer:
    """A sheet that was asked for and not printed, and why."""

    kind: str
    subject: str
    why: tuple[FindingAnswer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PapersAnswer(Head):
    """`papers`: what was printed and what was withheld."""

    papers: tuple[PaperAnswer, ...]
    withheld: tuple[WithheldAnswer, ...]
    go: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoAnswer(Head):
    """`demo`: the files it wrote, and the answers it gave."""

    files: tuple[str, ...]
    checks: tuple[CheckAnswer, ...]


@dataclass(frozen=True, slots=True)
class CheckupAnswer:
    """One thing the doctor looked at."""

    name: str
    ok: bool
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DoctorAnswer(Head):
    """`doctor`: whether this installation works."""

    checkups: tuple[CheckupAnswer, ...]
    ok: bool


ANSWERS: Mapping[str, type] = {
    "gas": GasAnswer, "plan": PlanAnswer, "check": CheckAnswer, "papers": PapersAnswer, "demo": DemoAnswer,
    "doctor": DoctorAnswer, "finding": FindingAnswer,
}
