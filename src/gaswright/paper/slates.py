"""Runtime slate of one diver: leave at, depth, minutes there, breathe; one row a depth, a label at every switch."""

import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, time

from gaswright.clearance.permits import SheetPermit
from gaswright.errors import InputError
from gaswright.paper.lettering import name_on_paper, names_on_paper
from gaswright.paper.slate_rows import SlateRow, SlateSwitch, rounded_down_min, rounded_up_min, slate_lines, surface_min
from gaswright.paper.starts import box_minimum, box_mod, gas_text, planned_schedule, start_cylinders, together
from gaswright.paper.stock import SlateSize, size_mm, slate_size_of
from gaswright.paper.typesetting import Sheet, pdf_of, pictures_of
from gaswright.paper.wording import (
    CAUTION,
    clock_parts,
    day_text,
    depth_parts,
    parts_text,
    second_depth_text,
    units_text,
)
from gaswright.planning.dive import Diver, PlanCylinder
from gaswright.units import pressure_text

__all__ = ["band_text", "made_at", "slate_pdf", "slate_pictures"]

_NUMBER_UNIT = re.compile(r"(\d) (?=[a-zA-Z%])")  # the space that must not break
_USUAL_STRESSED_L_MIN = 30.0  # stressed rate that goes without saying; common practice, no source


def slate_pdf(permit: SheetPermit, diver_id: str, size: str = SlateSize.A6) -> bytes:
    """The runtime slate of one diver as PDF.

    Args:
        permit: leave to print the team's sheets.
        diver_id: whose slate.
        size: "a6" or "a5".

    Raises:
        InputError: no such diver or size, or a character that the font cannot show.
        Refused: the plan has no schedule, or the rows do not fit.
    """
    return pdf_of(_sheet(permit, diver_id, size))


def slate_pictures(permit: SheetPermit, diver_id: str, size: str = SlateSize.A6, *, dots_per_inch: int = 203
                   ) -> tuple[bytes, ...]:
    """The same as PNG pictures, one a page.

    Args:
        permit: leave to print the team's sheets.
        diver_id: whose slate.
        size: "a6" or "a5".
        dots_per_inch: resolution.

    Raises:
        InputError: no such diver or size, or a character that the font cannot show.
        Refused: the plan has no schedule, or the rows do not fit.
    """
    return pictures_of(_sheet(permit, diver_id, size), dots_per_inch)


def band_text(permit: SheetPermit) -> str:
    """The words of the black band across a sheet, nothing where the team is clear.

    Args:
        permit: leave to print the team's sheets.
    """
    if permit.plan_only:
        return "PLAN ONLY, not for diving"
    return "" if permit.go else "NOT CLEARED"


def made_at(permit: SheetPermit) -> datetime:
    """The date written into a team's files: the day of the dive.

    Args:
        permit: leave to print the team's sheets.
    """
    return datetime.combine(permit.day, time(), UTC)


def _sheet(permit: SheetPermit, diver_id: str, size: str) -> Sheet:
    diver = next((one for one in permit.divers if one.id == diver_id), None)
    if diver is None:
        known = ", ".join(one.id for one in permit.divers)
        raise InputError(f"no planned diver is called {diver_id!r}; planned are {known}")
    paper = slate_size_of(size)
    width_mm, height_mm = size_mm(paper)
    values = {
        "width_mm": width_mm, "height_mm": height_mm, "size": paper.name,
        "diver": names_on_paper(permit.divers)[diver.id], "trip": name_on_paper(permit.trip_name),
        "day": day_text(permit.day), "code": permit.sheet_code,
        "policy": permit.policy_version, "units": _units(permit, diver), "caution": CAUTION,
        "band": band_text(permit), "figures": _figures(permit, diver), "lines": _lines(permit, diver),
        "surface": _surface(permit), "notes": _notes(permit, diver),
    }
    return Sheet("slate", values, made_at(permit))


def _units(permit: SheetPermit, diver: Diver) -> str:
    team, own = units_text(permit.dive.units), units_text(diver.units)
    return own if team == own else f"{team.split(',')[0]} (team),{own.split(',')[1]}; second depth {own.split(',')[0]}"


def _seconds(permit: SheetPermit) -> bool:
    return permit.dive.settings.stop_unit_min < 1


