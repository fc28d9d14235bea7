"""Agreement of readings, what several say together, and how a pair differs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaswright.analysis.agreement import PairDifference, agree, leanest, pair_difference, richest
from gaswright.analysis.reading import Reading
from gaswright.physics.mixture import Mixture


def reading(o2: int, he: int = 0, u: int = 50, u_he: int = 100) -> Reading:
    """A reading in hundredths of a percent."""
    return Reading(Mixture(o2, he), u, u_he)


readings = st.builds(reading, st.integers(500, 4000), st.integers(0, 6000), st.integers(0, 200), st.integers(0, 300))


@pytest.mark.parametrize(("u_one", "u_other", "apart", "expected"), [
    (30, 40, 50, True), (30, 40, 51, False), (0, 0, 0, True), (0, 0, 1, False),
])
def test_agreement_is_judged_by_the_root_of_the_squares(u_one: int, u_other: int, apart: int, expected: bool) -> None:  # noqa: FBT001  a case of the table
    """Two readings agree up to the root of the sum of squares of their U (3, 4, 5), exactly."""
    one, other = reading(3200, u=u_one), reading(3200 + apart, u=u_other)
    assert agree(one, other) is expected
    assert agree(other, one) is expected


def test_helium_must_agree_too() -> None:
    """Readings equal in oxygen and far apart in helium do not agree."""
    assert not agree(reading(1800, 4500), reading(1800, 4700))


def test_pair_difference_has_no_sign() -> None:
    """A pair differs by the same amount whichever cylinder is named first."""
    one, other = reading(1820, 4460), reading(1790, 4600)
    assert pair_difference(one, other) == pair_difference(other, one) == PairDifference(30, 140)


@given(st.lists(readings, min_size=1, max_size=4))
def test_together_they_are_never_less_safe_than_any_of_them(several: list[Reading]) -> None:
    """For MOD no reading is richer, for hypoxia none leaner, in oxygen and in helium, than what they say together."""
    rich, lean = richest(several), leanest(several)
    assert rich.rich_o2_e4 == max(one.rich_o2_e4 for one in several)
    assert rich.mixture.o2_e4 == max(one.mixture.o2_e4 for one in several)
    assert lean.lean_o2_e4 == min(one.lean_o2_e4 for one in several)
    assert lean.mixture.o2_e4 == min(one.mixture.o2_e4 for one in several)
    assert lean.lean_he_e4 <= min(one.lean_he_e4 for one in several)
    assert (rich, lean) == (richest(several[::-1]), leanest(several[::-1]))


@given(readings)
def test_one_reading_speaks_for_itself(one: Reading) -> None:
    """A single reading is its own richest and leanest."""
    assert richest([one]) == leanest([one]) == one
