"""The way out if the dive is broken off at a minute of the bottom phase: solve at depth, back along an overhead, up."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.decompression.request import Breath, Schedule, ScheduleRequest, SegmentKind
from gaswright.planning.dive import Level, Settings
from gaswright.planning.kit import Kit
from gaswright.planning.request import Route, request_of
from gaswright.planning.usage import bottom_end_min

__all__ = ["Moment", "Way", "moments_of", "way_out_requests", "ways_out"]

DEFAULT_ASCENT_M_MIN = 9.0  # [GASWRIGHT] contract: the speed to the first stop where none is set
SAME_TIME_MIN = 1e-6  # two runtimes of one instant, after binary rounding
TRAVEL_ROOM_MIN = 1e-6  # so that a piece of the way is never too short by binary rounding


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of the bottom phase at which something may go wrong.

    Args:
        at_min: runtime [min]
        level: index of the level the team is on.
        arrived_min: runtime at which the team was on that level, its turns done [min]
        depth_m: depth of the level [m]
    """

    at_min: float
    level: int
    arrived_min: float
    depth_m: float


def moments_of(schedule: Schedule, levels: Sequence[Level]) -> tuple[Moment, ...]:
    """Every minute of the time spent on the levels, their first and last moments included.

    Args:
        schedule: of the planned profile.
        levels: the planned levels.
    """
    moments: list[Moment] = []
    leave_min = 0.0
    for index, level in enumerate(levels):
        leave_min += level.minutes
        arrived_min = _arrival_min(schedule, leave_min - level.minutes, leave_min)
        whole = int(leave_min - arrived_min + SAME_TIME_MIN)
        times = [arrived_min + k for k in range(whole + 1)]
        if leave_min - times[-1] > SAME_TIME_MIN:
            times.append(leave_min)
        moments.extend(Moment(t, index, arrived_min, level.depth_m) for t in times)
    return tuple(m for m in moments if m.at_min <= bottom_end_min(schedule) + SAME_TIME_MIN)


def _arrival_min(schedule: Schedule, from_min: float, leave_min: float) -> float:
    """Runtime at which the team is on a level, turns included; a level that is only touched is left at once [min]."""
    stays = (
        s.start_min for s in schedule.segments
        if s.kind is SegmentKind.LEVEL and from_min - SAME_TIME_MIN <= s.start_min
        and s.end_min <= leave_min + SAME_TIME_MIN
    )
    return next(stays, leave_min)


@dataclass(frozen=True, slots=True)
class Way:
    """One way out of a dive that is broken off.

    Args:
        levels: the whole profile: as planned up to the problem, then the way to where the team goes up.
        gases: what each diver breathes on each of them.
    """

    levels: tuple[Level, ...]
    gases: tuple[Mapping[str, Breath], ...]


def ways_out(kit: Kit, route: Route, moment: Moment) -> tuple[Way, ...]:
    """The ways that lead out if a dive is broken off at a moment, the shortest first.

    The team stays the time to solve the problem, then, under an overhead, takes the way back along the levels or the
    rest of the planned way, and then goes up.

    Args:
        kit: of the dive.
        route: its gas side.
        moment: when.
    """
    levels, here = kit.dive.levels, kit.dive.levels[moment.level]
    stay_min = moment.at_min - sum(level.minutes for level in levels[: moment.level]) + kit.dive.settings.solve_min
    here_gas = route.bottom[moment.level]
    ways: list[tuple[tuple[Level, ...], tuple[Mapping[str, Breath], ...]]]
    if not here.overhead:
        ways = [((replace(here, minutes=0.0),), (here_gas,))]
    else:
        back, forth = _way_back(levels, kit.dive.settings, moment), _way_forth(levels, moment)
        forth_gas = route.bottom[moment.level : moment.level + len(forth)]
        ways = sorted([(back, (here_gas,) * len(back)), (forth, forth_gas)], key=lambda way: _minutes(way[0]))
    return tuple(
        Way((*levels[: moment.level], replace(here, minutes=stay_min + way[0].minutes), *way[1:]),
            (*route.bottom[: moment.level], *gases))
        for way, gases in ways
    )


def way_out_requests(kit: Kit, route: Route, moment: Moment) -> tuple[ScheduleRequest, ...]:
    """The requests for a dive that is broken off at a moment: the ways that lead out, the shortest first.

    Args:
        kit: of the dive.
        route: its gas side.
        moment: when.
    """
    return tuple(request_of(kit, route, way.levels, way.gases) for way in ways_out(kit, route, moment))


def _minutes(way: Sequence[Level]) -> float:
    return sum(level.minutes for level in way)


def _way_back(levels: Sequence[Level], settings: Settings, moment: Moment) -> tuple[Level, ...]:
    """Back along the overhead: as long on this level as since the arrival, then the levels before it."""
    way = [replace(levels[moment.level], minutes=moment.at_min - moment.arrived_min)]
    for index in range(moment.level - 1, -1, -1):
        if not levels[index].overhead:
            break
        travel_min = _travel_min(settings, way[-1].depth_m, levels[index].depth_m) + TRAVEL_ROOM_MIN
        way.append(replace(levels[index], minutes=levels[index].minutes + travel_min))
    return tuple(way)


def _way_forth(levels: Sequence[Level], moment: Moment) -> tuple[Level, ...]:
    """The rest of the plan, to the end of the overhead."""
    end_min = sum(level.minutes for level in levels[: moment.level + 1])
    way = [replace(levels[moment.level], minutes=max(0.0, end_min - moment.at_min))]
    for level in levels[moment.level + 1 :]:
        if not level.overhead:
            break
        way.append(level)
    return tuple(way)


def _travel_min(settings: Settings, from_m: float, to_m: float) -> float:
    slowest = min((zone.m_min for zone in settings.zones), default=settings.ascent_m_min or DEFAULT_ASCENT_M_MIN)
    return (to_m - from_m) / settings.descent_m_min if to_m > from_m else (from_m - to_m) / slowest
