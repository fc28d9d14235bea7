"""Why a gas is not known: what speaks against its history, against its analyses, and what the clock says."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from gaswright.custody.ages import Clock
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import GAS_CHANGING, absent_ids, heads, knows, of_kind, unreadable, voids
from gaswright.custody.staging import lift_of
from gaswright.custody.standing import Unknown

__all__ = ["EQUAL_TIME", "Doubt", "age_against", "facts_against", "history_against"]

EQUAL_TIME = "equal_time"  # data key, true on an analysis or a fill whose times do not say which came first

OF_HEAD: Mapping[str, Unknown] = {
    Kind.LABELS_REMOVED: Unknown.LABELS_OFF, Kind.LENT: Unknown.LENT, Kind.RETURNED: Unknown.LENT,
}


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why the gas is not known."""

    code: Unknown
    values: tuple[tuple[str, str], ...] = ()


def history_against(stream: Sequence[Fact]) -> Doubt | None:
    """What speaks against the whole history: unreadable, incomplete, frozen, or not one head."""
    if unreadable(stream):
        return Doubt(Unknown.UNKNOWN_KIND)
    if absent := absent_ids(stream):
        return Doubt(Unknown.ABSENT_FACT, (("fact", ", ".join(absent)),))
    tops = heads(stream)
    if any(head.kind == Kind.FROZEN for head in tops):
        return Doubt(Unknown.FROZEN)
    if len(tops) == 1:
        return None
    return Doubt(Unknown.TWO_HEADS if of_kind(stream, *GAS_CHANGING) else Unknown.NEVER_ANALYSED)


def facts_against(stream: Sequence[Fact], head: Fact, analyses: Sequence[Fact], clock: Clock) -> Doubt | None:
    """What speaks against the one head and its analyses, whatever they read."""
    changed = _changed(head, stream, clock)
    every = of_kind(stream, Kind.ANALYSED)
    doubtful = [fact for fact in (*analyses, head) if fact.data.get(EQUAL_TIME)]
    if not analyses:
        if any(head.id in fact.rests_on for fact in every):
            return Doubt(Unknown.TWO_HEADS, changed)  # analyses that replace each other in a ring
        if any(fact.data.get(EQUAL_TIME) for fact in (*every, head)):
            return Doubt(Unknown.EQUAL_TIMES, changed)
        nothing = Unknown.FILLED_SINCE if every else Unknown.NEVER_ANALYSED
        return Doubt(OF_HEAD.get(head.kind, nothing), changed)
    if _voided(stream, head, analyses):
        return Doubt(Unknown.VOIDED)
    if any(fact is not head or any(one.at <= head.at for one in analyses) for fact in doubtful):
        return Doubt(Unknown.EQUAL_TIMES, changed)
    lifts = [lift for fact in analyses if (lift := lift_of(stream, fact))]
    return Doubt(Unknown.LIFTED, _changed(lifts[-1], stream, clock)) if lifts else None


def _voided(stream: Sequence[Fact], head: Fact, analyses: Sequence[Fact]) -> bool:
    """True if an analysis is voided, or the head is and an analysis does not know every correction of it."""
    corrections = voids(stream)
    of_head = corrections.get(head.id, frozenset())
    return any(fact.id in corrections or not of_head <= knows(stream, fact) for fact in analyses)


def age_against(stream: Sequence[Fact], analyses: Sequence[Fact], clock: Clock) -> Doubt | None:
    """What the clock has against an analysis in force; the clock never speaks for one."""
    if clock.now is None:
        return None
    ahead = [(by, fact) for fact in analyses if (by := clock.ahead_of_now(fact))]
    if ahead:
        by, fact = max(ahead, key=lambda pair: pair[0])
        at = clock.text(max(fact.at, fact.recorded), clock.now)
        return Doubt(Unknown.IN_THE_FUTURE, (("ahead", _duration(by)), ("at", at)))
    old = [fact for fact in analyses if clock.expires(stream, fact) <= clock.now]
    if not old:
        return None
    oldest = min(min(fact.at, fact.recorded) for fact in old)
    return Doubt(Unknown.EXPIRED, (("at", clock.text(oldest, clock.now)),))


def _changed(fact: Fact, stream: Sequence[Fact], clock: Clock) -> tuple[tuple[str, str], ...]:
    today = clock.now or max(one.at for one in stream)
    return (("changed", clock.text(fact.at, today)),)


def _duration(span: timedelta) -> str:
    """A span as "12 min", "2 h" or "2 h 10 min", rounded up."""
    minutes = -(-span // timedelta(minutes=1))
    hours, rest = divmod(minutes, 60)
    return " ".join([*([f"{hours} h"] if hours else []), *([f"{rest} min"] if rest or not hours else [])])
