"""The ZH-L16 coefficients: half-times, a and b of sixteen compartments for nitrogen and helium, sets A, B and C.

Tolerated ambient pressure = (tension - a) b; limit of the tension = a + ambient / b. Compartment 1b (5 min) is used;
compartment 1 (4 min) is its alternative, never both, and stands here for the published checks only.

Source of every row: [BUHLMANN] table 25. Seen in a public text that quotes it: nitrogen half-times, a of set A, b of
nitrogen, and helium of compartment 1. From memory: a of sets B and C, helium of compartments 1b to 16; these were
cross-checked by the relations in tests/outside/zhl16_coefficients.csv.
"""

from dataclasses import dataclass

from gaswright.errors import InputError

__all__ = ["COMPARTMENTS", "COMPARTMENT_1", "VAPOUR_BAR", "CoefficientSet", "coefficients"]

COMPARTMENTS = 16
VAPOUR_BAR = 0.0627  # [BUHLMANN] water vapour in the lungs at 37 C as the model counts it, exact by convention


@dataclass(frozen=True, slots=True)
class CoefficientSet:
    """One set of coefficients, a tuple of sixteen per quantity.

    Args:
        name: "A", "B" or "C".
        n2_half_min: half-times of nitrogen, shape (16,) [min]
        he_half_min: half-times of helium, shape (16,) [min]
        a_n2_bar: a of nitrogen, shape (16,) [bar]
        b_n2: b of nitrogen, shape (16,) [-]
        a_he_bar: a of helium, shape (16,) [bar]
        b_he: b of helium, shape (16,) [-]
    """

    name: str
    n2_half_min: tuple[float, ...]
    he_half_min: tuple[float, ...]
    a_n2_bar: tuple[float, ...]
    b_n2: tuple[float, ...]
    a_he_bar: tuple[float, ...]
    b_he: tuple[float, ...]


N2_HALF_MIN = (  # [BUHLMANN] table 25, seen in a text that quotes it, exact
    5.0, 8.0, 12.5, 18.5, 27.0, 38.3, 54.3, 77.0, 109.0, 146.0, 187.0, 239.0, 305.0, 390.0, 498.0, 635.0,
)
B_N2 = (  # [BUHLMANN] table 25, seen in a text that quotes it, exact
    0.5578, 0.6514, 0.7222, 0.7825, 0.8126, 0.8434, 0.8693, 0.891,
    0.9092, 0.9222, 0.9319, 0.9403, 0.9477, 0.9544, 0.9602, 0.9653,
)
A_N2_BAR = {
    "A": (  # [BUHLMANN] table 25, seen in a text that quotes it, exact
        1.1696, 1.0, 0.8618, 0.7562, 0.6667, 0.5933, 0.5282, 0.4701,
        0.4187, 0.3798, 0.3497, 0.3223, 0.2971, 0.2737, 0.2523, 0.2327,
    ),
    "B": (  # [BUHLMANN] table 25, from memory
        1.1696, 1.0, 0.8618, 0.7562, 0.6667, 0.56, 0.4947, 0.45,
        0.4187, 0.3798, 0.3497, 0.3223, 0.285, 0.2737, 0.2523, 0.2327,
    ),
    "C": (  # [BUHLMANN] table 25, from memory
        1.1696, 1.0, 0.8618, 0.7562, 0.62, 0.5043, 0.441, 0.4,
        0.375, 0.35, 0.3295, 0.3065, 0.2835, 0.261, 0.248, 0.2327,
    ),
}
HE_HALF_MIN = (  # [BUHLMANN] table 25, from memory; = nitrogen / 2.645 within 0.05 min
    1.88, 3.02, 4.72, 6.99, 10.21, 14.48, 20.53, 29.11,
    41.2, 55.19, 70.69, 90.34, 115.29, 147.42, 188.24, 240.03,
)
A_HE_BAR = (  # [BUHLMANN] table 25, from memory
    1.6189, 1.383, 1.1919, 1.0458, 0.922, 0.8205, 0.7305, 0.6502,
    0.595, 0.5545, 0.5333, 0.5189, 0.5181, 0.5176, 0.5172, 0.5119,
)
B_HE = (  # [BUHLMANN] table 25, from memory
    0.477, 0.5747, 0.6527, 0.7223, 0.7582, 0.7957, 0.8279, 0.8553,
    0.8757, 0.8903, 0.8997, 0.9073, 0.9122, 0.9171, 0.9217, 0.9267,
)
COMPARTMENT_1 = {  # [BUHLMANN] table 25, seen in a text that quotes it, exact; the alternative to 1b, for checks only
    "n2_half_min": 4.0, "a_n2_bar": 1.2599, "b_n2": 0.505, "he_half_min": 1.51, "a_he_bar": 1.7424, "b_he": 0.4245,
}

SETS = {
    name: CoefficientSet(name, N2_HALF_MIN, HE_HALF_MIN, a_n2_bar, B_N2, A_HE_BAR, B_HE)
    for name, a_n2_bar in A_N2_BAR.items()
}


def coefficients(name: str) -> CoefficientSet:
    """The coefficients of a set.

    Args:
        name: "A", "B" or "C".

    Raises:
        InputError: there is no such set.
    """
    if name not in SETS:
        raise InputError(f"the coefficient set is {name!r}, allowed are A, B and C")
    return SETS[name]
