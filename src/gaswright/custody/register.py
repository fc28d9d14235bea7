"""What the register says of a cylinder and its owner: not its gas."""

from dataclasses import dataclass
from datetime import date

__all__ = ["CylinderRecord"]


@dataclass(frozen=True, slots=True)
class CylinderRecord:
    """One cylinder of the register (one row = one analysed content; manifolded doubles are one row).

    Args:
        id: short id.
        serial: the stamped serial.
        divers: ids of those who breathe from it; the first owns it.
        role: main, stage, travel, deco, bailout, suit or surface.
        volume_ml: water volume [mL].
        working_centibar: working pressure, gauge [0.01 bar].
        oxygen_clean: cleaned and kept for oxygen.
        tested_until: hydrostatic test valid until, None where nobody said.
        visual_until: visual inspection valid until, None where nobody said.
        permanent_mark: MOD painted or taped for good, as typed with its unit ("21 m"), None.
        target_o2_e4: oxygen wished for, None where no target [e-4].
        target_he_e4: helium wished for, None where no target [e-4].
        pair: name of the pair it is analysed with, None.
        isolator_open: of manifolded doubles; None where not said.
        retired: taken out of use for good.
    """

    id: str
    serial: str
    divers: tuple[str, ...]
    role: str
    volume_ml: int
    working_centibar: int
    oxygen_clean: bool
    tested_until: date | None = None
    visual_until: date | None = None
    permanent_mark: str | None = None
    target_o2_e4: int | None = None
    target_he_e4: int | None = None
    pair: str | None = None
    isolator_open: bool | None = None
    retired: bool = False

    @property
    def id_on_metal(self) -> str:
        """The cylinder ID on labels: the last four of the stamped serial."""
        return self.serial[-4:]
