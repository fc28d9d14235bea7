"""The oxygen clock: share of the NOAA limit (CNS) and oxygen tolerance units, exact for straight pieces of a dive."""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from gaswright.errors import GaswrightError
from gaswright.oxygen.limits import NOAA_LIMITS
from gaswright.physics.mixture import OXYGEN_NAME_FROM_E4, WHOLE_E4
from gaswright.physics.place import ATM_BAR, Place

__all__ = [
    "COUNTED_FROM_ATA", "DAY_RATES_PER_MIN", "TABLE_END_ATA", "TABLE_ROOM_END_ATA", "Breathed", "Dose",
    "OxygenBeyondTable", "Piece", "cns_rate_per_min", "dose", "piece_cns", "piece_otu",
]

NODES_ATA = tuple(row.po2_deci_ata / 10 for row in NOAA_LIMITS)  # [NOAA] exact as printed
RATES_PER_MIN = tuple(1 / row.single_min for row in NOAA_LIMITS)  # [NOAA] one over the single limit
DAY_RATES_PER_MIN = tuple(1 / row.day24h_min for row in NOAA_LIMITS)  # [NOAA] one over the limit within 24 hours
COUNTED_FROM_ATA = 0.6  # [NOAA] the table begins here; below it nothing is counted
TABLE_END_ATA = 1.6  # [NOAA] the table ends here
TABLE_ROOM_END_ATA = 1.65  # [GASWRIGHT] physics: counted at the rate of 1.6 up to here, refused above
OTU_FROM_ATA = 0.5  # [OTU] threshold of the formula, exact
ROUNDING_ATA = 1e-9  # binary rounding of a pressure; far below any digit that is printed
FLAT_ATA = 1e-6  # a ramp flatter than this is taken at its middle: the closed form would cancel digits


class OxygenBeyondTable(GaswrightError):  # noqa: N818  named for the fact, as its callers act on it
    """The oxygen partial pressure lies beyond the oxygen table; nothing is extrapolated."""

    def __init__(self, po2_ata: float, depth_m: float | None = None, at_min: float | None = None,
                 cylinder: str | None = None) -> None:
        """Keep what is known of the place: pressure, depth, runtime and cylinder."""
        self.po2_ata, self.depth_m, self.at_min, self.cylinder = po2_ata, depth_m, at_min, cylinder
        super().__init__(
            f"ppO2 {po2_ata:.2f} ata is beyond the oxygen table, which is used up to {TABLE_ROOM_END_ATA} ata; "
            "plan it shallower or on a leaner gas"
        )


class Breathed(Protocol):
    """A gas that is breathed: its fraction of oxygen and its cylinder."""

    @property
    def o2(self) -> float:
        """Fraction of oxygen [fraction]."""

    @property
    def cylinder(self) -> str:
        """Id of the cylinder."""


class Piece(Protocol):
    """One straight piece of a dive."""

    @property
    def from_m(self) -> float:
        """Depth at its start [m]."""

    @property
    def to_m(self) -> float:
        """Depth at its end [m]."""

    @property
    def start_min(self) -> float:
        """Runtime at its start [min]."""

    @property
    def minutes(self) -> float:
        """How long it takes [min]."""

    @property
    def gas(self) -> Mapping[str, Breathed]:
        """Diver id to the gas breathed."""


@dataclass(frozen=True, slots=True)
class Dose:
    """Oxygen exposure of one diver over one dive.

    Args:
        cns_fraction: share of the NOAA single-exposure limit [fraction]
        otu: oxygen tolerance units.
        peak_ata: highest oxygen partial pressure [ata]
        peak_depth_m: depth of that peak [m]
        longest_oxygen_min: longest time on oxygen (98 % or more) without a break [min]
        day_fraction: share of the NOAA limit within 24 hours [fraction]
    """

    cns_fraction: float
    otu: float
    peak_ata: float
    peak_depth_m: float
    longest_oxygen_min: float
    day_fraction: float = 0.0


def cns_rate_per_min(po2_ata: float, rates_per_min: tuple[float, ...] = RATES_PER_MIN) -> float:
    """Share of the limit per minute: 1/limit, linear between the nodes of the table [1/min].

    Args:
        po2_ata: partial pressure of oxygen, 0 to 1.65 [ata]
        rates_per_min: at the nodes: of the single limit, or `DAY_RATES_PER_MIN` of the limit within 24 hours [1/min]

    Raises:
        OxygenBeyondTable: above 1.65 ata.

    Source:
        NOAA
    """
    if po2_ata > TABLE_ROOM_END_ATA + ROUNDING_ATA:
        raise OxygenBeyondTable(po2_ata)
    if po2_ata < COUNTED_FROM_ATA - ROUNDING_ATA:
        return 0.0
    if po2_ata >= TABLE_END_ATA:
        return rates_per_min[-1]
    low = max(0, bisect_right(NODES_ATA, po2_ata) - 1)
    share = max(0.0, po2_ata - NODES_ATA[low]) / (NODES_ATA[low + 1] - NODES_ATA[low])
    return rates_per_min[low] + share * (rates_per_min[low + 1] - rates_per_min[low])


