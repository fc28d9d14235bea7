"""The gas matrix: divers by cylinders, for the team sheet and the board."""

from collections.abc import Mapping
from dataclasses import dataclass

from gaswright.physics.depth_limits import LabelMod
from gaswright.planning.dive import Basis, PlanCylinder, Role, TeamDive

__all__ = ["MatrixCell", "MatrixRow", "gas_matrix"]

_ROLE_ORDER = (Role.TRAVEL, Role.MAIN, Role.STAGE, Role.BAILOUT, Role.DECO, Role.SUIT, Role.SURFACE)


@dataclass(frozen=True, slots=True)
class MatrixCell:
    """One cylinder of one diver.

    Args:
        cylinder: id.
        role: what it is for.
        gas_name: "18.2/44.6", "OXYGEN"; "unknown" where nothing is known or aimed at.
        analysed: False where the gas is only a target or unknown.
        mod: its label MOD, None where the caller gave none.
        gauge_bar: pressure read, None where nobody read it [bar].
        shared: True if several divers breathe from it.
    """

    cylinder: str
    role: Role
    gas_name: str
    analysed: bool
    mod: LabelMod | None
    gauge_bar: float | None
    shared: bool


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """The cylinders of one diver: travel, mains, stages, bailout, deco gases from the deepest MOD to the shallowest."""

    diver: str
    cells: tuple[MatrixCell, ...]


def gas_matrix(dive: TeamDive, mods: Mapping[str, LabelMod] | None = None) -> tuple[MatrixRow, ...]:
    """One row per planned diver, in the order of the card.

    Args:
        dive: the team and its cylinders.
        mods: cylinder id to its label MOD.
    """
    known = mods or {}
    return tuple(
        MatrixRow(diver.id, tuple(sorted(
            (_cell(cylinder, known) for cylinder in dive.cylinders if diver.id in cylinder.divers), key=_place,
        )))
        for diver in dive.divers
    )


def _cell(cylinder: PlanCylinder, mods: Mapping[str, LabelMod]) -> MatrixCell:
    name = cylinder.gas.mixture.name if cylinder.gas is not None else "unknown"
    analysed = cylinder.gas is not None and cylinder.basis is Basis.ANALYSED
    return MatrixCell(cylinder.id, cylinder.role, name, analysed, mods.get(cylinder.id), cylinder.gauge_bar,
                      len(cylinder.divers) > 1)


def _place(cell: MatrixCell) -> tuple[int, int, str]:
    return _ROLE_ORDER.index(cell.role), -cell.mod.metres if cell.mod else 0, cell.cylinder
