"""Gas mixtures of oxygen, helium and nitrogen in exact hundredths of a percent."""

from dataclasses import dataclass

from gaswright.errors import InputError

__all__ = ["AIR", "OXYGEN_NAME_FROM_E4", "WHOLE_E4", "Mixture", "percent_text"]

WHOLE_E4 = 10_000  # hundredths of a percent in the whole, exact
OXYGEN_NAME_FROM_E4 = 9_800  # a reading of 98 % or more is OXYGEN [GASWRIGHT] contract


@dataclass(frozen=True, slots=True, order=True)
class Mixture:
    """A breathing gas; argon is counted as nitrogen.

    Args:
        o2_e4: oxygen in hundredths of a percent, 1 to 10000 [e-4].
        he_e4: helium in hundredths of a percent [e-4].

    Raises:
        InputError: a part is negative, there is no oxygen, or the parts exceed the whole.
    """

    o2_e4: int
    he_e4: int = 0

    def __post_init__(self) -> None:
        if self.o2_e4 < 1 or self.he_e4 < 0 or self.o2_e4 + self.he_e4 > WHOLE_E4:
            raise InputError(
                f"a mixture of {self.o2_e4 / 100:g} % O2 and {self.he_e4 / 100:g} % He cannot be: "
                "oxygen must be above 0, and both together at most 100 %"
            )

    @property
    def o2(self) -> float:
        """Fraction of oxygen [fraction]."""
        return self.o2_e4 / WHOLE_E4

    @property
    def he(self) -> float:
        """Fraction of helium [fraction]."""
        return self.he_e4 / WHOLE_E4

    @property
    def n2(self) -> float:
        """Fraction of nitrogen, argon included [fraction]."""
        return (WHOLE_E4 - self.o2_e4 - self.he_e4) / WHOLE_E4

    @property
    def name(self) -> str:
        """The gas as the trade writes it: OXYGEN, "49.6 %" or "18.2/44.6"."""
        if self.o2_e4 >= OXYGEN_NAME_FROM_E4:
            return "OXYGEN"
        if self.he_e4 == 0:
            return f"{percent_text(self.o2_e4)} %"
        return f"{percent_text(self.o2_e4)}/{percent_text(self.he_e4)}"


def percent_text(part_e4: int) -> str:
    """Percent with as many decimals as it has, at most two: "18.2", "50".

    Args:
        part_e4: a part of the whole, 0 or more [e-4].
    """
    whole, rest = divmod(part_e4, 100)
    return f"{whole}.{rest:02d}".rstrip("0").rstrip(".")


AIR = Mixture(2095, 0)  # [GASWRIGHT] physics: 20.95 % O2, argon counted as nitrogen
