"""Units at the door: what a person typed becomes canonical numbers, and numbers become text again.

Inside the program: m, bar, L, K, min, L/min, hundredths of a percent. Feet, psi, cubic feet, Fahrenheit and percent
exist only here and on paper. A unit system is "metric" or "imperial"; it reads plain numbers and shows them.
"""

import math
import re
from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum

__all__ = [
    "BAR_PER_PSI", "LITRE_PER_CUBIC_FOOT", "METRE_PER_FOOT", "STANDARD_ATMOSPHERE_BAR", "ZERO_CELSIUS_K", "Kind",
    "QuantityError", "amount_text", "capacity_water_volume_l", "depth_text", "has_unit", "is_cubic_feet",
    "minutes_text", "number_and_unit", "parse_number", "percent_e4", "percent_text", "plain_number", "plain_unit",
    "pressure_text", "quantity", "rate_text", "shown_text", "temperature_text", "volume_text",
]

METRE_PER_FOOT = 0.3048  # international foot, exact
BAR_PER_PSI = 0.0689475729  # from lbf and inch, rounded [NIST-SP811] appendix B
LITRE_PER_CUBIC_FOOT = 28.316846592  # (0.3048 m)^3, exact
STANDARD_ATMOSPHERE_BAR = 1.01325  # exact
ZERO_CELSIUS_K = 273.15  # exact
_ROUNDING_ROOM = 1e-6  # binary noise of a unit conversion, far below anything that is shown

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)")
_NUMBER_AND_UNIT = re.compile(r"\s*(" + _NUMBER.pattern + r")\s*(\D.*?)?\s*", re.DOTALL)
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_LONGEST_NUMBER = 40
_LONGEST_PERCENT = 12


class QuantityError(ValueError):
    """What was typed is not a quantity of the kind asked for; the sentence says why and what to write."""


class Kind(StrEnum):
    """Kinds of quantities; each has one canonical unit."""

    DEPTH = "depth"              # m
    ALTITUDE = "altitude"        # m
    PRESSURE = "pressure"        # bar
    VOLUME = "volume"            # L
    CAPACITY = "capacity"        # L: water volume, or free gas where typed in cu ft
    TEMPERATURE = "temperature"  # K
    RATE = "rate"                # L/min
    SPEED = "speed"              # m/min
    MINUTES = "minutes"          # min
    PERCENT = "percent"          # %
    DENSITY = "density"          # kg/m3
    PLAIN = "plain"              # no unit


_LENGTH = {
    "m": (1.0, 0.0), "metre": (1.0, 0.0), "metres": (1.0, 0.0),
    "ft": (METRE_PER_FOOT, 0.0), "foot": (METRE_PER_FOOT, 0.0), "feet": (METRE_PER_FOOT, 0.0),
}
_VOLUME = {
    "l": (1.0, 0.0), "litre": (1.0, 0.0), "litres": (1.0, 0.0),
    "cuft": (LITRE_PER_CUBIC_FOOT, 0.0), "ft3": (LITRE_PER_CUBIC_FOOT, 0.0),
}
_UNITS: Mapping[Kind, Mapping[str, tuple[float, float]]] = {
    Kind.DEPTH: _LENGTH,
    Kind.ALTITUDE: _LENGTH,
    Kind.PRESSURE: {"bar": (1.0, 0.0), "mbar": (0.001, 0.0), "hpa": (0.001, 0.0), "psi": (BAR_PER_PSI, 0.0)},
    Kind.VOLUME: _VOLUME,
    Kind.CAPACITY: _VOLUME,
    Kind.TEMPERATURE: {
        "c": (1.0, ZERO_CELSIUS_K), "k": (1.0, 0.0), "f": (5.0 / 9.0, ZERO_CELSIUS_K - 32.0 * 5.0 / 9.0),
    },
    Kind.RATE: {"l/min": (1.0, 0.0), "cuft/min": (LITRE_PER_CUBIC_FOOT, 0.0), "ft3/min": (LITRE_PER_CUBIC_FOOT, 0.0)},
    Kind.SPEED: {"m/min": (1.0, 0.0), "ft/min": (METRE_PER_FOOT, 0.0)},
    Kind.MINUTES: {"min": (1.0, 0.0), "s": (1.0 / 60.0, 0.0), "h": (60.0, 0.0)},
    Kind.PERCENT: {"%": (1.0, 0.0)},
    Kind.DENSITY: {"kg/m3": (1.0, 0.0)},
    Kind.PLAIN: {"": (1.0, 0.0)},
}
_SHOWN = {
    "l": "L", "l/min": "L/min", "cuft": "cu ft", "cuft/min": "cu ft/min", "c": "C", "f": "F", "k": "K", "hpa": "hPa",
}
_PLAIN_UNIT: Mapping[Kind, tuple[str, str]] = {
    Kind.DEPTH: ("m", "ft"),
    Kind.ALTITUDE: ("m", "ft"),
    Kind.PRESSURE: ("bar", "psi"),
    Kind.VOLUME: ("l", "cuft"),
    Kind.CAPACITY: ("l", "cuft"),
    Kind.TEMPERATURE: ("c", "f"),
    Kind.RATE: ("l/min", "cuft/min"),
    Kind.SPEED: ("m/min", "ft/min"),
    Kind.MINUTES: ("min", "min"),
    Kind.PERCENT: ("%", "%"),
    Kind.DENSITY: ("kg/m3", "kg/m3"),
    Kind.PLAIN: ("", ""),
}


