"""The limit of a role and the MOD that follows; team marks are for deco cylinders only."""

import pytest

from check import close
from gaswright.analysis.reading import Reading
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Role, UnitSystem
from gaswright.planning.mods import label_mod_of, limit_centi_ata, mod_m, mod_of, used_both_ways
from unit.planning.dives import POLICY, cylinder, deco, tightened

EAN50_6 = Reading(Mixture(5060), 50)


@pytest.mark.parametrize("role", [Role.MAIN, Role.STAGE, Role.TRAVEL, Role.BAILOUT])
def test_every_role_but_deco_has_the_bottom_limit(role: Role) -> None:
    """Main, stage, travel and bailout are breathed to 1.4 ata."""
    assert limit_centi_ata(role, POLICY) == 140


def test_deco_has_its_own_limit_and_both_ways_the_lower() -> None:
    """Deco is breathed to 1.6 ata, a cylinder used both ways to the lower of the two."""
    assert limit_centi_ata(Role.DECO, POLICY) == 160
    assert limit_centi_ata(Role.DECO, POLICY, both_ways=True) == 140
    assert limit_centi_ata(Role.DECO, tightened(ppo2_deco_ata=1.3), both_ways=True) == 130


def test_a_decimal_limit_is_not_lost_to_binary_rounding() -> None:
    """1.15 ata is 115 hundredths although 1.15 x 100 is 114.99... in binary."""
    assert limit_centi_ata(Role.MAIN, tightened(ppo2_bottom_ata=1.15)) == 115


def test_deco_reads_on_the_grid_with_its_team_mark() -> None:
    """50.6 % is within the mark's band: 21 m and 70 ft; the same gas in a stage reads 17 m at 1.4 ata."""
    assert (label_mod_of(EAN50_6, Role.DECO, POLICY).metres, label_mod_of(EAN50_6, Role.DECO, POLICY).feet) == (21, 70)
    assert label_mod_of(EAN50_6, Role.STAGE, POLICY).metres == 17
    assert label_mod_of(EAN50_6, Role.STAGE, POLICY).mark is None


def test_no_mark_below_its_limit_or_where_the_policy_gives_none() -> None:
    """Used both ways, at a tightened limit, or with marks switched off, the depth is computed."""
    assert label_mod_of(EAN50_6, Role.DECO, POLICY, both_ways=True).metres == 15
    assert label_mod_of(EAN50_6, Role.DECO, tightened(ppo2_deco_ata=1.5)).mark is None
    without_mark = label_mod_of(Reading(Mixture(5060), 50), Role.DECO, tightened(team_marks_used=0.0))
    assert (without_mark.metres, without_mark.mark) == (21, None)


def test_depth_is_read_in_the_units_of_the_team() -> None:
    """70 ft is 21.336 m for an imperial team, 21 m for a metric one."""
    mod = label_mod_of(EAN50_6, Role.DECO, POLICY)
    close(mod_m(mod, UnitSystem.METRIC), 21.0, within=0.0)
    close(mod_m(mod, UnitSystem.IMPERIAL), 21.336, within=1e-12)


def test_which_cylinders_are_used_both_ways() -> None:
    """A deco cylinder with a leave depth, a travel or stage cylinder with a switch depth; no other."""
    assert used_both_ways(deco("e", "d1", leave_depth_m=15.0))
    assert used_both_ways(cylinder("t", "d1", Role.TRAVEL, (50, 0), switch_depth_m=15.0))
    assert not used_both_ways(deco("e", "d1", switch_depth_m=21.0))
    assert not used_both_ways(cylinder("t", "d1", Role.TRAVEL, (50, 0), leave_depth_m=15.0))


def test_unknown_gas_has_no_mod() -> None:
    """A cylinder without a known gas has no MOD at all."""
    assert mod_of(deco("e", "d1", None), POLICY) is None
