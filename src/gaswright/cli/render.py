"""Answers as text for a terminal: the answer first, then what mends it, then the numbers."""

import math
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from gaswright.cli.main import CAUTION
from gaswright.findings import Finding, Severity
from gaswright.planning.dive import Case, Plan, TeamDive, UnitSystem
from gaswright.services.board import BoardRow, board_rows
from gaswright.services.checking import Checked, other_plans
from gaswright.services.day import Day
from gaswright.services.papers import Papers
from gaswright.services.wording import case_verdict, gas_label, name_of, pressure, rows_of
from gaswright.units import minutes_text, volume_text

__all__ = ["print_check", "print_findings", "print_plan", "withheld_lines"]


def print_plan(console: Console, day: Day, plan: Plan) -> None:
    """Print a plan: what blocks it, the schedule, gas, cases, oxygen.

    Args:
        console: where to.
        day: as loaded.
        plan: of its dive.
    """
    if day.dive is None:
        return
    trip = day.trip
    console.print(Text(f"{trip.name}, {trip.day:%d %b %Y}", style="bold"))
    console.print(_verdict_of_plan(plan), highlight=False)
    print_findings(console, day, plan.findings)
    if plan.planned.schedule is not None:
        console.print(_schedule_table(day.dive, plan))
        console.print(_supply_table(day.dive, plan.planned))
        console.print(_oxygen_table(day.dive, plan.planned))
    console.print(_case_table(plan))
    for line in _around_lines(day, plan):
        console.print(line, highlight=False, markup=False)
    console.print(CAUTION, style="italic")


def print_check(console: Console, checked: Checked) -> None:
    """Print the board: GO or what to mend first, every cylinder, every finding.

    Args:
        console: where to.
        checked: a day judged.
    """
    trip = checked.day.trip
    local = checked.now.astimezone(ZoneInfo(trip.zone))
    console.print(Text(f"{trip.name}, as of {local:%d %b %Y %H:%M}", style="bold"))
    console.print(Text("GO" if checked.clearance.go else "NO GO", style="bold reverse"))
    print_findings(console, checked.day, checked.clearance.findings)
    console.print(_board_table(board_rows(checked)))
    console.print(CAUTION, style="italic")


def print_findings(console: Console, day: Day, findings: Sequence[Finding]) -> None:
    """Print stops and asks, each with its mend; notes folded under one line.

    Args:
        console: where to.
        day: for names.
        findings: in any order.
    """
    for severity in (Severity.STOP, Severity.ASK):
        for finding in (f for f in findings if f.severity is severity):
            answer = f" (answered by {finding.answered_by})" if finding.answered_by else ""
            console.print(
                Text.assemble(
                    (f"{severity.value.upper():5}", "bold"), f"{name_of(day, finding)}{finding.text}{answer}."
                ),
                highlight=False,
            )
            console.print(f"     mend: {finding.mend}", highlight=False, markup=False)
    notes = [f for f in findings if f.severity is Severity.NOTE]
    if notes:
        console.print(f"{len(notes)} notes:", highlight=False)
    for finding in notes:
        console.print(f"  - {name_of(day, finding)}{finding.text}", highlight=False, markup=False)


def withheld_lines(day: Day, papers: Papers) -> Sequence[str]:
    """What is not printed, and why; sheets withheld for the same reasons share their lines.

    Args:
        day: for names.
        papers: of the day.
    """
    reasons: dict[tuple[Finding, ...], list[str]] = {}
    for one in papers.withheld:
        reasons.setdefault(one.findings, []).append(f"{one.kind} ({one.subject})")
    lines = []
    for findings, sheets in reasons.items():
        lines.append(f"Not printed: {', '.join(sheets)}" + ("" if findings else ": no dive is planned"))
        lines += [f"  - {name_of(day, finding)}{finding.text}; {finding.mend}" for finding in findings]
    return lines


def _verdict_of_plan(plan: Plan) -> Text:
    stops = sum(finding.severity is Severity.STOP for finding in plan.findings)
    asks = sum(finding.severity is Severity.ASK and finding.blocks for finding in plan.findings)
    if stops or asks:
        return Text(f"DOES NOT HOLD: {stops} to mend, {asks} to answer", style="bold reverse")
    if plan.basis != "analysed":
        return Text("PLAN ONLY: not every gas is analysed", style="bold reverse")
    return Text("HOLDS on the gas in the cylinders", style="bold reverse")


def _table(*columns: str, title: str) -> Table:
    table = Table(*columns, box=SIMPLE_HEAD, title=title, title_justify="left", title_style="bold", pad_edge=False)
    for column in table.columns:
        column.overflow = "fold"  # nothing is cut, numbers least of all
    for column in table.columns[1:]:
        column.justify = "right"
    return table


