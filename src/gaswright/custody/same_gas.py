"""Is it still the same gas, and did its oxygen fall: rust in a cylinder eats oxygen between analyses."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gaswright.analysis.reading import Reading
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.heads import GAS_CHANGING, of_kind, voids
from gaswright.custody.readings import reading_of
from gaswright.policy import Policy

__all__ = ["OxygenFall", "oxygen_fall"]

KEEPS_THE_GAS = (Kind.LABELS_REMOVED, Kind.LENT, Kind.RETURNED)  # trust ends, but nobody is said to have filled it


@dataclass(frozen=True, slots=True)
class OxygenFall:
    """Oxygen that fell by more than the uncertainty of both readings.

    Args:
        earlier: the richest earlier analysis of the same gas.
        before: what it read.
        now: what the analysis in force reads.
    """

    earlier: Fact
    before: Reading
    now: Reading


def oxygen_fall(stream: Sequence[Fact], analysis: FactId, policy: Policy) -> OxygenFall | None:
    """By how much oxygen fell since an earlier analysis of the same gas, None if it did not or nobody can say.

    The same gas: the filling that the analysis measured, and what came before it back to the last fill, top-up or
    drain. Earlier is what the analysis replaces, or what measured an older head: no clock is asked.

    Args:
        stream: facts of one cylinder's gas; what is not among them is not compared.
        analysis: id of the analysis in force.
        policy: whose uncertainty holds where an analysis states none.
    """
    by_id = {fact.id: fact for fact in stream}
    newest = by_id.get(analysis)
    now = None if newest is None else _reading(newest, policy)
    if newest is None or now is None:
        return None
    older = _older_heads(newest, by_id)
    corrected = voids(stream)
    earlier = [
        (reading.mixture.o2_e4, fact.id, reading) for fact in of_kind(stream, Kind.ANALYSED)
        if fact.id not in corrected and (fact.id in newest.after or not older.isdisjoint(fact.rests_on))
        and (reading := _reading(fact, policy)) is not None
    ]
    if not earlier:
        return None
    _, name, before = max(earlier, key=lambda one: one[:2])
    fall_e4 = before.mixture.o2_e4 - now.mixture.o2_e4
    if fall_e4 <= 0 or fall_e4**2 <= before.u_o2_e4**2 + now.u_o2_e4**2:
        return None
    return OxygenFall(by_id[name], before, now)


def _older_heads(newest: Fact, by_id: Mapping[FactId, Fact]) -> frozenset[FactId]:
    """Heads before the one that was measured, as far back as nobody changed the gas itself."""
    found: set[FactId] = set()
    open_names = set(newest.rests_on)
    while open_names:
        kept = [by_id[name] for name in open_names if name in by_id and by_id[name].kind in KEEPS_THE_GAS]
        open_names = {name for head in kept for name in head.after} - found
        found |= {name for name in open_names if name in by_id and by_id[name].kind in GAS_CHANGING}
    return frozenset(found)


def _reading(fact: Fact, policy: Policy) -> Reading | None:
    found = reading_of(fact, policy)
    return found if isinstance(found, Reading) else None
