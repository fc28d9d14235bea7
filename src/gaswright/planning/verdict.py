"""The verdict on a reading of one cylinder: the plan holds, must be made again, or the gas is refused."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from gaswright.analysis.reading import Reading
from gaswright.catalogue import finding
from gaswright.findings import Finding, Severity, Subject
from gaswright.physics.mixture import WHOLE_E4, Mixture
from gaswright.planning.changes import Change, changes_between
from gaswright.planning.dive import Basis, Plan, PlanCylinder, TeamDive
from gaswright.planning.held_plan import Shown, held_plan, shown_with
from gaswright.planning.mods import label_mod_of, mod_m, used_both_ways
from gaswright.planning.plan import plan
from gaswright.planning.window import HOLDS, Window, uncertainty_e4, window_of
from gaswright.planning.window_rules import (
    MOD,
    NO_SCHEDULE,
    PRESSURE,
    RUNS_OUT,
    STOP_MOVED,
    TTS_MOVED,
    Questions,
    available_with_l,
    by_helium,
    by_oxygen,
    by_sheet,
    questions_of,
    too_dense,
)
from gaswright.planning.wording import depth_text, minutes_text
from gaswright.policy import Policy
from gaswright.units import percent_text

__all__ = ["Fill", "Verdict", "Word", "verdict", "with_reading"]

# Judged on the sheet as it stands; where the dive is planned again they say nothing new.
NOT_NEWS = frozenset({"team.pulled_shallower", "plan.on_targets", "team.alone", "policy.loosened"})
ROUNDING = 1e-9  # binary rounding of a percentage


class Word(StrEnum):
    """The verdict in a word."""

    HOLDS = "holds"
    REPLAN = "re-plan"
    REFUSE = "refuse"


@dataclass(frozen=True, slots=True)
class Fill:
    """What fill would mend a reading.

    Args:
        mixture: the gas to aim at.
        low_o2_e4: leanest reading that holds at about that helium [e-4].
        high_o2_e4: richest reading that holds at about that helium [e-4].
        text: the same as a sentence.
    """

    mixture: Mixture
    low_o2_e4: int
    high_o2_e4: int
    text: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on a reading.

    Args:
        verdict: holds, re-plan or refuse.
        cylinder: id.
        reading: with its uncertainty; None where helium was not measured.
        reasons: which rules it breaks; where it holds at most the note that the fill missed its target.
        changes: what changes on the sheet, for whom, if the dive is planned again; empty where it holds.
        mend: a fill that would hold; None where it holds, or where none of the grid does.
        tts_min: TTS on the reading with the sheet as it stands, None where there is no schedule [min].
        tts_within_u_min: least and most TTS over the corners of its uncertainty, None likewise [min].
        window: the acceptance window.
    """

    verdict: Word
    cylinder: str
    reading: Reading | None
    reasons: tuple[Finding, ...]
    changes: tuple[Change, ...]
    mend: Fill | None
    tts_min: float | None
    tts_within_u_min: tuple[float, float] | None
    window: Window


