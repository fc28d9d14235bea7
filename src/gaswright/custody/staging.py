"""Cylinders left under water on purpose: which are there now, and which analyses a lift has ended."""

from collections.abc import Mapping, Sequence

from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.heads import GAS_CHANGING, heads, knows, names, of_kind, voids

__all__ = ["is_staged", "lift_of"]

FOLLOWED: Mapping[str, tuple[str, ...]] = {
    Kind.LIFTED: (Kind.STAGED, Kind.ANALYSED), Kind.STAGED: (Kind.ANALYSED,), Kind.ANALYSED: (),
}


def lift_of(stream: Sequence[Fact], fact: Fact) -> Fact | None:
    """The lift that ends an analysis or a staging, None if there is none.

    A lift ends what concerns a head that it names, directly or through what it names, and does not itself know of the
    lift. A lift that names no head ends everything that does not know of it. A voided lift still ends.

    Args:
        stream: facts of one cylinder's gas.
        fact: an analysis, or a staging.
    """
    known, concerned = knows(stream, fact), _heads_named(stream, fact)
    for lift in of_kind(stream, Kind.LIFTED):
        lifted = _heads_named(stream, lift)
        if lift.id not in known and (not lifted or not concerned or not lifted.isdisjoint(concerned)):
            return lift
    return None


def is_staged(stream: Sequence[Fact]) -> bool:
    """True if the cylinder was left under water and nobody lifted it or changed its gas since.

    Args:
        stream: facts of one cylinder's gas.
    """
    tops, voided = {head.id for head in heads(stream)}, voids(stream)
    return any(
        fact.id not in voided
        and (not (named := _heads_named(stream, fact)) or not named.isdisjoint(tops))
        and lift_of(stream, fact) is None
        for fact in of_kind(stream, Kind.STAGED)
    )


def _heads_named(stream: Sequence[Fact], fact: Fact) -> frozenset[FactId]:
    """The fillings that a fact concerns: those it names, and those of the analyses and stagings that it names.

    An analysis concerns the one it measured, a staging that of the analysis it rests on: what they replace is history.
    """
    by_id = {one.id: one for one in stream}
    named = names(fact) if fact.kind == Kind.LIFTED else frozenset(fact.rests_on)
    followed = [by_id[name] for name in named if name in by_id and by_id[name].kind in FOLLOWED[fact.kind]]
    changes = frozenset(change.id for change in of_kind(stream, *GAS_CHANGING))
    direct = named if fact.kind == Kind.ANALYSED else names(fact)
    return (direct & changes).union(*(_heads_named(stream, one) for one in followed))
