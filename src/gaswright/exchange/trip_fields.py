"""Every table and key of the trip file, declared once: kind, range, default. The reader and the docs follow it.

Ranges are canonical (m, bar, L, K, L/min, min, percent); the reader shows them in the unit a key is read in.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from gaswright.units import ZERO_CELSIUS_K, Kind

__all__ = ["TABLES", "Field", "FieldKind", "Reads", "Table"]


class FieldKind(StrEnum):
    """What a key holds, where it is not simply a quantity."""

    TEXT = "text"
    ID = "id"
    CHOICE = "one of"
    BOOL = "true or false"
    DATE = "date"
    TIME = "time"
    ZONE = "IANA time zone"
    GAS_PERCENT = "percent of the gas"
    MIXTURE = "gas"
    IDS = "id, or list of ids"
    WHOLE = "whole number"
    MARK = "depth with its unit"
    CASES = "list of cases"
    SPEEDS = "speed, or list of zones"
    WATER = "water"


class Reads(StrEnum):
    """Whose unit system reads a plain number of a key."""

    TEAM = "the team's units"
    DIVER = "the diver's units"
    NAMED = "the unit in the key's name"


@dataclass(frozen=True, slots=True)
class Field:
    """One key.

    Args:
        kind: what it holds.
        says: what it means, for the docs.
        required: True: the table is refused without it.
        low: least allowed, canonical; None: no limit.
        high: most allowed, canonical; None: no limit.
        default: as the docs show it; "" = none. The typed default stands where the row is built.
        choices: allowed words.
        reads: whose units read a plain number.
    """

    kind: FieldKind | Kind
    says: str
    required: bool = False
    low: float | None = None
    high: float | None = None
    default: str = ""
    choices: tuple[str, ...] = ()
    reads: Reads = Reads.TEAM


@dataclass(frozen=True, slots=True)
class Table:
    """One table.

    Args:
        fields: its keys.
        array: True: written as [[name]], once per row.
        required: True: the file is refused without it.
        says: what it means, for the docs.
    """

    fields: Mapping[str, Field]
    array: bool = False
    required: bool = False
    says: str = ""


_NAMED, _DIVER = Reads.NAMED, Reads.DIVER
_CYLINDER = Field(FieldKind.ID, "id of the cylinder", required=True)
_AT = Field(FieldKind.TIME, "when", required=True)
_BY = Field(FieldKind.ID, "id of the diver who did it", required=True)
_UNITS = Field(FieldKind.CHOICE, "how plain numbers are read and shown", default="metric",
               choices=("metric", "imperial"))


def _depth(says: str, *, required: bool = False) -> Field:
    return Field(Kind.DEPTH, says, required=required, low=0.5, high=300.0)


def _pressure(says: str, *, required: bool = False) -> Field:
    return Field(Kind.PRESSURE, says, required=required, low=0.0, high=310.0, reads=_DIVER)


_TRIP = {
    "name": Field(FieldKind.TEXT, "name on every page", required=True),
    "date": Field(FieldKind.DATE, "day of the dive", required=True),
    "timezone": Field(FieldKind.ZONE, "times without offset are local to it", required=True),
}

_PLACE = {
    "altitude_m": Field(Kind.ALTITUDE, "altitude of the surface", low=-430.0, high=5000.0, default="0", reads=_NAMED),
    "surface_bar": Field(Kind.PRESSURE, "absolute pressure at the surface, instead of the altitude", low=0.5, high=1.1,
                         reads=_NAMED),
    "acclimatised": Field(FieldKind.BOOL, "false: just arrived from sea level", default="false"),
    "pass_m": Field(Kind.ALTITUDE, "altitude of the highest point of the way home", low=-430.0, high=5000.0,
                    reads=_NAMED),
    "water": Field(FieldKind.WATER, '"en13319", "salt", "fresh", or a density', low=990.0, high=1040.0,
                   default="en13319", choices=("en13319", "salt", "fresh"), reads=_NAMED),
    "temperature_c": Field(Kind.TEMPERATURE, "temperature of the water", required=True, low=ZERO_CELSIUS_K - 2.0,
                           high=ZERO_CELSIUS_K + 40.0, reads=_NAMED),
}

_SETTINGS = {
    "gf_low": Field(Kind.PERCENT, "gradient factor at and below the first stop", low=5.0, high=100.0, default="30"),
    "gf_high": Field(Kind.PERCENT, "gradient factor at the surface", low=5.0, high=100.0, default="80"),
    "descent_m_min": Field(Kind.SPEED, "descent speed", low=1.0, high=60.0, default="20", reads=_NAMED),
    "ascent_m_min": Field(FieldKind.SPEEDS, "one number: this speed everywhere; or zones [{from_m, m_min}]", low=0.3,
                          high=20.0, default="9, then 3 between stops, 1 from the last", reads=_NAMED),
    "stop_step_m": Field(Kind.DEPTH, "stop grid", low=1.0, high=6.1, default="3 m (imperial: 10 ft)", reads=_NAMED),
    "last_stop_m": Field(Kind.DEPTH, "last stop, on the grid", low=1.0, high=12.2, default="6 m (imperial: 20 ft)",
                         reads=_NAMED),
    "stop_unit_min": Field(Kind.MINUTES, 'unit of a stop: 1, or "1 s"', low=1.0 / 60.0, high=1.0, default="1",
                           reads=_NAMED),
    "switch_min": Field(Kind.MINUTES, "per diver at a switch; 0: all at once", low=0.0, high=10.0, default="1",
                        reads=_NAMED),
    "oxygen_breaks": Field(FieldKind.BOOL, "lean gas after each period of oxygen (oxygen_period_min, "
                           "oxygen_break_min of the policy)", default="false"),
    "cases": Field(FieldKind.CASES, "cases planned besides the planned one and your own [[case]] tables",
                   default="deeper, longer, lost-gas",
                   choices=("deeper", "longer", "lost-gas", "shared-gas", "lost-bottom", "not-there", "delay",
                            "separated")),
    "deeper": Field(Kind.DEPTH, "how much deeper the case is", low=0.3, high=30.0, default="3 m (imperial: 10 ft)"),
    "longer": Field(Kind.MINUTES, "how much longer the case is", low=1.0, high=60.0, default="5"),
    "delay_min": Field(Kind.MINUTES, "how much later the last level is left in the case delay", low=1.0, high=60.0,
                       default="3", reads=_NAMED),
    "share_min": Field(Kind.MINUTES, "turn on a cylinder that two divers breathe in turns", low=1.0, high=30.0,
                       default="5", reads=_NAMED),
    "stage_usable": Field(FieldKind.CHOICE, "part of a bottom stage that may be used: half less the reserve of the "
                          "policy, or a third", default="half", choices=("half", "third")),
    "usable": Field(FieldKind.CHOICE, "part of the gas above minimum gas that may be used before the turn",
                    default="third", choices=("all", "half", "third", "sixth")),
    "solve_min": Field(Kind.MINUTES, "time to solve the problem at depth, in minimum gas", low=0.0, high=10.0,
                       default="1", reads=_NAMED),
    "unusable_bar": Field(Kind.PRESSURE, "gauge pressure that cannot be breathed", low=0.0, high=50.0, default="10",
                          reads=_NAMED),
}

_DIVER_FIELDS = {
    "id": Field(FieldKind.ID, "short id", required=True),
    "name": Field(FieldKind.TEXT, "name on papers", required=True),
    "initials": Field(FieldKind.TEXT, "initials on labels, at most 4", required=True),
    "units": Field(_UNITS.kind, "reads and shows this diver's pressures and cylinders; default: the team's",
                   choices=_UNITS.choices, default="the team's"),
    "rig": Field(FieldKind.CHOICE, "how the mains are carried", default="doubles",
                 choices=("doubles", "independent", "sidemount", "single")),
    "rmv_bottom": Field(Kind.RATE, "planned consumption on the bottom", required=True, low=5.0, high=60.0),
    "rmv_deco": Field(Kind.RATE, "planned consumption at stops", required=True, low=5.0, high=60.0),
    "rmv_stressed": Field(Kind.RATE, "stressed consumption", low=10.0, high=100.0, default="30 L/min"),
    "planned": Field(FieldKind.BOOL, "false: custody and labels only", default="true"),
    "max_depth": Field(Kind.DEPTH, "qualified depth", low=1.0, high=300.0),
    "max_o2": Field(FieldKind.GAS_PERCENT, "richest gas qualified for"),
    "helium": Field(FieldKind.BOOL, "qualified for helium"),
}

_CYLINDER_FIELDS = {
    "id": Field(FieldKind.ID, "short id", required=True),
    "serial": Field(FieldKind.TEXT, "stamped serial; its last four stand on labels", default="the id"),
    "diver": Field(FieldKind.ID, 'id of the diver who breathes it, or "team": all planned divers'),
    "divers": Field(FieldKind.IDS, "ids of the divers who share it, instead of diver"),
    "role": Field(FieldKind.CHOICE, "what it is for", required=True,
                  choices=("main", "stage", "travel", "deco", "bailout", "suit", "surface")),
    "volume": Field(Kind.CAPACITY, "water volume; in cu ft the capacity at working_pressure (ideal gas, 1 atm)",
                    required=True, low=0.3, high=120.0, reads=_DIVER),
    "working_pressure": Field(Kind.PRESSURE, "stamped working pressure, gauge", required=True, low=50.0, high=310.0,
                              reads=_DIVER),
    "target": Field(FieldKind.MIXTURE, "the gas wished for; never a gas on a label"),
    "pair": Field(FieldKind.ID, "name of the pair, for cylinders analysed one by one"),
    "isolator": Field(FieldKind.CHOICE, "of manifolded doubles, as seen", choices=("open", "shut")),
    "where": Field(FieldKind.CHOICE, "carried, staged or hung; the last two with place_depth", default="carried",
                   choices=("carried", "staged", "hung")),
    "place_depth": _depth("where it is staged or hung"),
    "switch_depth": _depth("onto it on the way up; on the stop grid"),
    "leave_depth": _depth("off it on the way down"),
    "oxygen_clean": Field(FieldKind.BOOL, "cleaned and kept for oxygen", default="false"),
    "tested_until": Field(FieldKind.DATE, "hydrostatic test valid until"),
    "visual_until": Field(FieldKind.DATE, "visual inspection valid until"),
    "permanent_mark": Field(FieldKind.MARK, "MOD painted on for good", low=0.5, high=300.0),
    "staged_at": Field(FieldKind.TIME, "when it was really left under water, with staged_by and staged_witness"),
    "staged_by": Field(FieldKind.ID, "id of the diver who left it there"),
    "staged_witness": Field(FieldKind.ID, "id of the second diver"),
}

_ANALYSIS = {
    "cylinder": _CYLINDER,
    "o2": Field(FieldKind.GAS_PERCENT, "oxygen read", required=True, low=1.0),
    "he": Field(FieldKind.GAS_PERCENT, "helium read; absent: 0 if the target has none, else not measured"),
    "pressure": _pressure("gauge, at the analysis"),
    "temperature": Field(Kind.TEMPERATURE, "of the cylinder", low=ZERO_CELSIUS_K - 20.0, high=ZERO_CELSIUS_K + 60.0),
    "at": _AT,
    "by": Field(FieldKind.ID, "id of the diver who analysed", required=True),
    "witness": Field(FieldKind.TEXT, "who watched"),
    "accepted_by": Field(FieldKind.IDS, "ids of the divers who breathe it and accepted the analysis"),
    "analyser": Field(FieldKind.TEXT, "which instrument"),
    "uncertainty_o2": Field(Kind.PERCENT, "expanded uncertainty (k = 2) of oxygen", low=0.1, high=5.0,
                            default="the policy's 0.5"),
    "uncertainty_he": Field(Kind.PERCENT, "expanded uncertainty (k = 2) of helium", low=0.1, high=10.0,
                            default="the policy's 1"),
    "beside": Field(FieldKind.BOOL, "true: a second reading beside the earlier ones of the same fill, not instead of "
                    "them", default="false"),
}

TABLES: Mapping[str, Table] = {
    "": Table({"units": _UNITS}, says="before the first table"),
    "trip": Table(_TRIP, required=True, says="the trip"),
    "place": Table(_PLACE, required=True, says="where"),
    "settings": Table(_SETTINGS, says="how dives are planned; also any setting of the policy, tightened or loosened"),
    "diver": Table(_DIVER_FIELDS, array=True, required=True, says="one diver or other person on deck"),
    "cylinder": Table(_CYLINDER_FIELDS, array=True, required=True, says="one analysed content"),
    "fill": Table({
        "cylinder": _CYLINDER, "at": _AT,
        "by": Field(FieldKind.TEXT, "who filled", default="unknown"),
        "pressure": _pressure("gauge, after the fill"),
        "target": Field(FieldKind.MIXTURE, "the gas aimed at"),
    }, array=True, says="one fill"),
    "analysis": Table(_ANALYSIS, array=True, says="one reading of a cylinder's gas"),
    "label": Table({
        "cylinder": _CYLINDER, "at": _AT, "by": _BY,
        "serial_read": Field(FieldKind.TEXT, "the ID read from the metal: the serial or its last four", required=True),
    }, array=True, says="one label put on"),
    "labels_off": Table({"cylinder": _CYLINDER, "at": _AT, "by": _BY}, array=True, says="labels taken off"),
    "pressure": Table({
        "cylinder": _CYLINDER, "at": _AT, "by": _BY,
        "bar": _pressure("gauge; a plain number is in the diver's unit, whatever the key is called", required=True),
    }, array=True, says="one reading of a pressure"),
    "answer": Table({
        "code": Field(FieldKind.TEXT, "code of the ask that is answered", required=True),
        "subject": Field(FieldKind.TEXT, "id of the diver or cylinder, or the case, that it is about"),
        "by": _BY, "at": _AT,
        "text": Field(FieldKind.TEXT, "the answer", required=True),
    }, array=True, says="a named person's answer to an ask"),
    "dive": Table({
        "id": Field(FieldKind.ID, "short id", required=True),
        "start": Field(FieldKind.TIME, "when it starts; needed where a dive comes before or after it"),
        "after": Field(FieldKind.TEXT, "id of the previous dive, or another trip file beside this one: its last dive"),
    }, array=True, says="one dive; without any, the levels are one dive"),
    "level": Table({
        "depth": _depth("depth", required=True),
        "minutes": Field(Kind.MINUTES, "minutes, travel to it included", required=True, low=0.1, high=1440.0),
        "overhead": Field(FieldKind.BOOL, "true: the way out is back along the levels", default="false"),
        "dive": Field(FieldKind.ID, "id of its dive; needed where there are several"),
        "cylinder": Field(FieldKind.ID, "id of the cylinder breathed there; absent: the mains"),
    }, array=True, says="one planned level, in order"),
    "case": Table({
        "name": Field(FieldKind.TEXT, "name of the case", required=True),
        "deeper": Field(Kind.DEPTH, "the deepest level is deeper by", low=0.3, high=30.0),
        "longer": Field(Kind.MINUTES, "the deepest level is longer by", low=1.0, high=60.0),
        "delay_min": Field(Kind.MINUTES, "the last level is left later by", low=1.0, high=60.0, reads=_NAMED),
        "lost": Field(FieldKind.IDS, "ids of the cylinders that are not there"),
    }, array=True, says="one more way in which each dive of the file may go"),
    "surface": Table({
        "oxygen_l": Field(Kind.VOLUME, "free oxygen on board", required=True, low=0.0, high=100000.0, reads=_NAMED),
        "ride_min": Field(Kind.MINUTES, "time to help", required=True, low=0.0, high=1440.0, reads=_NAMED),
        "persons": Field(FieldKind.WHOLE, "how many may need it", required=True, low=1.0, high=100.0),
    }, says="emergency oxygen"),
    "emergency": Table({}, says="lines for the card: any key, its text"),
}
