"""A reading against the plan: the verdict, as answer, as lines, as picture."""

import math
from pathlib import Path

from gaswright.analysis.reading import Reading
from gaswright.errors import InputError, Problem
from gaswright.exchange.answers import json_text
from gaswright.exchange.answers_robustness import accept_answer
from gaswright.paper.pictures_window import window_svg
from gaswright.planning.changes import Change
from gaswright.planning.dive import TeamDive
from gaswright.planning.verdict import Verdict, verdict
from gaswright.planning.window import Window
from gaswright.planning.wording import depth_text
from gaswright.services.day import Day, load_day
from gaswright.services.wording import pressure
from gaswright.units import Kind, QuantityError, minutes_text, percent_e4, percent_text, quantity

__all__ = ["accept_answer_text", "accept_lines", "accepted", "planned_dive", "window_picture", "write_text"]

LEAST_U_PERCENT, MOST_U_PERCENT = 0.1, 10.0  # as the policy's own range
WHAT = {
    "mod": "MOD", "switch_depth": "switch", "tts": "TTS", "stop": "stop", "end_pressure": "left at the end",
    "minimum_gas": "minimum gas", "turn_pressure": "turn pressure",
}  # fmt: skip


def accepted(
    trip_path: Path, policy_path: Path | None, dive: str | None, cylinder: str, o2_text: str, he_text: str,
    u_o2_text: str | None = None, u_he_text: str | None = None,
) -> tuple[Day, Verdict]:
    """The verdict on a reading of a cylinder of a trip, and the day it was judged on.

    Args:
        trip_path: the trip file.
        policy_path: a policy file of the user's own, None.
        dive: id of the dive that is meant, None: the first.
        cylinder: id.
        o2_text: oxygen as typed, in percent.
        he_text: helium as typed, in percent, or "none": not measured.
        u_o2_text: expanded uncertainty of oxygen as typed, in percent; None: the policy's, or the last reading's.
        u_he_text: the same for helium.

    Raises:
        InputError: the file, a number or the cylinder cannot be used.
    """
    day = load_day(trip_path, policy_path, dive=dive)
    o2_e4 = _percent_e4("--o2", o2_text, low_e4=100)
    he_e4 = None if he_text.strip().lower() == "none" else _percent_e4("--he", he_text)
    u_o2_e4 = None if u_o2_text is None else _uncertainty_e4("--uncertainty-o2", u_o2_text)
    u_he_e4 = None if u_he_text is None else _uncertainty_e4("--uncertainty-he", u_he_text)
    return day, verdict(planned_dive(day), day.trip.policy, cylinder, o2_e4, he_e4, u_o2_e4=u_o2_e4, u_he_e4=u_he_e4)


def _percent_e4(option: str, text: str, low_e4: int = 0) -> int:
    try:
        return percent_e4(text, name="", low_e4=low_e4)
    except QuantityError as error:
        raise InputError([Problem(option, str(error))]) from error


def _uncertainty_e4(option: str, text: str) -> int:
    """An uncertainty in hundredths of a percent, rounded up; a tenth of a percent is no fraction here."""
    try:
        percent = quantity(text, Kind.PERCENT)
    except QuantityError as error:
        raise InputError([Problem(option, str(error))]) from error
    if not LEAST_U_PERCENT <= percent <= MOST_U_PERCENT:
        raise InputError([Problem(option, f"{percent:g} % is not allowed, an analyser's uncertainty is "
                                          f"{LEAST_U_PERCENT:g} to {MOST_U_PERCENT:g} %")])
    return math.ceil(percent * 100 - 1e-9)


def planned_dive(day: Day) -> TeamDive:
    """The team's dive of a day.

    Args:
        day: as loaded.

    Raises:
        InputError: the file plans none.
    """
    if day.dive is None:
        raise InputError(f"{day.trip.file}: nothing is planned; add a [[level]] with depth and minutes")
    return day.dive


def accept_answer_text(day: Day, judged: Verdict) -> str:
    """The answer of `accept` as JSON text.

    Args:
        day: as loaded.
        judged: the verdict.
    """
    return json_text(accept_answer(day.trip, judged))


def accept_lines(day: Day, judged: Verdict) -> list[str]:
    """The verdict for people: the word, why, what changes for whom, what would mend it.

    Args:
        day: as loaded.
        judged: the verdict.
    """
    dive = planned_dive(day)
    lines = [f"{judged.cylinder} reads {_reading_text(judged.reading)}: {judged.verdict.value.upper()}"]
    lines += [f"  {one.severity.value}: {one.text}; {one.mend}" for one in judged.reasons]
    if judged.changes:
        lines.append("planned again, this changes:")
        lines += [f"  {_change_text(dive, one)}" for one in judged.changes]
    if judged.tts_within_u_min is not None and judged.tts_min is not None:
        low, high = judged.tts_within_u_min
        lines.append(f"TTS with the sheet as it stands: {minutes_text(judged.tts_min)} "
                     f"({minutes_text(low)} to {minutes_text(high)} within the reading's uncertainty)")
    if judged.mend is not None:
        lines.append(f"to mend it: {judged.mend.text}")
    bounds = "; ".join(one.says for one in judged.window.boundaries if one.edges)
    lines.append(f"what bounds the readings that hold: {bounds or 'nothing near the planned gas'}")
    return lines


def _reading_text(reading: Reading | None) -> str:
    if reading is None:
        return "oxygen only"
    helium = f", {percent_text(reading.mixture.he_e4)} helium" if reading.mixture.he_e4 else ""
    return f"{percent_text(reading.mixture.o2_e4)} oxygen{helium}"


def _change_text(dive: TeamDive, one: Change) -> str:
    names = {diver.id: diver.name for diver in dive.divers}
    who = names.get(one.diver or "", "the team")
    what = f"{WHAT[one.what]}{f' at {depth_text(one.depth_m, dive.units)}' if one.depth_m is not None else ''}"
    of = f" of {one.cylinder}" if one.cylinder else ""
    return f"{who}: {what}{of}: {_value(dive, one, one.before)} -> {_value(dive, one, one.after)}"


def _value(dive: TeamDive, one: Change, value: float | None) -> str:
    if value is None:
        return "none"
    if one.unit == "m":
        return depth_text(value, dive.units)
    if one.unit == "min":
        return minutes_text(value)
    units = next((diver.units for diver in dive.divers if diver.id == one.diver), dive.units)
    return pressure(value, units, "down" if one.what == "end_pressure" else "up")


def window_picture(day: Day, judged: Verdict) -> str:
    """The window with the reading in it, as SVG text.

    Args:
        day: as loaded.
        judged: the verdict.
    """
    return window_svg(
        judged.window, judged.reading, _names(judged.window),
        title=f"{day.trip.name}: which readings of {judged.cylinder} the plan accepts; this one: "
        f"{judged.verdict.value}",
        foot=f"{day.trip.day:%d %b %Y}, policy {day.trip.policy.version}. Planning aid for trained, certified divers. "
        "No schedule removes the risk of decompression illness. Analyse every cylinder yourself.",
    )  # fmt: skip


def _names(seen: Window) -> dict[str, str]:
    return {one.code: one.says for one in seen.boundaries}


def write_text(path: Path, text: str) -> None:
    """Write a file whole or not at all.

    Args:
        path: of the file.
        text: what it says.

    Raises:
        InputError: it cannot be written there.
    """
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
    except KeyboardInterrupt:
        beside.unlink(missing_ok=True)
        raise
    except OSError as error:
        raise InputError(f"{path}: cannot write there ({error.strerror}); choose another place") from error