def parse_number(value: object) -> float:
    """A finite number from a number or its text, with a decimal comma or point.

    Args:
        value: an int, float, Decimal or text.

    Raises:
        QuantityError: a bool, nothing, NaN, infinity, or not a number; also "3,000", which has two readings.
    """
    if isinstance(value, bool):
        raise QuantityError(f"{shown_text(value)} is true or false where a number belongs")
    if isinstance(value, str):
        return _number_of_text(value)
    if not isinstance(value, int | float | Decimal):
        raise QuantityError(f"{shown_text(value)} is not a number")
    return _finite(value)


def _finite(value: float | Decimal) -> float:
    try:
        number = float(value)
    except (OverflowError, ValueError):
        number = math.inf
    if not math.isfinite(number):
        raise QuantityError(f"{shown_text(value)} is not a finite number")
    return number


def _number_of_text(text: str) -> float:
    stripped = text.strip()
    if not stripped:
        raise QuantityError("there is nothing where a number belongs")
    if len(stripped) > _LONGEST_NUMBER or not _NUMBER.fullmatch(stripped):
        raise QuantityError(f"{shown_text(text)} is not a number")
    if _THOUSANDS.fullmatch(stripped):
        raise QuantityError(
            f"{shown_text(text)} can be read as thousands or as a decimal comma; write {stripped.replace(',', '')} "
            f"or {stripped.replace(',', '.')}"
        )
    return float(stripped.replace(",", "."))


