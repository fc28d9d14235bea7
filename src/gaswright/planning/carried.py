"""What a team carries from one dive to the next: tissues after a surface interval, and the oxygen of earlier dives."""

from collections.abc import Mapping

from gaswright.decompression.surface_interval import tissues_after
from gaswright.errors import InputError
from gaswright.physics.place import Place
from gaswright.planning.around import Before, PastDose
from gaswright.planning.dive import Plan, TeamDive

__all__ = ["before_next"]


def before_next(dive: TeamDive, plan: Plan, interval_min: float, days: int, place: Place) -> Before:
    """What the divers bring to the dive after this one, earlier dives included.

    Air is breathed at the surface of the next place meanwhile. The tissues are those of the schedule that slates say,
    where there is one: it is the longer.

    Args:
        dive: the earlier dive.
        plan: of it, with a schedule and an oxygen dose for everybody.
        interval_min: from its end to the start of the next dive [min]
        days: dive days from it to the next dive; 0: the same day.
        place: of the next dive.

    Raises:
        InputError: the earlier dive has no schedule, or a diver no dose: what it leaves behind is unknown.
    """
    made = plan.printed or plan.planned.schedule
    if made is None:
        raise InputError("the dive before it has no schedule: what it leaves in the tissues is unknown; mend it first")
    missing = [d.id for d in dive.divers if d.id not in plan.planned.oxygen]
    if missing:
        raise InputError(f"the dive before it leaves the oxygen table ({', '.join(missing)}): its dose is unknown; "
                         "mend that first")
    brought = {} if dive.before is None else dive.before.tissues
    tissues = {**brought, **made.tissues}
    return Before(
        interval_min,
        {d: tissues_after(held, interval_min + (0.0 if d in made.tissues else made.runtime_min), place)
         for d, held in tissues.items()},
        _doses(dive, plan, interval_min, days, made.runtime_min),
    )


def _doses(
    dive: TeamDive, plan: Plan, interval_min: float, days: int, runtime_min: float
) -> Mapping[str, tuple[PastDose, ...]]:
    """Oxygen of this dive first, then of those before it, moved back by this dive and the interval."""
    older = {} if dive.before is None else dive.before.doses
    found: dict[str, tuple[PastDose, ...]] = {}
    for diver in dict.fromkeys((*plan.planned.oxygen, *older)):
        moved = tuple(
            PastDose(one.days_ago + days, one.ended_min + runtime_min + interval_min, one.minutes, one.cns_fraction,
                     one.day_fraction, one.otu)
            for one in older.get(diver, ())
        )
        own = plan.planned.oxygen.get(diver)
        first = () if own is None else (
            PastDose(days, interval_min, runtime_min, own.cns_percent / 100, own.day_own_percent / 100, own.otu),
        )
        found[diver] = (*first, *moved)
    return found
