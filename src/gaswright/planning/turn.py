"""Minimum gas and turn pressure on the mains of each diver, and what mends it where they do not hold."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gaswright.planning.contents import Content, gauge_bar_with
from gaswright.planning.dive import Usable
from gaswright.planning.kit import Kit
from gaswright.planning.minimum_gas import Need
from gaswright.planning.usage import Draw, drawn_l

__all__ = ["BottomGas", "bottom_gas_of", "latest_leave_min", "turn_pressures_bar", "usable_share"]

ROUNDING_L = 1e-6  # binary rounding of a volume of gas
USABLE_SHARES = {Usable.ALL: 1.0, Usable.HALF: 1 / 2, Usable.THIRD: 1 / 3, Usable.SIXTH: 1 / 6}


@dataclass(frozen=True, slots=True)
class BottomGas:
    """How the mains of one diver stand against minimum gas.

    Args:
        diver: id.
        minimum_l: cylinder id to the gas it must hold, what cannot be breathed included [L]
        minimum_bar: cylinder id to the same as a gauge pressure; None above what a cylinder can hold [bar]
        turn_bar: cylinder id to the turn pressure; None where minimum gas is not even there at the start [bar]
        short_at_start_l: free gas that is missing before the dive [L]
        short_l: free gas that is missing when the bottom is left as planned [L]
        leave_min: latest runtime at which the bottom can be left with minimum gas in hand, None: at no minute [min]
        volume_l: water volume of mains that would hold it at the same pressure [L]
    """

    diver: str
    minimum_l: Mapping[str, float]
    minimum_bar: Mapping[str, float | None]
    turn_bar: Mapping[str, float | None]
    short_at_start_l: float
    short_l: float
    leave_min: float | None
    volume_l: float


def usable_share(usable: Usable) -> float:
    """The share of the gas above minimum gas that may be used before the turn [fraction].

    Args:
        usable: the team's rule.
    """
    return USABLE_SHARES[usable]


def bottom_gas_of(
    kit: Kit, diver: str, needs: Sequence[Need], contents: Mapping[str, Content], draws: Mapping[str, tuple[Draw, ...]]
) -> BottomGas | None:
    """How the mains of a diver stand; None while the pressure of one of them is unknown.

    The mains of a diver share the need evenly by volume, as they share the use.

    Args:
        kit: of the dive.
        diver: id.
        needs: at every moment of the bottom phase, in time order; not empty.
        contents: what the cylinders hold at the start.
        draws: of the planned case.
    """
    mains = kit.mains[diver]
    if any(c.id not in contents for c in mains):
        return None
    held = [contents[c.id] for c in mains]
    shares = {c.cylinder: c.volume_l / sum(h.volume_l for h in held) for c in held}
    most_l = max(need.free_l[diver] for need in needs)
    end_min = needs[-1].moment.at_min
    minimum_l = {c.cylinder: most_l * shares[c.cylinder] + c.unusable_l for c in held}
    used_l = {c.cylinder: drawn_l(draws.get(c.cylinder, ()), end_min) for c in held}
    return BottomGas(
        diver=diver,
        minimum_l=minimum_l,
        minimum_bar={c.cylinder: gauge_bar_with(c, minimum_l[c.cylinder]) for c in held},
        turn_bar=turn_pressures_bar(held, minimum_l, usable_share(kit.dive.settings.usable)),
        short_at_start_l=_missing_l(held, minimum_l, dict.fromkeys(used_l, 0.0)),
        short_l=_missing_l(held, minimum_l, used_l),
        leave_min=latest_leave_min(diver, needs, held, shares, draws),
        volume_l=_volume_holding_l(held, minimum_l, used_l),
    )


def _missing_l(held: Sequence[Content], minimum_l: Mapping[str, float], used_l: Mapping[str, float]) -> float:
    missing = sum(max(0.0, minimum_l[c.cylinder] + used_l[c.cylinder] - c.start_l) for c in held)
    return missing if missing > ROUNDING_L else 0.0


def _volume_holding_l(held: Sequence[Content], minimum_l: Mapping[str, float], used_l: Mapping[str, float]) -> float:
    """Water volume of mains that would hold it: what a cylinder holds is proportional to its volume [L]."""
    total_l = sum(c.volume_l for c in held)
    factors = [
        (minimum_l[c.cylinder] - c.unusable_l + used_l[c.cylinder]) / c.available_l if c.available_l > 0.0 else math.inf
        for c in held
    ]
    return total_l * max(factors)


def turn_pressures_bar(
    held: Sequence[Content], minimum_l: Mapping[str, float], share: float
) -> dict[str, float | None]:
    """The turn pressure of each of a diver's mains: start less the share of the gas above minimum gas [bar].

    Unequal cylinders turn by the smaller: from each only what the one with the least gas above minimum may give.

    Args:
        held: the mains of one diver.
        minimum_l: cylinder id to the gas it must hold [L]
        share: of the gas above minimum gas that may be used [fraction]
    """
    least_l = min(c.start_l - minimum_l[c.cylinder] for c in held)
    if least_l < 0.0:
        return {c.cylinder: None for c in held}
    return {c.cylinder: gauge_bar_with(c, c.start_l - least_l * share) for c in held}


def latest_leave_min(
    diver: str, needs: Sequence[Need], held: Sequence[Content], shares: Mapping[str, float],
    draws: Mapping[str, tuple[Draw, ...]],
) -> float | None:
    """The last moment up to which the mains hold what the largest need so far asks for; None: not even the first [min].

    Args:
        diver: id.
        needs: in time order.
        held: the mains.
        shares: cylinder id to its share of the need [fraction]
        draws: of the planned case.
    """
    latest: float | None = None
    most_l = 0.0
    for need in needs:
        most_l = max(most_l, need.free_l[diver])
        at_min = need.moment.at_min
        if any(
            c.available_l - drawn_l(draws.get(c.cylinder, ()), at_min) < most_l * shares[c.cylinder] - ROUNDING_L
            for c in held
        ):
            break
        latest = at_min
    return latest