def shown_text(value: object) -> str:
    """A value as a problem shows it: short, whatever it is.

    Args:
        value: anything.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    try:
        text = str(value) if isinstance(value, int | float | Decimal) else repr(value)
    except ValueError:  # an integer of thousands of digits cannot be printed
        return "a number of thousands of digits"
    return text if len(text) <= _LONGEST_NUMBER else text[: _LONGEST_NUMBER - 3] + "..."


def has_unit(text: str) -> bool:
    """True if a text is a number with anything after it that could be a unit.

    Args:
        text: as typed.
    """
    match = _NUMBER_AND_UNIT.fullmatch(text)
    return match is not None and bool(match.group(2))


def plain_unit(kind: Kind, system: str) -> str:
    """The unit in which a system reads and shows a plain number: "m", "psi", "cu ft".

    Args:
        kind: what is measured.
        system: "metric" or "imperial".
    """
    name = _plain_unit_key(kind, system)
    return _SHOWN.get(name, name)


def _plain_unit_key(kind: Kind, system: str) -> str:
    if system not in {"metric", "imperial"}:
        raise QuantityError(f"{shown_text(system)} is no unit system; write metric or imperial")
    return _PLAIN_UNIT[kind][system == "imperial"]


def quantity(value: object, kind: Kind, system: str = "metric") -> float:
    """The canonical number of a quantity: a plain number in the system's unit, a text with a unit as it says.

    Canonical are m, bar, L, K, L/min, m/min, min, percent, kg/m3. Of a capacity only the litres are given; that
    cu ft mean free gas is the caller's to know (`capacity_water_volume_l`).

    Args:
        value: a number, or a text such as "3000 psi" or "3,5 bar".
        kind: what is measured.
        system: "metric" or "imperial".

    Raises:
        QuantityError: not a number, a unit of another kind, or not finite.
    """
    unit = _plain_unit_key(kind, system)
    if isinstance(value, str):
        number, typed = number_and_unit(value, kind)
        unit = typed or unit
    else:
        number = parse_number(value)
    scale, offset = _UNITS[kind][unit]
    return _finite(number * scale + offset)


def number_and_unit(text: str, kind: Kind) -> tuple[float, str]:
    """The number of a text and the unit typed behind it, in lower case; "" where none is.

    Args:
        text: as typed.
        kind: what is measured.

    Raises:
        QuantityError: not a number, or a unit of another kind.
    """
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None:
        return parse_number(text), ""
    number = parse_number(match.group(1))
    typed = match.group(2) or ""
    unit = _unit_key(typed)
    if typed and (not unit or unit not in _UNITS[kind]):
        known = ", ".join(_SHOWN.get(name, name) for name in _UNITS[kind] if name) or "a plain number"
        raise QuantityError(f"{shown_text(text)} has no unit of a {kind.value}; known are {known}")
    return number, unit


def _unit_key(unit: str) -> str:
    return "".join(unit.lower().replace("°", "").replace("³", "3").replace(".", "").split())


def is_cubic_feet(value: object, system: str) -> bool:
    """True if a capacity is given in cubic feet, that is as free gas at the working pressure.

    Args:
        value: a number or a text.
        system: "metric" or "imperial".
    """
    if isinstance(value, str) and has_unit(value):
        return number_and_unit(value, Kind.CAPACITY)[1] in {"cuft", "ft3"}
    return system == "imperial"


def capacity_water_volume_l(capacity_l: float, working_pressure_bar: float) -> float:
    """Water volume of a cylinder that is named by its capacity [L].

    The capacity is the free gas at 1 atm that an ideal gas at the working pressure (gauge) gives.

    Args:
        capacity_l: free gas at 1 atm [L].
        working_pressure_bar: gauge, above 0 [bar].

    Raises:
        QuantityError: the working pressure is not above 0.

    Source: [GASWRIGHT] contract.
    """
    if not working_pressure_bar > 0:
        raise QuantityError(f"a working pressure of {working_pressure_bar:g} bar cannot be; it must be above 0")
    return capacity_l * STANDARD_ATMOSPHERE_BAR / working_pressure_bar


def percent_e4(value: object, *, name: str = "o2", low_e4: int = 0) -> int:
    """Hundredths of a percent of a part of a gas [e-4].

    Args:
        value: percent as a number or text, at most two decimals; "18,2", "18.2 %".
        name: begins the sentence of a problem; "" where the place is named before it.
        low_e4: the least that is allowed [e-4].

    Raises:
        QuantityError: not a number, more than two decimals, a fraction, or outside the range.
    """
    allowed = f"allowed are {low_e4 / 100:g} to 100 %"
    try:
        number = quantity(value, Kind.PERCENT)
    except QuantityError as error:
        raise QuantityError(f"{error}; {allowed}") from error
    subject = f"{name} is {shown_text(value)}".strip()
    if 0 < number < 1:
        raise QuantityError(f"{subject}, which looks like a fraction; write {number * 100:g} for percent; {allowed}")
    if not low_e4 / 100 <= number <= 100:
        raise QuantityError(f"{subject} %; {allowed}")
    text = value.split("%")[0].strip().replace(",", ".") if isinstance(value, str) else str(value)
    hundredths = Decimal(text) * 100
    if len(text) > _LONGEST_PERCENT or hundredths != hundredths.to_integral_value():
        raise QuantityError(f"{subject} %; at most two decimals are read, write {round(number, 2):g}")
    return int(hundredths)


def percent_text(part_e4: int) -> str:
    """Percent with its unit and as many decimals as it has, at most two: "18.2 %".

    Args:
        part_e4: hundredths of a percent [e-4].
    """
    whole, rest = divmod(part_e4, 100)
    return f"{whole}.{rest:02d}".rstrip("0").rstrip(".") + " %"


def _rounded(number: float, rounding: str, decimals: int = 0) -> str:
    factor = 10.0**decimals
    scaled = number * factor
    if rounding == "down":
        whole = math.floor(scaled + _ROUNDING_ROOM)
    elif rounding == "up":
        whole = math.ceil(scaled - _ROUNDING_ROOM)
    elif rounding == "nearest":
        whole = math.floor(scaled + 0.5)
    else:
        raise QuantityError(f"{shown_text(rounding)} is no rounding; write down, up or nearest")
    return f"{whole / factor:.{decimals}f}" if decimals else str(whole)


def plain_number(value: float, kind: Kind, system: str = "metric") -> float:
    """A canonical number in the unit in which a system shows it, not rounded.

    Args:
        value: canonical, in the unit of its kind [m, bar, L, K, L/min, m/min, min or %].
        kind: what is measured.
        system: "metric" or "imperial".

    Raises:
        QuantityError: not finite, or no such system.
    """
    scale, offset = _UNITS[kind][_plain_unit_key(kind, system)]
    return _finite((value - offset) / scale)


def amount_text(value: float, kind: Kind, system: str = "metric", rounding: str = "nearest", decimals: int = 0) -> str:
    """A canonical number as text in a system's unit, with the unit on it: "21 m", "70 ft", "2500 psi".

    Args:
        value: canonical, in the unit of its kind [m, bar, L, K, L/min, m/min, min or %].
        kind: what is measured.
        system: "metric" or "imperial".
        rounding: "down", "up" or "nearest".
        decimals: how many decimals are shown.

    Raises:
        QuantityError: not finite, or no such system or rounding.
    """
    shown = _rounded(plain_number(value, kind, system), rounding, decimals)
    return f"{shown} {plain_unit(kind, system)}".rstrip()


def depth_text(depth_m: float, system: str = "metric", rounding: str = "nearest") -> str:
    """A depth in whole metres or whole feet: "21 m", "70 ft".

    Args:
        depth_m: depth [m].
        system: "metric" or "imperial".
        rounding: "down" for a MOD, "up" for a minimum depth, "nearest" for a planned depth.
    """
    return amount_text(depth_m, Kind.DEPTH, system, rounding)


def pressure_text(pressure_bar: float, system: str = "metric", rounding: str = "nearest") -> str:
    """A pressure in whole bar or whole psi: "181 bar", "2625 psi".

    Args:
        pressure_bar: pressure, gauge or absolute as the sentence around it says [bar].
        system: "metric" or "imperial".
        rounding: "up" for gas needed, "down" for gas available, "nearest" for a reading.
    """
    return amount_text(pressure_bar, Kind.PRESSURE, system, rounding)


def volume_text(volume_l: float, system: str = "metric", rounding: str = "nearest") -> str:
    """A volume of free gas in whole litres or whole cubic feet: "1200 L", "43 cu ft".

    Args:
        volume_l: volume [L].
        system: "metric" or "imperial".
        rounding: "up" for gas needed, "down" for gas available.
    """
    return amount_text(volume_l, Kind.VOLUME, system, rounding)


def temperature_text(temperature_k: float, system: str = "metric") -> str:
    """A temperature in whole degrees: "8 C", "46 F".

    Args:
        temperature_k: temperature [K].
        system: "metric" or "imperial".
    """
    return amount_text(temperature_k, Kind.TEMPERATURE, system)


def rate_text(rate_l_min: float, system: str = "metric", rounding: str = "up") -> str:
    """A consumption: "18 L/min", "0.64 cu ft/min".

    Args:
        rate_l_min: rate [L/min].
        system: "metric" or "imperial".
        rounding: "up" is the safe side.
    """
    return amount_text(rate_l_min, Kind.RATE, system, rounding, decimals=2 if system == "imperial" else 0)


def minutes_text(minutes_min: float, rounding: str = "nearest") -> str:
    """A time in minutes, with seconds where it is no whole minute: "5 min", "4 min 30 s".

    Args:
        minutes_min: time, not negative [min].
        rounding: of the last second: "up" for stops, "down" for limits, "nearest".
    """
    seconds = int(_rounded(_finite(minutes_min) * 60.0, rounding))
    minutes, rest = divmod(seconds, 60)
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"
