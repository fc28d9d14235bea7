"""What to write by hand on tape, in order, on a day without a printer."""

from gaswright.clearance.permits import LabelPermit
from gaswright.paper.labels import LabelKind, kinds_of
from gaswright.paper.wording import ata_text, minimum_text, mod_parts, parts_text, percents_text, time_text
from gaswright.units import pressure_text

__all__ = ["handwriting"]


def handwriting(permit: LabelPermit) -> tuple[str, ...]:
    """Short lines in the order in which they are written; printed and hand-written labels are equal in every gate.

    Args:
        permit: leave to label the cylinder.

    Raises:
        Refused: the gas has no MOD that can be labelled.
    """
    kinds = kinds_of(permit)
    lines = [f"stand at the cylinder, read the ID on the metal: it must be {permit.id_on_metal}"]
    if LabelKind.SUIT in kinds:
        return (*lines, "write NOT FOR BREATHING", "below it: SUIT GAS", *_small_lines(permit, with_pressure=False))
    if LabelKind.DECO_BUDDY in kinds:
        lines += _buddy_lines(permit)
    if LabelKind.DECO_NECK in kinds:
        lines.append(f"neck label: MOD {_mod(permit)} at {ata_text(permit.mod.limit_centi_ata)}, largest")
        lines += [*_minimum_lines(permit), f"below it: {permit.reading.mixture.name}"]
        return (*lines, *_small_lines(permit, with_pressure=True))
    lines.append(f"large, digits at least 25 mm: {permit.reading.mixture.name}")
    lines.append(f"below it: MOD {_mod(permit)} at {ata_text(permit.mod.limit_centi_ata)}")
    return (*lines, *_minimum_lines(permit), *_small_lines(permit, with_pressure=False))


def _mod(permit: LabelPermit) -> str:
    return parts_text(mod_parts(permit.mod, permit.units))


def _minimum_lines(permit: LabelPermit) -> list[str]:
    minimum = minimum_text(permit.minimum_m, permit.minimum_ft, permit.units)
    return [f"below it, as large as the line of the MOD: {minimum}"] if minimum else []


def _buddy_lines(permit: LabelPermit) -> list[str]:
    return [
        f"buddy label, digits at least 51 mm: {_mod(permit)} and nothing else",
        "one thick bar under number and unit, as long as both",
    ]


def _small_lines(permit: LabelPermit, *, with_pressure: bool) -> list[str]:
    lines = ["  ".join(percents_text(permit.reading.mixture))]
    if with_pressure:
        known = permit.gauge_bar is not None
        units = permit.pressure_units or permit.units
        lines.append(pressure_text(permit.gauge_bar or 0.0, units, "down") if known else "pressure: read it now")
    return [*lines, f"{permit.initials}  ID {permit.id_on_metal}", time_text(permit.analysed_at)]
