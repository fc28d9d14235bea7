"""The real-gas equation of state of breathing gases: pressure, density and compressibility.

With r = rho / 10^4 mol/m3 and tau = 300 K / T - 1,

    Z = 1 + sum over n = 2..6 of r^(n-1) (sum over multisets t of n species of mult(t) prod x_t (sum over k of
        c[n,t,k] tau^k))
    p = rho R T Z

fitted to CoolProp by scripts/fit_state_equation.py (169 coefficients). Argon is counted as nitrogen. The He-O2 pair
of the reference is set to the GERG-2008 He-N2 parameters: a judgement by analogy. docs/physics.md has the accuracy.
"""

from functools import lru_cache
from math import comb

from gaswright.errors import RangeError
from gaswright.physics.mixture import Mixture
from gaswright.physics.ranges import in_range
from gaswright.physics.state_coefficients import COEFFICIENTS

__all__ = [
    "GAS_CONSTANT_J_MOL_K", "PRESSURE_MAX_BAR", "TEMPERATURE_MAX_K", "TEMPERATURE_MIN_K", "absolute_bar",
    "absolute_bar_of_fractions", "compressibility", "density_mol_m3", "density_mol_m3_of_fractions",
]

GAS_CONSTANT_J_MOL_K = 8.31446261815324  # [SI2019] exact
TEMPERATURE_MIN_K = 250.0  # range of the fit
TEMPERATURE_MAX_K = 340.0  # range of the fit
PRESSURE_MAX_BAR = 310.0  # range of the fit, absolute
DENSITY_MAX_MOL_M3 = 16_500.0  # just above the densest state in range: oxygen at 250 K and 310 bar, 16269 mol/m3
REDUCED_MOL_M3 = 1e4  # r = 1
REDUCED_K = 300.0  # tau = 0
NEWTON_STEPS = 30  # five are usual
ROUND_TRIP = 1e-9  # a density found at exactly 310 bar must give that pressure back

Series = tuple[float, float, float, float, float]  # what multiplies r, r^2, r^3, r^4, r^5 in Z - 1


def absolute_bar(density_mol_m3: float, temperature_k: float, mixture: Mixture) -> float:
    """Absolute pressure of a gas at a molar density [bar].

    Args:
        density_mol_m3: molar density, 0 or more [mol/m3].
        temperature_k: temperature, 250 to 340 [K].
        mixture: the gas.

    Raises:
        RangeError: the temperature, or the pressure that comes out, is outside its range.

    Source: fitted to [COOLPROP] with [GERG2008].
    """
    return absolute_bar_of_fractions(density_mol_m3, temperature_k, mixture.o2, mixture.he)


def density_mol_m3(absolute_bar: float, temperature_k: float, mixture: Mixture) -> float:
    """Molar density of a gas at an absolute pressure [mol/m3].

    Args:
        absolute_bar: absolute pressure, 0 to 310 [bar].
        temperature_k: temperature, 250 to 340 [K].
        mixture: the gas.

    Raises:
        RangeError: temperature or pressure are outside these ranges.

    Source: fitted to [COOLPROP] with [GERG2008].
    """
    return density_mol_m3_of_fractions(absolute_bar, temperature_k, mixture.o2, mixture.he)


def compressibility(absolute_bar: float, temperature_k: float, mixture: Mixture) -> float:
    """Z = p / (rho R T) of a gas, 1 for an ideal gas and in the limit of no pressure [1].

    Args:
        absolute_bar: absolute pressure, 0 to 310 [bar].
        temperature_k: temperature, 250 to 340 [K].
        mixture: the gas.

    Raises:
        RangeError: temperature or pressure are outside these ranges.

    Source: fitted to [COOLPROP] with [GERG2008].
    """
    r = density_mol_m3(absolute_bar, temperature_k, mixture) / REDUCED_MOL_M3
    return _z(r, _series(temperature_k, mixture.o2, mixture.he))


