"""A normal day in our own scenario, made by hand, so that clearance is tested alone; and small ways to spoil it."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from gaswright.analysis.reading import Reading
from gaswright.clearance.inputs import ClearanceInput, SurfaceOxygen
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.register import CylinderRecord
from gaswright.custody.standing import Known, Rung, Standing, Unknown
from gaswright.decompression.request import Schedule
from gaswright.exchange.policy_file import shipped_policy
from gaswright.findings import Finding
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning.dive import (
    Basis,
    Case,
    Diver,
    Level,
    Plan,
    PlanCylinder,
    Role,
    TeamDive,
)

__all__ = [
    "DAY", "NOW", "POLICY", "ZONE", "codes", "fact", "normal_day", "pair_of", "spare", "with_dive_cylinder",
    "with_known", "with_plan_findings", "with_record", "with_standing", "without_gas",
]

ZONE = "Europe/Vienna"
DAY = date(2027, 5, 14)
NOW = datetime(2027, 5, 14, 7, 0, tzinfo=UTC)  # 09:00 in the zone
ANALYSED_AT = NOW - timedelta(hours=1)
POLICY = shipped_policy()
DIVERS = (
    Diver("d1", "Ines", "IN", 18.0, 15.0), Diver("d2", "Tomas", "TK", 20.0, 16.0),
    Diver("d3", "Noor", "NR", 17.0, 14.0),
)
SERIALS = {"m": 4100, "e": 5200, "o": 6300}


def _record(cylinder: str, diver: str, role: Role, target: tuple[int, int]) -> CylinderRecord:
    return CylinderRecord(
        id=cylinder, serial=f"X{SERIALS[cylinder[0]] + int(cylinder[1])}", divers=(diver,), role=role.value,
        volume_ml=24_000 if role is Role.MAIN else 11_100, working_centibar=23_200, oxygen_clean=role is not Role.MAIN,
        tested_until=date(2028, 5, 1), visual_until=date(2027, 12, 1), target_o2_e4=target[0], target_he_e4=target[1],
        isolator_open=True if role is Role.MAIN else None,
    )


def _known(cylinder: str, diver: str, o2_e4: int, he_e4: int) -> Known:
    reading = Reading(Mixture(o2_e4, he_e4), 50, 100)
    return Known(
        reading=reading, rich=reading, lean=reading, analysis=f"{cylinder}-analysis", fill=f"{cylinder}-fill",
        gauge_centibar=20_000, temperature_centi_k=28_815, at=ANALYSED_AT, by=diver, accepted_by=(diver,), witness=None,
        expires=NOW + timedelta(hours=17),
    )


def _standing(known: Known, cylinder: str) -> Standing:
    return Standing(cylinder, Rung.LABELLED, known, None, label=f"{cylinder}-label", label_serial_matches=True,
                    gauge_centibar=known.gauge_centibar)


def _planned(record: CylinderRecord, known: Known) -> PlanCylinder:
    return PlanCylinder(
        record.id, record.serial, record.divers, Role(record.role), record.volume_ml / 1000,
        record.working_centibar / 100, known.reading, Basis.ANALYSED, 200.0, 288.15, isolator_open=record.isolator_open,
    )


def normal_day() -> ClearanceInput:
    """Three divers, each with analysed and labelled mains, EAN50 and oxygen, and a plan without a finding."""
    gases = {
        "m": (Role.MAIN, (1800, 4500), (1820, 4460)), "e": (Role.DECO, (5000, 0), (4960, 0)),
        "o": (Role.DECO, (10_000, 0), (9920, 0)),
    }
    register, standings, cylinders = {}, {}, []
    for number, diver in enumerate(DIVERS, start=1):
        for letter, (role, target, reading) in gases.items():
            cylinder = f"{letter}{number}"
            known = _known(cylinder, diver.id, *reading)
            register[cylinder] = _record(cylinder, diver.id, role, target)
            standings[cylinder] = _standing(known, cylinder)
            cylinders.append(_planned(register[cylinder], known))
    schedule = Schedule((), {}, 60.0, 85.0, {})
    case = Case("planned", (), 0.0, 0.0, completed=True, schedule=schedule, oxygen={}, supply={})
    return ClearanceInput(
        standings, register, DIVERS, ZONE, TeamDive(DIVERS, tuple(cylinders), (Level(57.0, 25.0),), Place()),
        Plan(Basis.ANALYSED, (), (case,), 27.0, ()), DAY, SurfaceOxygen(2700.0, 60.0, 3),
    )


def codes(findings: tuple[Finding, ...]) -> set[str]:
    """The codes among findings."""
    return {finding.code for finding in findings}


def with_standing(day: ClearanceInput, cylinder: str, **changes: Any) -> ClearanceInput:  # noqa: ANN401  any field
    """The day with one standing changed."""
    changed = replace(day.standings[cylinder], **changes)
    return replace(day, standings={**day.standings, cylinder: changed})


def with_known(day: ClearanceInput, cylinder: str, **changes: Any) -> ClearanceInput:  # noqa: ANN401  any field
    """The day with one analysis changed; a changed mixture is planned on, too."""
    known = day.standings[cylinder].known
    assert known is not None
    mixture = changes.pop("mixture", None)
    if mixture is not None:
        reading = replace(known.reading, mixture=mixture)
        changes |= {"reading": reading, "rich": reading, "lean": reading}
        day = with_dive_cylinder(day, cylinder, gas=reading)
    return with_standing(day, cylinder, known=replace(known, **changes))


def without_gas(day: ClearanceInput, cylinder: str, why: Unknown) -> ClearanceInput:
    """The day with one cylinder of unknown gas, unlabelled, planned on its target."""
    record = day.register[cylinder]
    target = Reading(Mixture(record.target_o2_e4 or 1, record.target_he_e4 or 0))
    day = with_standing(day, cylinder, rung=Rung.UNKNOWN, known=None, why=why, label=None, label_serial_matches=None)
    day = with_dive_cylinder(day, cylinder, gas=target, basis=Basis.TARGET, gauge_bar=None)
    assert day.plan is not None
    return replace(day, plan=replace(day.plan, basis=Basis.TARGET))


def with_record(day: ClearanceInput, cylinder: str, **changes: Any) -> ClearanceInput:  # noqa: ANN401  any field
    """The day with one register entry changed."""
    changed = replace(day.register[cylinder], **changes)
    return replace(day, register={**day.register, cylinder: changed})


def with_dive_cylinder(day: ClearanceInput, cylinder: str, **changes: Any) -> ClearanceInput:  # noqa: ANN401  any field
    """The day with one cylinder of the dive changed."""
    assert day.dive is not None
    changed = tuple(replace(one, **changes) if one.id == cylinder else one for one in day.dive.cylinders)
    return replace(day, dive=replace(day.dive, cylinders=changed))


def with_plan_findings(day: ClearanceInput, *findings: Finding) -> ClearanceInput:
    """The day whose plan says these findings."""
    assert day.plan is not None
    return replace(day, plan=replace(day.plan, findings=findings))


def spare(day: ClearanceInput, cylinder: str, **changes: Any) -> ClearanceInput:  # noqa: ANN401  any field of the record
    """The day with a copy of a cylinder in register and standings, which the dive does not use."""
    copy = replace(day.register[cylinder], **({"id": "s9", "serial": "X9999"} | changes))
    standing = replace(day.standings[cylinder], cylinder="s9")
    return replace(day, register={**day.register, "s9": copy}, standings={**day.standings, "s9": standing})


def pair_of(day: ClearanceInput, first: str, second: str, mixture: Mixture) -> ClearanceInput:
    """The day on which one diver's two cylinders are a pair and the second reads a mixture."""
    for cylinder in (first, second):
        day = with_record(day, cylinder, pair="left and right", target_o2_e4=None, target_he_e4=None)
    return with_known(day, second, mixture=mixture)


def fact(kind: Kind, cylinder: str, at: datetime, data: Mapping[str, str | int | None], identity: str = "") -> Fact:
    """One fact about a cylinder's gas."""
    return Fact(identity or f"{cylinder}-{kind}", kind, f"gas/{cylinder}", at, at, "d1", data=dict(data))
