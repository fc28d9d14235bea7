"""Permits: the only way to a label, a slate or a card. Paper's functions take these types and nothing else."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from gaswright.analysis.reading import Reading
from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Diver, Plan, Role, TeamDive, UnitSystem

__all__ = ["LabelPermit", "SheetPermit"]


@dataclass(frozen=True, slots=True)
class LabelPermit:
    """Leave to print the labels of one cylinder; it depends on that cylinder alone.

    Made by `label_permit` only.

    Args:
        cylinder: id.
        id_on_metal: last four of the stamped serial.
        role: what it is for.
        reading: the analysed gas.
        mod: MOD with its limit.
        units: unit system of the team.
        gauge_bar: pressure at the analysis, None: not read [bar].
        initials: of the divers who breathe it, e.g. "IN".
        diver_names: of the same.
        analysed_at: when, in the trip's zone; aware.
        analysed_by: initials of who analysed.
        breathable: False for suit gas: NOT FOR BREATHING.
        planned: True if a plan uses this gas (a buddy label may be printed).
        sheet_code: a few characters that identify the record this came from.
        policy_version: of the policy.
        minimum_m: shallowest depth at which it may be breathed, whole metres up; 0: the surface [m].
        minimum_ft: the same in whole feet up; 0: the surface [ft].
        pressure_units: how its divers read pressures; None: as the team.
    """

    cylinder: str
    id_on_metal: str
    role: Role
    reading: Reading
    mod: LabelMod
    units: UnitSystem
    gauge_bar: float | None
    initials: str
    diver_names: str
    analysed_at: datetime
    analysed_by: str
    breathable: bool
    planned: bool
    sheet_code: str
    policy_version: str
    minimum_m: int = 0
    minimum_ft: int = 0
    pressure_units: UnitSystem | None = None


@dataclass(frozen=True, slots=True)
class SheetPermit:
    """Leave to print the team's slates and cards.

    Made by `sheet_permit` only.

    Args:
        trip_name: name of the trip.
        day: date of the dive.
        divers: planned divers in the order of the card.
        dive: what was planned.
        plan: the plan, verified.
        ids_on_metal: cylinder id to the last four of its serial.
        mods: cylinder id to its label MOD.
        plan_only: True: some gas is unknown or a target; every page says PLAN ONLY.
        go: True if the team is clear.
        sheet_code: a few characters that identify the record this came from.
        policy_version: of the policy.
        minimums: cylinder id to minimum depth in whole metres and feet, only gases that have one.
    """

    trip_name: str
    day: date
    divers: tuple[Diver, ...]
    dive: TeamDive
    plan: Plan
    ids_on_metal: dict[str, str]
    mods: dict[str, LabelMod]
    plan_only: bool
    go: bool
    sheet_code: str
    policy_version: str
    minimums: Mapping[str, tuple[int, int]] = field(default_factory=dict)
