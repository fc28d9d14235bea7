"""What clearance is given and what it answers: plain frozen data."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from gaswright.custody.answers import Answer
from gaswright.custody.answers import answers as answers_of
from gaswright.custody.fact import Fact
from gaswright.custody.register import CylinderRecord
from gaswright.custody.standing import Standing
from gaswright.findings import Finding
from gaswright.planning.dive import Diver, Plan, TeamDive, UnitSystem

__all__ = ["Answer", "Clearance", "ClearanceInput", "SurfaceOxygen", "answers_of"]


@dataclass(frozen=True, slots=True)
class SurfaceOxygen:
    """Emergency oxygen at the surface; None where nobody said.

    Args:
        oxygen_l: free oxygen on board [L].
        ride_min: longest ride to help [min].
        persons: how many breathe it.
    """

    oxygen_l: float | None = None
    ride_min: float | None = None
    persons: int | None = None


@dataclass(frozen=True, slots=True)
class ClearanceInput:
    """Everything the gates judge by.

    Args:
        standings: cylinder id to its standing, folded at `now`.
        register: cylinder id to its record.
        divers: all people with cylinders, planned or not.
        zone: IANA name of the trip's time zone.
        dive: what is planned, None on a day without a dive.
        plan: its plan, None where there is none.
        day: date of the dive in the zone; None: the date of `now`.
        start: when the dive starts; aware; None where nobody said.
        surface: emergency oxygen, None where nobody said.
        answers: of the day.
        facts: custody facts of these cylinders (staged, filled, labels): details for sentences, never trust.
        units: unit system of the team.
    """

    standings: Mapping[str, Standing]
    register: Mapping[str, CylinderRecord]
    divers: tuple[Diver, ...]
    zone: str
    dive: TeamDive | None = None
    plan: Plan | None = None
    day: date | None = None
    surface: SurfaceOxygen | None = None
    answers: tuple[Answer, ...] = ()
    facts: tuple[Fact, ...] = field(default=())
    units: UnitSystem = UnitSystem.METRIC
    start: datetime | None = None


@dataclass(frozen=True, slots=True)
class Clearance:
    """The answer of the gates.

    Args:
        findings: planning's and clearance's, stops first, then asks, then notes.
        go: a plan on analysed gas exists, no stop, no unanswered ask.
    """

    findings: tuple[Finding, ...]
    go: bool
