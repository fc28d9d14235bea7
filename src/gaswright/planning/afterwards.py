"""When the divers may go into thinner air after a dive: the hours of the policy, and what the tissues ask for."""

from collections.abc import Mapping

from gaswright.decompression.ceiling_limits import ceiling_bar
from gaswright.decompression.coefficients import coefficients
from gaswright.decompression.request import Schedule, SegmentKind, Tissues
from gaswright.decompression.surface_interval import tissues_after
from gaswright.planning.around import Afterwards
from gaswright.planning.kit import Kit
from gaswright.planning.usage import bottom_end_min

__all__ = ["LONGEST_H", "afterwards_of", "hours_until"]

LONGEST_H = 72  # so many hours are looked at; beyond them none is named
SAME_TIME_MIN = 1e-6  # two runtimes of one instant, after binary rounding
ROUNDING_BAR = 1e-9  # binary rounding of a pressure


def afterwards_of(kit: Kit, schedule: Schedule) -> Mapping[str, Afterwards]:
    """Diver id to when he or she may fly or drive over a pass.

    Args:
        kit: gives policy, place and gradient factors.
        schedule: that is dived.
    """
    policy = kit.policy
    better_h = max(policy.fly_after_h, policy.fly_after_deco_h) if _stops(schedule) else policy.fly_after_h
    found = {}
    for diver, tissues in schedule.tissues.items():
        cabin_h = hours_until(kit, tissues, policy.cabin_bar)
        over_h = None if kit.dive.pass_bar is None else hours_until(kit, tissues, kit.dive.pass_bar)
        found[diver] = Afterwards(_later(cabin_h, policy.fly_after_h), _later(cabin_h, better_h), cabin_h, over_h)
    return found


def _later(tissues_h: float | None, hours_h: float) -> float | None:
    return None if tissues_h is None else max(tissues_h, hours_h)


def _stops(schedule: Schedule) -> bool:
    """Whether it is a decompression dive: the way up makes a halt."""
    up_min = bottom_end_min(schedule) - SAME_TIME_MIN
    return any(s.kind is SegmentKind.STOP and s.start_min >= up_min for s in schedule.segments)


def hours_until(kit: Kit, tissues: Tissues, ambient_bar: float) -> float | None:
    """Whole hours on air at the surface from which on the tissues allow a lower pressure; None: not within 72 h [h].

    The team's GF low is kept, the stricter of its two. After oxygen gas comes in as well as goes out, so the last hour
    that does not do decides, not the first that does.

    Args:
        kit: gives place and gradient factors.
        tissues: at the end of the dive.
        ambient_bar: absolute pressure that is gone to [bar]
    """
    found: float | None = None
    for hours in range(LONGEST_H, -1, -1):
        if not _allowed(kit, tissues, ambient_bar, hours):
            break
        found = float(hours)
    return found


def _allowed(kit: Kit, tissues: Tissues, ambient_bar: float, hours: int) -> bool:
    rested = tissues_after(tissues, hours * 60.0, kit.dive.place) if hours else tissues
    ceiling = ceiling_bar(rested.n2_bar, rested.he_bar, coefficients("C"), kit.dive.settings.gf_low / 100)
    return ceiling <= ambient_bar + ROUNDING_BAR
