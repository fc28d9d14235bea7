"""Small texts that several answers share: names, gases, pressures, rows of a schedule."""

from collections.abc import Sequence

from gaswright.decompression.request import Schedule
from gaswright.findings import Finding
from gaswright.paper.slate_rows import SlateRow, slate_lines
from gaswright.planning.dive import Basis, Case, PlanCylinder, TeamDive, UnitSystem
from gaswright.planning.wording import depth_text
from gaswright.services.day import Day
from gaswright.units import pressure_text

__all__ = ["case_verdict", "gas_label", "name_of", "pressure", "rows_of"]

ROUNDING = 1e-9


def name_of(day: Day, finding: Finding) -> str:
    """Whom a finding is about, ending in a colon: "Noor, cylinder 5921: ", or nothing for the team.

    Args:
        day: for names and IDs.
        finding: a case that its text names is not said twice.
    """
    subject = finding.subject
    names = {diver.id: diver.name for diver in day.trip.divers}
    record = day.register.get(subject.cylinder or "")
    owner = subject.diver or (record.divers[0] if record and record.divers else None)
    parts = [names.get(owner, owner) if owner else None]
    parts += [f"cylinder {record.id_on_metal}"] if record else []
    named = subject.case in {None, "planned"} or str(subject.case) in finding.text
    parts += [] if named else [f"case {subject.case}"]
    said = [part for part in parts if part]
    return f"{', '.join(said)}: " if said else ""


def gas_label(cylinder: PlanCylinder) -> str:
    """The gas of a cylinder as planned; a target says so.

    Args:
        cylinder: of the plan.
    """
    if cylinder.gas is None:
        return "?"
    name = cylinder.gas.mixture.name
    return name if cylinder.basis is Basis.ANALYSED else f"target {name}"


def pressure(gauge_bar: float | None, units: UnitSystem, rounding: str) -> str:
    """A pressure in a diver's units, "-" where there is none to say.

    Args:
        gauge_bar: gauge pressure, None [bar].
        units: of the diver.
        rounding: "up" for gas needed, "down" for gas left, "nearest" for a reading.
    """
    return "-" if gauge_bar is None else pressure_text(gauge_bar, units.value, rounding)


def rows_of(dive: TeamDive, made: Schedule | None) -> Sequence[Sequence[str]]:
    """Rows of the schedule: leave at, depth, minutes there, and what each diver breathes.

    Args:
        dive: as planned.
        made: its schedule, None: there is none.
    """
    if made is None:
        return ()
    cylinders = {cylinder.id: cylinder for cylinder in dive.cylinders}
    by_diver = [
        [line for line in slate_lines(made, diver.id, dive.settings) if isinstance(line, SlateRow)]
        for diver in dive.divers
    ]
    return [
        (
            f"{row.leave_min:g} min",
            depth_text(row.depth_m, dive.units),
            f"{row.there_min:g} min",
            *(gas_label(cylinders[_breathed(rows, row)]) for rows in by_diver),
        )
        for row in by_diver[0]
    ]


def _breathed(rows: Sequence[SlateRow], at: SlateRow) -> str:
    """What a diver breathes when a row of another diver is left."""
    return next((row.cylinder for row in rows if row.leave_min >= at.leave_min - ROUNDING), rows[-1].cylinder)


def case_verdict(case: Case) -> str:
    """Holds, or why not, in a few words.

    Args:
        case: of a plan.
    """
    if case.schedule is None:
        return "NO WAY UP"
    if case.completed:
        return "holds"
    empty = [name for name, supply in case.supply.items() if supply.short_l > 0 or supply.empty_at_min is not None]
    return f"NO WAY UP: {', '.join(empty)} runs out" if empty else "does not hold"
