"""The latest gauge pressure that somebody read on a cylinder."""

from collections.abc import Sequence

from gaswright.custody.ages import Clock
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import heads, of_kind, voids
from gaswright.custody.readings import whole

__all__ = ["latest_gauge_centibar"]

READ = (Kind.FILLED, Kind.TOPPED_UP, Kind.DRAINED, Kind.ANALYSED, Kind.PRESSURE_READ, Kind.BREATHED, Kind.STAGED,
        Kind.LIFTED)


def latest_gauge_centibar(stream: Sequence[Fact], clock: Clock) -> int | None:
    """The latest gauge pressure since the gas last changed, the lower one of equal times; None if nobody read it.

    A reading from the future does not count. If the latest reading was corrected away, or the cylinder was breathed
    from since, nothing older takes its place: the pressure is to be read again.

    Args:
        stream: facts of one cylinder's gas.
        clock: what time it is.
    """
    since = max((head.at for head in heads(stream)), default=None)
    read = [
        (fact.at, -(gauge or 0), gauge is not None and fact.id not in voids(stream)) for fact in of_kind(stream, *READ)
        if ((gauge := whole(fact, "gauge_centibar")) is not None or fact.kind == Kind.BREATHED)
        and (since is None or fact.at >= since) and clock.ahead_of_now(fact) is None
    ]
    if not read:
        return None
    _, negative_gauge, stands = max(read)
    return -negative_gauge if stands else None
