"""What must hold in physics for every gas, pressure, temperature and limit."""

from hypothesis import assume, given
from hypothesis import strategies as st

from check import close
from gaswright.physics.content import (
    ContentExhausted,
    free_litres,
    gauge_bar_after,
    gauge_bar_at_temperature,
    gauge_bar_of,
    moles,
)
from gaswright.physics.density import density_g_l
from gaswright.physics.depth_limits import (
    LIMIT_MAX_CENTI_ATA,
    MARKS,
    label_minimum_depth_ft,
    label_minimum_depth_m,
    label_mod,
    minimum_depth_m,
    place_mod_m,
    ppo2_ata,
)
from gaswright.physics.mixture import Mixture
from gaswright.physics.narcosis import end_nitrogen_only_m, end_oxygen_narcotic_m
from gaswright.physics.place import Place, bar_per_m_of, surface_bar_at
from gaswright.physics.state_equation import absolute_bar, compressibility, density_mol_m3

oxygen_e4 = st.integers(1, 10_000)
limits = st.integers(1, LIMIT_MAX_CENTI_ATA)
temperatures_k = st.floats(250.0, 340.0)
absolute_pressures_bar = st.floats(1e-6, 310.0)
gauge_pressures_bar = st.floats(0.0, 300.0)
volumes_l = st.floats(0.5, 100.0)
surfaces_bar = st.floats(-500.0, 5000.0).map(surface_bar_at)
waters_bar_per_m = st.sampled_from(["en13319", "salt", "fresh"]).map(bar_per_m_of)
places = st.builds(Place, surfaces_bar, waters_bar_per_m)


@st.composite
def mixtures(draw: st.DrawFn) -> Mixture:
    """Any breathing gas, pure oxygen and heliox included."""
    o2_e4 = draw(oxygen_e4)
    return Mixture(o2_e4, draw(st.integers(0, 10_000 - o2_e4)))


@given(mixtures(), temperatures_k, absolute_pressures_bar)
def test_pressure_to_density_and_back_is_the_pressure(gas: Mixture, temperature_k: float, bar: float) -> None:
    """The density found for a pressure gives that pressure back."""
    close(absolute_bar(density_mol_m3(bar, temperature_k, gas), temperature_k, gas), bar, within=1e-11 * bar)


@given(mixtures(), temperatures_k, absolute_pressures_bar, absolute_pressures_bar)
def test_more_pressure_is_more_gas(gas: Mixture, temperature_k: float, one_bar: float, other_bar: float) -> None:
    """Density rises with pressure, strictly."""
    low_bar, high_bar = sorted((one_bar, other_bar))
    assume(high_bar - low_bar > 1e-9 * high_bar)
    assert density_mol_m3(low_bar, temperature_k, gas) < density_mol_m3(high_bar, temperature_k, gas)


@given(mixtures(), absolute_pressures_bar, temperatures_k, temperatures_k)
def test_a_warmer_gas_is_thinner(gas: Mixture, bar: float, one_k: float, other_k: float) -> None:
    """At one pressure density falls with temperature."""
    cold_k, warm_k = sorted((one_k, other_k))
    assume(warm_k - cold_k > 1e-6)
    assert density_mol_m3(bar, warm_k, gas) < density_mol_m3(bar, cold_k, gas)


@given(mixtures(), temperatures_k, absolute_pressures_bar)
def test_compressibility_is_what_relates_pressure_and_density(gas: Mixture, temperature_k: float, bar: float) -> None:
    """Z is p / (rho R T), and between 0.85 and 1.35 for every gas in range (CoolProp: 0.91 to 1.26)."""
    z = compressibility(bar, temperature_k, gas)
    close(bar * 1e5 / (density_mol_m3(bar, temperature_k, gas) * 8.31446261815324 * temperature_k), z, within=1e-11)
    assert 0.85 < z < 1.35


@given(mixtures(), gauge_pressures_bar, volumes_l, temperatures_k)
def test_moles_to_pressure_and_back_is_the_pressure(
    gas: Mixture, gauge_bar: float, volume_l: float, temperature_k: float
) -> None:
    """The moles of a cylinder give its gauge pressure back."""
    amount = moles(gauge_bar, volume_l, temperature_k, gas)
    close(gauge_bar_of(amount, volume_l, temperature_k, gas), gauge_bar, within=1e-8)


