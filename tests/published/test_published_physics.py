"""Physics against published tables, worked examples and an independent reference code."""

from collections.abc import Mapping
from typing import Any

import pytest

from gaswright.physics.consumption import used_l
from gaswright.physics.content import moles
from gaswright.physics.density import density_g_l
from gaswright.physics.depth_limits import label_mod
from gaswright.physics.mixture import Mixture
from gaswright.physics.narcosis import ead_ft, ead_m, end_oxygen_narcotic_ft, end_oxygen_narcotic_m
from gaswright.physics.place import ATM_BAR, surface_bar_at
from gaswright.physics.state_equation import absolute_bar_of_fractions, density_mol_m3_of_fractions
from gaswright.units import METRE_PER_FOOT
from published_checks import OUTSIDE, Compute, all_cases, judge, load

__all__ = ["COMPUTE"]

Case = Mapping[str, Any]
R_J_MOL_K = 8.31446261815324  # SI 2019, exact
USN_TABLE_DEPTHS_FSW = (10, 15, 20, 25, 30, 35, 40, *range(50, 200, 10))  # the depths that table 9-3 rounds up to
EQUIVALENT = {
    ("ead", "m"): ead_m,
    ("ead", "ft"): ead_ft,
    ("oxygen narcotic", "m"): end_oxygen_narcotic_m,
    ("oxygen narcotic", "ft"): end_oxygen_narcotic_ft,
}
FRACTIONS = {"air": (0.2095, 0.0), "oxygen": (1.0, 0.0), "helium": (0.0, 1.0), "EAN50": (0.5, 0.0)}  # O2, He


def _standard_pressure_hpa(case: Case) -> float:
    altitude_m = case["H_m"] if "H_m" in case else case["altitude_ft"] * METRE_PER_FOOT
    return surface_bar_at(altitude_m) * 1000.0


def _equivalent_depth_fsw(case: Case) -> float:
    """Depth times the ratio of the surface pressures (US Navy Diving Manual Rev 4 p. 9-38)."""
    ratio = ATM_BAR * 1000.0 / float(case["surface_mb"])
    return float(case["depth_fsw"]) * (ratio if case["equivalent"] == "sea level" else 1.0 / ratio)


def _table_depth_fsw(case: Case) -> float:
    """Sea-level equivalent depth rounded up to the next depth of the table (same page)."""
    exact_fsw = case["depth_fsw"] * ATM_BAR / surface_bar_at(case["altitude_ft"] * METRE_PER_FOOT)
    return float(min(depth for depth in USN_TABLE_DEPTHS_FSW if depth >= exact_fsw))


def _compressibility(case: Case) -> float:
    density = density_mol_m3_of_fractions(case["p_bar_abs"], case["T_K"], case["x_O2"], case["x_He"])
    return float(case["p_bar_abs"] * 1e5 / (density * R_J_MOL_K * case["T_K"]))


def _moles(case: Case) -> float:
    return moles(case["gauge_bar"], case["volume_l"], case["temperature_k"], Mixture(case["o2_e4"], case["he_e4"]))


def _stop_bar(case: Case) -> float:
    """Gauge pressure of the moles that are in after a step, at their exact composition."""
    whole = sum(case["moles"])
    o2, he = (
        sum(FRACTIONS[gas][part] * amount for gas, amount in zip(case["gases"], case["moles"], strict=True)) / whole
        for part in (0, 1)
    )
    density = whole / case["volume_l"] * 1000.0
    return absolute_bar_of_fractions(density, case["temperature_k"], o2, he) - ATM_BAR


def _equivalent_depth(case: Case) -> float:
    return EQUIVALENT[case["convention"], case["unit"]](Mixture(case["o2_e4"], case["he_e4"]), case["depth"])


def _density(case: Case) -> float:
    return density_g_l(Mixture(case["o2_e4"]), case["absolute_bar"])


def _consumption_scf(case: Case) -> float:
    """The rule is the same in cubic feet: rate x (D + 33) / 33 x time."""
    return used_l(case["rate_acfm"], (case["depth_fsw"] + 33.0) / 33.0 * ATM_BAR, case["minutes"])


