"""How deep and how shallow a gas may be breathed: MOD by the label convention, at the place, and minimum depth."""

from dataclasses import dataclass

__all__ = ["LabelMod"]


@dataclass(frozen=True, slots=True)
class LabelMod:
    """A MOD as it stands on a label: whole numbers in both unit systems, rounded to the safe side.

    Args:
        limit_centi_ata: the ppO2 limit it was computed with [0.01 ata].
        metres: whole metres, deco cylinders down to the 3 m grid [m].
        feet: whole feet, deco cylinders down to the 10 ft grid [ft].
        mark: name of the team mark that set it ("oxygen", "EAN50"), None where computed.
    """

    limit_centi_ata: int
    metres: int
    feet: int
    mark: str | None = None
