"""Facts for tests, written short: one cylinder c1 of diver d1, times local to one day."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from gaswright.custody.fact import Fact, Kind
from gaswright.custody.folding import fold
from gaswright.custody.standing import Standing
from gaswright.exchange.policy_file import shipped_policy
from gaswright.policy import Policy

__all__ = [
    "DAY", "POLICY", "ZONE", "accepted", "analysed", "applied", "at_time", "change", "corrected", "fact",
    "registered", "standing_of", "with_policy",
]

DAY = date(2027, 5, 14)
ZONE = "Etc/GMT-2"  # two hours ahead of UTC all year
POLICY = shipped_policy()


def at_time(text: str, *, days: int = 0) -> datetime:
    """The moment of a local time "07:40" on the day of the tests, or days later."""
    hours, minutes = map(int, text.split(":"))
    return datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC) + timedelta(days=days, hours=hours - 2, minutes=minutes)


def fact(
    kind: str, id: str, at: str = "07:00", *, days: int = 0, by: str = "d1", after: tuple[str, ...] = (),  # noqa: A002  the field is called id
    rests_on: tuple[str, ...] = (), recorded: datetime | None = None, stream: str = "gas/c1", version: int = 1,
    **data: Any,  # noqa: ANN401  any value of a fact's data
) -> Fact:
    """One fact of any kind."""
    moment = at_time(at, days=days)
    return Fact(id, kind, stream, moment, recorded or moment, by, after, rests_on, data, version=version)


def change(id: str, kind: str = Kind.FILLED, at: str = "07:00", *, after: tuple[str, ...] = (), **more: Any) -> Fact:  # noqa: A002, ANN401  the field is called id; any value
    """A gas-changing fact."""
    return fact(kind, id, at, after=after, **more)


def analysed(
    id: str, on: str, at: str = "07:40", *, o2: int = 1820, he: int | None = 4460, after: tuple[str, ...] = (),  # noqa: A002  the field is called id
    days: int = 0, by: str = "d1", recorded: datetime | None = None, u: tuple[int, int] = (50, 100), **data: Any,  # noqa: ANN401  any value of a fact's data
) -> Fact:
    """An analysis of a head."""
    return fact(Kind.ANALYSED, id, at, days=days, by=by, after=after, rests_on=(on,), recorded=recorded,
                o2_e4=o2, he_e4=he, u_o2_e4=u[0], u_he_e4=u[1], **data)


def accepted(id: str, analysis: str, by: str, at: str = "07:50") -> Fact:  # noqa: A002  the field is called id
    """An acceptance of an analysis."""
    return fact(Kind.ACCEPTED, id, at, by=by, rests_on=(analysis,))


def applied(
    id: str, *analyses: str, read: str | None = "4711", at: str = "07:45", after: tuple[str, ...] = (),  # noqa: A002  the field is called id
) -> Fact:
    """A label put on."""
    return fact(Kind.LABEL_APPLIED, id, at, after=after, rests_on=analyses, serial_read=read)


def corrected(id: str, voids: str, at: str = "08:00", *, stream: str = "gas/c1") -> Fact:  # noqa: A002  the field is called id
    """A correction that voids one fact."""
    return fact(Kind.CORRECTED, id, at, stream=stream, voids=voids, reason="typed wrongly")


def registered(id: str = "R-1", *, after: tuple[str, ...] = (), **changes: Any) -> Fact:  # noqa: A002, ANN401  the field is called id; any value
    """A register fact of c1, with changed values."""
    data: dict[str, Any] = {
        "id": "c1", "serial": "AB 4711", "divers": ["d1"], "role": "main", "volume_ml": 24000,
        "working_centibar": 23200, "oxygen_clean": True, "tested_until": "2028-05-01", "visual_until": "2027-12-01",
        "permanent_mark": None, "target_o2_e4": 1800, "target_he_e4": 4500, "pair": None, "isolator_open": True,
    }
    return replace(fact(Kind.REGISTERED, id, "06:00", after=after, stream="register/c1"), data=data | changes)


def standing_of(*facts: Fact, now: str | datetime | None = "09:00", policy: Policy = POLICY) -> Standing:
    """The standing of c1, which is in the register."""
    register = () if any(one.kind == Kind.REGISTERED for one in facts) else (registered(),)
    moment = at_time(now) if isinstance(now, str) else now
    return fold((*register, *facts), "c1", policy, zone=ZONE, now=moment)


def with_policy(**changes: float) -> Policy:
    """The shipped policy with changed values."""
    return replace(POLICY, **changes)  # type: ignore[arg-type]