def _mark(case: Case) -> float:
    reading = case["reading_o2_e4"]
    mod = label_mod(reading, case["limit_centi_ata"], on_grid=True, reading_o2_e4=reading)
    return float(mod.metres if case["unit"] == "m" else mod.feet)


def _mod(case: Case) -> float:
    mod = label_mod(case["o2_e4"], case["limit_centi_ata"], on_grid=False)
    return float(mod.metres if case["unit"] == "m" else mod.feet)


COMPUTE: dict[str, Compute] = {
    "physics_isa_pressure_altitude.toml": _standard_pressure_hpa,
    "physics_altitude_pressure_seen.toml": _standard_pressure_hpa,
    "physics_altitude_depth_seen.toml": _equivalent_depth_fsw,
    "physics_usn_altitude_table.toml": _table_depth_fsw,
    "physics_usn_altitude_six_cells.toml": _table_depth_fsw,
    "physics_z_table_293k.toml": _compressibility,
    "physics_blend_start_moles.toml": _moles,
    "physics_blend_moles.toml": _moles,
    "physics_blend_stops_low.toml": _stop_bar,
    "physics_blend_stops_final.toml": _stop_bar,
    "physics_ead_tenths.toml": _equivalent_depth,
    "physics_ead_end_whole.toml": _equivalent_depth,
    "physics_density_air_depths.toml": _density,
    "physics_density_ean32.toml": _density,
    "physics_consumption_usn.toml": _consumption_scf,
    "physics_mod_marks.toml": _mark,
    "physics_mod_nitrox.toml": _mod,
}


def _id(part: str | Case) -> str:
    return part if isinstance(part, str) else str(part["id"])


@pytest.mark.parametrize(("name", "case"), all_cases(COMPUTE), ids=_id)
def test_physics_agrees_with_what_is_published(name: str, case: Case) -> None:
    """Every computed number lies within the tolerance of the printed one."""
    judge(name, case, COMPUTE[name](case))


def _printed_altitude_cells() -> dict[tuple[float, float], float]:
    lines = (OUTSIDE / "usn_altitude_table_9_3_seen.csv").read_text(encoding="utf-8").splitlines()
    head, *rows = [line.split(",") for line in lines if not line.startswith("#")]
    return {
        (float(row[0]), float(altitude)): float(cell)
        for row in rows
        for altitude, cell in zip(head[1:], row[1:], strict=True)
    }


def test_altitude_checks_hold_every_printed_cell() -> None:
    """120 exact cells and the six others are all the cells that were transcribed, but for the 1000 ft column.

    Seven of the nine corrected columns are transcribed (not 6000 and 9000 ft): 126 cells of the table's 162.
    """
    checked = {
        (case["depth_fsw"], case["altitude_ft"]): case["expected"]
        for name in ("physics_usn_altitude_table.toml", "physics_usn_altitude_six_cells.toml")
        for case in load(name).cases
    }
    printed = _printed_altitude_cells()
    assert len(checked) == 126
    assert checked == {cell: value for cell, value in printed.items() if cell[1] != 1000.0}


def test_first_altitude_column_is_printed_uncorrected() -> None:
    """At 1000 ft the table repeats the actual depth; the method would go one step deeper in every cell."""
    column = {depth: cell for (depth, altitude), cell in _printed_altitude_cells().items() if altitude == 1000.0}
    assert column == {depth: depth for depth in column}
    for depth, cell in column.items():
        assert _table_depth_fsw({"depth_fsw": depth, "altitude_ft": 1000.0}) > cell


def test_six_cells_stand_exactly_one_step_deeper_than_the_method() -> None:
    """In six cells of the 7000 ft column the printed depth is the table depth after the computed one."""
    for case in load("physics_usn_altitude_six_cells.toml").cases:
        step = USN_TABLE_DEPTHS_FSW.index(int(_table_depth_fsw(case)))
        assert USN_TABLE_DEPTHS_FSW[step + 1] == case["expected"]


def test_ean32_at_34_m_stays_below_six_grams() -> None:
    """On the 0 C basis EAN32 at 34 m does not reach 6 g/L (a negative test of the basis)."""
    for case in load("physics_density_ean32.toml").cases:
        assert _density(case) < 6.0
