"""What a trip file says, as typed rows: the plain data between the reader and the services.

All times are aware and in UTC (the trip's zone is for showing them); all quantities are canonical.
"""

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning.dive import Diver, Level, OwnCase, Role, Settings, UnitSystem
from gaswright.policy import Policy

__all__ = [
    "AnalysisRow", "AnswerRow", "CylinderRow", "DiveRow", "FillRow", "LabelRow", "LabelsOffRow", "PressureRow",
    "Surface", "Trip", "Where",
]


class Where(StrEnum):
    """Where a cylinder is during the dive."""

    CARRIED = "carried"
    STAGED = "staged"
    HUNG = "hung"


@dataclass(frozen=True, slots=True)
class CylinderRow:
    """One [[cylinder]]: the register's words and what the dive does with it.

    Args:
        id: short id.
        serial: the stamped serial; the id where the file gives none.
        divers: ids of those who breathe from it; "team" is resolved to all planned divers.
        role: what it is for.
        volume_l: water volume [L].
        working_pressure_bar: gauge [bar].
        team: True where the file says "team".
        target: the gas wished for, None.
        pair: name of the pair it is analysed with, None.
        isolator_open: None where not said.
        where: carried, staged or hung.
        place_depth_m: where it is staged or hung, None [m].
        switch_depth_m: on the stop grid, None [m].
        leave_depth_m: off it on the way down, None [m].
        oxygen_clean: False where not said.
        tested_until: hydrostatic test, None.
        visual_until: visual inspection, None.
        permanent_mark: with its unit ("21 m"), None.
        staged_at: when it was really left under water, None: only planned.
        staged_by: who left it there, None.
        staged_witness: the second name, None.
        line: line of its table in the file.
    """

    id: str
    serial: str
    divers: tuple[str, ...]
    role: Role
    volume_l: float
    working_pressure_bar: float
    team: bool = False
    target: Mixture | None = None
    pair: str | None = None
    isolator_open: bool | None = None
    where: Where = Where.CARRIED
    place_depth_m: float | None = None
    switch_depth_m: float | None = None
    leave_depth_m: float | None = None
    oxygen_clean: bool = False
    tested_until: date | None = None
    visual_until: date | None = None
    permanent_mark: str | None = None
    staged_at: datetime | None = None
    staged_by: str | None = None
    staged_witness: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class FillRow:
    """One [[fill]].

    Args:
        cylinder: id.
        at: when, UTC.
        by: who filled, "unknown" where not said.
        gauge_bar: pressure after the fill, None [bar].
        target: the gas aimed at, None.
        line: line of its table in the file.
    """

    cylinder: str
    at: datetime
    by: str = "unknown"
    gauge_bar: float | None = None
    target: Mixture | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class AnalysisRow:
    """One [[analysis]].

    Args:
        cylinder: id.
        at: when, UTC.
        by: id of who analysed.
        o2_e4: oxygen read [e-4].
        he_e4: helium read; None: not measured [e-4].
        u_o2_e4: expanded uncertainty of oxygen, the policy's where the row gives none [e-4].
        u_he_e4: expanded uncertainty of helium, the policy's where the row gives none [e-4].
        typed_o2: as typed.
        typed_he: as typed, "" where the row gives none.
        gauge_bar: pressure at the analysis, None: not read [bar].
        temperature_k: of the cylinder, None: not read [K].
        witness: who watched, None.
        accepted_by: ids of the divers who accepted it.
        analyser: which instrument, None.
        beside: True: a second reading that stands beside the earlier ones instead of replacing them.
        line: line of its table in the file.
    """

    cylinder: str
    at: datetime
    by: str
    o2_e4: int
    he_e4: int | None
    u_o2_e4: int
    u_he_e4: int
    typed_o2: str
    typed_he: str = ""
    gauge_bar: float | None = None
    temperature_k: float | None = None
    witness: str | None = None
    accepted_by: tuple[str, ...] = ()
    analyser: str | None = None
    beside: bool = False
    line: int = 0


@dataclass(frozen=True, slots=True)
class LabelRow:
    """One [[label]].

    Args:
        cylinder: id.
        at: when, UTC.
        by: id of who put it on.
        serial_read: the ID read from the metal.
        line: line of its table in the file.
    """

    cylinder: str
    at: datetime
    by: str
    serial_read: str
    line: int = 0


