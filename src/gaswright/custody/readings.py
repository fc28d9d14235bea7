"""The reading in a fact of analysis, or why it says none."""

from gaswright.analysis.reading import Reading
from gaswright.custody.fact import Fact
from gaswright.custody.standing import Unknown
from gaswright.errors import InputError
from gaswright.physics.mixture import Mixture
from gaswright.policy import Policy

__all__ = ["reading_of", "whole"]


def whole(fact: Fact, key: str) -> int | None:
    """The integer under a key of a fact's data; None if there is none.

    Args:
        fact: whose data is read.
        key: its name ends in the unit.
    """
    value = fact.data.get(key)
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def reading_of(fact: Fact, policy: Policy) -> Reading | Unknown:
    """The reading of an analysis, or the reason why it gives none.

    An uncertainty that the fact does not state is the policy's.

    Args:
        fact: a gas.analysed.
        policy: whose uncertainty holds where none is stated.
    """
    if len(fact.rests_on) != 1:
        return Unknown.TWO_HEADS
    o2_e4, he_e4 = whole(fact, "o2_e4"), whole(fact, "he_e4")
    if o2_e4 is None:
        return Unknown.UNKNOWN_KIND
    if he_e4 is None:
        return Unknown.HELIUM_NOT_MEASURED if fact.data.get("he_e4") is None else Unknown.UNKNOWN_KIND
    u_o2_e4 = _stated(fact, "u_o2_e4", policy.u_o2_percent)
    u_he_e4 = _stated(fact, "u_he_e4", policy.u_he_percent)
    if min(u_o2_e4, u_he_e4) < 0:
        return Unknown.UNKNOWN_KIND
    try:
        return Reading(Mixture(o2_e4, he_e4), u_o2_e4, u_he_e4)
    except InputError:
        return Unknown.UNKNOWN_KIND


def _stated(fact: Fact, key: str, policy_percent: float) -> int:
    if fact.data.get(key) is None:
        return round(policy_percent * 100)
    value = whole(fact, key)
    return -1 if value is None else value
