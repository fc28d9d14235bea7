"""A reading of a gas with its uncertainty, and the safe side of it for each purpose."""

from dataclasses import dataclass

from gaswright.physics.mixture import WHOLE_E4, Mixture

__all__ = ["Reading"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What an analyser said of a cylinder.

    Args:
        mixture: the reading itself; decompression is computed on it.
        u_o2_e4: expanded uncertainty (k = 2) of oxygen in hundredths of a percent [e-4].
        u_he_e4: expanded uncertainty (k = 2) of helium in hundredths of a percent [e-4].
    """

    mixture: Mixture
    u_o2_e4: int = 0
    u_he_e4: int = 0

    @property
    def rich_o2_e4(self) -> int:
        """Oxygen for MOD: reading plus U, at most 100 % [e-4]."""
        return min(WHOLE_E4, self.mixture.o2_e4 + self.u_o2_e4)

    @property
    def lean_o2_e4(self) -> int:
        """Oxygen for hypoxia: reading minus U, at least 0 [e-4]."""
        return max(0, self.mixture.o2_e4 - self.u_o2_e4)

    @property
    def lean_he_e4(self) -> int:
        """Helium for narcosis and density: reading minus U, at least 0 [e-4]."""
        return max(0, self.mixture.he_e4 - self.u_he_e4)
