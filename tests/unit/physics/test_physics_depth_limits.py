"""MOD and minimum depth by the label convention and at the place."""

import math

import pytest

from check import close
from gaswright.errors import RangeError
from gaswright.physics import depth_limits
from gaswright.physics.depth_limits import (
    MARKS,
    TeamMark,
    label_minimum_depth_ft,
    label_minimum_depth_m,
    label_mod,
    minimum_depth_m,
    place_mod_m,
    ppo2_ata,
)
from gaswright.physics.place import ATM_BAR, Place, surface_bar_at


@pytest.mark.parametrize(
    ("o2_e4", "limit_centi_ata", "metres", "feet"),
    [
        (2800, 140, 40, 132),  # binary floats give 39: 1.4 / 0.28 - 1 is 3.9999999999999996
        (1800, 140, 67, 223),
        (1820, 140, 66, 220),
        (2100, 140, 56, 187),
        (2095, 140, 56, 187),
        (10000, 160, 6, 19),
        (10000, 100, 0, 0),
        (10000, 50, 0, 0),  # the limit is below the fraction: nowhere, never a negative depth
        (1, 165, 164990, 544467),
    ],
)
def test_whole_units_are_rounded_down(o2_e4: int, limit_centi_ata: int, metres: int, feet: int) -> None:
    """Off the grid a MOD is the whole unit below the exact depth, in integers (arithmetic of the label convention)."""
    mod = label_mod(o2_e4, limit_centi_ata, on_grid=False)
    assert (mod.metres, mod.feet, mod.mark, mod.limit_centi_ata) == (metres, feet, None, limit_centi_ata)


@pytest.mark.parametrize(
    ("o2_e4", "metres", "feet"),
    [(5000, 21, 70), (5050, 21, 70), (5200, 18, 60), (3500, 33, 110), (8000, 9, 30), (10000, 6, 10)],
)
def test_deco_cylinders_go_down_to_the_stop_grid(o2_e4: int, metres: int, feet: int) -> None:
    """On the grid a MOD is a multiple of 3 m and of 10 ft, never deeper than the exact depth."""
    mod = label_mod(o2_e4, 160, on_grid=True)
    assert (mod.metres, mod.feet, mod.mark) == (metres, feet, None)


@pytest.mark.parametrize(
    ("reading_o2_e4", "u_e4", "metres", "feet", "mark"),
    [
        (10000, 0, 6, 20, "oxygen"),
        (9950, 50, 6, 20, "oxygen"),
        (9800, 50, 6, 20, "oxygen"),
        (9799, 50, 6, 20, None),  # not oxygen by its reading; 98.49 % alone allows 6 m and 20 ft
        (5000, 50, 21, 70, "EAN50"),
        (4900, 50, 21, 70, "EAN50"),
        (5100, 200, 21, 70, "EAN50"),
        (4899, 50, 21, 70, None),
        (5101, 200, 18, 60, None),
        (5160, 50, 18, 60, None),
    ],
)
def test_a_team_mark_holds_inside_its_band_only(
    reading_o2_e4: int, u_e4: int, metres: int, feet: int, mark: str | None
) -> None:
    """Oxygen from 98 % and 49.0-51.0 % carry their marks by the reading itself; outside, the MOD is computed."""
    mod = label_mod(min(10_000, reading_o2_e4 + u_e4), 160, on_grid=True, reading_o2_e4=reading_o2_e4)
    assert (mod.metres, mod.feet, mod.mark) == (metres, feet, mark)


@pytest.mark.parametrize("reading_o2_e4", [10_000, 5_000])
@pytest.mark.parametrize("limit_centi_ata", [130, 140, 150, 159])
def test_a_tighter_limit_has_no_marks(reading_o2_e4: int, limit_centi_ata: int) -> None:
    """Below a limit of 1.6 ata the marks of the trade are too deep, so the MOD is computed."""
    mod = label_mod(reading_o2_e4, limit_centi_ata, on_grid=True, reading_o2_e4=reading_o2_e4)
    assert mod == label_mod(reading_o2_e4, limit_centi_ata, on_grid=True)


@pytest.mark.parametrize(("metres", "feet"), [(7, 20), (6, 22)])
def test_a_mark_that_is_too_deep_for_its_reading_is_not_given(
    monkeypatch: pytest.MonkeyPatch, metres: int, feet: int
) -> None:
    """A mark whose ppO2 passes 1.62 ata in metres (1.70) or in feet (1.67) alone is not used in either."""
    monkeypatch.setattr(depth_limits, "MARKS", (TeamMark("too deep", 9_800, 10_000, metres, feet),))
    assert label_mod(10_000, 160, on_grid=True, reading_o2_e4=10_000) == label_mod(10_000, 160, on_grid=True)


def test_a_reading_that_cannot_be_is_refused() -> None:
    """A reading of more than 100 % is refused where marks are allowed."""
    with pytest.raises(RangeError) as caught:
        label_mod(10_000, 160, on_grid=True, reading_o2_e4=10_001)
    assert caught.type is RangeError


def test_without_permission_there_are_no_marks() -> None:
    """Pure oxygen without team marks is 10 ft on the grid: 19.8 ft exactly."""
    assert label_mod(10_000, 160, on_grid=True).feet == 10


