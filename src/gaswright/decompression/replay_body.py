"""One diver's tissues in the replay: the same model as the scheduler's, from its own equations.

At constant depth tension = inspired + (tension - inspired) e^(-rate t). While the inspired pressure goes evenly from
P0 to P1 the tension trails it: tension = P1 + (tension - P0) e^(-rate t) - (P1 - P0) (1 - e^(-rate t)) / (rate t).
In this form no large numbers cancel, however fast the change is.
"""

import math
from dataclasses import dataclass
from operator import add

from gaswright.decompression.coefficients import VAPOUR_BAR, CoefficientSet
from gaswright.decompression.request import Breath, Tissues

__all__ = ["Body", "Rates"]


class Rates:
    """The rates of exchange of a coefficient set, with e^(-rate t) remembered per time."""

    def __init__(self, constants: CoefficientSet) -> None:
        """Take the rates from the half-times."""
        self.constants = constants
        self.rows = tuple(zip(
            (math.log(2.0) / half_min for half_min in constants.n2_half_min),
            (math.log(2.0) / half_min for half_min in constants.he_half_min),
            constants.a_n2_bar, constants.b_n2, constants.a_he_bar, constants.b_he,
            strict=True,
        ))
        self._left: dict[float, tuple[tuple[float, ...], ...]] = {}

    def left(self, minutes: float) -> tuple[tuple[float, ...], ...]:
        """Factors e^(-rate t) of nitrogen and of helium, then (1 - e^(-rate t)) / (rate t) of both [-].

        Args:
            minutes: how long, above 0 [min]
        """
        if minutes not in self._left:
            both = [[row[0] * minutes for row in self.rows], [row[1] * minutes for row in self.rows]]
            self._left[minutes] = (
                *(tuple(math.exp(-kt) for kt in gas) for gas in both),
                *(tuple(-math.expm1(-kt) / kt for kt in gas) for gas in both),
            )
        return self._left[minutes]


@dataclass(frozen=True, slots=True)
class Body:
    """The tensions of one diver at one moment.

    Args:
        rates: of the coefficient set.
        n2_bar: nitrogen tensions, shape (16,) [bar]
        he_bar: helium tensions, shape (16,) [bar]
    """

    rates: Rates
    n2_bar: tuple[float, ...]
    he_bar: tuple[float, ...]

    @property
    def tissues(self) -> Tissues:
        """The tensions as plain data."""
        return Tissues(self.n2_bar, self.he_bar)

    def after_stay(self, breath: Breath, ambient_bar: float, minutes: float) -> "Body":
        """The body after a time at constant depth.

        Args:
            breath: what is breathed.
            ambient_bar: absolute pressure [bar]
            minutes: how long [min]
        """
        in_n2, in_he = (ambient_bar - VAPOUR_BAR) * breath.n2, (ambient_bar - VAPOUR_BAR) * breath.he
        left_n2, left_he, _, _ = self.rates.left(minutes)
        return Body(
            self.rates,
            tuple([in_n2 + (n2 - in_n2) * e for n2, e in zip(self.n2_bar, left_n2, strict=True)]),
            tuple([in_he + (he - in_he) * e for he, e in zip(self.he_bar, left_he, strict=True)]),
        )

    def after_travel(self, breath: Breath, from_bar: float, to_bar: float, minutes: float) -> "Body":
        """The body after a change of depth at constant speed.

        Args:
            breath: what is breathed.
            from_bar: absolute pressure at its start [bar]
            to_bar: absolute pressure at its end [bar]
            minutes: how long [min]
        """
        n2_0, n2_1 = (from_bar - VAPOUR_BAR) * breath.n2, (to_bar - VAPOUR_BAR) * breath.n2
        he_0, he_1 = (from_bar - VAPOUR_BAR) * breath.he, (to_bar - VAPOUR_BAR) * breath.he
        left_n2, left_he, trail_n2, trail_he = self.rates.left(minutes)
        n2_up, he_up = n2_1 - n2_0, he_1 - he_0
        n2_rows = zip(self.n2_bar, left_n2, trail_n2, strict=True)
        he_rows = zip(self.he_bar, left_he, trail_he, strict=True)
        return Body(
            self.rates,
            tuple([n2_1 + (n2 - n2_0) * e - n2_up * trail for n2, e, trail in n2_rows]),
            tuple([he_1 + (he - he_0) * e - he_up * trail for he, e, trail in he_rows]),
        )

    def use(self, ambient_bar: float) -> float:
        """The highest supersaturation as a share of its limit; 0 where nothing is above ambient pressure [fraction].

        Args:
            ambient_bar: absolute pressure [bar]
        """
        highest = 0.0
        if max(map(add, self.n2_bar, self.he_bar)) <= ambient_bar:
            return highest
        for n2, he, row in zip(self.n2_bar, self.he_bar, self.rates.rows, strict=True):
            inert = n2 + he
            if inert > ambient_bar:
                a_bar = (row[2] * n2 + row[4] * he) / inert
                b = (row[3] * n2 + row[5] * he) / inert
                share = (inert - ambient_bar) / (a_bar + ambient_bar / b - ambient_bar)
                highest = max(highest, share)
        return highest
