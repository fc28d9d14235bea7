"""Permits with realistic, invented numbers for the tests of papers; made by hand so that papers are tested alone."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from itertools import pairwise

from gaswright.analysis.reading import Reading
from gaswright.clearance.permits import LabelPermit, SheetPermit
from gaswright.decompression.request import Breath, Direction, Schedule, Segment, SegmentKind
from gaswright.findings import Finding, Rule, Severity, Subject
from gaswright.physics.depth_limits import LabelMod
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
    Settings,
    Supply,
    TeamDive,
    TeamGas,
    UnitSystem,
)

__all__ = ["LONG_NAME", "LONG_TRIP", "label_permit_for_tests", "sheet_permit_for_tests", "with_names", "with_travel"]

DAY = date(2027, 5, 14)
ANALYSED_AT = datetime(2027, 5, 14, 7, 40, tzinfo=timezone(timedelta(hours=2)))
MOD_50 = LabelMod(160, 21, 70, "EAN50")
MOD_OXYGEN = LabelMod(160, 6, 20, "oxygen")
MOD_MAIN = LabelMod(140, 63, 209)
MOD_TRAVEL = LabelMod(140, 32, 107)
LONG_NAME = "Maximiliana Alexandrina Featherstonehaugh-Cholmondeley"
LONG_TRIP = "Hollow Mill quarry, the long weekend of the northern wall with everybody from the old club"
NAMES = (("Ines", "IN"), ("Tomas", "TK"), ("Noor", "NR"), ("Bartholomew Featherstonehaugh", "BF"), ("Åse", "ÅS"),
         ("Wil", "WI"))


def label_permit_for_tests(
    *, id_on_metal: str = "4409", role: Role = Role.DECO, o2_e4: int = 4960, he_e4: int = 0, mod: LabelMod = MOD_50,
    units: UnitSystem = UnitSystem.METRIC, gauge_bar: float | None = 198.4, names: str = "Tomas", initials: str = "TK",
    breathable: bool = True, planned: bool = True, minimum: tuple[int, int] = (0, 0),
    pressure_units: UnitSystem | None = None,
) -> LabelPermit:
    """Leave to print the labels of one cylinder."""
    return LabelPermit(
        cylinder=f"c{id_on_metal}", id_on_metal=id_on_metal, role=role, reading=Reading(Mixture(o2_e4, he_e4), 50, 100),
        mod=mod, units=units, gauge_bar=gauge_bar, initials=initials, diver_names=names, analysed_at=ANALYSED_AT,
        analysed_by=initials[:2], breathable=breathable, planned=planned, sheet_code="K7Q2-41", policy_version="2026.1",
        minimum_m=minimum[0], minimum_ft=minimum[1], pressure_units=pressure_units,
    )


def sheet_permit_for_tests(
    divers: int = 3, *, units: UnitSystem = UnitSystem.METRIC, imperial_diver: int | None = None,
    plan_only: bool = False, go: bool = True, minutes_longer: float = 0.0, pair: bool = False,
    low_note: bool = False, seconds: bool = False,
) -> SheetPermit:
    """Leave to print a team's slates and card: 57 m (190 ft) for 25 min with 50 % and oxygen."""
    people = tuple(_diver(at, units, imperial_diver) for at in range(divers))
    cylinders = tuple(c for at, diver in enumerate(people) for c in _cylinders(at, diver, pair=pair))
    settings = Settings(stop_unit_min=1 / 60) if seconds else Settings()
    metre = 1.0 if units is UnitSystem.METRIC else 3.048 / 3.0
    dive = TeamDive(people, cylinders, (Level(57 * metre, 25),), Place(), settings, units)
    note = Finding("ppo2.low_note", Severity.NOTE, Subject(diver="d0"), "ppO2 only 0.170 ata at the surface",
                   "breathe it deeper only, or rest there", Rule("ppo2_low_note_ata", "common practice, no source"))
    schedule = _schedule(people, metre, minutes_longer, "left" if pair else "main")
    supply = {c.id: Supply(c.gauge_bar or 0.0, 90.0, 3000.0, 97.2 if c.role is Role.MAIN else None,
                           152.6 if c.role is Role.MAIN else None) for c in cylinders}
    case = Case("planned", (), 0.0, 0.0, completed=True, schedule=schedule, oxygen={}, supply=supply)
    plan = Plan(Basis.TARGET if plan_only else Basis.ANALYSED, _team_gases(people, metre), (case,), 27.4,
                (note,) if low_note else (), printed=schedule)
    mods = {c.id: {Role.MAIN: MOD_MAIN}.get(c.role, MOD_50 if "50" in c.id else MOD_OXYGEN) for c in cylinders}
    return SheetPermit(
        trip_name="Hollow Mill quarry", day=DAY, divers=people, dive=dive, plan=plan,
        ids_on_metal={c.id: c.serial[-4:] for c in cylinders}, mods=mods, plan_only=plan_only, go=go and not plan_only,
        sheet_code="P3M8-12", policy_version="2026.1",
    )


def with_names(permit: SheetPermit, *names: str, trip: str = LONG_TRIP) -> SheetPermit:
    """The same sheets for a trip of another name and divers of other names."""
    people = tuple(replace(diver, name=name) for diver, name in zip(permit.divers, names, strict=True))
    return replace(permit, trip_name=trip, divers=people, dive=replace(permit.dive, divers=people))