def _schedule_table(dive: TeamDive, plan: Plan) -> Table:
    table = _table("Leave at", "Depth", "There", *(diver.name for diver in dive.divers), title="Schedule")
    for row in rows_of(dive, plan.printed or plan.planned.schedule):
        table.add_row(*row)
    return table


def _supply_table(dive: TeamDive, case: Case) -> Table:
    table = _table("Cylinder", "Gas", "Start", "Left", "Used", "Minimum", "Turn", title="Gas")
    units = {diver.id: diver.units for diver in dive.divers}
    for cylinder in dive.cylinders:
        supply = case.supply.get(cylinder.id)
        if supply is None:
            continue
        system = units.get(cylinder.divers[0], UnitSystem.METRIC)
        table.add_row(
            cylinder.id, gas_label(cylinder), pressure(supply.start_bar, system, "down"),
            pressure(supply.end_bar, system, "down"), volume_text(supply.used_l, system.value, "up"),
            pressure(supply.minimum_bar, system, "up"), pressure(supply.turn_bar, system, "up"),
        )  # fmt: skip
    return table


def _oxygen_table(dive: TeamDive, case: Case) -> Table:
    earlier = ("CNS as one exposure", "CNS 24 h", "OTU today") if dive.before is not None else ()
    table = _table("Diver", "CNS", "OTU", *earlier, title="Oxygen")
    for diver in dive.divers:
        dose = case.oxygen.get(diver.id)
        if dose is None:  # beyond the oxygen table: a stop says where
            table.add_row(diver.name, "-", "-", *("-" for _ in earlier))
            continue
        sums = (f"{_up(dose.single_percent)} %", f"{_up(dose.day_percent)} %", f"{_up(dose.day_otu)}")
        table.add_row(diver.name, f"{_up(dose.cns_percent)} %", f"{_up(dose.otu)}", *(sums if earlier else ()))
    return table


def _case_table(plan: Plan) -> Table:
    table = _table("If it goes wrong", "TTS", "Runtime", "", title="Cases")
    table.columns[-1].justify = "left"
    for case in plan.cases:
        made = plan.printed if case is plan.planned and plan.printed is not None else case.schedule
        table.add_row(
            case.name,
            "-" if made is None else _whole_minutes(made.tts_min),
            "-" if made is None else _whole_minutes(made.runtime_min),
            case_verdict(case),
        )
    return table


def _up(value: float) -> int:
    """Oxygen and time are rounded up, the safe side."""
    return math.ceil(value - 1e-6)


def _whole_minutes(minutes: float) -> str:
    return f"{_up(minutes)} min"


def _around_lines(day: Day, plan: Plan) -> list[str]:
    """What comes before, after and beside the dive: surface interval, flight and pass, other dives of the file."""
    before = None if day.dive is None else day.dive.before
    lines = [] if before is None or day.row is None else [
        f"After {day.row.after}: {minutes_text(before.interval_min, 'down')} at the surface."
    ]
    names = {diver.id: diver.name for diver in day.trip.divers}
    for diver, when in plan.afterwards.items():
        over = "" if day.trip.pass_bar is None else f"; over the pass after {_hours(when.pass_h)}"
        lines.append(f"{names[diver]}: flying after {_hours(when.fly_h)}, better {_hours(when.fly_better_h)} "
                     f"(tissues alone {_hours(when.fly_tissues_h)}){over}.")
    for dive, other in other_plans(day).items():
        stops = sum(finding.severity is Severity.STOP for finding in other.findings)
        lines.append(f"Dive {dive}: {f'{stops} to mend' if stops else 'nothing to mend'}; see --dive {dive}.")
    return lines


def _hours(hours_h: float | None) -> str:
    return "more than 72 h" if hours_h is None else f"{hours_h:.0f} h"


def _board_table(rows: Sequence[BoardRow]) -> Table:
    table = _table("Diver", "ID", "Cylinder", "Standing", "Gas", "MOD", "Pressure", title="Cylinders")
    cells = [
        (row.diver_names, row.id_on_metal, row.cylinder, _standing(row), row.gas_text, row.mod_text, row.pressure_text)
        for row in rows
    ]
    for column, texts in zip(table.columns, zip(*cells, strict=True), strict=False):
        column.justify, column.overflow = "left", "fold"
        if column.header in {"ID", "Standing", "Gas", "MOD", "Pressure"}:  # a number is never cut
            column.min_width = max(len(line) for text in texts for line in text.splitlines())
    for row_cells in cells:
        table.add_row(*row_cells)
    return table


def _standing(row: BoardRow) -> str:
    return f"{row.standing.upper()}\n({row.hold})" if row.hold else row.standing.upper()
