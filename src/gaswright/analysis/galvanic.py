"""Oxygen by a galvanic cell: linear in the partial pressure of oxygen, calibrated once, corrected for humidity."""

import math
from dataclasses import dataclass

from gaswright.errors import RangeError

__all__ = ["Surroundings", "oxygen_fraction", "saturation_hpa"]

HPA_PER_BAR = 1000.0  # exact
COLDEST_C, HOTTEST_C = -45.0, 60.0  # range of the Magnus form over water [WMO8] annex 4.B, from memory


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The gas at the cell: its pressure, temperature and humidity.

    Args:
        absolute_bar: pressure at the cell [bar].
        temperature_c: of the gas [C].
        humidity: relative humidity, 0 for gas from a cylinder, 0 to 1 [fraction].

    Raises:
        RangeError: pressure outside 0.4 to 1.2 bar, humidity outside 0 to 1.
    """

    absolute_bar: float
    temperature_c: float
    humidity: float = 0.0

    def __post_init__(self) -> None:
        _within("pressure at the cell", self.absolute_bar, "bar", 0.4, 1.2)
        _within("relative humidity", self.humidity, "fraction", 0.0, 1.0)
        _within("temperature at the cell", self.temperature_c, "C", COLDEST_C, HOTTEST_C)

    @property
    def dry_bar(self) -> float:
        """Pressure of the gas without its water vapour [bar]."""
        return self.absolute_bar - self.humidity * saturation_hpa(self.temperature_c) / HPA_PER_BAR


def saturation_hpa(temperature_c: float) -> float:
    """Pressure of saturated water vapour over liquid water [hPa].

    Magnus form; it lies at most 0.4 % below the steam tables between 0 and 40 C, which moves a reading by less than
    0.02 % O2.

    Args:
        temperature_c: of the gas, -45 to 60 [C].

    Raises:
        RangeError: outside that range.

    Source: WMO8, annex 4.B.
    """
    _within("temperature", temperature_c, "C", COLDEST_C, HOTTEST_C)
    return 6.112 * math.exp(17.62 * temperature_c / (243.12 + temperature_c))


def oxygen_fraction(
    cell_mv: float, at: Surroundings, *, calibrated_mv: float, calibrated_at: Surroundings, calibrated_in: float
) -> float:
    """Fraction of oxygen in the dry gas of a cylinder, x = x_cal V/V_cal (P_cal - e_cal)/(P - e) [fraction].

    Assumes a cell without offset, at the same temperature for both readings (or compensated for it).

    Args:
        cell_mv: cell in the gas [mV].
        at: the gas at the cell.
        calibrated_mv: cell in the calibration gas [mV].
        calibrated_at: the calibration gas at the cell.
        calibrated_in: oxygen in the calibration gas when dry; air is 0.2095 [fraction].

    Raises:
        RangeError: no signal, or a result above 1: the cell is to be calibrated again, in richer gas.

    Source: GASWRIGHT, docs/custody.md; the cell law is common practice, no source.
    """
    _within("signal of the cell", cell_mv, "mV", 0.1, 1000.0)
    _within("signal at calibration", calibrated_mv, "mV", 0.1, 1000.0)
    _within("oxygen at calibration", calibrated_in, "fraction", 0.01, 1.0)
    found = calibrated_in * cell_mv / calibrated_mv * calibrated_at.dry_bar / at.dry_bar
    _within("oxygen in the gas", found, "fraction", 0.0, 1.0, "calibrate again, in oxygen for rich gas")
    return found


def _within(name: str, value: float, unit: str, low: float, high: float, action: str = "") -> None:
    if not low <= value <= high:  # refuses a value that is no number, too
        raise RangeError(name, value, unit, low, high, action)
