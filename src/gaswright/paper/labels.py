"""Labels of a cylinder: each is made from one permit, never from typed text."""

from collections.abc import Sequence
from enum import StrEnum

from gaswright.clearance.permits import LabelPermit
from gaswright.errors import InputError, Refused
from gaswright.paper.lettering import name_on_paper
from gaswright.paper.stock import Stock, size_mm, stock_of
from gaswright.paper.typesetting import Sheet, pdf_of, pictures_of
from gaswright.paper.wording import (
    CAUTION,
    ata_text,
    day_text,
    minimum_text,
    mod_parts,
    percents_text,
    time_text,
    units_text,
)
from gaswright.planning.dive import Role, UnitSystem
from gaswright.units import Kind, plain_unit, pressure_text

__all__ = ["LabelKind", "kinds_of", "label_pdf", "label_pictures", "labels_pdf", "labels_pictures"]


class LabelKind(StrEnum):
    """What a label is for; each has its own content and size."""

    MAIN_SIMPLE = "main_simple"
    MAIN_FULL = "main_full"
    DECO_NECK = "deco_neck"
    DECO_BUDDY = "deco_buddy"
    SUIT = "suit"


_NAMES = {
    LabelKind.MAIN_SIMPLE: "Main label, simple",
    LabelKind.MAIN_FULL: "Main label, full",
    LabelKind.DECO_NECK: "Neck label",
    LabelKind.DECO_BUDDY: "Buddy label",
    LabelKind.SUIT: "Suit gas label",
}
_BY_MOD = frozenset({Role.DECO, Role.STAGE, Role.TRAVEL, Role.BAILOUT})


def kinds_of(permit: LabelPermit) -> tuple[LabelKind, ...]:
    """The labels that a cylinder takes; a buddy label only for a gas that a plan uses.

    Args:
        permit: of the cylinder.
    """
    if not permit.breathable or permit.role is Role.SUIT:
        return (LabelKind.SUIT,)
    if permit.role in _BY_MOD:
        return (LabelKind.DECO_NECK, LabelKind.DECO_BUDDY) if permit.planned else (LabelKind.DECO_NECK,)
    return (LabelKind.MAIN_SIMPLE, LabelKind.MAIN_FULL) if permit.role is Role.MAIN else (LabelKind.MAIN_FULL,)


def label_pdf(permit: LabelPermit, kind: LabelKind, stock: str = Stock.A4) -> bytes:
    """One label of one cylinder, alone on its page, as PDF.

    Args:
        permit: leave to print it.
        kind: which label.
        stock: "a4" or "letter".

    Raises:
        Refused: the cylinder does not take this label, or it does not fit on the stock.
        InputError: unknown stock, or a character that the font cannot show.
    """
    return pdf_of(_single(permit, kind, stock))


def label_pictures(permit: LabelPermit, kind: LabelKind, stock: str = Stock.A4, *, dots_per_inch: int = 300
                   ) -> tuple[bytes, ...]:
    """The same as PNG pictures, one a page.

    Args:
        permit: leave to print it.
        kind: which label.
        stock: "a4" or "letter".
        dots_per_inch: resolution.

    Raises:
        Refused: the cylinder does not take this label, or it does not fit on the stock.
        InputError: unknown stock, or a character that the font cannot show.
    """
    return pictures_of(_single(permit, kind, stock), dots_per_inch)


def labels_pdf(permits: Sequence[LabelPermit], *, stock: str = Stock.A4, walk_round: bool = False) -> bytes:
    """Every label of several cylinders as PDF.

    Args:
        permits: one a cylinder.
        stock: "a4" or "letter".
        walk_round: False: one page a cylinder, applied standing at it; True: many labels a page, each with a line
            for the ID read back from the metal.

    Raises:
        Refused: a label does not fit on the stock.
        InputError: no permit, unknown stock, or a character that the font cannot show.
    """
    return pdf_of(_many(permits, stock, walk_round=walk_round))


def labels_pictures(
    permits: Sequence[LabelPermit], *, stock: str = Stock.A4, walk_round: bool = False, dots_per_inch: int = 203
) -> tuple[bytes, ...]:
    """The same as PNG pictures, one a page.

    Args:
        permits: one a cylinder.
        stock: "a4" or "letter".
        walk_round: many labels a page.
        dots_per_inch: resolution.

    Raises:
        Refused: a label does not fit on the stock.
        InputError: no permit, unknown stock, or a character that the font cannot show.
    """
    return pictures_of(_many(permits, stock, walk_round=walk_round), dots_per_inch)


