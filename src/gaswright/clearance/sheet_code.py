"""Sheet codes: a few characters that tell which version of the record a sheet of paper came from.

The code is taken from what the sheet shows, in a canonical text, so equal numbers give the equal code on any machine,
and another reading, time, MOD, stop or pressure gives another. Who dives with it, answers and notes that no sheet
prints do not move it. Five characters of sixteen: two unequal records share a code once in 1,048,576; it tells papers
apart, it proves nothing.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime

from gaswright.custody.register import CylinderRecord
from gaswright.custody.standing import Known
from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Case, Diver, Plan, TeamDive, UnitSystem

__all__ = ["ALPHABET", "CODE_LENGTH", "SheetFacts", "label_code", "sheet_code", "sheet_code_of"]

# Sixteen shapes that do not resemble each other, nor a digit, hand-written, faint or upside down:
# no 0 O Q, 1 I L, 2 Z, 5 S, 6 G, 8 B, 9, U V, W (turned M), 3 (turned E), 7 (turned L).
ALPHABET = "ACDEFHJKMNPRTXY4"
CODE_LENGTH = 5


def sheet_code_of(text: str) -> str:
    """The code of a canonical text: the first 20 bits of its SHA-256, four bits a character.

    Args:
        text: canonical text of what a sheet shows.
    """
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    nibbles = [part for byte in digest[:CODE_LENGTH] for part in (byte >> 4, byte & 0xF)]
    return "".join(ALPHABET[nibble] for nibble in nibbles[:CODE_LENGTH])


def label_code(
    known: Known, record: CylinderRecord, mod: LabelMod, initials: str, analyst: str, units: UnitSystem, policy: str,
) -> str:
    """The code of one cylinder's labels, from all that stands on them and decides what does.

    Args:
        known: the analysis.
        record: from the register.
        mod: its MOD.
        initials: of those who breathe it.
        analyst: initials of who analysed.
        units: of the team.
        policy: its version.
    """
    reading = known.rich
    return sheet_code_of(_lines(
        "label/1", record.id_on_metal, record.role, reading.mixture.o2_e4, reading.mixture.he_e4, reading.u_o2_e4,
        reading.u_he_e4, _mod(mod), known.gauge_centibar, initials, analyst, _utc(known.at), units, policy,
    ))


@dataclass(frozen=True, slots=True)
class SheetFacts:
    """What the team's slates and cards show.

    Args:
        trip_name: name of the trip.
        day: date of the dive.
        dive: divers, cylinders, settings, units.
        plan: schedules, switches and supply.
        ids_on_metal: cylinder id to the ID on its labels.
        mods: cylinder id to its MOD.
        plan_only: True on sheets that say PLAN ONLY.
        policy_version: of the policy.
    """

    trip_name: str
    day: date
    dive: TeamDive
    plan: Plan
    ids_on_metal: Mapping[str, str]
    mods: Mapping[str, LabelMod]
    plan_only: bool
    policy_version: str


def sheet_code(facts: SheetFacts) -> str:
    """The code of the team's slates and cards.

    Args:
        facts: what they show.
    """
    dive, plan = facts.dive, facts.plan
    return sheet_code_of(_lines(
        "sheets/1", facts.trip_name, facts.day.isoformat(), "PLAN ONLY" if facts.plan_only else "ANALYSED",
        facts.policy_version, dive.units, repr(dive.settings), *map(_diver, dive.divers),
        *(f"{cylinder} {facts.ids_on_metal[cylinder]}" for cylinder in sorted(facts.ids_on_metal)),
        *(f"{cylinder} {_mod(facts.mods[cylinder])}" for cylinder in sorted(facts.mods)),
        *(f"{one.id} {one.role} {one.gas.mixture if one.gas else None}" for one in dive.cylinders),
        *(f"switch {_number(gas.depth_m)} {list(gas.cylinders.items())}" for gas in plan.team_gases),
        f"leave {_number(plan.latest_leave_min)}", *map(_case, plan.cases),
    ))


def _lines(*parts: object) -> str:
    return "\n".join(str(part) for part in parts)


def _mod(mod: LabelMod) -> str:
    return f"{mod.limit_centi_ata} {mod.metres} m {mod.feet} ft {mod.mark}"


def _utc(at: datetime) -> str:
    return at.astimezone(UTC).isoformat()


def _number(value: float | None) -> str:
    # Two decimals: finer than any sheet prints, coarser than the noise of binary floats.
    return "-" if value is None else f"{value + 0.0:.2f}".replace("-0.00", "0.00")


def _diver(diver: Diver) -> str:
    return f"{diver.id} {diver.name} {diver.initials} {diver.units}"


def _case(case: Case) -> str:
    segments = case.schedule.segments if case.schedule is not None else ()
    pieces = (
        f"{piece.kind} {_number(piece.from_m)} {_number(piece.to_m)} {_number(piece.start_min)} "
        f"{_number(piece.minutes)} {sorted((diver, breath.cylinder) for diver, breath in piece.gas.items())}"
        for piece in segments
    )
    supplies = (
        f"{cylinder} {_number(supply.start_bar)} {_number(supply.end_bar)} {_number(supply.minimum_bar)} "
        f"{_number(supply.turn_bar)}"
        for cylinder, supply in sorted(case.supply.items())
    )
    return _lines(f"case {case.name} {case.lost} {case.completed}", *pieces, *supplies)
