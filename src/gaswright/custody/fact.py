"""The fact: one thing that somebody did, naming what it rests on. In memory now; the book will give it a home."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

__all__ = ["Fact", "FactId", "Kind", "Value"]

FactId = str  # origin + "-" + number, e.g. "K7Q2M9XA-412"
Value = str | int | bool | None | list["Value"] | dict[str, "Value"]  # canonical JSON without floats


class Kind(StrEnum):
    """Kinds of facts: dotted, past tense. What the data of each holds: docs/facts.md."""

    REGISTERED = "cylinder.registered"
    INSPECTED = "cylinder.inspected"
    OXYGEN_CLEANED = "cylinder.oxygen_cleaned"
    OXYGEN_CLEAN_LOST = "cylinder.oxygen_clean_lost"
    RETIRED = "cylinder.retired"
    ASSIGNED = "cylinder.assigned"
    FILLED = "cylinder.filled"
    DRAINED = "cylinder.drained"
    TOPPED_UP = "cylinder.topped_up"
    LENT = "cylinder.lent"
    RETURNED = "cylinder.returned"
    FROZEN = "cylinder.frozen"
    STAGED = "cylinder.staged"
    LIFTED = "cylinder.lifted"
    ANALYSED = "gas.analysed"
    ACCEPTED = "gas.accepted"
    PRESSURE_READ = "cylinder.pressure_read"
    BREATHED = "cylinder.breathed"
    LABEL_PRINTED = "label.printed"
    LABEL_APPLIED = "label.applied"
    LABEL_LOST = "label.lost"
    LABELS_REMOVED = "labels.removed"
    ANSWERED = "finding.answered"
    CORRECTED = "fact.corrected"
    ANALYSER_CALIBRATED = "analyser.calibrated"
    ANALYSER_CHECKED = "analyser.checked"
    PLAN_MADE = "plan.made"
    PLAN_AGREED = "plan.agreed"
    COMPUTER_READ_BACK = "computer.read_back"
    TEAM_CLEARED = "team.cleared"
    CLEARANCE_WITHDRAWN = "clearance.withdrawn"
    DIVE_LOGGED = "dive.logged"
    INCIDENT_REPORTED = "incident.reported"
    POLICY_CHANGED = "policy.changed"
    PERSON_ADDED = "person.added"


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact of the book (book.md rule 4).

    Args:
        id: origin and number.
        kind: what happened; unknown kinds are kept as they are.
        version: of the kind.
        stream: what it belongs to: "gas/c1", "register/c1", "plan/am".
        at: when it happened, by its author; aware.
        recorded: when the machine took it; aware.
        by: person id.
        after: gas-changing facts: the heads the author saw; analyses: the earlier analyses they replace.
        rests_on: analyses: the one head measured; labels: the analysis shown.
        data: integers in fixed units (their names end in the unit), readings also as typed.
        zone: IANA name of the author's time zone.
        act: one id for facts recorded in one act.
        key: of the request.
    """

    id: FactId
    kind: str
    stream: str
    at: datetime
    recorded: datetime
    by: str
    after: tuple[FactId, ...] = ()
    rests_on: tuple[FactId, ...] = ()
    data: Mapping[str, Value] = field(default_factory=dict)
    zone: str = "UTC"
    act: str = ""
    key: str = ""
    version: int = 1
