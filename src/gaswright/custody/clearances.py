"""Whom the team has cleared: a clearance counts only for exactly what it was given on."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.heads import ended, of_kind, stream_facts, voids
from gaswright.policy import Policy

__all__ = ["STREAM", "cleared_divers"]

STREAM = "clearance/"


def cleared_divers(
    facts: Sequence[Fact], needed: Mapping[str, frozenset[FactId]], policy: Policy, now: datetime
) -> frozenset[str]:
    """Ids of the divers whose clearance counts now.

    It counts only if it rests on exactly the plan, analyses and labels that are in force for that diver, was neither
    withdrawn nor corrected, and is not in the future. One more cylinder, or one analysed anew, ends it.

    Args:
        facts: of any streams.
        needed: diver id to the facts that are in force for the diver; empty: something of the diver's is unknown.
        policy: how far ahead a clock may be.
        now: aware.
    """
    room = now + timedelta(minutes=policy.clock_ahead_min)
    return frozenset(diver for diver, wanted in needed.items() if wanted and _cleared(facts, diver, wanted, room))


def _cleared(facts: Sequence[Fact], diver: str, wanted: frozenset[FactId], room: datetime) -> bool:
    stream = stream_facts(facts, f"{STREAM}{diver}")
    corrected = voids(stream)
    return any(
        frozenset(fact.rests_on) == wanted and fact.id not in corrected and max(fact.at, fact.recorded) <= room
        and not ended(stream, fact, Kind.CLEARANCE_WITHDRAWN)
        for fact in of_kind(stream, Kind.TEAM_CLEARED)
    )