def _lines(permit: SheetPermit, diver: Diver) -> list[dict[str, object]]:
    """What is breathed when leaving the surface, then rows and switches."""
    cylinders = {cylinder.id: cylinder for cylinder in permit.dive.cylinders}
    lines = slate_lines(planned_schedule(permit), diver.id, permit.dive.settings)
    return [_box("START on", permit, start_cylinders(permit, diver.id))] + [
        _row(line, permit, diver, cylinders) if isinstance(line, SlateRow) else _switch(line, permit, diver)
        for line in lines
    ]


def _row(row: SlateRow, permit: SheetPermit, diver: Diver, cylinders: Mapping[str, PlanCylinder]) -> dict[str, object]:
    seconds, team = _seconds(permit), permit.dive.units
    return {
        "leave": clock_parts(row.leave_min, seconds=seconds),
        "depth": depth_parts(row.depth_m, team),
        "second": second_depth_text(row.depth_m, team, diver.units),
        "there": clock_parts(row.there_min, seconds=seconds),
        "breathe": gas_text(cylinders[row.cylinder]),
    }


def _switch(line: SlateSwitch, permit: SheetPermit, diver: Diver) -> dict[str, object]:
    at = parts_text(depth_parts(line.depth_m, permit.dive.units))
    return _box(f"SWITCH at {at} to", permit, together(permit, diver.id, line.cylinder))


def _box(words: str, permit: SheetPermit, cylinders: Sequence[PlanCylinder]) -> dict[str, object]:
    """IDs to look for with their gas, the gas once where it is the same in all; MOD; where it may not be breathed."""
    named = [(f"ID {permit.ids_on_metal.get(one.id, one.id)}", gas_text(one)) for one in cylinders]
    same = len({gas for _, gas in named}) == 1
    texts = [*(name for name, _ in named), named[0][1]] if same else [text for pair in named for text in pair]
    return {"words": words, "texts": texts, "mod": box_mod(permit, cylinders) or ["?", ""],
            "minimum": box_minimum(permit, cylinders)}


def _figures(permit: SheetPermit, diver: Diver) -> list[dict[str, str]]:
    """The figures that decide the bottom phase, mains by mains where there are several."""
    settings, schedule = permit.dive.settings, planned_schedule(permit)
    latest_min = rounded_down_min(permit.plan.latest_leave_min, settings)
    tts_min = rounded_up_min(schedule.tts_min, settings)
    figures = [
        {"name": "Leave bottom at the latest",
         "value": parts_text(clock_parts(latest_min, seconds=_seconds(permit)))},
        {"name": "TTS", "value": parts_text(clock_parts(tts_min, seconds=_seconds(permit)))},
    ]
    supply = permit.plan.planned.supply
    mains = [one for one in permit.dive.cylinders if diver.id in one.divers and one.id in supply
             and (supply[one.id].turn_bar is not None or supply[one.id].minimum_bar is not None)]
    for main in mains:
        which = f", ID {permit.ids_on_metal.get(main.id, main.id)}" if len(mains) > 1 else ""
        own = supply[main.id]
        for name, gauge_bar in (("Turn pressure", own.turn_bar), ("Minimum gas", own.minimum_bar)):
            value = "not known" if gauge_bar is None else pressure_text(gauge_bar, diver.units, "up")
            figures.append({"name": name + which, "value": value})
    return figures


def _surface(permit: SheetPermit) -> Sequence[str]:
    return clock_parts(surface_min(planned_schedule(permit), permit.dive.settings), seconds=_seconds(permit))


def _notes(permit: SheetPermit, diver: Diver) -> list[str]:
    """What the diver must know before leaving, each with what to do about it, each one line."""
    own = {cylinder.id for cylinder in permit.dive.cylinders if diver.id in cylinder.divers}
    notes = [
        f"{_whose(permit, diver, one.subject.cylinder)}{one.text}: breathe it deeper only"
        for one in permit.plan.findings
        if one.code == "ppo2.low_note" and (one.subject.diver == diver.id or one.subject.cylinder in own)
        and one.subject.case in {None, "planned"}
    ]
    stressed = {one.rmv_stressed_l_min for one in permit.divers}
    if min(stressed) < _USUAL_STRESSED_L_MIN:
        notes.append(f"minimum gas at {min(stressed):g} L/min")
    return [_NUMBER_UNIT.sub("\\1\u00a0", note) for note in dict.fromkeys(notes)]


def _whose(permit: SheetPermit, diver: Diver, cylinder: str | None) -> str:
    """The ID before a note, unless it is the one that the diver starts on."""
    if cylinder is None or cylinder in {one.id for one in start_cylinders(permit, diver.id)}:
        return ""
    return f"ID {permit.ids_on_metal.get(cylinder, cylinder)}: "
