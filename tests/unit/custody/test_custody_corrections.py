"""Corrections take trust away and never give it."""

import pytest

from custody_facts import analysed, change, corrected, standing_of
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.standing import Rung, Unknown

FILL = change("F-1")
ANALYSIS = analysed("A-1", "F-1")
FAR = analysed("A-2", "F-1", "07:50", o2=2500)


def why(*facts: Fact) -> Unknown | None:
    """The reason why the gas of c1 is unknown."""
    return standing_of(*facts).why


def test_voided_analysis_is_unknown_until_analysed_anew() -> None:
    """A voided analysis does not vouch; a new one that names it, or its correction, does."""
    void = corrected("C-1", "A-1")
    assert why(FILL, ANALYSIS, void) is Unknown.VOIDED
    assert why(FILL, ANALYSIS, void, analysed("A-3", "F-1", after=("A-1",))) is None
    assert why(FILL, ANALYSIS, void, analysed("A-3", "F-1", after=("C-1",))) is None


def test_correction_does_not_bring_a_replaced_analysis_back() -> None:
    """If the analysis that replaced another is voided, the replaced one does not come back."""
    second = analysed("A-2", "F-1", after=("A-1",))
    assert why(FILL, ANALYSIS, second, corrected("C-1", "A-2")) is Unknown.VOIDED


def test_correction_does_not_settle_a_disagreement() -> None:
    """Voiding one of two analyses that disagree leaves the gas unknown: it must be analysed again."""
    assert why(FILL, ANALYSIS, FAR) is Unknown.DISAGREE
    assert why(FILL, ANALYSIS, FAR, corrected("C-1", "A-2")) is Unknown.VOIDED


@pytest.mark.parametrize("kind", [Kind.TOPPED_UP, Kind.LABELS_REMOVED, Kind.LENT, Kind.FROZEN])
def test_voided_change_keeps_its_place(kind: str) -> None:
    """A change that is voided does not make the analysis before it valid again."""
    later = change("F-2", kind, "08:00", after=("F-1",))
    standing = standing_of(FILL, ANALYSIS, later, corrected("C-1", "F-2"))
    assert standing.known is None
    assert standing.rung is Rung.UNKNOWN


def test_voided_second_head_stays_a_head() -> None:
    """Voiding one of two heads leaves two heads."""
    assert why(FILL, ANALYSIS, change("L-1"), corrected("C-1", "L-1")) is Unknown.TWO_HEADS


def test_voided_head_needs_an_analysis_that_knows_it() -> None:
    """An analysis of a head voided later falls; one that names every correction of it is made anew."""
    first, second = corrected("C-1", "F-1"), corrected("C-2", "F-1")
    assert why(FILL, ANALYSIS, first) is Unknown.VOIDED
    anew = analysed("A-2", "F-1", after=("A-1", "C-1"))
    assert why(FILL, ANALYSIS, first, anew) is None
    assert why(FILL, ANALYSIS, first, second, anew) is Unknown.VOIDED


def test_void_of_a_void_has_no_effect() -> None:
    """Voiding a correction leaves what it voided voided."""
    assert why(FILL, ANALYSIS, corrected("C-1", "A-1"), corrected("C-2", "C-1")) is Unknown.VOIDED


def test_void_of_an_older_change_has_no_effect_on_a_newer_one() -> None:
    """A voided change that a later one names is history: the later one with its analysis is known."""
    later = change("F-2", after=("F-1",))
    assert why(FILL, later, analysed("A-2", "F-2"), corrected("C-1", "F-1")) is None
