"""Narcotic depth of a gas by both conventions, and the equivalent air depth, at the label's depth convention.

The surface is 1 ata and every 10 m or 33 ft add one. An equivalent depth above the surface is given as 0: the gas is
less narcotic there than air at the surface.
"""

from gaswright.physics.mixture import Mixture
from gaswright.physics.ranges import DEPTH_MAX_FT, DEPTH_MAX_M, in_range

__all__ = [
    "ead_ft", "ead_m", "end_nitrogen_only_ft", "end_nitrogen_only_m", "end_oxygen_narcotic_ft", "end_oxygen_narcotic_m",
]

NITROGEN_IN_NARCOTIC_AIR = 0.79  # [GASWRIGHT] trade: fN2 / 0.79, as the published EAD formula has it
METRES_PER_ATA = 10.0  # label convention, exact
FEET_PER_ATA = 33.0  # label convention, exact


def end_oxygen_narcotic_m(mixture: Mixture, depth_m: float) -> float:
    """Depth at which air is as narcotic, oxygen counted like nitrogen; the stricter convention [m].

    Args:
        mixture: the gas; for a safe answer with helium on its lean side.
        depth_m: depth, 0 to 500 [m].

    Raises:
        RangeError: the depth is outside that range.

    Source: published formula: (D + 10)(1 - fHe) - 10.
    """
    in_range("depth", depth_m, "m", 0.0, DEPTH_MAX_M)
    return _equivalent(1.0 - mixture.he, depth_m, METRES_PER_ATA)


def end_oxygen_narcotic_ft(mixture: Mixture, depth_ft: float) -> float:
    """Depth at which air is as narcotic, oxygen counted like nitrogen; the stricter convention [ft].

    Args:
        mixture: the gas; for a safe answer with helium on its lean side.
        depth_ft: depth, 0 to 1650 [ft].

    Raises:
        RangeError: the depth is outside that range.

    Source: published formula: (D + 33)(1 - fHe) - 33.
    """
    in_range("depth", depth_ft, "ft", 0.0, DEPTH_MAX_FT)
    return _equivalent(1.0 - mixture.he, depth_ft, FEET_PER_ATA)


def end_nitrogen_only_m(mixture: Mixture, depth_m: float) -> float:
    """Depth at which air is as narcotic, only nitrogen counted [m].

    Args:
        mixture: the gas.
        depth_m: depth, 0 to 500 [m].

    Raises:
        RangeError: the depth is outside that range.

    Source: published formula: (D + 10) fN2 / 0.79 - 10.
    """
    in_range("depth", depth_m, "m", 0.0, DEPTH_MAX_M)
    return _equivalent(mixture.n2 / NITROGEN_IN_NARCOTIC_AIR, depth_m, METRES_PER_ATA)


def end_nitrogen_only_ft(mixture: Mixture, depth_ft: float) -> float:
    """Depth at which air is as narcotic, only nitrogen counted [ft].

    Args:
        mixture: the gas.
        depth_ft: depth, 0 to 1650 [ft].

    Raises:
        RangeError: the depth is outside that range.

    Source: published formula: (D + 33) fN2 / 0.79 - 33.
    """
    in_range("depth", depth_ft, "ft", 0.0, DEPTH_MAX_FT)
    return _equivalent(mixture.n2 / NITROGEN_IN_NARCOTIC_AIR, depth_ft, FEET_PER_ATA)


def ead_m(mixture: Mixture, depth_m: float) -> float:
    """Equivalent air depth: where air has the same nitrogen pressure; the arithmetic of END, nitrogen only [m].

    Args:
        mixture: the gas.
        depth_m: depth, 0 to 500 [m].

    Raises:
        RangeError: the depth is outside that range.

    Source: [USN4] chapter 10: (D + 33)(1 - fO2) / 0.79 - 33, with 10 m for 33 ft.
    """
    return end_nitrogen_only_m(mixture, depth_m)


def ead_ft(mixture: Mixture, depth_ft: float) -> float:
    """Equivalent air depth: where air has the same nitrogen pressure; the arithmetic of END, nitrogen only [ft].

    Args:
        mixture: the gas.
        depth_ft: depth, 0 to 1650 [ft].

    Raises:
        RangeError: the depth is outside that range.

    Source: [USN4] chapter 10: (D + 33)(1 - fO2) / 0.79 - 33.
    """
    return end_nitrogen_only_ft(mixture, depth_ft)


def _equivalent(share: float, depth: float, per_ata: float) -> float:
    return max(0.0, (depth + per_ata) * share - per_ata)
