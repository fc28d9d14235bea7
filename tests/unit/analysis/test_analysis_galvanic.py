"""The galvanic cell: linear, calibrated in air, corrected for humidity."""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from check import close
from gaswright.analysis.galvanic import Surroundings, oxygen_fraction, saturation_hpa
from gaswright.errors import RangeError

DRY = Surroundings(1.01325, 20.0)
HUMID = Surroundings(1.01325, 30.0, 1.0)


def test_saturation_agrees_with_the_reference_equation_of_water() -> None:
    """Between 0 and 40 C the Magnus form lies within 0.4 % of IAPWS-95 as CoolProp computes it."""
    for tenths in range(1, 401, 7):
        reference_hpa = PropsSI("P", "T", 273.15 + tenths / 10, "Q", 0, "Water") / 100
        close(saturation_hpa(tenths / 10) / reference_hpa, 1.0, within=0.004, why=f"{tenths / 10} C")


def test_reading_in_the_calibration_gas_is_that_gas() -> None:
    """The cell that shows its calibration signal under the same conditions is in the calibration gas."""
    close(oxygen_fraction(10.0, HUMID, calibrated_mv=10.0, calibrated_at=HUMID, calibrated_in=0.2095), 0.2095,
          within=1e-12)


@given(st.floats(1.0, 40.0))
def test_cell_is_linear_in_its_signal(cell_mv: float) -> None:
    """At equal conditions the reading is in proportion to the signal."""
    found = oxygen_fraction(cell_mv, DRY, calibrated_mv=10.0, calibrated_at=DRY, calibrated_in=0.2095)
    close(found, 0.2095 * cell_mv / 10.0, within=1e-12)


def test_humid_calibration_taken_as_dry_reads_high() -> None:
    """Ignoring the humidity of the calibration air makes dry gas read high: at 30 C, saturated, by 4.4 % of itself."""
    true = oxygen_fraction(20.0, DRY, calibrated_mv=10.0, calibrated_at=HUMID, calibrated_in=0.2095)
    taken_as_dry = oxygen_fraction(20.0, DRY, calibrated_mv=10.0, calibrated_at=Surroundings(1.01325, 30.0),
                                   calibrated_in=0.2095)
    vapour = 42.47 / 1013.25  # steam tables, 30 C, from memory
    close(taken_as_dry / true, 1 / (1 - vapour), within=0.0002)


def test_lower_pressure_at_the_reading_is_corrected() -> None:
    """The same gas at a lower pressure gives less signal and the same reading."""
    high = Surroundings(0.9, 20.0)
    close(oxygen_fraction(9.0, high, calibrated_mv=10.0, calibrated_at=Surroundings(1.0, 20.0), calibrated_in=0.2095),
          0.2095, within=1e-12)


def test_more_than_pure_oxygen_is_refused() -> None:
    """A result above 100 % is refused, not cut off: the calibration is wrong."""
    with pytest.raises(RangeError, match="calibrate again"):
        oxygen_fraction(48.0, DRY, calibrated_mv=10.0, calibrated_at=DRY, calibrated_in=0.2095)


@pytest.mark.parametrize(("pressure", "temperature", "humidity"), [
    (0.3, 20.0, 0.0), (1.3, 20.0, 0.0), (1.0, 61.0, 0.0), (1.0, -46.0, 0.0), (1.0, 20.0, 1.01), (1.0, 20.0, -0.1),
    (math.nan, 20.0, 0.0), (1.0, math.nan, 0.0), (1.0, 20.0, math.nan),
])
def test_surroundings_out_of_range_are_refused(pressure: float, temperature: float, humidity: float) -> None:
    """A pressure, temperature or humidity at which the equations do not hold is refused."""
    with pytest.raises(RangeError):
        Surroundings(pressure, temperature, humidity)


@pytest.mark.parametrize(("cell", "calibrated", "gas"), [
    (0.0, 10.0, 0.2095), (10.0, 0.0, 0.2095), (10.0, 10.0, 0.0), (math.nan, 10.0, 0.2095), (10.0, math.inf, 0.2095),
])
def test_signal_out_of_range_is_refused(cell: float, calibrated: float, gas: float) -> None:
    """A dead cell, or a calibration in no oxygen, gives no reading."""
    with pytest.raises(RangeError):
        oxygen_fraction(cell, DRY, calibrated_mv=calibrated, calibrated_at=DRY, calibrated_in=gas)
