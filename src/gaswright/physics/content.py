"""What a cylinder holds: moles, free litres, and the gauge pressure left after some was used.

Gauge pressure is absolute pressure less 1.01325 bar, whatever the place: an error of at most 0.5 bar at 5000 m.
A *free litre* is a litre of the gas taken as ideal at 1.01325 bar and the cylinder's own temperature. All gas above
vacuum counts: what cannot flow out below ambient pressure is not subtracted here, that is the unusable pressure of
the gas rules. A gauge pressure below 0 means less than the standard atmosphere inside.
"""

from gaswright.errors import GaswrightError
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import ATM_BAR
from gaswright.physics.ranges import in_range
from gaswright.physics.state_equation import (
    GAS_CONSTANT_J_MOL_K,
    PRESSURE_MAX_BAR,
    TEMPERATURE_MAX_K,
    TEMPERATURE_MIN_K,
    absolute_bar,
    density_mol_m3,
)

__all__ = [
    "GAUGE_MAX_BAR", "GAUGE_MIN_BAR", "ContentExhausted", "free_litres", "gauge_bar_after", "gauge_bar_at_temperature",
    "gauge_bar_holding", "gauge_bar_of", "moles",
]

GAUGE_MIN_BAR = -ATM_BAR  # vacuum
GAUGE_MAX_BAR = PRESSURE_MAX_BAR - ATM_BAR  # range of the equation of state
VOLUME_MAX_L = 10_000.0  # [GASWRIGHT] a large bank
LITRES_PER_M3 = 1000.0
PASCAL_PER_ATM = 101_325.0  # exact


class ContentExhausted(GaswrightError):  # noqa: N818  the state of the cylinder, not a fault of the program
    """More gas was to be used than the cylinder holds above vacuum.

    Args:
        missing_l: free litres that are missing [L].
    """

    def __init__(self, missing_l: float) -> None:
        self.missing_l = missing_l
        super().__init__(f"the cylinder lacks {missing_l:.0f} free litres: use less, or carry more gas")


def moles(gauge_bar: float, volume_l: float, temperature_k: float, mixture: Mixture) -> float:
    """Amount of gas in a cylinder [mol].

    Args:
        gauge_bar: gauge pressure, -1.01325 to 308.98675 [bar].
        volume_l: water volume, 0.01 to 10000 [L].
        temperature_k: temperature of the cylinder, 250 to 340 [K].
        mixture: the gas in it.

    Raises:
        RangeError: a number is outside these ranges.

    Source: [GASWRIGHT] n = V rho(p, T, x), real gas.
    """
    in_range("gauge pressure", gauge_bar, "bar", GAUGE_MIN_BAR, GAUGE_MAX_BAR)
    _checked_volume(volume_l)
    return density_mol_m3(gauge_bar + ATM_BAR, temperature_k, mixture) * volume_l / LITRES_PER_M3


def gauge_bar_of(moles: float, volume_l: float, temperature_k: float, mixture: Mixture) -> float:
    """Gauge pressure of an amount of gas in a cylinder; below 0: less than 1.01325 bar inside [bar].

    Args:
        moles: amount of gas, 0 or more [mol].
        volume_l: water volume, 0.01 to 10000 [L].
        temperature_k: temperature of the cylinder, 250 to 340 [K].
        mixture: the gas in it.

    Raises:
        RangeError: a number, or the pressure that comes out, is outside its range.

    Source: [GASWRIGHT] p(n / V, T, x), real gas.
    """
    _checked_volume(volume_l)
    return absolute_bar(moles / volume_l * LITRES_PER_M3, temperature_k, mixture) - ATM_BAR


def free_litres(gauge_bar: float, volume_l: float, temperature_k: float, mixture: Mixture) -> float:
    """Gas in a cylinder above vacuum, as an ideal gas at 1.01325 bar and the cylinder's temperature [L].

    Args:
        gauge_bar: gauge pressure, -1.01325 to 308.98675 [bar].
        volume_l: water volume, 0.01 to 10000 [L].
        temperature_k: temperature of the cylinder, 250 to 340 [K].
        mixture: the gas in it.

    Raises:
        RangeError: a number is outside these ranges.
    """
    return moles(gauge_bar, volume_l, temperature_k, mixture) * _free_l_per_mol(temperature_k)


def gauge_bar_after(
    gauge_bar: float, used_l: float, volume_l: float, temperature_k: float, mixture: Mixture
) -> float:
    """Gauge pressure left after some gas was used; between -1.01325 and 0 it could not flow out unaided [bar].

    Args:
        gauge_bar: gauge pressure before, -1.01325 to 308.98675 [bar].
        used_l: free litres used at the cylinder's temperature, 0 or more [L].
        volume_l: water volume, 0.01 to 10000 [L].
        temperature_k: temperature of the cylinder, 250 to 340 [K].
        mixture: the gas in it.

    Raises:
        ContentExhausted: more is used than is there above vacuum.
        RangeError: a number is outside these ranges.
    """
    in_range("gas used", used_l, "L", 0.0, 1e9)
    there_l = free_litres(gauge_bar, volume_l, temperature_k, mixture)
    if used_l > there_l:
        raise ContentExhausted(used_l - there_l)
    return gauge_bar_holding(there_l - used_l, volume_l, temperature_k, mixture)


def gauge_bar_at_temperature(gauge_bar: float, from_k: float, to_k: float, mixture: Mixture) -> float:
    """Gauge pressure of the same closed cylinder at another temperature; its volume is taken as rigid [bar].

    Args:
        gauge_bar: gauge pressure as read, -1.01325 to 308.98675 [bar].
        from_k: temperature at the reading, 250 to 340 [K].
        to_k: temperature asked for, 250 to 340 [K].
        mixture: the gas in it.

    Raises:
        RangeError: a number, or the pressure that comes out, is outside its range.
    """
    in_range("gauge pressure", gauge_bar, "bar", GAUGE_MIN_BAR, GAUGE_MAX_BAR)
    return absolute_bar(density_mol_m3(gauge_bar + ATM_BAR, from_k, mixture), to_k, mixture) - ATM_BAR


def gauge_bar_holding(free_litres_l: float, volume_l: float, temperature_k: float, mixture: Mixture) -> float:
    """Gauge pressure at which a cylinder holds so many free litres above vacuum [bar].

    Args:
        free_litres_l: free litres at the cylinder's temperature, 0 or more [L].
        volume_l: water volume, 0.01 to 10000 [L].
        temperature_k: temperature of the cylinder, 250 to 340 [K].
        mixture: the gas in it.

    Raises:
        RangeError: a number, or the pressure that comes out, is outside its range.
    """
    in_range("free gas", free_litres_l, "L", 0.0, 1e9)
    return gauge_bar_of(free_litres_l / _free_l_per_mol(temperature_k), volume_l, temperature_k, mixture)


def _free_l_per_mol(temperature_k: float) -> float:
    """Free litres of one mole at a temperature [L/mol]."""
    in_range("temperature", temperature_k, "K", TEMPERATURE_MIN_K, TEMPERATURE_MAX_K)
    return GAS_CONSTANT_J_MOL_K * temperature_k / PASCAL_PER_ATM * LITRES_PER_M3


def _checked_volume(volume_l: float) -> None:
    """Refuse a water volume outside its range; a cylinder of none holds nothing and is a slip of the pen."""
    in_range("water volume", volume_l, "L", 0.01, VOLUME_MAX_L)
