"""What a judgement looks like: a finding, its subject, its rule and how severe it is.

Types only. The sentences stand in `catalogue.py`, the values of the rules in `policy.py`.
"""

from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["Finding", "Rule", "Severity", "Subject"]


class Severity(StrEnum):
    """How severe a finding is: stop blocks, ask wants a named person's answer, note informs."""

    STOP = "stop"
    ASK = "ask"
    NOTE = "note"


@dataclass(frozen=True, slots=True, order=True)
class Subject:
    """Whom or what a finding is about; every part is optional.

    Args:
        diver: id of the diver.
        cylinder: id of the cylinder.
        case: name of the case ("planned", "longer", ...).
        depth_m: depth of the event [m].
        at_min: runtime of the event [min].
    """

    diver: str | None = None
    cylinder: str | None = None
    case: str | None = None
    depth_m: float | None = None
    at_min: float | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """The rule a finding rests on, and where that rule comes from."""

    name: str
    source: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One judgement, with its reason and what mends it.

    Args:
        code: dotted name in the catalogue, e.g. "gas.unknown".
        severity: stop, ask or note.
        subject: whom or what it is about.
        text: one sentence saying why.
        mend: one sentence saying what mends it.
        rule: the rule and its source.
        answered_by: person id whose answer covers this ask; None while unanswered.
    """

    code: str
    severity: Severity
    subject: Subject
    text: str
    mend: str
    rule: Rule
    answered_by: str | None = field(default=None)

    @property
    def blocks(self) -> bool:
        """True while this finding forbids the dive."""
        return self.severity is Severity.STOP or (self.severity is Severity.ASK and self.answered_by is None)
