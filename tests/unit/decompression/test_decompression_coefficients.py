"""The relations between the coefficients, re-derived; the tables themselves are published checks."""

from check import close
from gaswright.decompression.coefficients import COMPARTMENT_1, coefficients

PRINTED_BY_ITSELF = (3, 4)  # b of compartments 4 and 5 is printed off the formula (tests/outside, header)


def test_a_and_b_of_nitrogen_follow_from_the_half_time() -> None:
    """a = 2 t^(-1/3) and b = 1.005 - t^(-1/2) to four digits; compartments 4 and 5 use the printed b.

    Source: [BUHLMANN] as re-derived in tests/outside/zhl16_coefficients.csv.
    """
    constants = coefficients("A")
    for c, half_min in enumerate(constants.n2_half_min):
        close(constants.a_n2_bar[c], 2.0 * half_min ** (-1.0 / 3.0), within=0.0001)
        if c not in PRINTED_BY_ITSELF:
            close(constants.b_n2[c], 1.005 - half_min**-0.5, within=0.0001)


def test_helium_follows_from_nitrogen() -> None:
    """Half-times are those of nitrogen / 2.645 within 0.05 min; a = 2 t^(-1/3) for 1 to 8 within 0.001.

    Compartment 1b (5 min) is not part of the second relation: it misses it by 0.0016.

    Source: cross-checks in tests/outside/zhl16_coefficients.csv.
    """
    constants = coefficients("C")
    for c, (n2_min, he_min) in enumerate(zip(constants.n2_half_min, constants.he_half_min, strict=True)):
        close(he_min, n2_min / 2.645, within=0.05)
        if 0 < c < 8:
            close(constants.a_he_bar[c], 2.0 * he_min ** (-1.0 / 3.0), within=0.001)
    close(COMPARTMENT_1["a_he_bar"], 2.0 * COMPARTMENT_1["he_half_min"] ** (-1.0 / 3.0), within=0.001)


def test_sets_differ_in_a_of_nitrogen_only_and_c_is_the_most_conservative() -> None:
    """b and helium are common; a falls from A over B to C."""
    a, b, c = coefficients("A"), coefficients("B"), coefficients("C")
    assert (a.b_n2, a.a_he_bar, a.b_he) == (b.b_n2, b.a_he_bar, b.b_he) == (c.b_n2, c.a_he_bar, c.b_he)
    assert all(x >= y >= z for x, y, z in zip(a.a_n2_bar, b.a_n2_bar, c.a_n2_bar, strict=True))
