"""Fit the virial-type equation of gaswright.physics.state_equation to CoolProp and write its coefficients.

Run it with the development tools installed:  python scripts/fit_state_equation.py
Rerunning it changes nothing; with --check it writes nothing and fails if the committed file would differ.

The reference: CoolProp's multiparameter mixture equations, with the He-O2 pair set to the GERG-2008 He-N2 reducing
parameters. As shipped that pair is unfitted; the choice is a judgement by analogy, not a published fit.
"""

import math
import sys
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import numpy as np
from CoolProp import CoolProp
from numpy.typing import NDArray
from scipy import linalg

__all__ = ["Reference", "basis", "coefficients_text", "fitted", "states"]

TARGET = Path(__file__).parents[1] / "src" / "gaswright" / "physics" / "state_coefficients.py"
TAU_POWERS = {2: 3, 3: 2, 4: 2, 5: 1, 6: 0}  # highest power of tau for B, C, D, E, F
GAS_CONSTANT_J_MOL_K = 8.31446261815324  # SI 2019, exact
FLOOR = 1e-12  # CoolProp fails on an exact zero fraction
LATTICE = 12  # compositions in twelfths: 91 of them
TEMPERATURES = 9
PRESSURES = 16
LOW_K, HIGH_K, LOW_BAR, HIGH_BAR = 249.0, 341.0, 0.5, 316.0  # a little more than the range that is answered
WEIGHT_FLOOR, WEIGHT_POWER = 0.3, 0.7  # of the second round; the result depends on them little
DECIMALS = 7  # of a coefficient: 1e-7 moves Z by less than 1e-6

State = tuple[float, float, float, float]  # O2, He, temperature in K, absolute pressure in bar
Matrix = NDArray[np.float64]


class Reference:
    """CoolProp as the reference: one state reused, the gas phase imposed, no fraction exactly zero."""

    def __init__(self) -> None:
        self._state = CoolProp.AbstractState("HEOS", "Oxygen&Helium&Nitrogen")
        for name in ("betaT", "gammaT", "betaV", "gammaV"):
            like_nitrogen = self._state.get_binary_interaction_double(2, 1, name)
            self._state.set_binary_interaction_double(0, 1, name, like_nitrogen)
        self._state.set_mole_fractions([0.2, 0.3, 0.5])
        self._state.specify_phase(CoolProp.iphase_gas)

    def compressibility(self, o2: float, he: float, temperature_k: float, absolute_bar: float) -> float:
        """Z of a mixture at a temperature and an absolute pressure [1].

        Args:
            o2: fraction of oxygen [fraction].
            he: fraction of helium [fraction].
            temperature_k: temperature [K].
            absolute_bar: absolute pressure [bar].
        """
        floored = [max(FLOOR, o2), max(FLOOR, he), max(FLOOR, 1.0 - o2 - he)]
        whole = sum(floored)
        self._state.set_mole_fractions([part / whole for part in floored])
        self._state.update(CoolProp.PT_INPUTS, absolute_bar * 1e5, temperature_k)
        return float(self._state.compressibility_factor())


def chebyshev(count: int, low: float, high: float) -> list[float]:
    """The Chebyshev nodes of an interval, in order; no randomness."""
    middle, half = (low + high) / 2, (high - low) / 2
    return [middle - half * math.cos(math.pi * (2 * i + 1) / (2 * count)) for i in range(count)]


def states() -> Iterator[State]:
    """The states the equation is fitted to."""
    shares = [(i / LATTICE, j / LATTICE) for i in range(LATTICE + 1) for j in range(LATTICE + 1 - i)]
    temperatures = chebyshev(TEMPERATURES, LOW_K, HIGH_K)
    pressures = chebyshev(PRESSURES, LOW_BAR, HIGH_BAR)
    for (o2, he), temperature_k, absolute_bar in product(shares, temperatures, pressures):
        yield o2, he, temperature_k, absolute_bar