@given(mixtures(), gauge_pressures_bar, volumes_l, temperatures_k, st.floats(0.0, 1.3))
def test_what_is_used_and_what_is_left_are_what_was_there(
    gas: Mixture, gauge_bar: float, volume_l: float, temperature_k: float, share: float
) -> None:
    """Gas is conserved: used and left add up; using more than is there is refused with exactly the litres missing."""
    there_l = free_litres(gauge_bar, volume_l, temperature_k, gas)
    used_l = share * there_l
    try:
        left_bar = gauge_bar_after(gauge_bar, used_l, volume_l, temperature_k, gas)
    except ContentExhausted as exhausted:
        assert used_l > there_l
        close(exhausted.missing_l, used_l - there_l, within=1e-9 * there_l)
        return
    assert used_l <= there_l
    assert left_bar <= gauge_bar + 1e-9
    close(free_litres(max(left_bar, -1.01325), volume_l, temperature_k, gas) + used_l, there_l, within=1e-8 * there_l)


@given(mixtures(), st.floats(0.0, 200.0), st.floats(270.0, 320.0), st.floats(270.0, 320.0), volumes_l)
def test_temperature_moves_the_pressure_and_not_the_moles(
    gas: Mixture, gauge_bar: float, from_k: float, to_k: float, volume_l: float
) -> None:
    """A closed cylinder holds the same moles at every temperature, and a warmer one has no lower pressure."""
    moved_bar = gauge_bar_at_temperature(gauge_bar, from_k, to_k, gas)
    before = moles(gauge_bar, volume_l, from_k, gas)
    close(moles(moved_bar, volume_l, to_k, gas), before, within=1e-9 * before)
    assert (moved_bar - gauge_bar) * (to_k - from_k) >= -1e-6


@given(oxygen_e4, limits, st.booleans())
def test_no_computed_mod_passes_its_limit(rich_o2_e4: int, limit_centi_ata: int, on_grid: bool) -> None:  # noqa: FBT001  hypothesis draws it
    """At a computed label MOD the ppO2 is at most the limit; off the grid one unit deeper is above it."""
    mod = label_mod(rich_o2_e4, limit_centi_ata, on_grid=on_grid)
    limit_e4 = limit_centi_ata * 100
    for depth, per_ata, step in ((mod.metres, 10, 3), (mod.feet, 33, 10)):
        assert depth == 0 or rich_o2_e4 * (depth + per_ata) <= limit_e4 * per_ata
        deeper = depth + (step if on_grid else 1)
        assert rich_o2_e4 * (deeper + per_ata) > limit_e4 * per_ata
        assert depth >= 0
        assert not on_grid or depth % step == 0


@given(oxygen_e4, st.integers(0, 300), limits)
def test_a_mark_exceeds_its_limit_by_two_hundredths_at_most(
    reading_o2_e4: int, u_e4: int, limit_centi_ata: int
) -> None:
    """With team marks the reading's own ppO2 at the label MOD is at most the limit, or a mark's 1.62 ata."""
    rich_o2_e4 = min(10_000, reading_o2_e4 + u_e4)
    mod = label_mod(rich_o2_e4, limit_centi_ata, on_grid=True, reading_o2_e4=reading_o2_e4)
    if mod.mark is None:
        assert mod == label_mod(rich_o2_e4, limit_centi_ata, on_grid=True)
        return
    assert limit_centi_ata >= 160
    assert any(mark.low_o2_e4 <= reading_o2_e4 <= mark.high_o2_e4 for mark in MARKS if mark.name == mod.mark)
    assert reading_o2_e4 * (mod.metres + 10) <= 16_200 * 10
    assert reading_o2_e4 * (mod.feet + 33) <= 16_200 * 33


