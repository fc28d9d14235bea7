"""Numbers as findings say them: in the team's units, rounded to the safe side."""

from gaswright import units as door
from gaswright.planning.dive import UnitSystem

__all__ = ["depth_text", "left_pressure_text", "minutes_text", "needed_gas_text", "needed_pressure_text"]


def depth_text(depth_m: float, units: UnitSystem) -> str:
    """A planned depth with its unit, to a tenth so that it never looks equal to a MOD it passes: "21 m", "70 ft".

    Args:
        depth_m: depth [m]
        units: of the team.
    """
    metric = units is UnitSystem.METRIC
    return f"{round(depth_m if metric else depth_m / door.METRE_PER_FOOT, 1):g} {'m' if metric else 'ft'}"


def minutes_text(minutes: float) -> str:
    """A time with its unit: "4 min".

    Args:
        minutes: a time [min]
    """
    return door.minutes_text(minutes)


def needed_pressure_text(gauge_bar: float, units: UnitSystem) -> str:
    """A pressure that is needed, rounded up: "112 bar" or "1625 psi".

    Args:
        gauge_bar: gauge pressure [bar]
        units: of the team.
    """
    return door.pressure_text(gauge_bar, units.value, "up")


def left_pressure_text(gauge_bar: float, units: UnitSystem) -> str:
    """A pressure that is there, rounded down: "111 bar" or "1624 psi".

    Args:
        gauge_bar: gauge pressure [bar]
        units: of the team.
    """
    return door.pressure_text(gauge_bar, units.value, "down")


def needed_gas_text(free_l: float, units: UnitSystem) -> str:
    """Free gas that is needed, rounded up: "1240 L" or "44 cu ft".

    Args:
        free_l: free gas at 1.01325 bar [L]
        units: of the team.
    """
    return door.volume_text(free_l, units.value, "up")
