"""What each cylinder gives in one case: start, end, use, when it runs out and by how much it is short."""

from collections.abc import Mapping

from gaswright.decompression.request import Schedule
from gaswright.planning.contents import Content, gauge_bar_with
from gaswright.planning.dive import Supply
from gaswright.planning.kit import Kit
from gaswright.planning.usage import Draw, draws_of

__all__ = ["empty_at_min", "supply_of", "supply_of_draws"]

ROUNDING_L = 1e-6  # binary rounding of a volume of gas


def supply_of(kit: Kit, schedule: Schedule, contents: Mapping[str, Content]) -> Mapping[str, Supply]:
    """Cylinder id to its supply, for every cylinder breathed whose pressure is known.

    Args:
        kit: of the dive.
        schedule: of the team.
        contents: what the cylinders hold at the start.
    """
    draws = draws_of(kit, schedule)
    return {i: supply_of_draws(contents[i], draws[i]) for i in kit.cylinders if i in draws and i in contents}


def supply_of_draws(content: Content, draws: tuple[Draw, ...]) -> Supply:
    """The supply of one cylinder; no pressure is rounded.

    Args:
        content: at the start.
        draws: all that is taken from it, in time order.
    """
    used_l = sum(d.free_l for d in draws)
    short_l = max(0.0, used_l - content.available_l)
    end_bar = gauge_bar_with(content, max(0.0, content.start_l - used_l))
    return Supply(
        start_bar=content.start_bar,
        end_bar=max(0.0, end_bar or 0.0),
        used_l=used_l,
        empty_at_min=empty_at_min(content.available_l, draws) if short_l > ROUNDING_L else None,
        short_l=short_l if short_l > ROUNDING_L else 0.0,
    )


def empty_at_min(available_l: float, draws: tuple[Draw, ...]) -> float | None:
    """Runtime at which the gas that can be breathed is used up; None if it lasts [min].

    Args:
        available_l: free gas that can be breathed [L]
        draws: in time order.
    """
    left_l = available_l
    for draw in draws:
        if draw.free_l > left_l:
            return draw.start_min + draw.minutes * left_l / draw.free_l
        left_l -= draw.free_l
    return None