def with_travel(permit: SheetPermit) -> SheetPermit:
    """The same dive begun on travel gas, 32.1/20.2, left at 30 m (100 ft) for the mains, not breathed above 6 m."""
    metre = 1.0 if permit.dive.units is UnitSystem.METRIC else 3.048 / 3.0
    people = [diver.id for diver in permit.divers]
    travel = {diver: PlanCylinder(f"{diver}-travel", f"X{6158 + at}", (diver,), Role.TRAVEL, 11.1, 232.0,
                                  Reading(Mixture(3210, 2020), 50, 100), Basis.ANALYSED, 221.0, 283.15)
              for at, diver in enumerate(people)}
    schedule = permit.plan.planned.schedule
    assert schedule is not None
    first, *rest = schedule.segments
    share = 30 * metre / first.to_m
    upper = replace(first, to_m=30 * metre, minutes=first.minutes * share,
                    gas={diver: Breath(one.id, 0.321, 0.202) for diver, one in travel.items()})
    lower = replace(first, from_m=30 * metre, start_min=upper.minutes, minutes=first.minutes * (1 - share))
    made = replace(schedule, segments=(upper, lower, *rest))
    down = TeamGas(30 * metre, {diver: first.gas[diver].cylinder for diver in people}, direction=Direction.DOWN)
    plan = replace(permit.plan, team_gases=(down, *permit.plan.team_gases), printed=made,
                   cases=(replace(permit.plan.planned, schedule=made),))
    mains = [one.id for one in permit.dive.cylinders if one.role is Role.MAIN]
    return replace(
        permit, plan=plan, dive=replace(permit.dive, cylinders=(*permit.dive.cylinders, *travel.values())),
        ids_on_metal=permit.ids_on_metal | {one.id: one.serial[-4:] for one in travel.values()},
        mods=permit.mods | {one.id: MOD_TRAVEL for one in travel.values()}, minimums=dict.fromkeys(mains, (6, 20)),
    )


def _diver(at: int, units: UnitSystem, imperial_diver: int | None) -> Diver:
    name, initials = NAMES[at]
    return Diver(f"d{at}", name, initials, 18.0, 15.0, units=UnitSystem.IMPERIAL if at == imperial_diver else units)


def _cylinders(at: int, diver: Diver, *, pair: bool) -> tuple[PlanCylinder, ...]:
    def one(suffix: str, serial: int, role: Role, gas: Mixture, volume_l: float) -> PlanCylinder:
        return PlanCylinder(f"{diver.id}-{suffix}", f"X{serial + at:04d}", (diver.id,), role, volume_l, 232.0,
                            Reading(gas, 50, 100), Basis.ANALYSED, 228.0, 283.15)

    trimix = Mixture(1820 + 10 * at, 4460 - 10 * at)
    mains: tuple[PlanCylinder, ...] = (one("main", 2071, Role.MAIN, trimix, 24.0),)
    if pair:
        mains = (one("left", 2071, Role.MAIN, trimix, 12.0), one("right", 3071, Role.MAIN, trimix, 12.0))
    return (*mains, one("50", 4409, Role.DECO, Mixture(4960 + 10 * at), 11.1),
            one("o2", 835, Role.DECO, Mixture(9930), 7.0))


def _team_gases(people: Sequence[Diver], metre: float) -> tuple[TeamGas, ...]:
    return tuple(TeamGas(depth * metre, {diver.id: f"{diver.id}-{suffix}" for diver in people})
                 for depth, suffix in ((21.0, "50"), (6.0, "o2")))


def _schedule(people: Sequence[Diver], metre: float, longer: float, main: str) -> Schedule:
    """Descent, 57 m, stops from 27 m; at 21 m and 6 m the divers switch one after the other, a minute each."""
    breath = {diver.id: Breath(f"{diver.id}-{main}", 0.182, 0.446) for diver in people}
    stops = [(27, 1.0), (24, 2.0), (21, 4.0), (18, 3.0), (15, 4.0), (12, 5.0), (9, 8.0), (6, 24.0 + longer)]
    segments = [
        Segment(SegmentKind.DESCENT, 0.0, 57 * metre, 0.0, 2.85 * metre, dict(breath)),
        Segment(SegmentKind.LEVEL, 57 * metre, 57 * metre, 2.85 * metre, 25.0 - 2.85 * metre, dict(breath)),
    ]
    now, depths = 25.0, [57.0, *(float(depth) for depth, _ in stops)]
    for (above, depth), (_, stay) in zip(pairwise(depths), stops, strict=True):
        minutes, travel = stay, (above - depth) * metre / (9.0 if above > 27 else 3.0)
        segments.append(Segment(SegmentKind.ASCENT, above * metre, depth * metre, now, travel, dict(breath)))
        now += travel
        for diver, turn in zip(people, range(len(people)), strict=True) if depth in {21.0, 6.0} else ():
            if turn:
                segments.append(Segment(SegmentKind.STOP, depth * metre, depth * metre, now, 1.0, dict(breath)))
                now, minutes = now + 1.0, minutes - 1.0
            breath[diver.id] = Breath(f"{diver.id}-{'50' if depth > 6 else 'o2'}", 0.496 if depth > 6 else 0.993, 0.0)
        segments.append(Segment(SegmentKind.STOP, depth * metre, depth * metre, now, max(minutes, 1.0), dict(breath)))
        now += max(minutes, 1.0)
    segments.append(Segment(SegmentKind.ASCENT, 6.0 * metre, 0.0, now, 6.0 * metre, dict(breath)))
    runtime = now + 6.0 * metre
    return Schedule(tuple(segments), {diver.id: 27.0 for diver in people}, runtime - 25.0, runtime, {})
