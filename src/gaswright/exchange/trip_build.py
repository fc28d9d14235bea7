"""A trip from rows that have no problem left: plain assembly, with the defaults of the contract."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from gaswright.decompression.request import SpeedZone
from gaswright.exchange.trip import (
    AnalysisRow,
    AnswerRow,
    CylinderRow,
    DiveRow,
    FillRow,
    LabelRow,
    LabelsOffRow,
    PressureRow,
    Surface,
    Trip,
    Where,
)
from gaswright.exchange.trip_checks import SINGLE_DIVE, TEAM, Rows, default_last_stop_m, default_stop_step_m
from gaswright.exchange.trip_rows import Row
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import ATM_BAR, Place, bar_per_m_of, surface_bar_at
from gaswright.planning.dive import Diver, Level, OwnCase, Rig, Role, Settings, UnitSystem, Usable
from gaswright.policy import Policy

__all__ = ["trip_of_rows"]


def trip_of_rows(rows: Rows, policy: Policy, *, file: str, input_sha256: str) -> Trip:
    """The trip that the rows of a file say.

    Args:
        rows: without problems.
        policy: shipped, changed by the user and by the trip.
        file: its name.
        input_sha256: of its bytes.
    """
    trip, units = _one(rows, "trip"), UnitSystem(rows.units)
    divers = tuple(_diver(row, units) for row in rows.of("diver"))
    planned = tuple(diver.id for diver in divers if diver.planned)
    cylinders = tuple(_cylinder(row, planned) for row in rows.of("cylinder"))
    fills = tuple(_fill(row) for row in rows.of("fill"))
    targets = {row.id: row.target for row in cylinders}
    return Trip(
        name=trip["name"], day=trip["date"], zone=trip["timezone"].key, units=units, place=_place(rows),
        settings=_settings(rows, units), policy=policy, divers=divers, cylinders=cylinders, dives=_dives(rows),
        fills=fills, analyses=tuple(_analysis(row, targets, fills, policy) for row in rows.of("analysis")),
        labels=tuple(LabelRow(**_act(row), serial_read=row.values["serial_read"]) for row in rows.of("label")),
        labels_off=tuple(LabelsOffRow(**_act(row)) for row in rows.of("labels_off")),
        pressures=tuple(PressureRow(**_act(row), gauge_bar=row.values["bar"]) for row in rows.of("pressure")),
        answers=tuple(_answer(row) for row in rows.of("answer")), surface=_surface(rows),
        emergency=_emergency(rows), input_sha256=input_sha256, file=file,
        cases=tuple(_own_case(row) for row in rows.of("case")), pass_bar=_pass_bar(rows),
    )


def _one(rows: Rows, table: str) -> Mapping[str, Any]:
    row = rows.one(table)
    return {} if row is None else row.values


def _place(rows: Rows) -> Place:
    place = _one(rows, "place")
    surface_bar = place["surface_bar"] if "surface_bar" in place else surface_bar_at(place.get("altitude_m", 0.0))
    return Place(
        surface_bar=surface_bar,
        bar_per_m=bar_per_m_of(place.get("water", "en13319")),
        water_temperature_k=place["temperature_c"],
        saturated_bar=surface_bar if place.get("acclimatised", False) else ATM_BAR,
    )


def _pass_bar(rows: Rows) -> float | None:
    pass_m = _one(rows, "place").get("pass_m")
    return None if pass_m is None else surface_bar_at(pass_m)


def _own_case(row: Row) -> OwnCase:
    get = row.get
    return OwnCase(get("name"), get("deeper", 0.0), get("longer", 0.0), get("delay_min", 0.0), get("lost", ()))


def _settings(rows: Rows, units: UnitSystem) -> Settings:
    given = dict(_one(rows, "settings"))
    step_m = given.pop("stop_step_m", default_stop_step_m(units))
    speeds = given.pop("ascent_m_min", None)
    zones = tuple(SpeedZone(*zone) for zone in speeds) if isinstance(speeds, tuple) else ()
    stop_unit_min = 1.0 if given.pop("stop_unit_min", 1.0) == 1.0 else 1.0 / 60.0
    names = {"deeper": "deeper_m", "longer": "longer_min"}
    named = {names.get(key, key): value for key, value in given.items()}
    settings = Settings(
        ascent_m_min=None if isinstance(speeds, tuple) else speeds, zones=zones, stop_step_m=step_m,
        last_stop_m=given.get("last_stop_m", default_last_stop_m(units, step_m)), stop_unit_min=stop_unit_min,
        deeper_m=given.get("deeper", default_stop_step_m(units)),
    )
    named["usable"] = Usable(named.get("usable", settings.usable))
    named["stage_usable"] = Usable(named.get("stage_usable", settings.stage_usable))
    return replace(settings, **named)


def _diver(row: Row, units: UnitSystem) -> Diver:
    get = row.get
    return Diver(
        id=get("id"), name=get("name"), initials=get("initials"), rmv_bottom_l_min=get("rmv_bottom"),
        rmv_deco_l_min=get("rmv_deco"), rmv_stressed_l_min=get("rmv_stressed", 30.0), rig=Rig(get("rig", "doubles")),
        units=UnitSystem(get("units", units)), planned=get("planned", True), max_depth_m=get("max_depth"),
        max_o2_e4=get("max_o2"), helium=get("helium"),
    )


def _cylinder(row: Row, planned: tuple[str, ...]) -> CylinderRow:
    get = row.get
    names = get("divers") or (get("diver"),)
    team = names == (TEAM,)
    isolator = get("isolator")
    return CylinderRow(
        id=get("id"), serial=get("serial", get("id")), divers=planned if team else names, role=Role(get("role")),
        volume_l=get("volume"), working_pressure_bar=get("working_pressure"), team=team, target=get("target"),
        pair=get("pair"), isolator_open=None if isolator is None else isolator == "open",
        where=Where(get("where", "carried")), place_depth_m=get("place_depth"), switch_depth_m=get("switch_depth"),
        leave_depth_m=get("leave_depth"), oxygen_clean=get("oxygen_clean", False), tested_until=get("tested_until"),
        visual_until=get("visual_until"), permanent_mark=get("permanent_mark"), staged_at=get("staged_at"),
        staged_by=get("staged_by"), staged_witness=get("staged_witness"), line=row.line,
    )


def _act(row: Row) -> dict[str, Any]:
    return {"cylinder": row.get("cylinder"), "at": row.get("at"), "by": row.get("by"), "line": row.line}


def _fill(row: Row) -> FillRow:
    act = {**_act(row), "by": row.get("by", "unknown")}
    return FillRow(**act, gauge_bar=row.get("pressure"), target=row.get("target"))


def _analysis(
    row: Row, targets: Mapping[str, Mixture | None], fills: Sequence[FillRow], policy: Policy
) -> AnalysisRow:
    get = row.get
    cylinder, at, he_e4 = get("cylinder"), get("at"), get("he")
    if he_e4 is None:
        he_e4 = _unmeasured_he_e4([targets[cylinder], _aimed_at(fills, cylinder, at)])
    return AnalysisRow(
        **_act(row), o2_e4=get("o2"), he_e4=he_e4,
        u_o2_e4=_hundredths(get("uncertainty_o2", policy.u_o2_percent)),
        u_he_e4=_hundredths(get("uncertainty_he", policy.u_he_percent)),
        typed_o2=str(row.raw["o2"]), typed_he=str(row.raw.get("he", "")), gauge_bar=get("pressure"),
        temperature_k=get("temperature"), witness=get("witness"), accepted_by=get("accepted_by", ()),
        analyser=get("analyser"), beside=get("beside", False),
    )


def _hundredths(percent: float) -> int:
    return math.ceil(percent * 100 - 1e-9)


def _aimed_at(fills: Sequence[FillRow], cylinder: str, at: datetime) -> Mixture | None:
    """The target of the last fill before a time; several at that time: the one with helium."""
    before = [fill for fill in fills if fill.cylinder == cylinder and fill.at <= at]
    last = max((fill.at for fill in before), default=None)
    targets = [fill.target for fill in before if fill.at == last and fill.target is not None]
    return max(targets, key=lambda target: target.he_e4, default=None)


def _unmeasured_he_e4(targets: Sequence[Mixture | None]) -> int | None:
    """Helium of a reading that gives none: 0 if the targets have none; None (not measured) if one has, or none is."""
    known = [target for target in targets if target is not None]
    return 0 if known and all(target.he_e4 == 0 for target in known) else None


def _answer(row: Row) -> AnswerRow:
    get = row.get
    return AnswerRow(get("code"), get("subject", ""), get("by"), get("at"), get("text"), row.line)


def _dives(rows: Rows) -> tuple[DiveRow, ...]:
    levels, dives = rows.of("level"), rows.of("dive")
    if not dives:
        return (DiveRow(SINGLE_DIVE, None, tuple(_level(row) for row in levels)),) if levels else ()
    first = dives[0].get("id")
    return tuple(
        DiveRow(dive.get("id"), dive.get("start"),
                tuple(_level(row) for row in levels if row.get("dive", first) == dive.get("id")), dive.get("after"))
        for dive in dives
    )


def _level(row: Row) -> Level:
    return Level(row.get("depth"), row.get("minutes"), row.get("cylinder"), row.get("overhead", False))


def _surface(rows: Rows) -> Surface | None:
    given = _one(rows, "surface")
    return Surface(given["oxygen_l"], given["ride_min"], given["persons"]) if given else None


def _emergency(rows: Rows) -> tuple[tuple[str, str], ...]:
    return tuple((key, str(text)) for key, text in _one(rows, "emergency").items())
