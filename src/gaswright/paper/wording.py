"""The short texts that papers are made of: depths, pressures, times and the caution. A unit on every number."""

from datetime import date, datetime

from gaswright.errors import Refused
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import UnitSystem
from gaswright.units import METRE_PER_FOOT, percent_text

__all__ = [
    "CAUTION", "ata_text", "clock_parts", "day_text", "depth_parts", "minimum_text", "mod_parts", "parts_text",
    "percents_text", "second_depth_text", "time_text", "units_text",
]

CAUTION = (
    "Planning aid for trained, certified divers. No schedule removes the risk of decompression illness. "
    "Analyse every cylinder yourself. Training, team procedures, law and doctors decide."
)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_text(day: date) -> str:
    """The day with its month as a word: "14 May 2027".

    Args:
        day: of the dive or the record.
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def time_text(moment: datetime) -> str:
    """Day and time as the clock of the trip showed them: "14 May 2027 07:40".

    Args:
        moment: aware, in the trip's zone.
    """
    return f"{day_text(moment)} {moment:%H:%M}"


def units_text(units: UnitSystem) -> str:
    """The two units that a person reads: "m, bar" or "ft, psi".

    Args:
        units: of the team or the diver.
    """
    return "m, bar" if units is UnitSystem.METRIC else "ft, psi"


def depth_parts(depth_m: float, units: UnitSystem) -> tuple[str, str]:
    """A depth as number and unit, to a tenth, whole where it is whole: ("21", "m").

    Args:
        depth_m: depth [m].
        units: to show it in.
    """
    metric = units is UnitSystem.METRIC
    shown = round(depth_m if metric else depth_m / METRE_PER_FOOT, 1)
    return f"{shown:g}", "m" if metric else "ft"


def second_depth_text(depth_m: float, team: UnitSystem, diver: UnitSystem) -> str:
    """The depth once more in the diver's own units, nothing if they are the team's: "69 ft", "6.1 m".

    It helps reading a gauge; the figure in the team's units is the one that counts.

    Args:
        depth_m: depth [m].
        team: units of the team.
        diver: units of the diver.
    """
    if team is diver:
        return ""
    if diver is UnitSystem.METRIC:
        return parts_text(depth_parts(depth_m, diver))
    return f"{depth_m / METRE_PER_FOOT:.0f} ft"


def mod_parts(mod: LabelMod, units: UnitSystem) -> tuple[str, str]:
    """A MOD as number and unit.

    Args:
        mod: whole numbers in both systems.
        units: of the team.

    Raises:
        Refused: the MOD is not below the surface.
    """
    number, unit = (mod.metres, "m") if units is UnitSystem.METRIC else (mod.feet, "ft")
    if number < 1:
        raise Refused(f"a MOD of {number} {unit} cannot be labelled: the gas is too rich for a limit of "
                      f"{ata_text(mod.limit_centi_ata)}")
    return str(number), unit


def minimum_text(minimum_m: int, minimum_ft: int, units: UnitSystem) -> str:
    """The words for a gas that cannot be breathed at the surface: "NOT ABOVE 6 m"; nothing where it can be.

    Args:
        minimum_m: shallowest depth at which it may be breathed, whole metres up; 0: the surface [m].
        minimum_ft: the same in whole feet up [ft].
        units: of the team.

    Raises:
        Refused: one of the two figures says that it may be breathed at the surface, the other that it may not.
    """
    if (minimum_m > 0) != (minimum_ft > 0):
        raise Refused(f"a minimum depth of {minimum_m} m and {minimum_ft} ft contradicts itself; nothing is printed")
    shallowest = f"{minimum_m} m" if units is UnitSystem.METRIC else f"{minimum_ft} ft"
    return f"NOT ABOVE {shallowest}" if minimum_m > 0 else ""


def parts_text(parts: tuple[str, str]) -> str:
    """Number and unit with the space between them.

    Args:
        parts: number and unit.
    """
    return " ".join(parts)


def clock_parts(runtime_min: float, *, seconds: bool) -> tuple[str, str]:
    """A runtime that was already rounded, as number and unit: ("29", "min") or ("29:20", "min").

    Args:
        runtime_min: runtime or duration, a whole number of minutes or of seconds [min].
        seconds: True to show seconds.
    """
    if not seconds:
        return str(round(runtime_min)), "min"
    minutes, rest = divmod(round(runtime_min * 60), 60)
    return f"{minutes}:{rest:02d}", "min"


def ata_text(limit_centi_ata: int) -> str:
    """A ppO2 limit: "1.4 ata", "1.65 ata".

    Args:
        limit_centi_ata: limit [0.01 ata].
    """
    text = f"{limit_centi_ata / 100:.2f}"
    return f"{text.removesuffix('0')} ata"


def percents_text(mixture: Mixture) -> tuple[str, str]:
    """Oxygen and helium, each with its name and unit: ("O2 18.2 %", "He 44.6 %").

    Args:
        mixture: the analysed gas.
    """
    return f"O2 {percent_text(mixture.o2_e4)}", f"He {percent_text(mixture.he_e4)}"
