"""One value of a trip file, read by its declared field: the canonical value, or a sentence saying what is wrong."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from gaswright.errors import InputError
from gaswright.exchange.mixture_text import mixture
from gaswright.exchange.trip_fields import Field, FieldKind, Reads
from gaswright.physics.mixture import Mixture
from gaswright.units import (
    Kind,
    QuantityError,
    has_unit,
    number_and_unit,
    percent_e4,
    plain_number,
    plain_unit,
    quantity,
    shown_text,
)

__all__ = ["MIXED", "UNKNOWN", "Systems", "value_of"]

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,31}")
MIXED, UNKNOWN = "mixed", "unknown"  # instead of a unit system
_LONGEST_TEXT = 200
_FIRST_YEAR, _LAST_YEAR = 1970, 2200
_ROOM = 1e-9  # binary noise of a unit conversion, relative

Speeds = float | tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Systems:
    """Whose units and time zone read the values of a row.

    Args:
        team: unit system of the team.
        diver: unit system of the diver whose cylinder it is; MIXED: its divers read different units; UNKNOWN: nobody
            knows whose it is, which is a problem of its own, so that ranges are not judged.
        zone: of the trip; None where the file names none that exists.
    """

    team: str
    diver: str
    zone: ZoneInfo | None


def value_of(raw: object, field: Field, systems: Systems) -> object:
    """The canonical value of a key.

    Args:
        raw: as the TOML reader gives it (floats as Decimal).
        field: what the key holds.
        systems: whose units and zone.

    Raises:
        QuantityError: what is wrong, the allowed range, what to do.
    """
    if isinstance(field.kind, Kind):
        return _quantity(raw, field, field.kind, systems)
    return _READERS[field.kind](raw, field, systems)


def _system(raw: object, field: Field, systems: Systems, kind: Kind) -> str:
    if field.reads is Reads.NAMED:
        return "metric"
    if field.reads is Reads.TEAM:
        return systems.team
    if systems.diver == MIXED and not isinstance(raw, str):
        metric, imperial = plain_unit(kind, "metric"), plain_unit(kind, "imperial")
        raise QuantityError(
            f"is {shown_text(raw)}, and the divers who share the cylinder read different units; "
            f'write it with its unit, "{shown_text(raw)} {metric}" or "{shown_text(raw)} {imperial}"'
        )
    return systems.team if systems.diver in {MIXED, UNKNOWN} else systems.diver


def _quantity(raw: object, field: Field, kind: Kind, systems: Systems) -> float:
    system = _system(raw, field, systems, kind)
    unit = plain_unit(kind, system)
    if isinstance(raw, str) and not has_unit(raw):
        raise QuantityError(
            f"is {shown_text(raw)}, a text where a number belongs; "
            f"{_range_text(field, kind, system)}write a number without quotes, or with its unit in quotes "
            f'("10 {unit}")'
        )
    try:
        number = quantity(raw, kind, system)
    except QuantityError as error:
        raise QuantityError(f"{error}; {_range_text(field, kind, system)}".removesuffix("; ")) from error
    unjudged = kind is Kind.CAPACITY or _in_doubt(raw, field, systems)
    if not unjudged and _outside(number, field):
        shown = shown_text(raw) if isinstance(raw, str) else f"{shown_text(raw)} {unit}"
        hint = _fraction_hint(number, kind)
        raise QuantityError(f"is {shown}; {_range_text(field, kind, system)}{hint}".removesuffix("; "))
    return number


def _in_doubt(raw: object, field: Field, systems: Systems) -> bool:
    return field.reads is Reads.DIVER and systems.diver == UNKNOWN and not isinstance(raw, str)


def _fraction_hint(number: float, kind: Kind) -> str:
    if kind is Kind.PERCENT and 0 < number <= 1:
        return f"{number:g} looks like a fraction, write {number * 100:g}"
    return ""


def _outside(number: float, field: Field) -> bool:
    low = field.low is not None and number < field.low - _ROOM * abs(field.low)
    return low or (field.high is not None and number > field.high + _ROOM * abs(field.high))


def _range_text(field: Field, kind: Kind, system: str) -> str:
    if field.low is None or field.high is None:
        return ""
    if kind is Kind.CAPACITY:
        return f"allowed are {field.low:g} to {field.high:g} L of water volume; "
    low, high = (plain_number(bound, kind, system) for bound in (field.low, field.high))
    return f"allowed are {low:.4g} to {high:.5g} {plain_unit(kind, system)}".rstrip() + "; "


def _text(raw: object, _field: Field, _systems: Systems) -> str:
    if not isinstance(raw, str):
        raise QuantityError(f"is {shown_text(raw)} where a text belongs; write it in quotes")
    text = raw.strip()
    if not text or len(text) > _LONGEST_TEXT:
        raise QuantityError(f"has {len(text)} characters; allowed are 1 to {_LONGEST_TEXT}")
    if not text.isprintable():
        raise QuantityError(f"is {shown_text(raw)}; a text is one line without control characters")
    return text


def _id(raw: object, field: Field, systems: Systems) -> str:
    text = _text(raw, field, systems)
    if not _ID.fullmatch(text):
        raise QuantityError(
            f"is {shown_text(text)}; an id has 1 to 32 letters, digits, points, dashes or underscores and begins with "
            "a letter or digit"
        )
    return text


def _ids(raw: object, field: Field, systems: Systems) -> tuple[str, ...]:
    if not isinstance(raw, list):
        return (_id(raw, field, systems),)
    ids = tuple(_id(item, field, systems) for item in raw)
    if not ids or len(set(ids)) != len(ids):
        raise QuantityError(f"is {shown_text(raw)}; give one id or more, each once")
    return ids


def _choice(raw: object, field: Field, _systems: Systems) -> str:
    if not isinstance(raw, str) or raw not in field.choices:
        raise QuantityError(f"is {shown_text(raw)}; allowed are {', '.join(field.choices)}")
    return raw


def _cases(raw: object, field: Field, systems: Systems) -> tuple[str, ...]:
    if not isinstance(raw, list):
        raise QuantityError(f"is {shown_text(raw)} where a list belongs; allowed in it are {', '.join(field.choices)}")
    names = tuple(_choice(item, field, systems) for item in raw)
    if len(set(names)) != len(names):
        raise QuantityError(f"is {shown_text(raw)}; name each case once")
    return names


def _bool(raw: object, _field: Field, _systems: Systems) -> bool:
    if not isinstance(raw, bool):
        raise QuantityError(f"is {shown_text(raw)}; allowed are true and false, without quotes")
    return raw


def _date(raw: object, _field: Field, _systems: Systems) -> date:
    try:
        day = date.fromisoformat(raw) if isinstance(raw, str) else raw
    except ValueError:
        day = None
    if not isinstance(day, date) or isinstance(day, datetime) or not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise QuantityError(
            f"is {shown_text(raw)}; write a date such as 2027-05-14, {_FIRST_YEAR} to {_LAST_YEAR}"
        )
    return day


def _time(raw: object, _field: Field, systems: Systems) -> datetime | None:
    moment = _moment(raw)
    if moment is None or not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
        raise QuantityError(
            f"is {shown_text(str(raw))}; write a date and a time such as 2027-05-14T07:40:00, "
            f"{_FIRST_YEAR} to {_LAST_YEAR}"
        )
    if moment.tzinfo is not None:
        return moment.astimezone(UTC)
    return None if systems.zone is None else _local(moment, systems.zone)


def _moment(raw: object) -> datetime | None:
    if isinstance(raw, str) and re.match(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d", raw):
        try:
            return datetime.fromisoformat(raw)
        except ValueError:
            return None
    return raw if isinstance(raw, datetime) else None


def _local(moment: datetime, zone: ZoneInfo) -> datetime:
    first, second = (moment.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        back = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
        why = "comes twice" if back == moment else "does not exist"
        raise QuantityError(
            f"is {moment.isoformat()}, which {why} in {zone.key} on the day the clocks change; write it with its "
            f"offset, such as {moment.isoformat()}{first.strftime('%z')[:3]}:{first.strftime('%z')[3:]}"
        )
    return first.astimezone(UTC)


def _zone(raw: object, field: Field, systems: Systems) -> ZoneInfo:
    name = _text(raw, field, systems)
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise QuantityError(
            f"is {shown_text(name)}, not a time zone that is known; write an IANA name such as Europe/Zurich or UTC"
        ) from error


def _gas_percent(raw: object, field: Field, _systems: Systems) -> int:
    if isinstance(raw, str) and not has_unit(raw):
        raise QuantityError(
            f"is {shown_text(raw)}, a text where a number belongs; allowed are 0 to 100 %; write it without quotes "
            'and with a point, or with its unit in quotes ("18,2 %")'
        )
    return percent_e4(raw, name="", low_e4=round((field.low or 0) * 100))


def _mixture(raw: object, _field: Field, _systems: Systems) -> Mixture:
    try:
        return mixture(raw)
    except InputError as error:
        raise QuantityError(str(error)) from error


def _whole(raw: object, field: Field, _systems: Systems) -> int:
    low, high = field.low or 0, field.high or 0
    if isinstance(raw, bool) or not isinstance(raw, int) or not low <= raw <= high:
        raise QuantityError(f"is {shown_text(raw)}; allowed are whole numbers from {low:g} to {high:g}")
    return raw


def _mark(raw: object, field: Field, systems: Systems) -> str:
    if not isinstance(raw, str):
        depth = _quantity(raw, field, Kind.DEPTH, systems)
        return f"{plain_number(depth, Kind.DEPTH, systems.team):g} {plain_unit(Kind.DEPTH, systems.team)}"
    _quantity(raw, field, Kind.DEPTH, systems)
    number, unit = number_and_unit(raw, Kind.DEPTH)
    return f"{number:g} {'ft' if unit.startswith('f') else 'm'}"


def _water(raw: object, field: Field, systems: Systems) -> str | float:
    if isinstance(raw, str) and not has_unit(raw):
        if raw in field.choices:
            return raw
        raise QuantityError(
            f"is {shown_text(raw)}; allowed are {', '.join(field.choices)}, or a density from {field.low:g} to "
            f"{field.high:g} kg/m3"
        )
    return _quantity(raw, field, Kind.DENSITY, systems)


def _speeds(raw: object, field: Field, systems: Systems) -> Speeds:
    if not isinstance(raw, list):
        return _quantity(raw, field, Kind.SPEED, systems)
    zones = tuple(_zone_of_speed(item, field, systems) for item in raw)
    depths = [depth for depth, _ in zones]
    if 0.0 not in depths or len(set(depths)) != len(depths):
        raise QuantityError("needs zones that begin at different depths, one of them at from_m = 0")
    return zones


def _zone_of_speed(raw: object, field: Field, systems: Systems) -> tuple[float, float]:
    if not isinstance(raw, Mapping) or set(raw) != {"from_m", "m_min"}:
        raise QuantityError(f"has the zone {shown_text(raw)}; write each zone as {{from_m = 21, m_min = 9}}")
    deep = Field(Kind.DEPTH, "", low=0.0, high=300.0, reads=Reads.NAMED)
    return _quantity(raw["from_m"], deep, Kind.DEPTH, systems), _quantity(raw["m_min"], field, Kind.SPEED, systems)


_READERS: Mapping[FieldKind, Callable[[object, Field, Systems], object]] = {
    FieldKind.TEXT: _text,
    FieldKind.ID: _id,
    FieldKind.IDS: _ids,
    FieldKind.CHOICE: _choice,
    FieldKind.CASES: _cases,
    FieldKind.BOOL: _bool,
    FieldKind.DATE: _date,
    FieldKind.TIME: _time,
    FieldKind.ZONE: _zone,
    FieldKind.GAS_PERCENT: _gas_percent,
    FieldKind.MIXTURE: _mixture,
    FieldKind.WHOLE: _whole,
    FieldKind.MARK: _mark,
    FieldKind.WATER: _water,
    FieldKind.SPEEDS: _speeds,
}
