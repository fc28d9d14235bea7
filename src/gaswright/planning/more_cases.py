"""More ways a dive may go: late, a cylinder not at its place, buddies separated, a gas shared in turns, own cases."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from gaswright.planning.breaks import break_cycles, sharing_cycle
from gaswright.planning.cases import changed_levels, later_levels
from gaswright.planning.casework import Worked, unworked, worked_case
from gaswright.planning.contents import Content
from gaswright.planning.dive import Case, OwnCase
from gaswright.planning.failures import Judged, failure_findings, news_of, no_way_finding, two_failures_findings
from gaswright.planning.kit import Kit, kit_of, without
from gaswright.planning.request import Route, route_after_loss, route_of
from gaswright.planning.wording import minutes_text

__all__ = ["delayed", "missing_cylinders", "own_cases", "separated", "shared_gases", "sharing_case"]


def delayed(kit: Kit, contents: Mapping[str, Content], route: Route, known: Sequence[str]) -> Judged:
    """The last level left later than planned, judged.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side.
        known: reasons that hold for the dive as planned and are said there.
    """
    late_min = kit.dive.settings.delay_min
    levels = later_levels(kit.dive.levels, late_min)
    worked = worked_case(kit, contents, route, f"{minutes_text(late_min)} late", levels, delta_min=late_min)
    return Judged(tuple(failure_findings(worked, contents, known)), (worked,))


def missing_cylinders(
    kit: Kit, contents: Mapping[str, Content], planned: Worked
) -> Iterator[Judged]:
    """Each staged or hung cylinder that the plan breathes, not at its place; each is one failure.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        planned: the dive as planned.
    """
    for cylinder in planned.uses:
        if kit.cylinders[cylinder].staged:
            worked = _from_start(kit, contents, f"{cylinder} not there", OwnCase("", lost=(cylinder,)))
            yield Judged(tuple(failure_findings(worked, contents, planned.why)), (worked,))


def own_cases(kit: Kit, contents: Mapping[str, Content], known: Sequence[str]) -> Iterator[Judged]:
    """The cases that the trip describes; one failure is judged as such, several at once give a note.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        known: reasons that hold for the dive as planned and are said there.
    """
    for own in kit.dive.own_cases:
        worked = _from_start(kit, contents, own.name, own)
        single = own.failures <= 1
        found = failure_findings(worked, contents, known) if single else two_failures_findings(worked, known)
        yield Judged(tuple(found), (worked,))


def _from_start(kit: Kit, contents: Mapping[str, Content], name: str, own: OwnCase) -> Worked:
    """A case in which cylinders are not there from the start: levels and the way down do without them too."""
    left = without(kit, own.lost)
    delta_min = own.longer_min + own.delay_min
    empty = Case(name, own.lost, own.deeper_m, delta_min, completed=False, schedule=None, oxygen={}, supply={})
    without_gas = [d for d, mains in left.mains.items() if not mains]
    if without_gas:
        return unworked(kit, empty, None, f"{' and '.join(without_gas)} has no bottom gas")
    levels = later_levels(changed_levels(kit.dive.levels, own.deeper_m, own.longer_min), own.delay_min)
    worked = worked_case(left, contents, route_of(left), name, levels, lost=own.lost, delta_m=own.deeper_m,
                         delta_min=delta_min)
    return replace(worked, kit=kit)


def separated(kit: Kit, contents: Mapping[str, Content], known: Sequence[str]) -> Iterator[Judged]:
    """Each diver alone on the own gas; a shared cylinder goes with the first of its divers. Nobody gives anything.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        known: reasons that hold for the dive as planned and are said there.
    """
    if len(kit.dive.divers) < 2:
        return
    for diver in kit.dive.divers:
        cylinders = tuple(c for c in kit.dive.cylinders if c.divers and c.divers[0] == diver.id)
        mine = {c.id for c in cylinders}
        levels = tuple(replace(x, cylinder=x.cylinder if x.cylinder in mine else _own_stage(kit, diver.id, x.cylinder))
                       for x in kit.dive.levels)
        alone = kit_of(replace(kit.dive, divers=(diver,), cylinders=cylinders, levels=levels), kit.policy)
        name = f"{diver.id} alone"
        if not alone.mains[diver.id]:
            empty = Case(name, (), 0.0, 0.0, completed=False, schedule=None, oxygen={}, supply={})
            worked = unworked(alone, empty, None, f"{diver.id} has no bottom gas")
        else:
            worked = worked_case(alone, contents, route_of(alone), name, levels)
        news = news_of(worked, known)
        yield Judged((no_way_finding(worked, "case.cannot_finish", known),) if news else (), (worked,))


def _own_stage(kit: Kit, diver: str, named: str | None) -> str | None:
    """The cylinder of one's own that is breathed on a level which names another's; None: the mains."""
    level = next((x for x in kit.dive.levels if x.cylinder == named), None)
    own = None if named is None or level is None else kit.level_cylinder(diver, level)
    return None if own is None or own in kit.mains[diver] or own.divers[0] != diver else own.id


def shared_gases(kit: Kit, contents: Mapping[str, Content], route: Route, known: Sequence[str]) -> Iterator[Judged]:
    """Each gas of the way up, one diver's lost and a buddy's breathed by both in turns; one failure each.

    The first diver of the card who has somebody to share with loses it.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side.
        known: reasons that hold for the dive as planned and are said there.
    """
    for step in route.steps:
        found = [sharing_case(kit, contents, route, cylinder) for cylinder in dict.fromkeys(step.breathed.values())]
        worked = [one for one in found if one is not None]
        if worked:
            worst = max(worked, key=lambda one: len(news_of(one, known)))
            yield Judged(tuple(failure_findings(worst, contents, known)), (worst,))


def sharing_case(kit: Kit, contents: Mapping[str, Content], route: Route, cylinder: str) -> Worked | None:
    """A cylinder of the way up lost, the fullest one of the same step breathed in turns; None: nobody has one.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side, as planned.
        cylinder: id of what is lost.
    """
    left = route_after_loss(kit, route, (cylinder,))
    planned = next(step for step in route.steps if cylinder in step.breathed.values())
    losers = [d for d, c in planned.breathed.items() if c == cylinder]
    number = next((n for n, step in enumerate(left.steps) if step.key_m == planned.key_m), None)
    if len(losers) != 1 or number is None or losers[0] in left.steps[number].breathed:
        return None
    step = left.steps[number]
    giver = max((d for d, c in step.breathed.items() if c in contents),
                key=lambda d: contents[step.breathed[d]].available_l, default=None)
    if giver is None:
        return None
    sharing = sharing_cycle(kit, left.steps, number, giver, losers[0])
    pauses = break_cycles(kit, left.steps, kit.dive.levels[-1].depth_m) if kit.dive.settings.oxygen_breaks else ()
    others = (c for c in pauses if c.depth_m != sharing.depth_m)
    cycles = tuple(sorted((sharing, *others), key=lambda c: -c.depth_m))
    return worked_case(kit, contents, left, f"lost {cylinder}, {step.breathed[giver]} shared", kit.dive.levels,
                       lost=(cylinder,), cycles=cycles)
