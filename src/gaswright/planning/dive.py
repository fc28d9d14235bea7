"""A team's dive as planning sees it: people, cylinders with known gas, levels, settings. Plain frozen data."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from gaswright.analysis.reading import Reading
from gaswright.decompression.request import Direction, Schedule, SpeedZone
from gaswright.findings import Finding
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning.around import Afterwards, Before

__all__ = [
    "Basis", "Case", "Diver", "Level", "OwnCase", "OxygenDose", "Plan", "PlanCylinder", "Rig", "Role", "Settings",
    "Supply", "TeamDive", "TeamGas", "UnitSystem", "Usable",
]


class UnitSystem(StrEnum):
    """How a team reads depth and a diver pressure."""

    METRIC = "metric"
    IMPERIAL = "imperial"


class Rig(StrEnum):
    """How a diver carries the mains."""

    DOUBLES = "doubles"
    INDEPENDENT = "independent"
    SIDEMOUNT = "sidemount"
    SINGLE = "single"


class Role(StrEnum):
    """What a cylinder is for."""

    MAIN = "main"
    STAGE = "stage"
    TRAVEL = "travel"
    DECO = "deco"
    BAILOUT = "bailout"
    SUIT = "suit"
    SURFACE = "surface"


class Usable(StrEnum):
    """Which part of the gas above minimum gas may be used before the turn."""

    ALL = "all"
    HALF = "half"
    THIRD = "third"
    SIXTH = "sixth"


class Basis(StrEnum):
    """What a plan rests on: analysed gas, or targets (PLAN ONLY, never go)."""

    ANALYSED = "analysed"
    TARGET = "target"


@dataclass(frozen=True, slots=True)
class Diver:
    """One diver of the team.

    Args:
        id: short id.
        name: name on papers.
        initials: initials on labels.
        rmv_bottom_l_min: planned consumption on the bottom [L/min].
        rmv_deco_l_min: planned consumption at stops [L/min].
        rmv_stressed_l_min: stressed consumption [L/min].
        rig: how the mains are carried.
        units: how this diver reads pressures.
        planned: False: custody and labels only, not in the schedule.
        max_depth_m: qualified depth, None where not said [m].
        max_o2_e4: richest gas qualified for, None where not said [e-4].
        helium: qualified for helium, None where not said.
    """

    id: str
    name: str
    initials: str
    rmv_bottom_l_min: float
    rmv_deco_l_min: float
    rmv_stressed_l_min: float = 30.0
    rig: Rig = Rig.DOUBLES
    units: UnitSystem = UnitSystem.METRIC
    planned: bool = True
    max_depth_m: float | None = None
    max_o2_e4: int | None = None
    helium: bool | None = None


@dataclass(frozen=True, slots=True)
class PlanCylinder:
    """One analysed content (manifolded doubles: the sum) as planning needs it.

    Args:
        id: short id.
        serial: the stamped serial.
        divers: ids of those who breathe from it, in order; a team cylinder names all planned divers.
        role: what it is for.
        volume_l: water volume [L].
        working_pressure_bar: gauge [bar].
        gas: the analysed reading, or the target with U = 0 on a plan by targets; None: unknown, not plannable.
        basis: analysed or target.
        gauge_bar: gauge pressure measured at the analysis (later reading if there is one), None: nobody said [bar].
        temperature_k: temperature of the cylinder at that reading [K].
        pair: name of the pair it belongs to, None.
        isolator_open: of manifolded doubles; None where not said.
        target: the gas wished for, None where not said; groups the cylinders of one step, never a gas on a label.
        switch_depth_m: depth set by the trip for the switch on the way up, None: the MOD decides [m].
        leave_depth_m: depth at which it is left on the way down, None [m].
        staged: True if staged or hung, not carried.
        place_depth_m: where it is staged or hung, None [m].
        rich: the richest of several readings that agree: it speaks for MOD and ppO2, while `gas`, the leanest, speaks
            for decompression and hypoxia; None: there is one reading.
    """

    id: str
    serial: str
    divers: tuple[str, ...]
    role: Role
    volume_l: float
    working_pressure_bar: float
    gas: Reading | None
    basis: Basis
    gauge_bar: float | None
    temperature_k: float
    pair: str | None = None
    isolator_open: bool | None = None
    target: Mixture | None = None
    switch_depth_m: float | None = None
    leave_depth_m: float | None = None
    staged: bool = False
    place_depth_m: float | None = None
    rich: Reading | None = None

    @property
    def deep_gas(self) -> Reading | None:
        """The reading that speaks for MOD and for the ppO2 of the deepest use; None while the gas is unknown."""
        return self.gas if self.gas is None or self.rich is None else self.rich


@dataclass(frozen=True, slots=True)
class Level:
    """One planned level; minutes include the travel to it.

    Args:
        depth_m: depth [m].
        minutes: minutes [min].
        cylinder: id of the cylinder breathed there, None: mains.
        overhead: True where the way up is closed and the way out is back along the levels.
    """

    depth_m: float
    minutes: float
    cylinder: str | None = None
    overhead: bool = False


@dataclass(frozen=True, slots=True)
class Settings:
    """How the dive is planned; the keys and units of [settings] in the trip file.

    Args:
        gf_low: gradient factor at and below the first stop [%].
        gf_high: gradient factor at the surface [%].
        descent_m_min: descent speed [m/min].
        ascent_m_min: one speed everywhere; None: 9, then 3 between stops, 1 from the last [m/min].
        zones: ascent speeds by depth; empty: not used.
        stop_step_m: stop grid; 3 m, or 10 ft = 3.048 m [m].
        last_stop_m: last stop [m].
        stop_unit_min: unit of a stop [min].
        switch_min: per diver at a switch [min].
        oxygen_breaks: lean gas after each period of oxygen.
        cases: names of the cases to plan besides "planned".
        deeper_m: how much deeper the case "deeper" is [m].
        longer_min: how much longer the case "longer" is [min].
        usable: part of the gas above minimum gas that may be used.
        solve_min: time to solve the problem at depth in minimum gas [min].
        unusable_bar: gauge pressure that cannot be breathed [bar].
        delay_min: how much later the team leaves the last level in the case "delay" [min].
        stage_usable: of a bottom stage: half (and the policy's reserve stays too), or a third.
        share_min: how long a diver breathes before the next turn on a cylinder shared in turns [min].
    """

    gf_low: float = 30.0
    gf_high: float = 80.0
    descent_m_min: float = 20.0
    ascent_m_min: float | None = None
    zones: tuple[SpeedZone, ...] = ()
    stop_step_m: float = 3.0
    last_stop_m: float = 6.0
    stop_unit_min: float = 1.0
    switch_min: float = 1.0
    oxygen_breaks: bool = False
    cases: tuple[str, ...] = ("deeper", "longer", "lost-gas")
    deeper_m: float = 3.0
    longer_min: float = 5.0
    usable: Usable = Usable.THIRD
    solve_min: float = 1.0
    unusable_bar: float = 10.0
    delay_min: float = 3.0
    share_min: float = 5.0
    stage_usable: Usable = Usable.HALF


@dataclass(frozen=True, slots=True)
class OwnCase:
    """A case that the trip file describes.

    Args:
        name: of the case.
        deeper_m: how much deeper the deepest level is [m].
        longer_min: how much longer the deepest level is [min].
        delay_min: how much later the last level is left [min].
        lost: ids of cylinders that are not there from the start.
    """

    name: str
    deeper_m: float = 0.0
    longer_min: float = 0.0
    delay_min: float = 0.0
    lost: tuple[str, ...] = ()

    @property
    def failures(self) -> int:
        """How many things go wrong at once in it."""
        return len(self.lost) + sum(value > 0.0 for value in (self.deeper_m, self.longer_min, self.delay_min))


@dataclass(frozen=True, slots=True)
class TeamDive:
    """Everything a plan is computed from.

    Args:
        divers: the planned divers, in the order of the card, one to six.
        cylinders: every cylinder that the plan may use.
        levels: in order.
        place: where.
        settings: how.
        units: unit system of the team: sets the grid and every MOD.
        before: what the divers bring from earlier dives; None: this is the first.
        own_cases: cases that the trip file describes.
        pass_bar: pressure at the highest point of the way home, None: nobody said [bar].
    """

    divers: tuple[Diver, ...]
    cylinders: tuple[PlanCylinder, ...]
    levels: tuple[Level, ...]
    place: Place
    settings: Settings = field(default_factory=Settings)
    units: UnitSystem = UnitSystem.METRIC
    before: Before | None = None
    own_cases: tuple[OwnCase, ...] = ()
    pass_bar: float | None = None


@dataclass(frozen=True, slots=True)
class TeamGas:
    """The cylinders that serve one step of the way up (or down): one team switch.

    Args:
        depth_m: depth of the switch: the shallowest that its members allow [m].
        cylinders: diver id to the id of the cylinder, in the order of the turns.
        pulled_by: id of the member that makes the switch shallower than the others allow, None.
        would_be_m: the depth without that member [m].
        direction: on the way down (from travel gas) or up.
    """

    depth_m: float
    cylinders: Mapping[str, str]
    pulled_by: str | None = None
    would_be_m: float | None = None
    direction: Direction = Direction.UP


@dataclass(frozen=True, slots=True)
class OxygenDose:
    """Oxygen exposure of one diver in one dive.

    Args:
        cns_percent: share of the NOAA single-dive limit [%].
        otu: oxygen tolerance units.
        single_percent: the same with the earlier dives that count as one exposure with this [%].
        day_own_percent: share of the NOAA limit within 24 hours, this dive alone [%].
        day_percent: the same, earlier dives included [%].
        day_otu: oxygen tolerance units of this dive day, earlier dives included.
    """

    cns_percent: float
    otu: float
    single_percent: float = 0.0
    day_own_percent: float = 0.0
    day_percent: float = 0.0
    day_otu: float = 0.0


@dataclass(frozen=True, slots=True)
class Supply:
    """What one cylinder gives in one case; gauge pressures at the water's temperature.

    Args:
        start_bar: at the start [bar].
        end_bar: at the end, rounded by nobody; negative never: an empty cylinder is 0 with `short_l` [bar].
        used_l: free gas used, at 1.01325 bar and the water's temperature [L].
        minimum_bar: minimum gas, mains only [bar].
        turn_bar: turn pressure, mains only [bar].
        empty_at_min: runtime at which it falls to the unusable pressure, None if it lasts [min].
        short_l: free gas that is missing [L].
    """

    start_bar: float
    end_bar: float
    used_l: float
    minimum_bar: float | None = None
    turn_bar: float | None = None
    empty_at_min: float | None = None
    short_l: float = 0.0


@dataclass(frozen=True, slots=True)
class Case:
    """One way the dive may go, with its full schedule.

    Args:
        name: "planned", "deeper", "longer", "deeper and longer", "lost ...".
        lost: ids of the cylinders lost.
        delta_m: depth against the planned levels [m].
        delta_min: bottom time against the planned levels [min].
        completed: True if the schedule exists and no cylinder runs out.
        schedule: None where no schedule exists.
        oxygen: diver id to dose.
        supply: cylinder id to supply.
    """

    name: str
    lost: tuple[str, ...]
    delta_m: float
    delta_min: float
    completed: bool
    schedule: Schedule | None
    oxygen: Mapping[str, OxygenDose]
    supply: Mapping[str, Supply]


@dataclass(frozen=True, slots=True)
class Plan:
    """The answer of planning.

    Args:
        basis: analysed, or target if any cylinder in use lacks an analysis.
        team_gases: the switches of the planned case, in the order in which they are met.
        cases: the first is "planned".
        latest_leave_min: runtime at which the bottom must be left at the latest in the planned case [min].
        findings: every judgement of planning.
        printed: the planned schedule with every halt left on a whole minute, replayed: what slates say; None where
            there is none.
        afterwards: diver id to when he or she may fly or drive over a pass; empty without a schedule.
        entered: cylinder id to the whole percents that its computers are set to; empty without a schedule.
        entered_tts_min: TTS on the entered numbers; `printed` is the longer of both; None: they have no schedule [min].
    """

    basis: Basis
    team_gases: tuple[TeamGas, ...]
    cases: tuple[Case, ...]
    latest_leave_min: float
    findings: tuple[Finding, ...]
    printed: Schedule | None = None
    afterwards: Mapping[str, Afterwards] = field(default_factory=dict)
    entered: Mapping[str, Mixture] = field(default_factory=dict)
    entered_tts_min: float | None = None

    @property
    def planned(self) -> Case:
        """The case as planned."""
        return self.cases[0]
