"""What the scheduler is asked, and what it answers: plain frozen data."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from gaswright.errors import GaswrightError
from gaswright.physics.place import Place

__all__ = [
    "Breath", "BreathingCycle", "CyclePhase", "Direction", "GasChange", "GradientUse", "Impossible", "ProfileLevel",
    "Schedule", "ScheduleImpossible", "ScheduleRequest", "Segment", "SegmentKind", "SpeedZone", "Tissues", "Unverified",
]


@dataclass(frozen=True, slots=True)
class Breath:
    """What one diver breathes, from which cylinder.

    Args:
        cylinder: id of the cylinder.
        o2: fraction of oxygen [fraction].
        he: fraction of helium [fraction].
    """

    cylinder: str
    o2: float
    he: float

    @property
    def n2(self) -> float:
        """Fraction of nitrogen, argon included; the last bit of a float sum past 1 is not a negative gas [fraction]."""
        return max(0.0, 1.0 - self.o2 - self.he)


class Direction(StrEnum):
    """When a gas change is made."""

    DOWN = "down"
    UP = "up"


@dataclass(frozen=True, slots=True)
class GasChange:
    """One team switch: made at a depth, one diver after the other in the order of `gas`.

    A diver who is not in `gas` stays on what he or she breathes.

    Args:
        direction: on the way down or on the final way up.
        depth_m: depth of the switch; on the way up a depth of the stop grid [m].
        gas: diver id to the gas switched to, in the order of the turns.
    """

    direction: Direction
    depth_m: float
    gas: Mapping[str, Breath]


@dataclass(frozen=True, slots=True)
class CyclePhase:
    """One part of a breathing cycle.

    Args:
        units: whole stop units that it lasts, at least 1.
        gas: diver id to the gas breathed; every phase of a cycle names the same divers.
    """

    units: int
    gas: Mapping[str, Breath]


@dataclass(frozen=True, slots=True)
class BreathingCycle:
    """Gases breathed in turns at the halts of the way up: oxygen breaks, or a cylinder that two divers share.

    It begins when the turns at `depth_m` are over, with its first phase, and repeats until the team arrives at
    `until_m`; then everybody keeps what he or she breathes, until a change. Its clock counts whole units of halts and
    stands still while the team goes up or takes turns. A gas is changed only as a unit begins, at once, without turns:
    a step is made on the gas of the unit before it. Minutes of a stop include the breaks.

    Args:
        depth_m: depth of the stop grid, or of the last level, at which it begins [m].
        phases: one after the other, then from the first again.
        until_m: depth at which it ends on arrival; 0: it holds to the surface [m].
    """

    depth_m: float
    phases: tuple[CyclePhase, ...]
    until_m: float = 0.0


@dataclass(frozen=True, slots=True)
class ProfileLevel:
    """One planned level; `minutes` include the travel (and turns) to it.

    Args:
        depth_m: depth [m].
        minutes: time from leaving the last level to leaving this one [min].
        gas: gases taken at arrival (a bottom stage named for this level); empty: nothing changes.
    """

    depth_m: float
    minutes: float
    gas: Mapping[str, Breath] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SpeedZone:
    """Ascent speed at and below a depth.

    Args:
        from_m: the zone reaches from this depth downwards [m].
        m_min: speed [m/min].
    """

    from_m: float
    m_min: float


@dataclass(frozen=True, slots=True)
class Tissues:
    """Inert gas tensions of the sixteen compartments of one diver.

    Args:
        n2_bar: nitrogen tensions, shape (16,) [bar].
        he_bar: helium tensions, shape (16,) [bar].
    """

    n2_bar: tuple[float, ...]
    he_bar: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ScheduleRequest:
    """A team's dive for the scheduler.

    Args:
        divers: ids, one to six, in the order of the card.
        start_gas: diver id to the gas at the start.
        levels: the planned levels in order.
        changes: gas changes, in the order in which they are met.
        place: where.
        gf_low: gradient factor at and below the first stop [fraction].
        gf_high: gradient factor at the surface [fraction].
        descent_m_min: descent speed [m/min].
        ascent_m_min: one ascent speed everywhere, or None for the default: `travel_m_min` to the first stop,
            `between_stops_m_min` between stops, `last_m_min` from the last stop [m/min].
        zones: ascent speeds by depth; empty: not used.
        stop_step_m: the stop grid; 10 ft is 3.048 [m].
        last_stop_m: depth of the last stop, on the grid [m].
        stop_unit_min: stops are whole multiples of this: 1, or 1/60 [min].
        switch_min: minutes per diver at a switch; 0: all at once [min].
        coefficient_set: "A", "B" or "C".
        tissues: tensions at the start per diver; None: saturated with air at `place.saturated_bar`.
        travel_m_min: default speed up to the first stop by decompression [m/min].
        between_stops_m_min: default speed from the first stop on [m/min].
        last_m_min: default speed from the last stop to the surface, once there was a stop [m/min].
        cycles: breathing cycles of the way up, deep first; at most one holds at a time.
    """

    divers: tuple[str, ...]
    start_gas: Mapping[str, Breath]
    levels: tuple[ProfileLevel, ...]
    changes: tuple[GasChange, ...]
    place: Place
    gf_low: float = 0.30
    gf_high: float = 0.80
    descent_m_min: float = 20.0
    ascent_m_min: float | None = None
    zones: tuple[SpeedZone, ...] = ()
    stop_step_m: float = 3.0
    last_stop_m: float = 6.0
    stop_unit_min: float = 1.0
    switch_min: float = 1.0
    coefficient_set: str = "C"
    tissues: Mapping[str, Tissues] | None = None
    travel_m_min: float = 9.0  # [USN4] 30 ft/min, rounded; trade: 9 to 10 m/min
    between_stops_m_min: float = 3.0  # common practice, no source
    last_m_min: float = 1.0  # common practice, no source
    cycles: tuple[BreathingCycle, ...] = ()


class SegmentKind(StrEnum):
    """What the team does during a segment."""

    DESCENT = "descent"
    LEVEL = "level"
    ASCENT = "ascent"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Segment:
    """One straight piece of the profile; it never spans a gas change.

    Args:
        kind: descent, level, ascent or stop.
        from_m: depth at its start [m].
        to_m: depth at its end [m].
        start_min: runtime at its start [min].
        minutes: how long it takes [min].
        gas: diver id to the gas breathed.
    """

    kind: SegmentKind
    from_m: float
    to_m: float
    start_min: float
    minutes: float
    gas: Mapping[str, Breath]

    @property
    def end_min(self) -> float:
        """Runtime at its end [min]."""
        return self.start_min + self.minutes


@dataclass(frozen=True, slots=True)
class GradientUse:
    """The highest gradient factor that a diver really used when leaving a depth.

    Args:
        depth_m: depth arrived at [m].
        gf_percent: supersaturation as percent of its limit [%].
        diver: whose.
    """

    depth_m: float
    gf_percent: float
    diver: str


@dataclass(frozen=True, slots=True)
class Schedule:
    """The schedule of a team, as the scheduler made it and the verifier passed it.

    Args:
        segments: from the surface to the surface, without gaps.
        anchor_m: diver id to the anchor of the gradient line; 0 if GF low was never refused [m].
        tts_min: from the end of the last level to the surface [min].
        runtime_min: the whole dive [min].
        tissues: diver id to the tensions at the surface.
        worst_gf: per stop and diver, from the replay.
    """

    segments: tuple[Segment, ...]
    anchor_m: Mapping[str, float]
    tts_min: float
    runtime_min: float
    tissues: Mapping[str, Tissues]
    worst_gf: tuple[GradientUse, ...] = ()


class Impossible(StrEnum):
    """Why no schedule exists."""

    LEVEL_ABOVE_CEILING = "level_above_ceiling"
    LEVEL_TOO_SHORT = "level_too_short"
    TOO_LONG = "too_long"


class ScheduleImpossible(GaswrightError):  # noqa: N818  planning turns it into a finding; the word says what it is
    """The dive that was asked for has no schedule; the attributes say where it breaks."""

    def __init__(
        self, reason: Impossible, text: str, *, depth_m: float, at_min: float, diver: str | None = None,
        ceiling_m: float | None = None,
    ) -> None:
        """Take the reason, the sentence, and depth, runtime, diver and ceiling of the break."""
        self.reason, self.depth_m, self.at_min = reason, depth_m, at_min
        self.diver, self.ceiling_m = diver, ceiling_m
        super().__init__(text)


class Unverified(GaswrightError):  # noqa: N818  planning turns it into the finding schedule.unverified
    """A schedule was made and the verifier did not pass it: it must not be used; `violations` say what it found."""

    def __init__(self, violations: tuple[str, ...]) -> None:
        """Take the sentences of the verifier."""
        self.violations = violations
        super().__init__("the schedule did not pass its replay: " + "; ".join(violations))
