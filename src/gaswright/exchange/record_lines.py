"""The lines of records: which kinds of facts each holds, and what of a fact stands in which column."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from gaswright.custody.fact import Fact, FactId, Kind, Value
from gaswright.custody.heads import READABLE_VERSION
from gaswright.custody.readings import reading_of, whole
from gaswright.custody.register import CylinderRecord
from gaswright.errors import InputError
from gaswright.exchange.record_types import Cell, Column, Form, RecordKind, local
from gaswright.exchange.record_words import (
    KIND_WORDS,
    NOTE,
    NOTE_ERASED,
    PERSON_ERASED,
    data_text,
    note_said,
    person_said,
)
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Role
from gaswright.planning.mods import label_mod_of
from gaswright.policy import Policy

__all__ = ["KINDS", "LAYOUT", "READ_ALONG", "TITLES", "Context", "cells_of", "columns_of"]


@dataclass(frozen=True, slots=True)
class Context:
    """What the cells of one fact may need besides it.

    Args:
        facts: by id.
        register: cylinders by id.
        names: person id to name.
        notes: hash to free text.
        policy: whose limits give MODs.
        voided_by: fact to the corrections that void it.
        accepted: analysis to its acceptances that stand.
        calibrations: analyser to its calibrations that stand, in the order of recording.
    """

    facts: Mapping[FactId, Fact]
    register: Mapping[str, CylinderRecord]
    names: Mapping[str, str]
    notes: Mapping[str, str]
    policy: Policy
    voided_by: Mapping[FactId, tuple[FactId, ...]]
    accepted: Mapping[FactId, tuple[Fact, ...]]
    calibrations: Mapping[str, tuple[Fact, ...]]


TITLES: Mapping[RecordKind, str] = {
    RecordKind.FILL_LOG: "Fill log", RecordKind.ANALYSIS_LOG: "Analysis log", RecordKind.LABELS: "Label register",
    RecordKind.EQUIPMENT: "Equipment log", RecordKind.APPROVALS: "Plans and approvals",
    RecordKind.DIVES: "Dive record", RecordKind.INCIDENTS: "Incidents",
}

KINDS: Mapping[RecordKind, frozenset[str]] = {
    RecordKind.FILL_LOG: frozenset({
        Kind.FILLED, Kind.TOPPED_UP, Kind.DRAINED, Kind.LENT, Kind.RETURNED, Kind.FROZEN}),
    RecordKind.ANALYSIS_LOG: frozenset({Kind.ANALYSED, Kind.ACCEPTED}),
    RecordKind.LABELS: frozenset({Kind.LABEL_PRINTED, Kind.LABEL_APPLIED, Kind.LABEL_LOST, Kind.LABELS_REMOVED}),
    RecordKind.EQUIPMENT: frozenset({
        Kind.REGISTERED, Kind.INSPECTED, Kind.OXYGEN_CLEANED, Kind.OXYGEN_CLEAN_LOST, Kind.RETIRED, Kind.ASSIGNED,
        Kind.ANALYSER_CALIBRATED, Kind.ANALYSER_CHECKED}),
    RecordKind.APPROVALS: frozenset({
        Kind.PLAN_MADE, Kind.PLAN_AGREED, Kind.COMPUTER_READ_BACK, Kind.TEAM_CLEARED, Kind.CLEARANCE_WITHDRAWN,
        Kind.ANSWERED, Kind.POLICY_CHANGED, PERSON_ERASED, NOTE_ERASED}),
    RecordKind.DIVES: frozenset({Kind.DIVE_LOGGED, Kind.BREATHED, Kind.PRESSURE_READ, Kind.STAGED, Kind.LIFTED}),
    RecordKind.INCIDENTS: frozenset({Kind.INCIDENT_REPORTED, Kind.FROZEN}),
}

_REGISTER = KINDS[RecordKind.EQUIPMENT] - {Kind.ANALYSER_CALIBRATED, Kind.ANALYSER_CHECKED}
READ_ALONG: Mapping[RecordKind, frozenset[str]] = {  # kinds that lines of other kinds are read with
    RecordKind.FILL_LOG: _REGISTER, RecordKind.ANALYSIS_LOG: _REGISTER | {Kind.ANALYSER_CALIBRATED},
    RecordKind.LABELS: _REGISTER | {Kind.ANALYSED}, RecordKind.EQUIPMENT: frozenset(),
    RecordKind.APPROVALS: frozenset(), RecordKind.DIVES: frozenset({Kind.ANALYSED}), RecordKind.INCIDENTS: frozenset(),
}

_COLUMNS: Mapping[str, Column] = {column.key: column for column in (
    Column("at", "Happened", Form.TIME, share=19), Column("recorded", "Recorded", Form.TIME, share=19),
    Column("what", "What", share=20), Column("cylinder", "Cylinder", share=14), Column("about", "About", share=22),
    Column("serial", "Serial", share=13), Column("role", "Role", share=10),
    Column("pressure_bar", "Pressure", Form.CENTI, "bar", share=12), Column("target", "Target", share=13),
    Column("o2", "O2", Form.E4, "%", share=9), Column("he", "He", Form.E4, "%", share=9),
    Column("u_o2", "U of O2", Form.E4, "%"), Column("u_he", "U of He", Form.E4, "%"),
    Column("temperature_k", "Temperature", Form.CENTI, "K"), Column("analyser", "Analyser", share=13),
    Column("calibration", "Calibrated", share=21),
    Column("mod_m", "MOD", Form.WHOLE, "m", share=8), Column("mod_ft", "MOD", Form.WHOLE, "ft", share=8),
    Column("limit_ata", "Limit", Form.CENTI, "ata", share=9), Column("by", "By", share=17),
    Column("accepted_by", "Accepted by", share=17), Column("witness", "Witness", share=15),
    Column("serial_read", "Read from metal", share=14), Column("rests_on", "Rests on", share=19),
    Column("after", "After"), Column("volume_l", "Volume", Form.MILLI, "L", share=10),
    Column("working_bar", "Working", Form.CENTI, "bar", share=11), Column("oxygen_clean", "Oxygen clean", share=10),
    Column("tested_until", "Hydrostatic test until", share=18), Column("visual_until", "Visual until", share=18),
    Column("subject", "Subject", share=15), Column("text", "Text", share=30), Column("remark", "Remark", share=34),
)}
_GAS = ("o2", "he")
_MOD = ("mod_m", "mod_ft", "limit_ata")
LAYOUT: Mapping[RecordKind, tuple[str, ...]] = {
    RecordKind.FILL_LOG: ("at", "recorded", "what", "cylinder", "serial", "pressure_bar", "target", "by", "after",
                          "remark"),
    RecordKind.ANALYSIS_LOG: ("at", "recorded", "what", "cylinder", *_GAS, "u_o2", "u_he", "pressure_bar",
                              "temperature_k", "analyser", "calibration", *_MOD, "by", "accepted_by", "witness",
                              "rests_on", "after", "remark"),
    RecordKind.LABELS: ("at", "recorded", "what", "cylinder", "serial", "serial_read", *_GAS, *_MOD, "by", "rests_on",
                        "after", "remark"),
    RecordKind.EQUIPMENT: ("at", "recorded", "what", "about", "serial", "role", "volume_l", "working_bar",
                           "oxygen_clean", "tested_until", "visual_until", "by", "after", "remark"),
    RecordKind.APPROVALS: ("at", "recorded", "what", "about", "subject", "text", "by", "rests_on", "remark"),
    RecordKind.DIVES: ("at", "recorded", "what", "about", *_GAS, "pressure_bar", "by", "witness", "rests_on", "remark"),
    RecordKind.INCIDENTS: ("at", "recorded", "what", "about", "subject", "text", "by", "rests_on", "remark"),
}
_NARROW = {RecordKind.ANALYSIS_LOG: frozenset({"rests_on", "recorded"})}  # in the files alone


def columns_of(kind: RecordKind) -> tuple[Column, ...]:
    """The columns of a record.

    Args:
        kind: of the record.
    """
    hidden = _NARROW.get(kind, frozenset())
    columns = (_COLUMNS[key] for key in LAYOUT[kind])
    return tuple(Column(one.key, one.title, one.form, one.unit) if one.key in hidden else one for one in columns)


def cells_of(kind: RecordKind, fact: Fact, context: Context) -> tuple[Cell, ...]:
    """The cells of a fact, one a column of its record.

    Args:
        kind: of the record.
        fact: a line of it.
        context: what the cells need of the other facts.
    """
    if fact.kind == Kind.CORRECTED:
        shown = {"at", "recorded", "what", "cylinder", "about", "by", "remark"}
        return tuple(_READERS[key](fact, context) if key in shown else None for key in LAYOUT[kind])
    cells = {key: _READERS[key](fact, context) for key in LAYOUT[kind] if key != "remark"}
    used = frozenset(name for key, cell in cells.items() if cell is not None for name in _USED.get(key, ()))
    return tuple(_remark(fact, context, used) if key == "remark" else cells[key] for key in LAYOUT[kind])


def _text(key: str) -> Callable[[Fact, Context], Cell]:
    """A reader of one text of the data; a hash becomes the text behind it."""
    def read(fact: Fact, context: Context) -> Cell:
        value = fact.data.get(key, fact.data.get(key + NOTE))
        return note_said(value, context.notes) if isinstance(value, str) else None
    return read


def _whole(key: str) -> Callable[[Fact, Context], Cell]:
    return lambda fact, _context: whole(fact, key)


def _person(key: str) -> Callable[[Fact, Context], Cell]:
    return lambda fact, context: person_said(fact.data.get(key), context.names) or None


def _of_record(read: Callable[[CylinderRecord], Cell]) -> Callable[[Fact, Context], Cell]:
    """A reader of the register as it is now."""
    def of(fact: Fact, context: Context) -> Cell:
        record = context.register.get(_item(fact))
        return None if record is None else read(record)
    return of


def _item(fact: Fact) -> str:
    return fact.stream.partition("/")[2]


def _cylinder(fact: Fact, _context: Context) -> Cell:
    said = fact.data.get("cylinder")
    return said if isinstance(said, str) else _item(fact)


def _about(fact: Fact, _context: Context) -> Cell:
    room, _, item = fact.stream.partition("/")
    said = fact.data.get("cylinder")
    whose = f", cylinder {said}" if isinstance(said, str) and said != item else ""
    return f"{'cylinder' if room in {'gas', 'register'} else room} {item}{whose}"


def _target(fact: Fact, _context: Context) -> Cell:
    o2_e4, he_e4 = whole(fact, "target_o2_e4"), whole(fact, "target_he_e4")
    if o2_e4 is None:
        return None
    try:
        return Mixture(o2_e4, he_e4 or 0).name
    except InputError:
        return f"cannot be read: {o2_e4}, {he_e4}"


def _analysis(fact: Fact, context: Context) -> Fact | None:
    """The fact itself if it is an analysis, else the one analysis that it rests on."""
    if fact.kind == Kind.ANALYSED:
        return fact
    found = [context.facts[name] for name in fact.rests_on if _is_analysis(name, context)]
    return found[0] if len(found) == 1 else None


def _part(key: str) -> Callable[[Fact, Context], Cell]:
    def read(fact: Fact, context: Context) -> Cell:
        analysis = fact if whole(fact, key) is not None else _analysis(fact, context)
        return None if analysis is None else whole(analysis, key)
    return read


def _mod(fact: Fact, context: Context) -> LabelMod | None:
    """The MOD of an analysis by the limit of the cylinder's role; None where gas or role give none."""
    analysis = _analysis(fact, context)
    record = context.register.get("" if analysis is None else _item(analysis))
    if analysis is None or record is None or record.role not in set(Role) - {Role.SUIT, Role.SURFACE}:
        return None
    reading = reading_of(analysis, context.policy)
    if isinstance(reading, str) or reading.mixture.o2_e4 < 1:
        return None
    return label_mod_of(reading, Role(record.role), context.policy)


