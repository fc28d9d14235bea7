"""Plain dives for the unit tests: one team, 60 m, 18/45, 50 and oxygen, unless told otherwise."""

from dataclasses import replace
from typing import Any

from gaswright.decompression.request import (
    Breath,
    Direction,
    GasChange,
    ProfileLevel,
    Schedule,
    ScheduleRequest,
    Segment,
    SegmentKind,
)
from gaswright.physics.place import Place

__all__ = ["gas_for", "on_the_way_up", "sixty_metres", "stop_minutes"]


def gas_for(divers: tuple[str, ...], name: str, o2: float, he: float = 0.0) -> dict[str, Breath]:
    """The same mixture for every diver, from a cylinder of his or her own."""
    return {diver: Breath(f"{diver}-{name}", o2, he) for diver in divers}


def sixty_metres(divers: int = 1, **settings: Any) -> ScheduleRequest:  # noqa: ANN401  any field of the request
    """60 m for 25 min on 18/45, 50 % at 21 m, oxygen at 6 m, GF 30/80, 1 min units."""
    team = tuple(f"d{number + 1}" for number in range(divers))
    request = ScheduleRequest(
        team, gas_for(team, "main", 0.18, 0.45), (ProfileLevel(60.0, 25.0),),
        (
            GasChange(Direction.UP, 21.0, gas_for(team, "deco", 0.5)),
            GasChange(Direction.UP, 6.0, gas_for(team, "oxygen", 1.0)),
        ),
        Place(),
    )
    return replace(request, **settings)


def on_the_way_up(request: ScheduleRequest, made: Schedule) -> list[Segment]:
    """The segments after the last level."""
    end_min = sum(level.minutes for level in request.levels)
    return [piece for piece in made.segments if piece.start_min >= end_min - 1e-6]


def stop_minutes(request: ScheduleRequest, made: Schedule) -> dict[float, float]:
    """Depth to minutes of every halt on the way up."""
    halts: dict[float, float] = {}
    for piece in on_the_way_up(request, made):
        if piece.kind is SegmentKind.STOP:
            key = round(piece.from_m, 6)
            halts[key] = halts.get(key, 0.0) + piece.minutes
    return halts