def basis() -> list[tuple[int, int, int, int, int]]:
    """The terms: order n, powers of O2, He and N2 that sum to n, power of tau."""
    return [
        (n, i, j, n - i - j, k)
        for n, highest in TAU_POWERS.items()
        for i in range(n, -1, -1)
        for j in range(n - i, -1, -1)
        for k in range(highest + 1)
    ]


def multiplicity(i: int, j: int, k: int) -> int:
    """How often a multiset of species occurs among the ordered ones."""
    return math.factorial(i + j + k) // (math.factorial(i) * math.factorial(j) * math.factorial(k))


def fitted(reference: Reference) -> Matrix:
    """The coefficients in the order of `basis`: least squares of the relative deviation of Z, weighted twice.

    The second round gives the states that the first one missed most more weight: on states that were not fitted the
    largest deviation falls by a fifth and the rms one rises by a fiftieth.
    """
    design, wanted = _equations(reference)
    solution = _least_squares(design, wanted, np.ones_like(wanted))
    missed = np.abs(design @ solution - wanted)
    weight = (missed / np.sqrt(np.mean(missed**2)) + WEIGHT_FLOOR) ** WEIGHT_POWER
    return _least_squares(design, wanted, weight / np.mean(weight))


def _equations(reference: Reference) -> tuple[Matrix, Matrix]:
    """One row per state: the terms of Z over Z, and (Z - 1) / Z, which they must add up to."""
    points = np.array(list(states()))
    z = np.array([reference.compressibility(*point) for point in points])
    o2, he, temperature_k, absolute_bar = points.T
    n2 = 1.0 - o2 - he
    r = absolute_bar * 1e5 / (z * GAS_CONSTANT_J_MOL_K * temperature_k) / 1e4
    tau = 300.0 / temperature_k - 1.0
    columns = [
        multiplicity(i, j, k) * r ** (n - 1) * o2**i * he**j * n2**k * tau**power for n, i, j, k, power in basis()
    ]
    return np.column_stack(columns) / z[:, None], (z - 1.0) / z


def _least_squares(design: Matrix, wanted: Matrix, weight: Matrix) -> Matrix:
    scale = np.linalg.norm(design, axis=0)
    root = np.sqrt(weight)
    solution: Matrix = linalg.lstsq(design / scale * root[:, None], wanted * root, lapack_driver="gelsy")[0] / scale
    return solution


def coefficients_text(solution: Matrix) -> str:
    """The Python file that holds the coefficients."""
    version = CoolProp.get_global_param_string("version")
    lines = [
        '"""Coefficients of the equation of state, written by scripts/fit_state_equation.py: do not edit by hand.',
        "",
        f"CoolProp {version}, He-O2 pair with the GERG-2008 He-N2 reducing parameters.",
        "A row: powers of O2, He and N2, then the coefficients of tau^0, tau^1 and so on.",
        '"""',
        "",
        '__all__ = ["COEFFICIENTS", "Row"]',
        "",
        "Row = tuple[int, int, int, tuple[float, ...]]",
        "",
        "COEFFICIENTS: dict[int, tuple[Row, ...]] = {",
    ]
    rows: dict[tuple[int, int, int, int], list[str]] = {}
    for (n, i, j, k, _), value in zip(basis(), solution, strict=True):
        rows.setdefault((n, i, j, k), []).append(f"{round(float(value), DECIMALS) + 0.0:.{DECIMALS}f}")
    for n in TAU_POWERS:
        lines.append(f"    {n}: (")
        for (order, i, j, k), values in rows.items():
            if order == n:
                lines.append(f"        ({i}, {j}, {k}, ({', '.join(values)}{',' if len(values) == 1 else ''})),")
        lines.append("    ),")
    return "\n".join([*lines, "}", ""])


def main() -> int:
    """Write the coefficients, or compare them with the committed ones."""
    text = coefficients_text(fitted(Reference()))
    if "--check" in sys.argv[1:]:
        same = TARGET.read_text(encoding="utf-8") == text
        print("unchanged" if same else "the committed coefficients differ from this fit")
        return 0 if same else 1
    TARGET.write_text(text, encoding="utf-8")
    print(f"{len(basis())} coefficients written")
    return 0


if __name__ == "__main__":
    sys.exit(main())
