"""Oxygen exposure limits: the NOAA table of normal exposure and the REPEX daily limits, as integers."""

from dataclasses import dataclass

__all__ = [
    "NOAA_LIMITS", "REPEX_DAYS", "REPEX_LONGEST_DAYS", "OxygenLimit", "RepexDay", "daily_limit_min",
    "repex_average_otu",
]


@dataclass(frozen=True, slots=True)
class OxygenLimit:
    """One row of the NOAA table.

    Args:
        po2_deci_ata: partial pressure of oxygen [0.1 ata]
        single_min: limit of one exposure [min]
        day24h_min: limit within 24 hours [min]
        status: whether the numbers were seen in a text that quotes the table, or are from memory.
    """

    po2_deci_ata: int
    single_min: int
    day24h_min: int
    status: str


@dataclass(frozen=True, slots=True)
class RepexDay:
    """One row of the REPEX table: whole-body oxygen tolerance of a mission of so many days.

    Args:
        days: days of exposure.
        average_otu: per day.
        total_otu: of the mission.
        status: seen or from memory.
    """

    days: int
    average_otu: int
    total_otu: int
    status: str


# [NOAA] oxygen partial pressure and exposure time limits for working dives, normal exposure; exact as printed.
NOAA_LIMITS = (
    OxygenLimit(6, 720, 720, "from memory"),
    OxygenLimit(7, 570, 570, "from memory"),
    OxygenLimit(8, 450, 450, "from memory"),
    OxygenLimit(9, 360, 360, "from memory"),
    OxygenLimit(10, 300, 300, "from memory"),
    OxygenLimit(11, 240, 270, "from memory"),
    OxygenLimit(12, 210, 240, "single limit seen quoted, day limit from memory"),
    OxygenLimit(13, 180, 210, "single limit seen quoted, day limit from memory"),
    OxygenLimit(14, 150, 180, "single limit seen quoted, day limit from memory"),
    OxygenLimit(15, 120, 180, "seen quoted"),
    OxygenLimit(16, 45, 150, "seen quoted"),
)

# [REPEX] average OTU per day; from memory, 850 on one day and 300 a day for long stays seen quoted.
REPEX_DAYS = (
    RepexDay(1, 850, 850, "seen quoted"),
    RepexDay(2, 700, 1400, "from memory"),
    RepexDay(3, 620, 1860, "from memory"),
    RepexDay(4, 525, 2100, "from memory"),
    RepexDay(5, 460, 2300, "from memory"),
    RepexDay(6, 420, 2520, "from memory"),
    RepexDay(7, 380, 2660, "from memory"),
    RepexDay(8, 350, 2800, "from memory"),
    RepexDay(9, 330, 2970, "from memory"),
    RepexDay(10, 310, 3100, "from memory"),
)
REPEX_LONGEST_DAYS = 30  # [REPEX] the table ends here
REPEX_LONG_STAY_OTU = 300  # [REPEX] 11 to 30 days, per day, seen quoted


def daily_limit_min(po2_deci_ata: int) -> int:
    """The NOAA limit within 24 hours at a node of the table [min].

    Args:
        po2_deci_ata: partial pressure of oxygen, a node of the table [0.1 ata]

    Raises:
        KeyError: not a node of the table.

    Source:
        NOAA
    """
    return {row.po2_deci_ata: row.day24h_min for row in NOAA_LIMITS}[po2_deci_ata]


def repex_average_otu(days: int) -> int:
    """The average OTU per day that a mission of so many days allows.

    Args:
        days: 1 to 30.

    Raises:
        KeyError: no such row.

    Source:
        REPEX
    """
    if 11 <= days <= REPEX_LONGEST_DAYS:
        return REPEX_LONG_STAY_OTU
    return {row.days: row.average_otu for row in REPEX_DAYS}[days]