def piece_cns(
    minutes: float, from_ata: float, to_ata: float, rates_per_min: tuple[float, ...] = RATES_PER_MIN
) -> float:
    """Share of the NOAA limit of a piece on which the partial pressure changes evenly: the exact integral [fraction].

    Args:
        minutes: how long it takes [min]
        from_ata: partial pressure of oxygen at its start [ata]
        to_ata: partial pressure of oxygen at its end [ata]
        rates_per_min: at the nodes: of the single limit, or `DAY_RATES_PER_MIN` of the limit within 24 hours [1/min]

    Raises:
        OxygenBeyondTable: either end lies above 1.65 ata.

    Source:
        NOAA
    """
    low, high = min(from_ata, to_ata), max(from_ata, to_ata)
    end_rate = cns_rate_per_min(high, rates_per_min)
    if high - low < ROUNDING_ATA:
        return minutes * end_rate
    counted = max(low, COUNTED_FROM_ATA)
    if counted >= high:
        return 0.0
    marks = (counted, *(node for node in NODES_ATA if counted < node < high), high)
    rates = [cns_rate_per_min(mark, rates_per_min) for mark in marks]
    area = sum((marks[i + 1] - marks[i]) * (rates[i] + rates[i + 1]) / 2 for i in range(len(marks) - 1))
    return minutes * area / (high - low)


def piece_otu(minutes: float, from_ata: float, to_ata: float) -> float:
    """Oxygen tolerance units of a piece on which the partial pressure changes evenly: the closed form.

    (3/11) t / (p1 - p0) [u1^(11/6) - u0^(11/6)], u = (p - 0.5)/0.5, after clipping the piece at 0.5 ata.

    Args:
        minutes: how long it takes [min]
        from_ata: partial pressure of oxygen at its start [ata]
        to_ata: partial pressure of oxygen at its end [ata]

    Source:
        OTU
    """
    low, high = min(from_ata, to_ata), max(from_ata, to_ata)
    if high <= OTU_FROM_ATA:
        return 0.0
    if high - low < FLAT_ATA:
        middle = max(OTU_FROM_ATA, (low + high) / 2)
        return float(minutes * ((middle - OTU_FROM_ATA) / OTU_FROM_ATA) ** (5 / 6))
    u_low = (max(low, OTU_FROM_ATA) - OTU_FROM_ATA) / OTU_FROM_ATA
    u_high = (high - OTU_FROM_ATA) / OTU_FROM_ATA
    return float(3 / 11 * minutes / (high - low) * (u_high ** (11 / 6) - u_low ** (11 / 6)))


def dose(segments: Iterable[Piece], diver: str, place: Place) -> Dose:
    """The oxygen exposure of one diver over the segments of a schedule.

    Args:
        segments: straight pieces in order.
        diver: id of the diver.
        place: gives the ambient pressure.

    Raises:
        OxygenBeyondTable: a partial pressure above 1.65 ata, with depth, runtime and cylinder.

    Source:
        NOAA, OTU
    """
    cns, day, otu, peak_ata, peak_m, oxygen_min, longest_min = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for piece in segments:
        breath = piece.gas[diver]
        from_ata = breath.o2 * place.ambient_bar(piece.from_m) / ATM_BAR
        to_ata = breath.o2 * place.ambient_bar(piece.to_m) / ATM_BAR
        here_ata, here_m = max((from_ata, piece.from_m), (to_ata, piece.to_m))
        if here_ata > TABLE_ROOM_END_ATA + ROUNDING_ATA:
            raise OxygenBeyondTable(here_ata, here_m, piece.start_min, breath.cylinder)
        cns += piece_cns(piece.minutes, from_ata, to_ata)
        day += piece_cns(piece.minutes, from_ata, to_ata, DAY_RATES_PER_MIN)
        otu += piece_otu(piece.minutes, from_ata, to_ata)
        peak_ata, peak_m = max((peak_ata, peak_m), (here_ata, here_m))
        oxygen_min = oxygen_min + piece.minutes if breath.o2 >= OXYGEN_NAME_FROM_E4 / WHOLE_E4 else 0.0
        longest_min = max(longest_min, oxygen_min)
    return Dose(cns, otu, peak_ata, peak_m, longest_min, day)