def _mod_part(key: str, read: Callable[[LabelMod], int]) -> Callable[[Fact, Context], Cell]:
    """What the label said if the fact of it says so, else computed."""
    def of(fact: Fact, context: Context) -> Cell:
        if (said := whole(fact, key)) is not None:
            return said
        mod = _mod(fact, context)
        return None if mod is None else read(mod)
    return of


def _calibration(fact: Fact, context: Context) -> Cell:
    """The latest calibration of the analyser before the analysis, among those that stand."""
    analyser = fact.data.get("analyser")
    made = [one for one in context.calibrations.get(str(analyser), ()) if one.at <= fact.at] if analyser else []
    if fact.kind != Kind.ANALYSED or not made:
        return None
    latest = max(made, key=lambda one: one.at)
    return f"{local(latest.at, fact.zone):%Y-%m-%d %H:%M} ({latest.id})"


def _accepted_by(fact: Fact, context: Context) -> Cell:
    if fact.kind == Kind.ACCEPTED:
        return person_said(fact.by, context.names)
    people = [fact.data.get("accepted_by"), *(one.by for one in context.accepted.get(fact.id, ()))]
    return ", ".join(dict.fromkeys(said for one in people if (said := person_said(one, context.names)))) or None


def _serial(fact: Fact, context: Context) -> Cell:
    said = fact.data.get("serial")
    return said if isinstance(said, str) else _of_record(lambda record: record.serial)(fact, context)


