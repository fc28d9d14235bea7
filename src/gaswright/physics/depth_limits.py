"""How deep and how shallow a gas may be breathed: MOD by the label convention, at the place, and minimum depth.

Two named conventions. *Label*: the surface is 1 ata and every 10 m or 33 ft add one, computed in integers and rounded
to the safe side. *Place*: exact, from the pressures of the place. ppO2 is in ata (1 ata = 1.01325 bar) in both.
"""

from dataclasses import dataclass

from gaswright.physics.mixture import OXYGEN_NAME_FROM_E4, WHOLE_E4
from gaswright.physics.place import ATM_BAR, Place
from gaswright.physics.ranges import in_range

__all__ = [
    "EAN50_MARK", "LIMIT_MAX_CENTI_ATA", "MARKS", "OXYGEN_MARK", "LabelMod", "TeamMark", "label_minimum_depth_ft",
    "label_minimum_depth_m", "label_mod", "minimum_depth_m", "place_mod_m", "ppo2_ata",
]

METRES_PER_ATA = 10  # label convention, exact
FEET_PER_ATA = 33  # label convention, exact
GRID_M = 3  # stop grid [GASWRIGHT], so that MOD = switch depth
GRID_FT = 10  # stop grid [GASWRIGHT]
LIMIT_MAX_CENTI_ATA = 165  # hard cap [GASWRIGHT]
MARK_LIMIT_CENTI_ATA = 160  # the ppO2 limit that the team marks belong to; common practice, no source
MARK_ROOM_CENTI_ATA = 2  # what a mark may exceed that limit by; common practice, no source


@dataclass(frozen=True, slots=True)
class LabelMod:
    """A MOD as it stands on a label: whole numbers in both unit systems, rounded to the safe side.

    Args:
        limit_centi_ata: the ppO2 limit it was computed with [0.01 ata].
        metres: whole metres, deco cylinders down to the 3 m grid [m].
        feet: whole feet, deco cylinders down to the 10 ft grid [ft].
        mark: name of the team mark that set it ("oxygen", "EAN50"), None where computed.
    """

    limit_centi_ata: int
    metres: int
    feet: int
    mark: str | None = None


@dataclass(frozen=True, slots=True)
class TeamMark:
    """A MOD that teams know by heart, valid for readings inside a band.

    Args:
        name: its name in the policy.
        low_o2_e4: leanest reading it holds for [e-4].
        high_o2_e4: richest reading it holds for [e-4].
        metres: its depth [m].
        feet: its depth [ft].
    """

    name: str
    low_o2_e4: int
    high_o2_e4: int
    metres: int
    feet: int


OXYGEN_MARK = TeamMark("oxygen", OXYGEN_NAME_FROM_E4, WHOLE_E4, 6, 20)  # common practice, no source
EAN50_MARK = TeamMark("EAN50", 4_900, 5_100, 21, 70)  # common practice, no source
MARKS = (OXYGEN_MARK, EAN50_MARK)


def label_mod(
    rich_o2_e4: int, limit_centi_ata: int, *, on_grid: bool, reading_o2_e4: int | None = None
) -> LabelMod:
    """The MOD for a label, rounded down to whole units or to the stop grid; 0 where the limit is below the fraction.

    A team mark takes the place of the computed depth where `reading_o2_e4` is given, the reading lies in the mark's
    band, the limit is at least 1.6 ata, and the ppO2 of the reading at the mark is at most 1.62 ata in both units.

    Args:
        rich_o2_e4: oxygen for MOD: the smaller of 100 % and reading plus U, 1 to 10000 [e-4].
        limit_centi_ata: ppO2 limit, 1 to 165 [0.01 ata].
        on_grid: True for deco cylinders: down to the 3 m or 10 ft stop grid.
        reading_o2_e4: the reading itself where team marks are allowed, None where they are not [e-4].

    Raises:
        RangeError: oxygen or limit are outside these ranges.

    Source: [GASWRIGHT] label convention: floor(10 (limit / fO2 - 1)) m, floor(33 (limit / fO2 - 1)) ft.
    """
    in_range("oxygen", rich_o2_e4, "e-4", 1, WHOLE_E4)
    in_range("ppO2 limit", limit_centi_ata, "x 0.01 ata", 1, LIMIT_MAX_CENTI_ATA)
    mark = None if reading_o2_e4 is None else _mark_of(reading_o2_e4, limit_centi_ata)
    if mark is not None:
        return LabelMod(limit_centi_ata, mark.metres, mark.feet, mark.name)
    spare_e4 = max(0, limit_centi_ata * 100 - rich_o2_e4)
    metres = METRES_PER_ATA * spare_e4 // rich_o2_e4
    feet = FEET_PER_ATA * spare_e4 // rich_o2_e4
    if on_grid:
        metres, feet = metres // GRID_M * GRID_M, feet // GRID_FT * GRID_FT
    return LabelMod(limit_centi_ata, metres, feet)