@pytest.mark.parametrize("mark", MARKS, ids=lambda mark: mark.name)
def test_marks_exceed_the_limit_by_at_most_two_hundredths(mark: TeamMark) -> None:
    """The richest reading of each band has at most 1.62 ata at the mark, in metres and in feet (arithmetic)."""
    assert (mark.high_o2_e4 / 1e4) * (mark.metres / 10 + 1) <= 1.62
    assert (mark.high_o2_e4 / 1e4) * (mark.feet / 33 + 1) <= 1.62


@pytest.mark.parametrize(("o2_e4", "limit_centi_ata"), [(0, 140), (-1, 140), (10_001, 140), (3200, 0), (3200, 166)])
def test_mod_outside_its_ranges_is_refused(o2_e4: int, limit_centi_ata: int) -> None:
    """No oxygen, more than all of it, no limit or one above the hard cap of 1.65 ata is refused."""
    with pytest.raises(RangeError) as caught:
        label_mod(o2_e4, limit_centi_ata, on_grid=False)
    assert caught.type is RangeError


@pytest.mark.parametrize(
    ("o2_e4", "low_centi_ata", "metres", "feet"),
    [
        (1600, 16, 0, 0),
        (1599, 16, 1, 1),  # a trace too lean at the surface is one whole unit, never 0
        (1000, 16, 6, 20),
        (1000, 18, 8, 27),
        (800, 18, 13, 42),
        (10000, 16, 0, 0),
    ],
)
def test_minimum_depth_is_rounded_up(o2_e4: int, low_centi_ata: int, metres: int, feet: int) -> None:
    """A minimum depth is the whole unit above the exact depth, 0 only where the surface is enough (arithmetic)."""
    assert label_minimum_depth_m(o2_e4, low_centi_ata) == metres
    assert label_minimum_depth_ft(o2_e4, low_centi_ata) == feet


def test_a_gas_without_reliable_oxygen_has_no_minimum_depth() -> None:
    """If reading less U leaves no oxygen, no depth is deep enough: refused, not answered."""
    with pytest.raises(RangeError) as caught:
        label_minimum_depth_m(0, 16)
    assert caught.type is RangeError


def test_ppo2_is_in_ata() -> None:
    """Oxygen at one standard atmosphere is 1 ata, not 1.01325."""
    close(ppo2_ata(1.0, ATM_BAR), 1.0, within=1e-15)
    close(ppo2_ata(0.32, 4.4), 1.38959, within=5e-6)


def test_place_mod_reaches_its_limit_exactly() -> None:
    """At the place's MOD the ppO2 is the limit, in fresh water at 2000 m as at sea."""
    for place in (Place(), Place(surface_bar_at(2000.0), 0.0980665)):
        depth_m = place_mod_m(0.5, 1.6, place)
        close(ppo2_ata(0.5, place.ambient_bar(depth_m)), 1.6, within=1e-12)


def test_place_mod_is_nowhere_for_a_gas_too_rich_at_the_surface() -> None:
    """Oxygen with a limit of 0.9 ata may be breathed nowhere at sea level: 0, never a negative depth."""
    close(place_mod_m(1.0, 0.9, Place()), 0.0, within=0.0)


def test_minimum_depth_at_altitude_is_zero_only_if_it_truly_is() -> None:
    """A 16 % mix is breathable at the surface at sea level, and is not at 2000 m, where the label says 0."""
    close(minimum_depth_m(0.16, 0.16, Place()), 0.0, within=0.0)
    high = Place(surface_bar_at(2000.0))
    depth_m = minimum_depth_m(0.16, 0.16, high)
    close(depth_m, (ATM_BAR - high.surface_bar) * 10, within=1e-9)
    assert depth_m > 2.0


@pytest.mark.parametrize(("fraction", "depth_m"), [(0.51, 21.4), (0.49, 22.7)])
def test_one_percent_of_ean50_moves_its_mod_by_a_metre(fraction: float, depth_m: float) -> None:
    """EAN50 read 1 % off has its 1.6 ata depth at 21.4 or 22.7 m by the label convention (arithmetic)."""
    label_place = Place(surface_bar=ATM_BAR, bar_per_m=ATM_BAR / 10)
    close(place_mod_m(fraction, 1.6, label_place), depth_m, within=0.05)


@pytest.mark.parametrize(
    ("fraction", "limit_ata"), [(0.0, 1.4), (1.1, 1.4), (math.nan, 1.4), (0.3, 0.0), (0.3, 1.66), (0.3, math.nan)]
)
def test_depths_at_a_place_outside_their_ranges_are_refused(fraction: float, limit_ata: float) -> None:
    """Numbers that are no fraction or no ppO2 limit are refused by both depths."""
    for depth in (place_mod_m, minimum_depth_m):
        with pytest.raises(RangeError) as caught:
            depth(fraction, limit_ata, Place())
        assert caught.type is RangeError


@pytest.mark.parametrize(("fraction", "ambient_bar"), [(-0.1, 1.0), (1.1, 1.0), (0.2, -1.0), (0.2, math.nan)])
def test_ppo2_outside_its_ranges_is_refused(fraction: float, ambient_bar: float) -> None:
    """A partial pressure of what cannot be is refused."""
    with pytest.raises(RangeError) as caught:
        ppo2_ata(fraction, ambient_bar)
    assert caught.type is RangeError