def _flag(key: str) -> Callable[[Fact, Context], Cell]:
    def read(fact: Fact, _context: Context) -> Cell:
        value = fact.data.get(key)
        return ("yes" if value else "no") if isinstance(value, bool) else None
    return read


def _remark(fact: Fact, context: Context, used: frozenset[str]) -> Cell:
    parts = [f"VOIDED by {', '.join(voided)}"] if (voided := context.voided_by.get(fact.id)) else []
    if fact.kind == Kind.ANALYSED and (replaced := [name for name in fact.after if _is_analysis(name, context)]):
        parts.append(f"replaces {', '.join(replaced)}")
    if fact.version != READABLE_VERSION:
        parts.append(f"version {fact.version} of its kind, which this program does not know")
    data = _policy_data(fact) if fact.kind == Kind.POLICY_CHANGED else fact.data
    said = data_text(data, used, context.notes)
    return "; ".join([*parts, said] if said else parts) or None


def _is_analysis(name: FactId, context: Context) -> bool:
    return name in context.facts and context.facts[name].kind == Kind.ANALYSED


def _policy_data(fact: Fact) -> Mapping[str, Value]:
    """Changed values of the policy stand in millionths of the unit of their name."""
    changes = fact.data.get("changes")
    if not isinstance(changes, dict):
        return fact.data
    said = {name: f"{value / 1_000_000:g}" for name, value in changes.items() if isinstance(value, int)}
    return {**fact.data, "changes": ", ".join(f"{name} = {value}" for name, value in sorted(said.items())) or None}


