"""Deck sheet: one waterproof page for pencil, a row a cylinder, typed into the program later."""

from gaswright.clearance.permits import SheetPermit
from gaswright.paper.lettering import name_on_paper, names_on_paper
from gaswright.paper.slates import band_text, made_at
from gaswright.paper.stock import Stock, size_mm, stock_of
from gaswright.paper.typesetting import Sheet, pdf_of
from gaswright.paper.wording import CAUTION, day_text, units_text
from gaswright.planning.dive import PlanCylinder

__all__ = ["deck_sheet_pdf"]


def deck_sheet_pdf(permit: SheetPermit, stock: str = Stock.A4) -> bytes:
    """The deck sheet of a team, lengthwise, as PDF: ID, diver and target printed, the rest blank.

    Args:
        permit: leave to print the team's sheets.
        stock: "a4" or "letter".

    Raises:
        InputError: unknown stock, or a character that the font cannot show.
    """
    paper = stock_of(stock)
    width_mm, height_mm = size_mm(paper)
    units = [_pressure_unit(cylinder, permit) for cylinder in permit.dive.cylinders]
    depth, pressure = units_text(permit.dive.units).split(", ")
    values = {
        "width_mm": height_mm, "height_mm": width_mm, "trip": name_on_paper(permit.trip_name),
        "day": day_text(permit.day), "code": permit.sheet_code, "policy": permit.policy_version,
        "units": f"{depth}, {pressure if set(units) <= {pressure} else 'pressure by row'}",
        "caution": CAUTION, "band": band_text(permit), "pressures": units,
        "rows": [_row(cylinder, permit) for cylinder in permit.dive.cylinders],
    }
    return pdf_of(Sheet("deck_sheet", values, made_at(permit)))


def _pressure_unit(cylinder: PlanCylinder, permit: SheetPermit) -> str:
    """The unit of the gauge that the divers of a cylinder read; both where they differ."""
    own = {diver.units for diver in permit.divers if diver.id in cylinder.divers} or {permit.dive.units}
    return " / ".join(sorted(units_text(one).split(", ")[1] for one in own))


def _row(cylinder: PlanCylinder, permit: SheetPermit) -> list[str]:
    names = names_on_paper(permit.divers)
    who = ", ".join(names[diver] for diver in cylinder.divers if diver in names)
    target = cylinder.target.name if cylinder.target is not None else ""
    return [permit.ids_on_metal.get(cylinder.id, cylinder.serial[-4:]), who, str(cylinder.role), target]
