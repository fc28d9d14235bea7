"""One entry that reached two books counts once."""

from dataclasses import replace
from datetime import timedelta
from itertools import permutations
from typing import Any

from book_days import NOW, POLICY, ZONE
from gaswright.book.equals import copies_among, one_of_equals
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.folding import fold


def one(
    id: str, kind: Kind = Kind.FILLED, *, key: str = "",  # noqa: A002  the field is called id
    **more: Any,  # noqa: ANN401  any field of a fact
) -> Fact:
    """A fact of c1."""
    return replace(Fact(id, kind, "gas/c1", NOW, NOW, "d1", key=key), **more)


A, B, C = "AAAAAAAA", "BBBBBBBB", "CCCCCCCC"
ANALYSIS = {"o2_e4": 1820, "he_e4": 4460, "u_o2_e4": 50, "u_he_e4": 100}


def test_same_entry_in_two_books_is_one() -> None:
    """Equal key and data from two origins: the smallest id counts, and who names the other names it."""
    facts = (one(f"{B}-7", key="k"), one(f"{A}-3", key="k"), one(f"{B}-8", Kind.ANALYSED, rests_on=(f"{B}-7",)),
             one(f"{A}-4", Kind.CORRECTED, data={"voids": f"{B}-7"}))
    for order in permutations(facts):
        counting = {fact.id: fact for fact in one_of_equals(order)}
        assert set(counting) == {f"{A}-3", f"{B}-8", f"{A}-4"}
        assert counting[f"{B}-8"].rests_on == (f"{A}-3",)
        assert counting[f"{A}-4"].data == {"voids": f"{A}-3"}


def test_numbers_are_compared_as_numbers() -> None:
    """Of two numbers the smaller counts, not the one that sorts first as text."""
    facts = (one(f"{B}-1", key="k"), one(f"{A}-10", key="k"), one(f"{A}-9", key="k"))
    assert [fact.id for fact in one_of_equals(facts)] == [f"{A}-9"]


def test_clocks_of_copies_only_take_trust_away() -> None:
    """Of the copies the earliest time of happening and the latest of recording hold; all that they name is named."""
    early = one(f"{B}-1", key="k", at=NOW - timedelta(hours=3), after=(f"{B}-9",))
    late = one(f"{A}-1", key="k", recorded=NOW + timedelta(hours=3), after=(f"{A}-9",))
    (counting,) = one_of_equals((late, early))
    assert (counting.at, counting.recorded) == (NOW - timedelta(hours=3), NOW + timedelta(hours=3))
    assert counting.after == (f"{A}-9", f"{B}-9")


def test_copy_that_names_a_copy_names_nothing_by_it() -> None:
    """An entry that reached a book which had its copy already, and was rendered on it, is still one entry."""
    facts = (one(f"{A}-1", key="k"), one(f"{B}-1", key="k", after=(f"{A}-1", f"{A}-9")))
    assert [fact.after for fact in one_of_equals(facts)] == [(f"{A}-9",)]


def test_different_entries_stay_apart() -> None:
    """Another key, other data, another person, stream or kind, or the same origin: all of them count."""
    base = one(f"{A}-1", key="k")
    for other in (one(f"{B}-1", key="other"), one(f"{B}-1", key="k", data={"gauge_centibar": 1}),
                  one(f"{A}-2", key="k"), one(f"{B}-1", key="k", by="d2"), one(f"{B}-1"),
                  one(f"{B}-1", key="k", stream="gas/c2"),
                  one(f"{B}-1", Kind.DRAINED, key="k"), one(f"{B}-1", key="k", version=2)):
        assert one_of_equals((base, other)) == (base, other)
    assert copies_among((one(f"{A}-1"), one(f"{B}-1"))).one == {}


def test_day_entered_on_two_books_is_known_once() -> None:
    """A fill and its analysis sent to two books by one phone make one head and one analysis: the gas is known."""
    facts = tuple(
        fact for origin in (A, B, C)
        for fact in (one(f"{origin}-1", key="fill"),
                     one(f"{origin}-2", Kind.ANALYSED, key="analysis", rests_on=(f"{origin}-1",), data=ANALYSIS))
    )
    assert fold(facts, "c1", POLICY, zone=ZONE, now=NOW).known is None
    standing = fold(one_of_equals(facts), "c1", POLICY, zone=ZONE, now=NOW)
    assert standing.known is not None
    assert (standing.known.analysis, standing.known.fill, standing.known.notes) == (f"{A}-2", f"{A}-1", ())


def test_copies_of_an_analysis_of_two_fills_vouch_for_neither() -> None:
    """One analysis that two books hang on two fills which do not know each other leaves the gas unknown."""
    facts = (one(f"{A}-1", key="f1"), one(f"{B}-1", key="f2"),
             one(f"{A}-2", Kind.ANALYSED, key="k", rests_on=(f"{A}-1",), data=ANALYSIS),
             one(f"{B}-2", Kind.ANALYSED, key="k", rests_on=(f"{B}-1",), data=ANALYSIS))
    assert fold(one_of_equals(facts), "c1", POLICY, zone=ZONE, now=NOW).known is None