@dataclass(frozen=True, slots=True)
class LabelsOffRow:
    """One [[labels_off]].

    Args:
        cylinder: id.
        at: when, UTC.
        by: id of who took them off.
        line: line of its table in the file.
    """

    cylinder: str
    at: datetime
    by: str
    line: int = 0


@dataclass(frozen=True, slots=True)
class PressureRow:
    """One [[pressure]].

    Args:
        cylinder: id.
        at: when, UTC.
        by: id of who read it.
        gauge_bar: what was read [bar].
        line: line of its table in the file.
    """

    cylinder: str
    at: datetime
    by: str
    gauge_bar: float
    line: int = 0


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """One [[answer]]: a named person's answer to an ask.

    Args:
        code: of the finding.
        subject: id of the diver or cylinder, or name of the case or setting, that the finding is about; "" = the trip.
        by: id of who answers.
        at: when, UTC.
        text: the answer.
        line: line of its table in the file.
    """

    code: str
    subject: str
    by: str
    at: datetime
    text: str
    line: int = 0


@dataclass(frozen=True, slots=True)
class DiveRow:
    """One dive: a [[dive]] with its levels; "dive" where the file names none.

    Args:
        id: short id.
        start: when, UTC; None where not said.
        levels: in order, at least one.
        after: id of the previous dive, or another trip file; None.
    """

    id: str
    start: datetime | None
    levels: tuple[Level, ...]
    after: str | None = None


@dataclass(frozen=True, slots=True)
class Surface:
    """Emergency oxygen at the surface.

    Args:
        oxygen_l: free oxygen on board [L].
        ride_min: time to help [min].
        persons: how many may need it.
    """

    oxygen_l: float
    ride_min: float
    persons: int


@dataclass(frozen=True, slots=True)
class Trip:
    """Everything a trip file says.

    Args:
        name: of the trip.
        day: its date.
        zone: IANA name of its time zone.
        units: unit system of the team.
        place: where; `water_temperature_k` is set.
        settings: how dives are planned.
        policy: shipped, changed by the user's file and by [settings].
        divers: all, planned or not, in file order.
        cylinders: in file order.
        dives: empty where the file gives no levels.
        fills: in file order.
        analyses: in file order.
        labels: in file order.
        labels_off: in file order.
        pressures: in file order.
        answers: in file order.
        surface: None where not said.
        emergency: lines for the card, key and text, in file order.
        input_sha256: of the bytes of the file.
        file: name of the file, as in problems.
        cases: what else may go wrong, as the file describes it.
        pass_bar: pressure at the highest point of the way home, None: nobody said [bar].
        folder: where the file lies; "" where it was not read from a file.
    """

    name: str
    day: date
    zone: str
    units: UnitSystem
    place: Place
    settings: Settings
    policy: Policy
    divers: tuple[Diver, ...]
    cylinders: tuple[CylinderRow, ...]
    dives: tuple[DiveRow, ...] = ()
    fills: tuple[FillRow, ...] = ()
    analyses: tuple[AnalysisRow, ...] = ()
    labels: tuple[LabelRow, ...] = ()
    labels_off: tuple[LabelsOffRow, ...] = ()
    pressures: tuple[PressureRow, ...] = ()
    answers: tuple[AnswerRow, ...] = ()
    surface: Surface | None = None
    emergency: tuple[tuple[str, str], ...] = field(default=())
    input_sha256: str = ""
    file: str = ""
    cases: tuple[OwnCase, ...] = ()
    pass_bar: float | None = None
    folder: str = ""

    @property
    def planned_divers(self) -> tuple[Diver, ...]:
        """The divers of the schedule, in the order of the card."""
        return tuple(diver for diver in self.divers if diver.planned)

    def diver(self, diver_id: str) -> Diver:
        """The diver of an id.

        Args:
            diver_id: an id of the file.
        """
        return next(diver for diver in self.divers if diver.id == diver_id)

    def cylinder(self, cylinder_id: str) -> CylinderRow:
        """The cylinder of an id.

        Args:
            cylinder_id: an id of the file.
        """
        return next(row for row in self.cylinders if row.id == cylinder_id)