def _mark_of(reading_o2_e4: int, limit_centi_ata: int) -> TeamMark | None:
    """The team mark that holds for a reading under a limit, None where none does."""
    in_range("oxygen as read", reading_o2_e4, "e-4", 1, WHOLE_E4)
    if limit_centi_ata < MARK_LIMIT_CENTI_ATA:
        return None
    allowed_e4 = (MARK_LIMIT_CENTI_ATA + MARK_ROOM_CENTI_ATA) * 100
    for mark in MARKS:
        metric_holds = reading_o2_e4 * (mark.metres + METRES_PER_ATA) <= allowed_e4 * METRES_PER_ATA
        feet_hold = reading_o2_e4 * (mark.feet + FEET_PER_ATA) <= allowed_e4 * FEET_PER_ATA
        if mark.low_o2_e4 <= reading_o2_e4 <= mark.high_o2_e4 and metric_holds and feet_hold:
            return mark
    return None


def label_minimum_depth_m(o2_e4: int, low_centi_ata: int) -> int:
    """Shallowest depth at which a gas may be breathed, label convention, rounded up to whole metres [m].

    Args:
        o2_e4: oxygen for hypoxia: reading minus U, 1 to 10000; with none left no depth is deep enough [e-4].
        low_centi_ata: lower ppO2 limit, 1 to 165 [0.01 ata].

    Raises:
        RangeError: oxygen or limit are outside these ranges.

    Source: [GASWRIGHT] label convention: ceil(10 (limit / fO2 - 1)).
    """
    return _label_minimum(o2_e4, low_centi_ata, METRES_PER_ATA)


def label_minimum_depth_ft(o2_e4: int, low_centi_ata: int) -> int:
    """Shallowest depth at which a gas may be breathed, label convention, rounded up to whole feet [ft].

    Args:
        o2_e4: oxygen for hypoxia: reading minus U, 1 to 10000; with none left no depth is deep enough [e-4].
        low_centi_ata: lower ppO2 limit, 1 to 165 [0.01 ata].

    Raises:
        RangeError: oxygen or limit are outside these ranges.

    Source: [GASWRIGHT] label convention: ceil(33 (limit / fO2 - 1)).
    """
    return _label_minimum(o2_e4, low_centi_ata, FEET_PER_ATA)


def _label_minimum(o2_e4: int, low_centi_ata: int, units_per_ata: int) -> int:
    in_range("oxygen", o2_e4, "e-4", 1, WHOLE_E4, "analyse it with a smaller uncertainty")
    in_range("lower ppO2 limit", low_centi_ata, "x 0.01 ata", 1, LIMIT_MAX_CENTI_ATA)
    missing_e4 = max(0, low_centi_ata * 100 - o2_e4)
    return -(-units_per_ata * missing_e4 // o2_e4)


def ppo2_ata(o2_fraction: float, ambient_bar: float) -> float:
    """Oxygen partial pressure of a gas at an absolute ambient pressure [ata].

    Args:
        o2_fraction: fraction of oxygen, 0 to 1 [fraction].
        ambient_bar: absolute pressure, 0 to 60 [bar].

    Raises:
        RangeError: fraction or pressure are outside these ranges.
    """
    in_range("oxygen", o2_fraction, "(fraction)", 0.0, 1.0)
    in_range("ambient pressure", ambient_bar, "bar", 0.0, 60.0)
    return o2_fraction * ambient_bar / ATM_BAR


def place_mod_m(o2_fraction: float, limit_ata: float, place: Place) -> float:
    """Exact depth at which a gas reaches a ppO2 limit at a place; 0 where it already exceeds it at the surface [m].

    Args:
        o2_fraction: fraction of oxygen, 0.0001 to 1 [fraction].
        limit_ata: ppO2 limit, above 0 to 1.65 [ata].
        place: surface pressure and water.

    Raises:
        RangeError: fraction or limit are outside these ranges.
    """
    return max(0.0, _depth_reaching_m(o2_fraction, limit_ata, place))


def minimum_depth_m(lean_o2_fraction: float, low_ata: float, place: Place) -> float:
    """Exact depth from which a gas carries enough oxygen at a place; 0 only if it truly does at the surface [m].

    Args:
        lean_o2_fraction: fraction of oxygen on the lean side, 0.0001 to 1 [fraction].
        low_ata: lower ppO2 limit, above 0 to 1.65 [ata].
        place: surface pressure and water.

    Raises:
        RangeError: fraction or limit are outside these ranges.
    """
    return max(0.0, _depth_reaching_m(lean_o2_fraction, low_ata, place))


def _depth_reaching_m(o2_fraction: float, wanted_ata: float, place: Place) -> float:
    """Signed depth at which the ppO2 is the one wanted; negative: reached above the surface [m]."""
    in_range("oxygen", o2_fraction, "(fraction)", 1.0 / WHOLE_E4, 1.0)
    in_range("ppO2 limit", wanted_ata, "ata", 0.01, LIMIT_MAX_CENTI_ATA / 100)
    return (wanted_ata / o2_fraction * ATM_BAR - place.surface_bar) / place.bar_per_m
