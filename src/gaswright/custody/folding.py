"""The fold: from the facts about one cylinder to what is in it now, who says so, and until when."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import combinations

from gaswright.analysis.agreement import agree, leanest, richest
from gaswright.analysis.reading import Reading
from gaswright.custody.ages import Clock, clock_of
from gaswright.custody.doubts import Doubt, age_against, facts_against, history_against
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.heads import heads, of_kind, stream_facts, unreplaced_analyses, voids
from gaswright.custody.labels import accepted_by, label_of
from gaswright.custody.pressures import latest_gauge_centibar
from gaswright.custody.readings import reading_of, whole
from gaswright.custody.registering import register
from gaswright.custody.staging import is_staged
from gaswright.custody.standing import Known, Rung, Standing, Unknown
from gaswright.policy import Policy

__all__ = ["fold"]

TWO_READINGS = "gas.two_readings"  # code of the note

_Readings = Mapping[FactId, Reading]


def fold(facts: Sequence[Fact], cylinder: str, policy: Policy, *, zone: str, now: datetime | None) -> Standing:
    """Where a cylinder stands, folded from the facts; the order in which they are given does not matter.

    The gas is known only if the cylinder has exactly one head, that head's analyses in force agree, and their age is
    allowed. *Used* is a labelled cylinder that was breathed from and whose pressure nobody has read since. *Cleared*
    belongs to the room that clears.

    Args:
        facts: of any streams; gas/ID and register/ID are read.
        cylinder: id.
        policy: ages, and the uncertainty where an analysis states none.
        zone: IANA name of the place's time zone.
        now: aware; None: ages are not judged.

    Raises:
        InputError: there is no such zone, or `now` says no offset.
        Refused: one id stands for two different facts.

    Source: GASWRIGHT, docs/custody.md.
    """
    clock = clock_of(now, zone, policy)
    stream = stream_facts(facts, f"gas/{cylinder}")
    record = register(facts).get(cylinder)
    gauge = latest_gauge_centibar(stream, clock)
    frozen = any(head.kind == Kind.FROZEN for head in heads(stream))
    known = _known(stream, clock, record.divers if record else ())
    if isinstance(known, Doubt):
        rung = Rung.FILLED if _filled(stream, known.code) else Rung.UNKNOWN
        return Standing(cylinder, rung, None, known.code, known.values, None, None, gauge, frozen, is_staged(stream))
    label, matches = label_of(stream, _in_force(stream), known.rich, clock, record)
    rung = Rung.LABELLED if label and matches else Rung.ANALYSED  # cleared comes after this, elsewhere
    if rung is Rung.LABELLED and _used(stream):
        rung = Rung.USED
    return Standing(cylinder, rung, known, None, (), label, matches, gauge, frozen, is_staged(stream))


def _known(stream: Sequence[Fact], clock: Clock, divers: Sequence[str]) -> Known | Doubt:
    """The gas by rule 9, or the first reason against it."""
    if why := history_against(stream):
        return why
    head = heads(stream)[0]
    analyses = unreplaced_analyses(stream, head)
    if why := facts_against(stream, head, analyses, clock):
        return why
    read = {fact.id: reading_of(fact, clock.policy) for fact in analyses}
    readings = {key: reading for key, reading in read.items() if isinstance(reading, Reading)}
    if silent := [reason for reason in read.values() if isinstance(reason, Unknown)]:
        return Doubt(min(silent))
    if not all(agree(first, second) for first, second in combinations(readings.values(), 2)):
        return Doubt(Unknown.DISAGREE)
    return age_against(stream, analyses, clock) or _said(stream, head, analyses, readings, clock, divers)


def _said(
    stream: Sequence[Fact], head: Fact, analyses: Sequence[Fact], readings: _Readings, clock: Clock,
    divers: Sequence[str],
) -> Known:
    """The gas as the analyses in force say it together."""
    rich, lean = richest(tuple(readings.values())), leanest(tuple(readings.values()))
    speaker = max(analyses, key=lambda fact: (readings[fact.id].rich_o2_e4, readings[fact.id].mixture, fact.id))
    witness = speaker.data.get("witness")
    return Known(
        reading=lean, rich=rich, lean=lean, analysis=speaker.id, fill=head.id,
        gauge_centibar=whole(speaker, "gauge_centibar"), temperature_centi_k=whole(speaker, "temperature_centi_k"),
        at=speaker.at, by=speaker.by, accepted_by=accepted_by(stream, analyses, divers, clock),
        witness=witness if isinstance(witness, str) else None,
        expires=min(clock.expires(stream, fact) for fact in analyses),
        notes=(TWO_READINGS,) if len(analyses) > 1 else (),
    )


def _in_force(stream: Sequence[Fact]) -> Mapping[FactId, Fact]:
    return {fact.id: fact for fact in unreplaced_analyses(stream, heads(stream)[0])}


def _used(stream: Sequence[Fact]) -> bool:
    """True if somebody breathed from the analysed gas and no pressure read since names that."""
    in_force = set(_in_force(stream))
    breathed = [fact for fact in of_kind(stream, Kind.BREATHED)
                if not in_force.isdisjoint(fact.rests_on) and whole(fact, "gauge_centibar") is None]
    read = {name for fact in of_kind(stream, Kind.PRESSURE_READ)
            if whole(fact, "gauge_centibar") is not None and fact.id not in voids(stream) for name in fact.rests_on}
    return any(fact.id not in read for fact in breathed)


def _filled(stream: Sequence[Fact], why: Unknown) -> bool:
    """True if the last thing that happened to an unknown gas is one fill, whole and not corrected."""
    if why in {Unknown.UNKNOWN_KIND, Unknown.ABSENT_FACT, Unknown.VOIDED, Unknown.LIFTED}:
        return False
    tops = heads(stream)
    return len(tops) == 1 and tops[0].kind == Kind.FILLED and tops[0].id not in voids(stream)