def _single(permit: LabelPermit, kind: LabelKind, stock: str) -> Sheet:
    if kind not in kinds_of(permit):
        raise Refused(_why_not(permit, kind))
    return _sheet((permit,), [_page(permit, (kind,))], stock, walk_round=False)


def _why_not(permit: LabelPermit, kind: LabelKind) -> str:
    name = _NAMES[kind].lower()
    if not permit.breathable or permit.role is Role.SUIT:
        return f"cylinder {permit.id_on_metal} holds suit gas, not for breathing: no {name}"
    if kind is LabelKind.DECO_BUDDY and permit.role in _BY_MOD:
        return f"no plan uses the gas of cylinder {permit.id_on_metal}: no {name}; plan it first"
    return f"cylinder {permit.id_on_metal} is a {permit.role} cylinder: no {name}"


def _many(permits: Sequence[LabelPermit], stock: str, *, walk_round: bool) -> Sheet:
    if not permits:
        raise InputError("no label was asked for: name at least one cylinder with a permit")
    pages = [_page(permit, kinds_of(permit)) for permit in permits]
    return _sheet(permits, pages, stock, walk_round=walk_round)


def _sheet(permits: Sequence[LabelPermit], pages: list[dict[str, object]], stock: str, *, walk_round: bool) -> Sheet:
    width_mm, height_mm = size_mm(stock_of(stock))
    if len({permit.units for permit in permits}) > 1:
        raise Refused("one print run has one unit system: these labels mix metres and feet; print them apart")
    newest = max(permits, key=lambda permit: permit.analysed_at)
    values = {
        "width_mm": width_mm, "height_mm": height_mm, "stock": Stock(stock).name, "walk_round": walk_round,
        "pages": pages, "caution": CAUTION,
        "cylinders": "1 cylinder" if len(permits) == 1 else f"{len(permits)} cylinders",
        "day": day_text(newest.analysed_at),
        "units": _shared_units_text(permits), "policy": newest.policy_version,
    }
    return Sheet("labels", values, newest.analysed_at)


def _units_text(permit: LabelPermit) -> str:
    """Depths as the team reads them, pressures as the divers of the cylinder do."""
    depth, pressure = units_text(permit.units).split(", ")[0], units_text(_pressure_units(permit)).split(", ")[1]
    return f"{depth}, {pressure}"


def _shared_units_text(permits: Sequence[LabelPermit]) -> str:
    texts = {_units_text(permit) for permit in permits}
    depth = units_text(permits[0].units).split(", ")[0]
    return texts.pop() if len(texts) == 1 else f"{depth}, pressure as on each label"


def _pressure_units(permit: LabelPermit) -> UnitSystem:
    return permit.pressure_units or permit.units


def _page(permit: LabelPermit, kinds: Sequence[LabelKind]) -> dict[str, object]:
    return {
        "id": permit.id_on_metal,
        "whom": name_on_paper(permit.diver_names),
        "at": time_text(permit.analysed_at),
        "by": name_on_paper(permit.analysed_by),
        "code": permit.sheet_code,
        "units": _units_text(permit),
        "policy": permit.policy_version,
        "labels": [{"kind": kind.value, "name": _NAMES[kind]} | _content(permit, kind) for kind in kinds],
    }


def _content(permit: LabelPermit, kind: LabelKind) -> dict[str, object]:
    """The texts of one label and nothing that may not stand on it."""
    mixture = permit.reading.mixture
    if kind is LabelKind.DECO_BUDDY:
        number, unit = mod_parts(permit.mod, permit.units)
        return {"number": number, "unit": unit}
    minimum = minimum_text(permit.minimum_m, permit.minimum_ft, permit.units)
    if kind is LabelKind.MAIN_SIMPLE:
        return {"gas": mixture.name, "minimum": minimum}
    marks: dict[str, object] = {
        "gas": mixture.name, "parts": list(percents_text(mixture)), "initials": name_on_paper(permit.initials),
        "id": f"ID {permit.id_on_metal}", "at": time_text(permit.analysed_at),
    }
    if kind is LabelKind.SUIT:
        return marks
    number, unit = mod_parts(permit.mod, permit.units)
    units = _pressure_units(permit)
    pressure = "" if permit.gauge_bar is None else pressure_text(permit.gauge_bar, units, "down")
    return marks | {"number": number, "unit": unit, "limit": ata_text(permit.mod.limit_centi_ata), "minimum": minimum,
                    "pressure": pressure, "blank": plain_unit(Kind.PRESSURE, units)}
