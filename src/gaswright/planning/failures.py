"""Who can help: a lost gas judged, down to the single cylinder of a single diver, and what a buddy can give."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from gaswright.catalogue import finding
from gaswright.decompression.request import Schedule
from gaswright.findings import Finding, Subject
from gaswright.physics.depth_limits import ppo2_ata
from gaswright.physics.mixture import WHOLE_E4
from gaswright.planning.cases import lost_cylinder_case
from gaswright.planning.casework import Worked
from gaswright.planning.contents import Content
from gaswright.planning.dive import Supply
from gaswright.planning.kit import Kit
from gaswright.planning.request import Route
from gaswright.planning.team_gases import Step

__all__ = [
    "Gift", "Judged", "failure_findings", "gifts_for", "judged_loss", "news_of", "no_way_finding",
    "two_failures_findings",
]

ROUNDING = 1e-9  # binary rounding of a pressure
SHARE_ROUNDING_L = 1e-6  # binary rounding of a volume of gas


@dataclass(frozen=True, slots=True)
class Gift:
    """Gas that one diver gives to another.

    Args:
        giver: id of the diver who gives.
        cylinder: id of the cylinder it comes from.
        free_l: how much [L]
        from_min: runtime from which on [min]
    """

    giver: str
    cylinder: str
    free_l: float
    from_min: float


@dataclass(frozen=True, slots=True)
class Judged:
    """A lost gas, judged.

    Args:
        findings: the judgement.
        cases: the single failures that were worked out for it.
    """

    findings: tuple[Finding, ...]
    cases: tuple[Worked, ...]


def judged_loss(
    contents: Mapping[str, Content], route: Route, worked: Worked, step: Step, known: Sequence[str], *,
    shared: Callable[[str], Worked | None],
) -> Judged:
    """The judgement of a gas that the whole team lost.

    A team that finishes without it needs no finding. Else each of its cylinders is lost alone: if the team, together,
    cannot finish one such failure, that is a stop; if it can, a note says who gives what: gas that is left over, else a
    buddy's cylinder of the same gas, breathed in turns. The loss of several cylinders at once is then a note: more than
    one failure.

    Args:
        contents: what the cylinders hold at the start.
        route: gas side of the dive as planned.
        worked: the case with the whole gas lost.
        step: the gas.
        known: reasons that hold for the dive as planned and are said there.
        shared: the case in which a lost cylinder is replaced by turns on a buddy's; None where nobody has one.
    """
    if not news_of(worked, known):
        return Judged((), ())
    if len(step.cylinders) == 1:
        return Judged(tuple(failure_findings(worked, contents, known)), ())
    cylinders = dict.fromkeys(step.breathed.values())
    judged = [_single_loss(contents, route, worked.kit, cylinder, known, shared) for cylinder in cylinders]
    findings = [*(f for one in judged for f in one.findings), no_way_finding(worked, "case.two_failures", known)]
    return Judged(tuple(findings), tuple(single for one in judged for single in one.cases))


def _single_loss(
    contents: Mapping[str, Content], route: Route, kit: Kit, cylinder: str, known: Sequence[str],
    shared: Callable[[str], Worked | None],
) -> Judged:
    single = lost_cylinder_case(kit, contents, route, cylinder)
    if not news_of(single, known):
        return Judged((), ())
    findings = tuple(failure_findings(single, contents, known))
    if all(f.code != "case.cannot_finish" for f in findings):
        return Judged(findings, (single,))
    turns = shared(cylinder)
    if turns is None or news_of(turns, known):
        return Judged(findings, (single,))
    return Judged(tuple(_turns_findings(turns, cylinder)), (turns,))


def _turns_findings(turns: Worked, lost: str) -> Iterator[Finding]:
    """A note for each diver who breathes another's deco cylinder in turns, from the first minute on."""
    schedule = turns.case.schedule
    for receiver in turns.kit.cylinders[lost].divers:
        for segment in () if schedule is None else schedule.segments:
            breathed = turns.kit.cylinders[segment.gas[receiver].cylinder] if receiver in segment.gas else None
            if breathed is not None and receiver not in breathed.divers:
                yield _alone_finding(turns, receiver, [Gift(breathed.divers[0], breathed.id, 0.0, segment.start_min)])
                break


def news_of(worked: Worked, known: Sequence[str]) -> tuple[str, ...]:
    """Why a case cannot be finished, without what holds for the dive as planned too.

    Args:
        worked: the case.
        known: reasons that are said there.
    """
    return tuple(reason for reason in worked.why if reason not in known)


def no_way_finding(worked: Worked, code: str, known: Sequence[str]) -> Finding:
    """The finding that says why a case cannot be finished.

    Args:
        worked: the case.
        code: of the finding.
        known: reasons that hold for the dive as planned and are said there.
    """
    case, lost = worked.case.name, worked.case.lost
    cylinder = lost[0] if len(lost) == 1 else None
    owner = worked.kit.cylinders[cylinder].divers[0] if cylinder else None
    why = "; ".join(news_of(worked, known))
    return finding(worked.kit.policy, code, Subject(owner, cylinder, case), case=case, why=why)


def two_failures_findings(worked: Worked, known: Sequence[str]) -> Iterator[Finding]:
    """A note if two failures at once leave no way up.

    Args:
        worked: the case.
        known: reasons that hold for the dive as planned and are said there.
    """
    if news_of(worked, known):
        yield no_way_finding(worked, "case.two_failures", known)


