"""One entry that reached two books counts once (the same key and the same data under two origins)."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.book.canonical import id_parts, text_of
from gaswright.custody.fact import Fact, FactId, Value

__all__ = ["Copies", "copies_among", "one_of_equals"]


@dataclass(frozen=True, slots=True)
class Copies:
    """Which facts are copies of one entry.

    Args:
        one: id of each copy to the id under which it counts.
        together: that id to the fact that counts.
    """

    one: Mapping[FactId, FactId]
    together: Mapping[FactId, Fact]

    def counting(self, fact: Fact) -> Fact | None:
        """The fact as it counts, None for a copy that does not; whoever names a copy names the one that counts.

        Args:
            fact: as recorded.
        """
        if not self.one:
            return fact
        if self.one.get(fact.id, fact.id) != fact.id:
            return None
        return _renamed(self.together.get(fact.id, fact), self.one)


def one_of_equals(facts: Sequence[Fact]) -> tuple[Fact, ...]:
    """The facts, each entry once.

    Args:
        facts: that are read together.
    """
    copies = copies_among(facts)
    return tuple(counting for fact in facts if (counting := copies.counting(fact)) is not None)


def copies_among(facts: Iterable[Fact]) -> Copies:
    """The copies: each entry counts under its smallest id and names all that any of its copies names.

    Of the copies the earliest `at` and the latest `recorded` hold, so that clocks only take trust away.

    Args:
        facts: that are read together.
    """
    groups: dict[str, list[Fact]] = {}
    for fact in facts:
        if fact.key:
            groups.setdefault(fact.key, []).append(fact)
    equal = [group for same_key in groups.values() if len(same_key) > 1 for group in _equal(same_key)]
    together = {group[0].id: _together(group) for group in equal}
    return Copies({fact.id: group[0].id for group in equal for fact in group}, together)


def _equal(same_key: Sequence[Fact]) -> list[list[Fact]]:
    found: dict[tuple[str, ...], list[Fact]] = {}
    for fact in sorted(same_key, key=lambda one: _order(one.id)):
        same = (fact.kind, str(fact.version), fact.stream, fact.by, text_of(fact.data))
        found.setdefault(same, []).append(fact)
    return [group for group in found.values() if len({_order(fact.id)[0] for fact in group}) > 1]


def _order(fact: FactId) -> tuple[str, int]:
    return id_parts(fact) or (fact, 0)


def _together(group: Sequence[Fact]) -> Fact:
    return replace(
        group[0], at=min(fact.at for fact in group), recorded=max(fact.recorded for fact in group),
        after=tuple(sorted({name for fact in group for name in fact.after})),
        rests_on=tuple(sorted({name for fact in group for name in fact.rests_on})),
    )


def _renamed(fact: Fact, one: Mapping[FactId, FactId]) -> Fact:
    voided = fact.data.get("voids")
    if not any(name in one for name in (*fact.after, *fact.rests_on, voided if isinstance(voided, str) else "")):
        return fact
    data: dict[str, Value] = dict(fact.data)
    if isinstance(voided, str):
        data["voids"] = one.get(voided, voided)
    return replace(fact, after=_others(fact, fact.after, one), rests_on=_others(fact, fact.rests_on, one), data=data)


def _others(fact: Fact, names: Iterable[FactId], one: Mapping[FactId, FactId]) -> tuple[FactId, ...]:
    """The names, each once; a copy that names another copy of the same entry names nothing by it."""
    return tuple(name for name in dict.fromkeys(one.get(name, name) for name in names) if name != fact.id)