def _correction(fact: Fact, context: Context) -> Cell:
    voided, reason = fact.data.get("voids"), fact.data.get("reason", fact.data.get("reason" + NOTE))
    rest = data_text(fact.data, frozenset({"voids", "reason", "reason" + NOTE}), context.notes)
    said = note_said(reason, context.notes) if isinstance(reason, str) else "no reason given"
    return f"voids {voided}: {said}{f'; {rest}' if rest else ''}"


def _time(read: Callable[[Fact], datetime]) -> Callable[[Fact, Context], Cell]:
    return lambda fact, _context: local(read(fact), fact.zone)


_READERS: Mapping[str, Callable[[Fact, Context], Cell]] = {
    "at": _time(lambda fact: fact.at), "recorded": _time(lambda fact: fact.recorded),
    "what": lambda fact, _context: KIND_WORDS.get(fact.kind, fact.kind), "cylinder": _cylinder, "about": _about,
    "serial": _serial, "role": _text("role"), "pressure_bar": _whole("gauge_centibar"), "target": _target,
    "o2": _part("o2_e4"), "he": _part("he_e4"), "u_o2": _part("u_o2_e4"), "u_he": _part("u_he_e4"),
    "temperature_k": _whole("temperature_centi_k"), "analyser": _text("analyser"), "calibration": _calibration,
    "mod_m": _mod_part("mod_m", lambda mod: mod.metres), "mod_ft": _mod_part("mod_ft", lambda mod: mod.feet),
    "limit_ata": _mod_part("limit_centi_ata", lambda mod: mod.limit_centi_ata),
    "by": lambda fact, context: person_said(fact.by, context.names) or None, "accepted_by": _accepted_by,
    "witness": _person("witness"), "serial_read": _text("serial_read"),
    "rests_on": lambda fact, _context: ", ".join(fact.rests_on) or None,
    "after": lambda fact, _context: ", ".join(fact.after) or None, "volume_l": _whole("volume_ml"),
    "working_bar": _whole("working_centibar"), "oxygen_clean": _flag("oxygen_clean"),
    "tested_until": _text("tested_until"), "visual_until": _text("visual_until"), "subject": _text("subject"),
    "text": _text("text"), "remark": _correction,
}
_USED: Mapping[str, tuple[str, ...]] = {  # data keys that a column shows; every other key stands in the remark
    "cylinder": ("cylinder",), "about": ("cylinder",), "serial": ("serial",), "role": ("role",),
    "pressure_bar": ("gauge_centibar",), "target": ("target_o2_e4", "target_he_e4"), "o2": ("o2_e4",),
    "he": ("he_e4",), "u_o2": ("u_o2_e4",), "u_he": ("u_he_e4",), "temperature_k": ("temperature_centi_k",),
    "analyser": ("analyser",), "mod_m": ("mod_m",), "mod_ft": ("mod_ft",), "limit_ata": ("limit_centi_ata",),
    "accepted_by": ("accepted_by",), "witness": ("witness",), "serial_read": ("serial_read",),
    "volume_l": ("volume_ml",), "working_bar": ("working_centibar",), "oxygen_clean": ("oxygen_clean",),
    "tested_until": ("tested_until",), "visual_until": ("visual_until",), "subject": ("subject",),
    "text": ("text", "text" + NOTE),
}
