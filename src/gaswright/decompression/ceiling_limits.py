"""Ceilings of one diver: the lowest ambient pressure that all sixteen compartments tolerate."""

import math
from collections.abc import Sequence

from gaswright.decompression.coefficients import CoefficientSet

__all__ = ["ceiling_bar", "line_ceiling_bar", "tolerated_bar", "weighted"]


def weighted(n2: float, he: float, of_n2: float, of_he: float) -> float:
    """A coefficient of a mixture: those of nitrogen and helium weighted by their shares.

    Args:
        n2: share of nitrogen: its tension, or any measure of its part [-]
        he: share of helium, in the same measure [-]
        of_n2: the coefficient of nitrogen, in its own unit [-]
        of_he: the coefficient of helium, in the same unit [-]

    Source: BUHLMANN.
    """
    return (of_n2 * n2 + of_he * he) / (n2 + he)


def tolerated_bar(inert_bar: float, a_bar: float, b: float, gf: float) -> float:
    """The lowest ambient pressure at which a tension is allowed [bar].

    Args:
        inert_bar: tension of all inert gas [bar]
        a_bar: a of the mixture in the tissue [bar]
        b: b of the mixture in the tissue [-]
        gf: gradient factor; 1 is the bare model, 0 allows no supersaturation [fraction]

    Source: BUHLMANN.
    """
    return (inert_bar - a_bar * gf) / (gf / b - gf + 1.0)


def _limits(n2: float, he: float, constants: CoefficientSet, c: int) -> tuple[float, float, float]:
    inert = n2 + he
    if inert <= 0.0:
        return 0.0, 0.0, 1.0
    a_bar = weighted(n2, he, constants.a_n2_bar[c], constants.a_he_bar[c])
    return inert, a_bar, weighted(n2, he, constants.b_n2[c], constants.b_he[c])


def ceiling_bar(n2_bar: Sequence[float], he_bar: Sequence[float], constants: CoefficientSet, gf: float) -> float:
    """The lowest ambient pressure that every compartment tolerates at one gradient factor [bar].

    Args:
        n2_bar: nitrogen tensions, shape (16,) [bar]
        he_bar: helium tensions, shape (16,) [bar]
        constants: the coefficients.
        gf: gradient factor [fraction]
    """
    return max(
        tolerated_bar(*_limits(n2, he, constants, c), gf)
        for c, (n2, he) in enumerate(zip(n2_bar, he_bar, strict=True))
    )


def line_ceiling_bar(
    n2_bar: Sequence[float], he_bar: Sequence[float], constants: CoefficientSet,
    gf_low: float, gf_high: float, anchor_bar: float, surface_bar: float,
) -> float:
    """The lowest ambient pressure, surface or deeper, that the gradient line allows every compartment [bar].

    Args:
        n2_bar: nitrogen tensions, shape (16,) [bar]
        he_bar: helium tensions, shape (16,) [bar]
        constants: the coefficients.
        gf_low: gradient factor at the anchor and below [fraction]
        gf_high: gradient factor at the surface [fraction]
        anchor_bar: ambient pressure at the anchor [bar]
        surface_bar: ambient pressure at the surface [bar]
    """
    slope = (gf_high - gf_low) / (anchor_bar - surface_bar)
    deepest_bar = surface_bar
    for c, (n2, he) in enumerate(zip(n2_bar, he_bar, strict=True)):
        inert, a_bar, b = _limits(n2, he, constants, c)
        low_bar = tolerated_bar(inert, a_bar, b, gf_low)
        if low_bar < anchor_bar:
            low_bar = _on_line(inert, a_bar, 1.0 / b - 1.0, gf_low + slope * anchor_bar, slope)
        deepest_bar = max(deepest_bar, low_bar)
    return deepest_bar


def _on_line(inert_bar: float, a_bar: float, c: float, at_vacuum: float, slope: float) -> float:
    """The pressure p at which p + (at_vacuum - slope p)(a + c p) reaches the tension: the smaller root."""
    square, linear, rest = -slope * c, 1.0 + c * at_vacuum - slope * a_bar, at_vacuum * a_bar - inert_bar
    if square == 0.0:
        return -rest / linear
    root = math.sqrt(max(0.0, linear * linear - 4.0 * square * rest))
    return 2.0 * -rest / (linear + root) if linear + root > 0.0 else (-linear + root) / (2.0 * square)