def verdict(
    dive: TeamDive, policy: Policy, cylinder: str, o2_e4: int, he_e4: int | None, *, u_o2_e4: int | None = None,
    u_he_e4: int | None = None, steps: int = 41,
) -> Verdict:
    """The verdict on a reading.

    It holds where every rule of the window holds and the dive, planned again on the reading, brings no new stop and
    no new question. It is refused where planning again brings a stop that the plan did not have, or one about this
    cylinder. Otherwise the dive is to be planned again, and the changes say what moves.

    Args:
        dive: as given.
        policy: the limits.
        cylinder: id of a cylinder that the plan breathes.
        o2_e4: oxygen as read [e-4].
        he_e4: helium as read, None: not measured, which counts as none only where no helium is planned [e-4].
        u_o2_e4: expanded uncertainty of oxygen, None: the policy's, or the last reading's where larger [e-4].
        u_he_e4: the same for helium [e-4].
        steps: cells along each side of the window.

    Raises:
        InputError: no such cylinder, no plan, or the parts exceed the whole.
    """
    held = held_plan(dive, policy)
    usual = uncertainty_e4(held, cylinder)
    u_e4 = usual[0] if u_o2_e4 is None else u_o2_e4, usual[1] if u_he_e4 is None else u_he_e4
    seen = window_of(held, cylinder, steps=steps, u_e4=u_e4)
    asked = questions_of(held, cylinder, *u_e4)
    if he_e4 is None and _helium_meant(asked.cylinder):
        reason = finding(policy, "gas.helium_not_measured", Subject(asked.use.divers[0], cylinder))
        return Verdict(Word.REFUSE, cylinder, None, (reason,), (), None, None, None, seen)
    reading = asked.reading(Mixture(o2_e4, he_e4 or 0))
    shown = shown_with(held, cylinder, _corners(reading))
    before, after = plan(dive, policy), plan(with_reading(dive, cylinder, reading), policy)
    broken = tuple(_broken(asked, reading, shown[0], after))
    news = tuple(_news(before, after, cylinder))
    word = _word(broken, news)
    reasons = _distinct((*news, *(r for r in broken if word is not Word.REFUSE or r.severity is Severity.STOP)))
    changes = () if word is Word.HOLDS else changes_between(dive, policy, before, after, cylinder, reading)
    return Verdict(
        word, cylinder, reading, (*reasons, *_out_of_tolerance(asked, reading)), changes,
        None if word is Word.HOLDS else _mend(seen), None if shown[0] is None else shown[0].tts_min, _spread(shown),
        seen,
    )  # fmt: skip


def with_reading(dive: TeamDive, cylinder: str, reading: Reading) -> TeamDive:
    """The dive with another reading of one cylinder.

    Args:
        dive: as given.
        cylinder: id.
        reading: as read.
    """
    return replace(dive, cylinders=tuple(
        replace(c, gas=reading, rich=None, basis=Basis.ANALYSED,
                gauge_bar=c.working_pressure_bar if c.gauge_bar is None and c.basis is Basis.TARGET else c.gauge_bar)
        if c.id == cylinder else c for c in dive.cylinders
    ))  # fmt: skip


def _helium_meant(cylinder: PlanCylinder) -> bool:
    if cylinder.target is not None:
        return cylinder.target.he_e4 > 0
    return cylinder.gas is not None and cylinder.gas.mixture.he_e4 > 0


def _corners(reading: Reading) -> list[Mixture]:
    """The reading, then the corners of its uncertainty that are gases."""
    here = reading.mixture
    found = [here]
    for o2 in (reading.lean_o2_e4, reading.rich_o2_e4):
        for he in (reading.lean_he_e4, here.he_e4 + reading.u_he_e4):
            found += [Mixture(o2, he)] if o2 >= 1 and o2 + he <= WHOLE_E4 else []
    return found


def _spread(shown: Sequence[Shown | None]) -> tuple[float, float] | None:
    times = [one.tts_min for one in shown if one is not None]
    return (min(times), max(times)) if times else None


def _broken(asked: Questions, reading: Reading, shown: Shown | None, after: Plan) -> Iterator[Finding]:
    """Every rule of the window that a reading breaks, as findings; those of the plan made again in its words."""
    content = asked.held.contents.get(asked.cylinder.id)
    unusable_bar = asked.held.kit.dive.settings.unusable_bar
    available_l = None if content is None else available_with_l(content, reading.mixture, unusable_bar)
    for code in (by_oxygen(asked, reading), by_helium(asked, reading), too_dense(asked, reading),
                 *by_sheet(asked, shown, available_l)):
        if code in {TTS_MOVED, STOP_MOVED, PRESSURE}:
            yield _moved(asked, code, shown)
        elif code == MOD:
            yield _shallower(asked, reading)
        elif code in {NO_SCHEDULE, RUNS_OUT}:
            why = "there is no way up" if code == NO_SCHEDULE else "a cylinder runs out"
            yield finding(asked.policy, "window.supply", Subject(cylinder=asked.cylinder.id), why=why)
        elif code is not None:
            yield from (f for f in after.findings if f.code == code and f.subject.cylinder == asked.cylinder.id)