def failure_findings(single: Worked, contents: Mapping[str, Content], known: Sequence[str]) -> Iterator[Finding]:
    """The judgement of a single failure: a stop if the team cannot finish it, a note if it can by giving gas.

    Args:
        single: the case.
        contents: what the cylinders hold at the start.
        known: reasons that hold for the dive as planned and are said there.
    """
    if not news_of(single, known):
        return
    gifts = gifts_for(single, contents)
    if gifts is None:
        yield no_way_finding(single, "case.cannot_finish", known)
        return
    for receiver, given in gifts.items():
        yield _alone_finding(single, receiver, given)


def _alone_finding(worked: Worked, receiver: str, given: Sequence[Gift]) -> Finding:
    givers = " and ".join(dict.fromkeys(g.giver for g in given))
    gas = " and ".join(dict.fromkeys(_gas_text(worked.kit, g) for g in given))
    return finding(
        worked.kit.policy, "case.diver_alone", Subject(receiver, case=worked.case.name, at_min=given[0].from_min),
        case=worked.case.name, diver=receiver, giver=givers, gas=gas, at=str(int(given[0].from_min)),
    )


def _gas_text(kit: Kit, gift: Gift) -> str:
    gas = kit.cylinders[gift.cylinder].gas
    return f"{gift.cylinder}" if gas is None else f"{gas.mixture.name} ({gift.cylinder})"


def gifts_for(worked: Worked, contents: Mapping[str, Content]) -> dict[str, list[Gift]] | None:
    """Diver id to what the others give so that all finish; None if they cannot.

    A gift must be breathable wherever it is needed, hold as much oxygen as the gas it replaces (within the tolerance
    at which two cylinders count as one gas), and be left over from the giver's own way up. Who
    runs out of something gives nothing.

    Args:
        worked: the case.
        contents: what the cylinders hold at the start.
    """
    schedule = worked.case.schedule
    if schedule is None or worked.other:
        return None
    spare = {
        c: contents[c].available_l - (worked.case.supply[c].used_l if c in worked.case.supply else 0.0)
        for c in worked.kit.cylinders if c in contents and c not in worked.case.lost
    }
    gifts: dict[str, list[Gift]] = {}
    for cylinder, supply in worked.case.supply.items():
        if supply.empty_at_min is None:
            continue
        span = _span_m(worked, schedule, cylinder, supply.empty_at_min)
        given = _collected(worked, spare, cylinder, supply, span)
        if given is None:
            return None
        gifts.setdefault(worked.uses[cylinder].divers[0], []).extend(given)
    return gifts


def _span_m(worked: Worked, schedule: Schedule, cylinder: str, from_min: float) -> tuple[float, float]:
    """Deepest and shallowest depth at which a cylinder is missed from a runtime on [m]."""
    missed = [
        s for s in schedule.segments
        if s.end_min > from_min and any(
            c.id == cylinder for d in worked.uses[cylinder].divers for c in worked.kit.pool(d, s.gas[d].cylinder)
        )
    ]
    depths = [depth for s in missed for depth in (s.from_m, s.to_m)]
    return max(depths), min(depths)


def _collected(
    worked: Worked, spare: dict[str, float], cylinder: str, supply: Supply, span_m: tuple[float, float]
) -> list[Gift] | None:
    """Gifts that cover what a cylinder is short of, the largest first; takes them from `spare`; None if too little."""
    out_of_gas = _out_of_gas(worked)
    givers = {
        other: next((d for d in worked.kit.cylinders[other].divers if d not in out_of_gas), None) for other in spare
    }
    fit = [c for c in spare if givers[c] is not None and _fits(worked.kit, c, cylinder, span_m)]
    given: list[Gift] = []
    missing_l = supply.short_l
    for other in sorted(fit, key=lambda c: spare[c], reverse=True):
        free_l = min(missing_l, max(0.0, spare[other]))
        giver = givers[other]
        if free_l <= SHARE_ROUNDING_L or giver is None:
            continue
        spare[other] -= free_l
        missing_l -= free_l
        given.append(Gift(giver, other, free_l, supply.empty_at_min or 0.0))
        if missing_l <= SHARE_ROUNDING_L:
            return given
    return None


def _out_of_gas(worked: Worked) -> set[str]:
    """The divers who run out of something themselves: they give nothing."""
    empty = (c for c, given in worked.case.supply.items() if given.empty_at_min is not None)
    return {diver for cylinder in empty for diver in worked.uses[cylinder].divers}


def _fits(kit: Kit, giving: str, replaced: str, span_m: tuple[float, float]) -> bool:
    gas, old = kit.cylinders[giving].gas, kit.cylinders[replaced].gas
    deep = kit.cylinders[giving].deep_gas
    if gas is None or old is None or deep is None:
        return False
    place, policy = kit.dive.place, kit.policy
    as_rich = gas.mixture.o2_e4 >= old.mixture.o2_e4 - policy.pair_o2_ask_percent * 100
    deep_ata = ppo2_ata(deep.rich_o2_e4 / WHOLE_E4, place.ambient_bar(span_m[0]))
    shallow_ata = ppo2_ata(gas.lean_o2_e4 / WHOLE_E4, place.ambient_bar(span_m[1]))
    deep_enough = deep_ata <= policy.ppo2_deco_ata + policy.ppo2_place_room_ata + ROUNDING
    return as_rich and deep_enough and shallow_ata >= policy.ppo2_low_stop_ata - ROUNDING
