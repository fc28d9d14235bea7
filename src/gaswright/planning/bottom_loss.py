"""Bottom gas lost at the worst minute: on what is left of the own mains, else on a buddy's, up by a verified schedule.

What is lost goes by the rig: of manifolded doubles half of what is in them (isolator shut), of a single, an independent
or a sidemount cylinder all that is in it, the fullest one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.catalogue import finding
from gaswright.decompression.request import Breath, Schedule
from gaswright.findings import Finding, Subject
from gaswright.planning.casework import Worked, refusal_text, scheduled, unworked, worked_on
from gaswright.planning.contents import Content, gauge_bar_with
from gaswright.planning.dive import Case, Level, PlanCylinder, Rig, Supply
from gaswright.planning.failures import Judged, news_of, no_way_finding
from gaswright.planning.kit import Kit, breath_of, without
from gaswright.planning.minimum_gas import Need
from gaswright.planning.request import Route, request_of
from gaswright.planning.supply import supply_of_draws
from gaswright.planning.usage import Draw, Loss, drawn_l, draws_of
from gaswright.planning.way_out import Way, ways_out

__all__ = ["LostMain", "bottom_losses", "worst_loss"]

ROUNDING_L = 1e-6  # binary rounding of a volume of gas


@dataclass(frozen=True, slots=True)
class LostMain:
    """The main that is lost, and when.

    Args:
        diver: id.
        cylinder: id.
        need: the moment, and what the team's way out takes from there.
        share: how much of what is in it is lost: all of it, or half [fraction]
    """

    diver: str
    cylinder: str
    need: Need
    share: float


def bottom_losses(
    kit: Kit, contents: Mapping[str, Content], route: Route, planned: Worked, needs: Sequence[Need]
) -> list[Judged]:
    """The bottom gas of each diver lost at the worst minute, each judged with the cases worked out for it.

    A note if a buddy's mains bring the diver up, a stop if nobody's do. A diver whose pressures nobody knows is left
    out: that is a stop of its own.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        route: its gas side.
        planned: the dive as planned.
        needs: at every moment of the bottom phase.
    """
    if planned.case.schedule is None or not needs:
        return []
    draws = draws_of(kit, planned.case.schedule)
    lost = (worst_loss(kit, contents, d.id, needs, draws) for d in kit.dive.divers)
    return [_judged(kit, contents, route, one, planned.why) for one in lost if one is not None]


def worst_loss(
    kit: Kit, contents: Mapping[str, Content], diver: str, needs: Sequence[Need], draws: Mapping[str, tuple[Draw, ...]]
) -> LostMain | None:
    """The loss of bottom gas that leaves a diver least: at the minute at which use and need together are largest.

    Args:
        kit: of the dive.
        contents: what the cylinders hold at the start.
        diver: id.
        needs: at every moment of the bottom phase.
        draws: of the planned case.
    """
    mains = kit.mains[diver]
    if any(c.id not in contents for c in mains):
        return None

    def gone_l(cylinder: PlanCylinder, at_min: float) -> float:
        return drawn_l(draws.get(cylinder.id, ()), at_min)

    worst = max(needs, key=lambda n: n.free_l[diver] + sum(gone_l(c, n.moment.at_min) for c in mains))
    at_min = worst.moment.at_min
    fullest = max(mains, key=lambda c: contents[c.id].start_l - gone_l(c, at_min))
    rig = next(d.rig for d in kit.dive.divers if d.id == diver)
    half = rig is Rig.DOUBLES and len(mains) == 1
    return LostMain(diver, fullest.id, worst, 0.5 if half else 1.0)


def _judged(kit: Kit, contents: Mapping[str, Content], route: Route, lost: LostMain, known: Sequence[str]) -> Judged:
    own = _on_own_gas(kit, contents, route, lost)
    if not news_of(own, known):
        return Judged((), (own,))
    for giver in _givers(kit, contents, lost):
        lent = _on_gas_of(kit, contents, route, lost, giver)
        if not news_of(lent, known):
            return Judged((_given(lent, lost, giver),), (lent,))
    return Judged((no_way_finding(own, "case.cannot_finish", known),), (own,))


def _given(lent: Worked, lost: LostMain, giver: str) -> Finding:
    gas = breath_of(lent.kit.plan_main(giver))
    at_min = lost.need.moment.at_min
    mixture = lent.kit.plan_main(giver).gas
    name = gas.cylinder if mixture is None else f"{mixture.mixture.name} ({gas.cylinder})"
    return finding(
        lent.kit.policy, "case.diver_alone", Subject(lost.diver, case=lent.case.name, at_min=at_min),
        case=lent.case.name, diver=lost.diver, giver=giver, gas=name, at=str(int(at_min)),
    )


def _givers(kit: Kit, contents: Mapping[str, Content], lost: LostMain) -> list[str]:
    """The buddies whose mains are known, the fullest first."""
    held = {
        d.id: sum(contents[c.id].available_l for c in kit.mains[d.id])
        for d in kit.dive.divers
        if d.id != lost.diver and kit.mains[d.id] and all(c.id in contents for c in kit.mains[d.id])
    }
    return sorted(held, key=lambda d: held[d], reverse=True)


def _name(lost: LostMain) -> str:
    what = lost.cylinder if lost.share == 1.0 else f"half of {lost.cylinder}"
    return f"lost {what} at minute {int(lost.need.moment.at_min)}"


def _case(lost: LostMain) -> Case:
    return Case(_name(lost), (lost.cylinder,), 0.0, 0.0, completed=False, schedule=None, oxygen={}, supply={})


def _on_own_gas(kit: Kit, contents: Mapping[str, Content], route: Route, lost: LostMain) -> Worked:
    rest = kit if lost.share < 1.0 else without(kit, (lost.cylinder,))
    if not rest.mains[lost.diver]:
        return unworked(kit, _case(lost), None, f"{lost.diver} has no bottom gas left")
    gas = breath_of(rest.plan_main(lost.diver))
    loss = Loss(lost.need.moment.at_min, rest, frozenset({lost.diver}))
    return _worked(kit, contents, route, lost, loss, gas)


def _on_gas_of(kit: Kit, contents: Mapping[str, Content], route: Route, lost: LostMain, giver: str) -> Worked:
    loss = Loss(lost.need.moment.at_min, kit, frozenset({lost.diver, giver}))
    return _worked(kit, contents, route, lost, loss, breath_of(kit.plan_main(giver)))


def _worked(
    kit: Kit, contents: Mapping[str, Content], route: Route, lost: LostMain, loss: Loss, gas: Breath
) -> Worked:
    """The case on the first way out that has a verified schedule, the diver on a gas instead of the lost one."""
    instead = replace(route, mains={**route.mains, lost.diver: gas})
    why = "no way out"
    for way in ways_out(kit, route, lost.need.moment):
        taken = _taking(kit, way, lost, gas)
        made = scheduled(request_of(kit, instead, taken.levels, taken.gases))
        if isinstance(made, Schedule):
            return worked_on(kit, _case(lost), made, _supply(kit, contents, made, lost, loss))
        why = refusal_text(kit, made)
    return unworked(kit, _case(lost), None, why)


def _taking(kit: Kit, way: Way, lost: LostMain, gas: Breath) -> Way:
    """The way with the level of the problem in two: from then on the diver breathes a gas instead of the own mains."""
    number, mains = lost.need.moment.level, {c.id for c in kit.mains[lost.diver]}
    here = way.levels[number]
    before_min = lost.need.moment.at_min - sum(level.minutes for level in way.levels[:number])
    after_min = max(here.minutes - before_min, kit.dive.settings.switch_min)
    levels: tuple[Level, ...] = (
        *way.levels[:number], replace(here, minutes=before_min), replace(here, minutes=after_min),
        *way.levels[number + 1 :],
    )
    given = (
        {**on_level, lost.diver: gas} if on_level[lost.diver].cylinder in mains else on_level
        for on_level in way.gases[number:]
    )
    return Way(levels, (*way.gases[: number + 1], *given))


def _supply(
    kit: Kit, contents: Mapping[str, Content], made: Schedule, lost: LostMain, loss: Loss
) -> Mapping[str, Supply]:
    draws = draws_of(kit, made, loss)
    supply = {i: supply_of_draws(contents[i], draws[i]) for i in kit.cylinders if i in draws and i in contents}
    supply[lost.cylinder] = _supply_of_lost(contents[lost.cylinder], draws.get(lost.cylinder, ()), lost)
    return supply


def _supply_of_lost(content: Content, draws: tuple[Draw, ...], lost: LostMain) -> Supply:
    """The cylinder of which some is lost: what is left of it, and whether that lasts."""
    at_min = lost.need.moment.at_min
    before_l = drawn_l(draws, at_min)
    gone = Draw(at_min, 0.0, max(0.0, content.available_l - before_l) * lost.share)
    parts = sorted((*draws, gone), key=lambda d: (d.start_min, d.free_l != gone.free_l))
    if lost.share == 1.0:
        used_l = sum(d.free_l for d in draws)
        return Supply(content.start_bar, 0.0, used_l)
    left = supply_of_draws(content, tuple(parts))
    used_l = left.used_l - gone.free_l
    half_l = max(0.0, (content.start_l - before_l) * (1.0 - lost.share) - (used_l - before_l))
    end_bar = gauge_bar_with(content, half_l / (1.0 - lost.share)) or 0.0
    return replace(left, used_l=used_l, end_bar=max(0.0, end_bar))