def _moved(asked: Questions, code: str, shown: Shown | None) -> Finding:
    policy, subject = asked.policy, Subject(cylinder=asked.cylinder.id)
    if code == TTS_MOVED and shown is not None:
        return finding(policy, code, subject, before=minutes_text(asked.held.shown.tts_min),
                       after=minutes_text(shown.tts_min), limit=f"{policy.sheet_tts_min:g} min")
    limit = f"{policy.sheet_stop_min:g} min" if code == STOP_MOVED else f"{policy.sheet_bar:g} bar"
    return finding(policy, code, subject, limit=limit)


def _shallower(asked: Questions, reading: Reading) -> Finding:
    """The MOD does not cover the planned use: whether that is a stop, planning again has to say."""
    units, both = asked.held.kit.dive.units, used_both_ways(asked.cylinder)
    label_m = mod_m(label_mod_of(reading, asked.cylinder.role, asked.policy, both_ways=both), units)
    return finding(asked.policy, "window.mod", Subject(asked.use.divers[0], asked.cylinder.id),
                   reading=reading.mixture.name, mod=depth_text(label_m, units),
                   use=depth_text(max(asked.use.deepest_m, asked.cylinder.switch_depth_m or 0.0), units))


def _news(before: Plan, after: Plan, cylinder: str) -> Iterator[Finding]:
    """Stops and asks that planning again brings: new ones, and every stop about this cylinder."""
    known = {(f.code, f.subject.diver, f.subject.cylinder, f.subject.case) for f in before.findings}
    for one in after.findings:
        key = (one.code, one.subject.diver, one.subject.cylinder, one.subject.case)
        own_stop = one.severity is Severity.STOP and one.subject.cylinder == cylinder
        asks = one.severity is not Severity.NOTE and one.code not in NOT_NEWS
        if asks and (key not in known or own_stop):
            yield one


def _word(broken: Iterable[Finding], news: Iterable[Finding]) -> Word:
    news = tuple(news)
    if any(one.severity is Severity.STOP for one in news):
        return Word.REFUSE
    return Word.REPLAN if news or any(True for _ in broken) else Word.HOLDS


def _out_of_tolerance(asked: Questions, reading: Reading) -> Iterator[Finding]:
    """The fill is judged by its own tolerance, for the blender; outside it and inside the window is a note."""
    target, policy = asked.cylinder.target, asked.policy
    if target is None:
        return
    off_o2_e4, off_he_e4 = abs(reading.mixture.o2_e4 - target.o2_e4), abs(reading.mixture.he_e4 - target.he_e4)
    if (off_o2_e4 > policy.fill_tolerance_o2_percent * 100 + ROUNDING
            or off_he_e4 > policy.fill_tolerance_he_percent * 100 + ROUNDING):
        yield finding(policy, "fill.out_of_tolerance", Subject(asked.use.divers[0], asked.cylinder.id),
                      reading=reading.mixture.name, target=target.name)


def _distinct(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple({(f.code, f.subject, f.text): f for f in findings}.values())


def _mend(seen: Window) -> Fill | None:
    """The planned gas where it holds, else the gas of the grid next to it that does."""
    holding = seen.holding
    if not holding:
        return None
    planned = seen.planned
    near = min(holding, key=lambda m: (abs(m.o2_e4 - planned.o2_e4) / 100 + abs(m.he_e4 - planned.he_e4) / 200,
                                       m.o2_e4, m.he_e4))  # fmt: skip
    row = seen.cells[seen.he_e4.index(near.he_e4)]
    at = seen.o2_e4.index(near.o2_e4)
    low = high = at
    while low > 0 and row[low - 1] == HOLDS:
        low -= 1
    while high + 1 < len(row) and row[high + 1] == HOLDS:
        high += 1
    low_e4, high_e4 = seen.o2_e4[low], seen.o2_e4[high]
    helium = f" with {percent_text(near.he_e4)} helium" if near.he_e4 else ""
    text = f"fill to {near.name}: readings of {percent_text(low_e4)} to {percent_text(high_e4)} oxygen{helium} hold"
    return Fill(near, low_e4, high_e4, text)
