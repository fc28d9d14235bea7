"""Which facts still stand: heads by set arithmetic, analyses not replaced, what was corrected away.

Every function takes the facts of one stream and asks only who names whom: neither clocks nor the order of arrival
decide anything here.
"""

from collections.abc import Iterable, Mapping, Sequence

from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.errors import Refused

__all__ = [
    "GAS_CHANGING", "READABLE_VERSION", "absent_ids", "ended", "heads", "knows", "names", "of_kind", "stream_facts",
    "unreadable", "unreplaced", "unreplaced_analyses", "voids",
]

READABLE_VERSION = 1  # of every kind, so far

GAS_CHANGING: frozenset[str] = frozenset(
    {Kind.FILLED, Kind.DRAINED, Kind.TOPPED_UP, Kind.LENT, Kind.RETURNED, Kind.FROZEN, Kind.LABELS_REMOVED}
)
KINDS: frozenset[str] = frozenset(Kind)


def stream_facts(facts: Iterable[Fact], stream: str) -> tuple[Fact, ...]:
    """The facts of one stream, each once, in the order of their ids, whatever order they came in.

    Args:
        facts: of any streams, in any order.
        stream: "gas/c1", "register/c1".

    Raises:
        Refused: one id stands for two different facts (a fork).
    """
    found: dict[FactId, Fact] = {}
    for fact in facts:
        if fact.stream == stream and found.setdefault(fact.id, fact) != fact:
            raise Refused(f"two different facts carry the id {fact.id} in {stream}: the book was forked; keep both "
                          "copies and ask which one is true")
    return tuple(found[key] for key in sorted(found))


def of_kind(stream: Sequence[Fact], *kinds: str) -> tuple[Fact, ...]:
    """The facts of these kinds.

    Args:
        stream: facts of one stream.
        *kinds: wanted.
    """
    return tuple(fact for fact in stream if fact.kind in kinds)


def names(fact: Fact) -> frozenset[FactId]:
    """Every fact that this one names, itself not counted.

    Args:
        fact: whose `after`, `rests_on` and, for a correction, voided fact are read.
    """
    voided = fact.data.get("voids") if fact.kind == Kind.CORRECTED else None
    return frozenset({*fact.after, *fact.rests_on, *([voided] if isinstance(voided, str) else [])} - {fact.id})


def unreadable(stream: Sequence[Fact]) -> bool:
    """True if a fact is of a kind or version that this program does not know, or a correction names nothing.

    Args:
        stream: facts of one stream.
    """
    return any(
        fact.kind not in KINDS
        or fact.version != READABLE_VERSION
        or (fact.kind == Kind.CORRECTED and not isinstance(fact.data.get("voids"), str))
        for fact in stream
    )


def absent_ids(stream: Sequence[Fact]) -> tuple[FactId, ...]:
    """Ids that a fact of the stream names and that are not in it, sorted.

    Args:
        stream: facts of one stream.
    """
    here = {fact.id for fact in stream}
    return tuple(sorted({name for fact in stream for name in names(fact)} - here))


def voids(stream: Sequence[Fact]) -> Mapping[FactId, frozenset[FactId]]:
    """Each voided fact with the corrections that void it; a correction cannot itself be voided.

    Args:
        stream: facts of one stream.
    """
    found: dict[FactId, frozenset[FactId]] = {}
    for fact in of_kind(stream, Kind.CORRECTED):
        voided = fact.data.get("voids")
        if isinstance(voided, str):
            found[voided] = found.get(voided, frozenset()) | {fact.id}
    return found


def heads(stream: Sequence[Fact]) -> tuple[Fact, ...]:
    """The gas-changing facts that no other gas-changing fact names in `after`; voided ones keep their place.

    Args:
        stream: facts of one cylinder's gas.
    """
    changes = of_kind(stream, *GAS_CHANGING)
    passed = {name for fact in changes for name in fact.after if name != fact.id}
    return tuple(fact for fact in changes if fact.id not in passed)


def unreplaced(stream: Sequence[Fact], rivals: Sequence[Fact]) -> tuple[Fact, ...]:
    """Those of the rivals that no other rival names in `after`, be it directly or by its correction.

    Voided ones are among them: a correction takes trust away, it does not bring an older fact back.

    Args:
        stream: facts of one stream.
        rivals: facts of which a later one replaces the earlier ones that it names.
    """
    corrections = voids(stream)
    return tuple(
        fact for fact in rivals
        if not any(
            other.id != fact.id and not ({fact.id} | corrections.get(fact.id, frozenset())).isdisjoint(other.after)
            for other in rivals
        )
    )


def unreplaced_analyses(stream: Sequence[Fact], head: Fact) -> tuple[Fact, ...]:
    """The analyses of a head that no other analysis of it replaces; in force are those of them that are not voided.

    Args:
        stream: facts of one cylinder's gas.
        head: the gas-changing fact they measured.
    """
    return unreplaced(stream, [fact for fact in of_kind(stream, Kind.ANALYSED) if head.id in fact.rests_on])


def knows(stream: Sequence[Fact], fact: Fact) -> frozenset[FactId]:
    """What a fact names, and what those name in turn; a gas-changing fact's own history is not followed.

    Args:
        stream: facts of one stream.
        fact: whose knowledge is asked.
    """
    by_id = {one.id: one for one in stream}
    known: set[FactId] = set()
    open_names = set(names(fact))
    while open_names:
        known |= open_names
        followed = [by_id[name] for name in open_names if name in by_id and by_id[name].kind not in GAS_CHANGING]
        open_names = {name for one in followed for name in names(one)} - known
    return frozenset(known)


def ended(stream: Sequence[Fact], fact: Fact, ending: str) -> bool:
    """True if a fact of the ending kind (a lost label) ends this one.

    An ending fact ends what it names. One that names nothing of the sort ends everything that does not know of it.
    A voided ending still ends.

    Args:
        stream: facts of one stream.
        fact: which may have ended.
        ending: kind of the ending facts.
    """
    peers = {peer.id for peer in of_kind(stream, fact.kind)}
    return any(
        fact.id in named if (named := names(end)) & peers else end.id not in knows(stream, fact)
        for end in of_kind(stream, ending)
    )