@given(oxygen_e4, oxygen_e4, limits, st.booleans())
def test_a_richer_gas_is_never_deeper(one_e4: int, other_e4: int, limit_centi_ata: int, on_grid: bool) -> None:  # noqa: FBT001  hypothesis draws it
    """More oxygen never gives a deeper computed MOD, nor a deeper minimum depth."""
    lean_e4, rich_e4 = sorted((one_e4, other_e4))
    lean, rich = (label_mod(o2_e4, limit_centi_ata, on_grid=on_grid) for o2_e4 in (lean_e4, rich_e4))
    assert rich.metres <= lean.metres
    assert rich.feet <= lean.feet
    assert label_minimum_depth_m(rich_e4, limit_centi_ata) <= label_minimum_depth_m(lean_e4, limit_centi_ata)


@given(oxygen_e4, limits)
def test_metric_and_feet_labels_say_the_same(rich_o2_e4: int, limit_centi_ata: int) -> None:
    """In ata the metric and the feet MOD differ by less than a metre, on the grid by less than a stop."""
    whole = label_mod(rich_o2_e4, limit_centi_ata, on_grid=False)
    close(whole.feet * 10 / 33, whole.metres, within=1.0)
    grid = label_mod(rich_o2_e4, limit_centi_ata, on_grid=True)
    close(grid.feet * 10 / 33, grid.metres, within=100 / 33)


@given(oxygen_e4, limits)
def test_a_minimum_depth_is_deep_enough_and_no_deeper(lean_o2_e4: int, low_centi_ata: int) -> None:
    """At the label's minimum depth the ppO2 is at least the limit; one unit shallower it is below, unless it is 0."""
    for depth, per_ata in (
        (label_minimum_depth_m(lean_o2_e4, low_centi_ata), 10),
        (label_minimum_depth_ft(lean_o2_e4, low_centi_ata), 33),
    ):
        assert lean_o2_e4 * (depth + per_ata) >= low_centi_ata * 100 * per_ata
        assert depth == 0 or lean_o2_e4 * (depth - 1 + per_ata) < low_centi_ata * 100 * per_ata


@given(st.floats(0.01, 1.0), st.floats(0.1, 1.65), places)
def test_depths_at_the_place_meet_their_limit(fraction: float, limit_ata: float, place: Place) -> None:
    """At the place's MOD and minimum depth the ppO2 is the limit, or the surface is already past it."""
    for depth_m in (place_mod_m(fraction, limit_ata, place), minimum_depth_m(fraction, limit_ata, place)):
        here_ata = fraction * place.ambient_bar(depth_m) / 1.01325
        if depth_m > 0.0:
            close(here_ata, limit_ata, within=1e-9)
        else:
            assert here_ata >= limit_ata - 1e-12


@given(st.integers(1600, 10_000), st.integers(100, 165), places)
def test_the_label_is_never_deeper_than_the_place_allows(
    rich_o2_e4: int, limit_centi_ata: int, place: Place
) -> None:
    """At sea level and above it, in every named water, the exact ppO2 at the label MOD is within the limit."""
    assume(place.surface_bar <= 1.01325)
    mod = label_mod(rich_o2_e4, limit_centi_ata, on_grid=False)
    assume(mod.metres > 0)
    assert ppo2_ata(rich_o2_e4 / 1e4, place.ambient_bar(mod.metres)) <= limit_centi_ata / 100 + 1e-12


@given(mixtures(), st.floats(0.0, 150.0), st.integers(0, 3000))
def test_helium_for_nitrogen_is_never_more_narcotic_or_denser(gas: Mixture, depth_m: float, more_e4: int) -> None:
    """Replacing nitrogen by helium never raises END by either convention, nor density."""
    assume(gas.o2_e4 + gas.he_e4 + more_e4 <= 10_000)
    lighter = Mixture(gas.o2_e4, gas.he_e4 + more_e4)
    assert end_oxygen_narcotic_m(lighter, depth_m) <= end_oxygen_narcotic_m(gas, depth_m)
    assert end_nitrogen_only_m(lighter, depth_m) <= end_nitrogen_only_m(gas, depth_m)
    assert density_g_l(lighter, 1.0 + depth_m / 10) <= density_g_l(gas, 1.0 + depth_m / 10)
