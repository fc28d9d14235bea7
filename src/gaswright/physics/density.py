"""Density of a breathed gas, on the basis that its published limits use: ideal gas at 0 C."""

from gaswright.physics.mixture import Mixture
from gaswright.physics.ranges import in_range

__all__ = ["DENSITY_BASIS", "HELIUM_G_MOL", "NITROGEN_G_MOL", "OXYGEN_G_MOL", "density_g_l", "molar_mass_g_mol"]

OXYGEN_G_MOL = 31.998  # [CIAAW2021] 2 x 15.999, abridged, from memory
NITROGEN_G_MOL = 28.014  # [CIAAW2021] 2 x 14.007, abridged, from memory; argon is counted as nitrogen
HELIUM_G_MOL = 4.0026  # [CIAAW2021] abridged, from memory
MOLAR_VOLUME_L_BAR_MOL = 22.711  # [GASWRIGHT] volume of a mole at 0 C and 1 bar, R x 273.15 K / 1 bar, rounded
DENSITY_BASIS = "0 C, 1 bar per 22.711 L/mol"  # printed beside every density
AMBIENT_MAX_BAR = 60.0  # [GASWRIGHT] deeper than any dive


def molar_mass_g_mol(mixture: Mixture) -> float:
    """Mass of one mole of a gas [g/mol].

    Args:
        mixture: the gas.

    Source: [CIAAW2021] standard atomic weights, abridged.
    """
    return mixture.o2 * OXYGEN_G_MOL + mixture.n2 * NITROGEN_G_MOL + mixture.he * HELIUM_G_MOL


def density_g_l(mixture: Mixture, absolute_bar: float) -> float:
    """Density of a gas at an absolute pressure, on the 0 C basis [g/L].

    Args:
        mixture: the gas; for a safe answer with helium on its lean side.
        absolute_bar: ambient pressure, 0 to 60 [bar].

    Raises:
        RangeError: the pressure is outside that range.

    Source: [ANTHONY2016] for the basis; P M / 22.711.
    """
    in_range("ambient pressure", absolute_bar, "bar", 0.0, AMBIENT_MAX_BAR)
    return absolute_bar * molar_mass_g_mol(mixture) / MOLAR_VOLUME_L_BAR_MOL
