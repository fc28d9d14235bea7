"""The ppO2 limit of a cylinder by its role, and the MOD that follows from its reading."""

from gaswright.analysis.reading import Reading
from gaswright.physics.depth_limits import LabelMod, label_mod
from gaswright.planning.dive import PlanCylinder, Role, UnitSystem
from gaswright.policy import Policy
from gaswright.units import METRE_PER_FOOT

__all__ = ["label_mod_of", "limit_centi_ata", "mod_m", "mod_of", "used_both_ways"]

MARKS_FROM_CENTI_ATA = 160  # [GASWRIGHT] trade: the team marks stand for a limit of 1.6 ata
ROUNDING = 1e-9  # binary rounding of a decimal limit


def limit_centi_ata(role: Role, policy: Policy, both_ways: bool = False) -> int:  # noqa: FBT001, FBT002  shared signature
    """The ppO2 limit of a role, in whole hundredths: deco 1.6, all others 1.4, both ways the lower [0.01 ata].

    Args:
        role: what the cylinder is for.
        policy: gives both limits.
        both_ways: breathed on the way down and on the way up.
    """
    if role is not Role.DECO:
        limit_ata = policy.ppo2_bottom_ata
    elif both_ways:
        limit_ata = min(policy.ppo2_bottom_ata, policy.ppo2_deco_ata)
    else:
        limit_ata = policy.ppo2_deco_ata
    return int(limit_ata * 100 + ROUNDING)


def label_mod_of(reading: Reading, role: Role, policy: Policy, *, both_ways: bool = False) -> LabelMod:
    """The MOD that stands on the label: of the reading plus its uncertainty, deco cylinders on the stop grid.

    Team marks are given to deco cylinders only, while the policy uses them and the limit is 1.6 ata.

    Args:
        reading: the analysed gas with its uncertainty.
        role: what the cylinder is for.
        policy: gives the limits.
        both_ways: breathed on the way down and on the way up.
    """
    limit = limit_centi_ata(role, policy, both_ways)
    deco = role is Role.DECO
    marked = deco and policy.team_marks_used > 0 and limit >= MARKS_FROM_CENTI_ATA
    return label_mod(
        reading.rich_o2_e4, limit, on_grid=deco, reading_o2_e4=reading.mixture.o2_e4 if marked else None
    )


def mod_m(mod: LabelMod, units: UnitSystem) -> float:
    """The MOD of a label as a depth in the team's unit system [m].

    Args:
        mod: as on the label.
        units: of the team; imperial reads the feet.
    """
    return float(mod.metres) if units is UnitSystem.METRIC else mod.feet * METRE_PER_FOOT


def used_both_ways(cylinder: PlanCylinder) -> bool:
    """Whether a cylinder is planned for the way down and for the way up.

    Args:
        cylinder: of the plan.
    """
    if cylinder.role is Role.DECO:
        return cylinder.leave_depth_m is not None
    return cylinder.role in {Role.TRAVEL, Role.STAGE} and cylinder.switch_depth_m is not None


def mod_of(cylinder: PlanCylinder, policy: Policy) -> LabelMod | None:
    """The MOD of a cylinder in the plan, None while its gas is unknown.

    Args:
        cylinder: of the plan.
        policy: gives the limits.
    """
    if cylinder.deep_gas is None:
        return None
    return label_mod_of(cylinder.deep_gas, cylinder.role, policy, both_ways=used_both_ways(cylinder))