def absolute_bar_of_fractions(
    density_mol_m3: float, temperature_k: float, o2_fraction: float, he_fraction: float
) -> float:
    """Absolute pressure of a gas given by fractions, the rest nitrogen; for mixes on their way through a fill [bar].

    Args:
        density_mol_m3: molar density, 0 or more [mol/m3].
        temperature_k: temperature, 250 to 340 [K].
        o2_fraction: oxygen, 0 to 1 [fraction].
        he_fraction: helium, 0 to 1, with oxygen at most 1 [fraction].

    Raises:
        RangeError: an argument, or the pressure that comes out, is outside its range.

    Source: fitted to [COOLPROP] with [GERG2008].
    """
    in_range("density", density_mol_m3, "mol/m3", 0.0, DENSITY_MAX_MOL_M3, "that much gas does not fit")
    r = density_mol_m3 / REDUCED_MOL_M3
    z = _z(r, _series(temperature_k, o2_fraction, he_fraction))
    pressure_bar = density_mol_m3 * GAS_CONSTANT_J_MOL_K * temperature_k * z / 1e5
    if pressure_bar > PRESSURE_MAX_BAR * (1.0 + ROUND_TRIP):
        raise RangeError("absolute pressure", pressure_bar, "bar", 0.0, PRESSURE_MAX_BAR, "that much gas does not fit")
    return pressure_bar


def density_mol_m3_of_fractions(
    absolute_bar: float, temperature_k: float, o2_fraction: float, he_fraction: float
) -> float:
    """Molar density of a gas given by fractions, the rest nitrogen; for mixes on their way through a fill [mol/m3].

    Args:
        absolute_bar: absolute pressure, 0 to 310 [bar].
        temperature_k: temperature, 250 to 340 [K].
        o2_fraction: oxygen, 0 to 1 [fraction].
        he_fraction: helium, 0 to 1, with oxygen at most 1 [fraction].

    Raises:
        RangeError: an argument is outside its range.

    Source: fitted to [COOLPROP] with [GERG2008].
    """
    in_range("absolute pressure", absolute_bar, "bar", 0.0, PRESSURE_MAX_BAR)
    b, c, d, e, f = _series(temperature_k, o2_fraction, he_fraction)
    ideal_r = absolute_bar * 1e5 / (GAS_CONSTANT_J_MOL_K * temperature_k) / REDUCED_MOL_M3
    r = ideal_r
    for _ in range(NEWTON_STEPS):
        # p / (rho R T) r = r Z(r) must become the ideal r; its slope is Z + r dZ/dr.
        value = r * (1.0 + r * (b + r * (c + r * (d + r * (e + r * f)))))
        slope = 1.0 + r * (2.0 * b + r * (3.0 * c + r * (4.0 * d + r * (5.0 * e + r * 6.0 * f))))
        step = (ideal_r - value) / slope
        r += step
        if abs(step) <= 1e-13 * ideal_r:
            return r * REDUCED_MOL_M3
    raise ArithmeticError(f"no density found at {absolute_bar} bar, {temperature_k} K, {o2_fraction}/{he_fraction}")


def _z(r: float, series: Series) -> float:
    b, c, d, e, f = series
    return 1.0 + r * (b + r * (c + r * (d + r * (e + r * f))))


@lru_cache(maxsize=4096)
def _series(temperature_k: float, o2_fraction: float, he_fraction: float) -> Series:
    """The polynomial of Z - 1 in r for one gas at one temperature; pure, so it is kept."""
    in_range("temperature", temperature_k, "K", TEMPERATURE_MIN_K, TEMPERATURE_MAX_K)
    in_range("oxygen", o2_fraction, "(fraction)", 0.0, 1.0)
    in_range("helium", he_fraction, "(fraction)", 0.0, 1.0)
    in_range("oxygen and helium", o2_fraction + he_fraction, "(fraction)", 0.0, 1.0 + 1e-9)
    n2_fraction = max(0.0, 1.0 - o2_fraction - he_fraction)  # above -1e-9 by the line before: rounding of sums
    powers = tuple(tuple(x**i for i in range(7)) for x in (o2_fraction, he_fraction, n2_fraction))
    by_order = _at_temperature(temperature_k)
    b, c, d, e, f = (
        sum(c_t * powers[0][i] * powers[1][j] * powers[2][k] for i, j, k, c_t in rows) for rows in by_order
    )
    return b, c, d, e, f


@lru_cache(maxsize=256)
def _at_temperature(temperature_k: float) -> tuple[tuple[tuple[int, int, int, float], ...], ...]:
    """The rows of each order with their tau collapsed and the multiplicity of their multiset put in."""
    tau = REDUCED_K / temperature_k - 1.0
    return tuple(
        tuple(
            (i, j, k, comb(n, i) * comb(n - i, j) * sum(c * tau**power for power, c in enumerate(by_tau)))
            for i, j, k, by_tau in rows
        )
        for n, rows in COEFFICIENTS.items()
    )
