"""Every picture of a trip's dive: profile, pressures, supersaturation, oxygen, and the windows of its cylinders."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from zoneinfo import ZoneInfo

from gaswright.decompression.supersaturation import supersaturation_curve
from gaswright.errors import InputError
from gaswright.oxygen.days import repex_limit
from gaswright.paper.pictures_curves import Needed, pressures_svg, supersaturation_svg
from gaswright.paper.pictures_oxygen import OxygenBar, oxygen_svg
from gaswright.paper.pictures_window import window_svg
from gaswright.planning.curves import pressure_curves
from gaswright.planning.dive import Diver, Plan, UnitSystem
from gaswright.planning.held_plan import HeldPlan, held_plan
from gaswright.planning.window import window_of
from gaswright.services.accept import planned_dive, write_text
from gaswright.services.checking import plan_day
from gaswright.services.day import Day, day_of
from gaswright.services.picture import plan_picture
from gaswright.services.wording import gas_label

__all__ = ["pictures_of", "write_pictures"]


def pictures_of(day: Day) -> dict[str, str]:
    """File name to SVG text of each picture.

    Args:
        day: as loaded.

    Raises:
        InputError: the file plans nothing, or there is no schedule to draw.
    """
    held, plan = held_plan(planned_dive(day), day.trip.policy), plan_day(day)
    settings = held.kit.dive.settings
    return {
        "profile.svg": plan_picture(day, plan),
        "pressures.svg": pressures_svg(
            _panels(held, plan), held.schedule.runtime_min, title=f"{day.trip.name}: gas left", foot=_foot(day)
        ),
        "supersaturation.svg": supersaturation_svg(
            supersaturation_curve(held.request, held.schedule), settings.gf_low, settings.gf_high,
            title=f"{day.trip.name}: highest supersaturation, percent of its limit", foot=_foot(day),
        ),
        "oxygen.svg": oxygen_svg(
            _oxygen(day), title=f"{day.trip.name}: oxygen over the days", foot=_foot(day)
        ),
        **dict(_windows(day, held)),
    }


def _foot(day: Day) -> str:
    return (f"{day.trip.day:%d %b %Y}, policy {day.trip.policy.version}. Planning aid for trained, certified divers. "
            "No schedule removes the risk of decompression illness. Analyse every cylinder yourself.")


def _panels(held: HeldPlan, plan: Plan) -> Mapping[str, tuple[UnitSystem, list[Needed]]]:
    curves = pressure_curves(held)
    return {diver.name: (diver.units, list(_cylinders(held, plan, diver, curves))) for diver in held.kit.dive.divers}


def _cylinders(
    held: HeldPlan, plan: Plan, diver: Diver, curves: Mapping[str, tuple[tuple[float, float], ...]]
) -> Iterator[Needed]:
    for cylinder in held.kit.of(diver.id):
        if cylinder.id in curves:
            supply = plan.planned.supply.get(cylinder.id)
            yield Needed(cylinder.id, gas_label(cylinder), curves[cylinder.id],
                         None if supply is None else supply.minimum_bar)


def _oxygen(day: Day) -> dict[str, list[OxygenBar]]:
    """One bar per diver and dive of the file, in its order; OTU against the REPEX row that comes nearest."""
    found: dict[str, list[OxygenBar]] = {diver.name: [] for diver in day.trip.planned_divers}
    names = {diver.id: diver.name for diver in day.trip.planned_divers}
    for row in day.trip.dives:
        one = day_of(day.trip, None, row.id)
        dive, made = planned_dive(one), plan_day(one)
        local = None if row.start is None else row.start.astimezone(ZoneInfo(day.trip.zone))
        when = f"{day.trip.day:%d %b}" if local is None else f"{local:%d %b %H:%M}"
        for diver, dose in made.planned.oxygen.items():
            earlier = () if dive.before is None else dive.before.doses.get(diver, ())
            limit = repex_limit(dose.otu, earlier)
            found[names[diver]].append(OxygenBar(f"{row.id}, {when}", dose.day_percent,
                                                 limit.total_otu / limit.limit_otu * 100.0))
    return found


def _windows(day: Day, held: HeldPlan) -> Iterator[tuple[str, str]]:
    for cylinder in held.uses:
        seen = window_of(held, cylinder)
        yield f"window-{cylinder}.svg", window_svg(
            seen, None, {one.code: one.says for one in seen.boundaries},
            title=f"{day.trip.name}: which readings of {cylinder} the plan accepts", foot=_foot(day),
        )


def write_pictures(day: Day, folder: Path) -> list[Path]:
    """The files written.

    Args:
        day: as loaded.
        folder: where to; made if it is not there.

    Raises:
        InputError: there is nothing to draw, or it cannot be written there.
    """
    made = pictures_of(day)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: cannot write there ({error.strerror}); choose another place") from error
    for name, text in made.items():
        write_text(folder / name, text)
    return [folder / name for name in made]
