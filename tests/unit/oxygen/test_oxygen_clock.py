"""The oxygen clock: rates, exact integrals, doses over segments, refusal beyond the table."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from check import close
from gaswright.oxygen.clock import OxygenBeyondTable, cns_rate_per_min, dose, piece_cns, piece_otu
from gaswright.oxygen.limits import NOAA_LIMITS, REPEX_DAYS, daily_limit_min, repex_average_otu
from gaswright.physics.place import Place

AT_ONE_ATA = Place(surface_bar=1.01325, bar_per_m=0.101325)


@dataclass(frozen=True)
class Gas:
    """A gas that is breathed."""

    o2: float
    cylinder: str = "c1"


@dataclass(frozen=True)
class Part:
    """One straight piece."""

    from_m: float
    to_m: float
    start_min: float
    minutes: float
    gas: Mapping[str, Gas]


def test_rate_is_linear_between_nodes() -> None:
    """Half way between 1.5 and 1.6 ata the rate is the mean of 1/120 and 1/45, not one over the mean limit."""
    close(cns_rate_per_min(1.55), (1 / 120 + 1 / 45) / 2, within=1e-15)


def test_linear_rate_is_on_the_safe_side_of_linear_limits() -> None:
    """A rate linear between nodes is never below one over a limit linear between nodes."""
    for low, high in pairwise(NOAA_LIMITS):
        middle_ata = (low.po2_deci_ata + high.po2_deci_ata) / 20
        assert cns_rate_per_min(middle_ata) >= 2 / (low.single_min + high.single_min) - 1e-15


def test_nothing_counts_below_the_table_and_its_first_node_counts() -> None:
    """Below 0.6 ata the clock stands still; at exactly 0.6 ata it runs at 1/720."""
    assert cns_rate_per_min(0.599) == 0.0
    close(cns_rate_per_min(0.6), 1 / 720, within=1e-15)
    close(piece_cns(72.0, 0.6, 0.6), 0.1, within=1e-12)


def test_room_above_the_table_counts_as_its_end() -> None:
    """From 1.6 to 1.65 ata the rate is that of 1.6 ata."""
    assert cns_rate_per_min(1.65) == cns_rate_per_min(1.6)


@pytest.mark.parametrize("ends", [(1.66, 1.66), (1.0, 1.651), (1.7, 0.5)])
def test_beyond_the_table_is_refused(ends: tuple[float, float]) -> None:
    """Above 1.65 ata nothing is extrapolated, not even for the end of a ramp."""
    with pytest.raises(OxygenBeyondTable) as refused:
        piece_cns(1.0, *ends)
    assert refused.value.po2_ata == max(ends)


@given(st.floats(0.2, 1.65), st.floats(0.2, 1.65), st.floats(0.1, 60.0))
def test_cns_of_a_ramp_is_the_integral_of_the_rate(from_ata: float, to_ata: float, minutes: float) -> None:
    """The share of a ramp agrees with numerical integration (scipy quad) of the rate over its time."""
    span = to_ata - from_ata
    kinks = [(node.po2_deci_ata / 10 - from_ata) / span for node in NOAA_LIMITS] if span else []
    inside = [k for k in kinks if 0.0 < k < 1.0]
    expected, _ = quad(lambda s: cns_rate_per_min(from_ata + s * span), 0.0, 1.0, points=inside or None, limit=200)
    close(piece_cns(minutes, from_ata, to_ata), minutes * expected, within=1e-7 * minutes)


@given(st.floats(0.2, 1.65), st.floats(0.2, 1.65), st.floats(0.1, 60.0))
def test_otu_of_a_ramp_is_the_integral_of_the_formula(from_ata: float, to_ata: float, minutes: float) -> None:
    """The closed ramp form agrees with numerical integration (scipy quad) of ((p - 0.5)/0.5)^(5/6)."""
    span = to_ata - from_ata

    def rate(s: float) -> float:
        return float(max(0.0, (from_ata + s * span - 0.5) / 0.5) ** (5 / 6))

    kink = (0.5 - from_ata) / span if span else -1.0
    expected, _ = quad(rate, 0.0, 1.0, points=[kink] if 0.0 < kink < 1.0 else None, limit=200)
    close(piece_otu(minutes, from_ata, to_ata), minutes * expected, within=1e-6 * minutes)


@given(st.floats(0.2, 1.65), st.floats(0.2, 1.65), st.floats(0.01, 0.99))
def test_a_ramp_cut_in_two_counts_the_same(from_ata: float, to_ata: float, share: float) -> None:
    """The clock and the units of two parts add up to those of the whole: step size plays no part."""
    middle_ata = from_ata + share * (to_ata - from_ata)
    parts = piece_cns(10 * share, from_ata, middle_ata) + piece_cns(10 * (1 - share), middle_ata, to_ata)
    close(parts, piece_cns(10.0, from_ata, to_ata), within=1e-9)
    halves = piece_otu(10 * share, from_ata, middle_ata) + piece_otu(10 * (1 - share), middle_ata, to_ata)
    close(halves, piece_otu(10.0, from_ata, to_ata), within=1e-4)


def test_dose_adds_the_segments_of_one_diver() -> None:
    """Ten minutes at 1.5 ata and ten on oxygen at 1.6 ata: 10/120 + 10/45; the longest oxygen period is ten."""
    bottom, oxygen = {"d1": Gas(0.5)}, {"d1": Gas(1.0, "o1")}
    parts = [Part(20.0, 20.0, 0.0, 10.0, bottom), Part(6.0, 6.0, 10.0, 10.0, oxygen), Part(0.0, 0.0, 20.0, 1.0, bottom)]
    found = dose(parts, "d1", AT_ONE_ATA)
    close(found.cns_fraction, 10 / 120 + 10 / 45, within=1e-9)
    close(found.longest_oxygen_min, 10.0, within=0.0)
    close(found.peak_ata, 1.6, within=1e-9)
    close(found.peak_depth_m, 6.0, within=0.0)


def test_an_oxygen_break_starts_the_period_anew() -> None:
    """Twelve minutes of oxygen, a break, twelve more: the longest period is twelve."""
    oxygen, lean = {"d1": Gas(1.0)}, {"d1": Gas(0.3)}
    parts = [Part(6.0, 6.0, 0.0, 12.0, oxygen), Part(6.0, 6.0, 12.0, 5.0, lean), Part(6.0, 6.0, 17.0, 12.0, oxygen)]
    close(dose(parts, "d1", AT_ONE_ATA).longest_oxygen_min, 12.0, within=0.0)


def test_dose_names_where_the_table_is_left() -> None:
    """The refusal carries depth, runtime and cylinder."""
    parts = [Part(0.0, 10.0, 0.0, 1.0, {"d1": Gas(1.0, "o1")})]
    with pytest.raises(OxygenBeyondTable) as refused:
        dose(parts, "d1", AT_ONE_ATA)
    assert (refused.value.depth_m, refused.value.at_min, refused.value.cylinder) == (10.0, 0.0, "o1")


def test_tables_refuse_what_they_do_not_hold() -> None:
    """A pressure that is no node and a mission of 31 days have no row."""
    with pytest.raises(KeyError):
        daily_limit_min(17)
    with pytest.raises(KeyError):
        repex_average_otu(31)


def test_repex_rows_hold_their_own_total() -> None:
    """Days times average is the total in every row of the shipped table."""
    for row in REPEX_DAYS:
        assert row.days * row.average_otu == row.total_otu
