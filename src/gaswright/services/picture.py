"""The picture of a plan: profile, ceiling, gas breathed."""

from pathlib import Path

from gaswright.decompression.ceiling import ceiling_curve
from gaswright.errors import InputError
from gaswright.paper.profile_picture import profile_svg
from gaswright.planning.dive import Plan
from gaswright.planning.kit import kit_of
from gaswright.planning.request import request_of, route_of
from gaswright.planning.travel import NoOverlap
from gaswright.planning.wording import depth_text
from gaswright.services.day import Day
from gaswright.services.wording import gas_label

__all__ = ["plan_picture", "write_plan_picture"]


def plan_picture(day: Day, plan: Plan) -> str:
    """The planned case as SVG text.

    Args:
        day: as loaded.
        plan: of its dive.

    Raises:
        InputError: there is no schedule to draw.
    """
    made = plan.planned.schedule
    kit = None if day.dive is None else kit_of(day.dive, day.trip.policy)
    route = None if kit is None else route_of(kit)
    if day.dive is None or kit is None or made is None or route is None or isinstance(route, NoOverlap):
        raise InputError("there is no schedule to draw; see the findings of the plan")
    cylinders = {cylinder.id: cylinder for cylinder in day.dive.cylinders}
    units = day.dive.units
    levels = ", ".join(f"{depth_text(level.depth_m, units)} {level.minutes:g} min" for level in day.dive.levels)
    basis = "on the gas in the cylinders" if plan.basis == "analysed" else "PLAN ONLY, on targets"
    return profile_svg(
        made,
        ceiling_curve(request_of(kit, route, day.dive.levels), made),
        {diver.id: diver.name for diver in day.dive.divers},
        lambda cylinder: gas_label(cylinders[cylinder]),
        units,
        title=f"{day.trip.name}: {levels}, {basis}",
        foot=f"{day.trip.day:%d %b %Y}, policy {day.trip.policy.version}. Planning aid for trained, certified divers. "
        "No schedule removes the risk of decompression illness. Analyse every cylinder yourself.",
    )


def write_plan_picture(day: Day, plan: Plan, path: Path) -> None:
    """Write the picture of a plan; a plan without a schedule has none, and nothing is written.

    Args:
        day: as loaded.
        plan: of its dive.
        path: of the SVG file.

    Raises:
        InputError: the file cannot be written.
    """
    if plan.planned.schedule is None:
        return
    try:
        path.write_text(plan_picture(day, plan), encoding="utf-8")
    except OSError as error:
        raise InputError(f"{path}: cannot write there ({error.strerror}); choose another place") from error
