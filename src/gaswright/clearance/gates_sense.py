"""Gates against slips of the hand: readings swapped, units mistaken, two cylinders of one ID, a dive on another day."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from gaswright.catalogue import finding
from gaswright.clearance.scope import Scope, dive_day, mixture_text
from gaswright.custody.fact import Fact, Kind
from gaswright.findings import Finding, Subject
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import TeamDive, UnitSystem
from gaswright.policy import Policy
from gaswright.units import pressure_text, temperature_text

__all__ = [
    "dive_is_today", "looks_swapped", "one_id_each", "pressure_near_fill", "swapped", "swapped_in_dive",
    "temperature_near_water", "vouches_at_start",
]

SWAP_ROOM_E4 = 300  # a swapped reading lies within 3 % of the target read backwards; common practice, no source
PRESSURE_ROOM = 0.25  # a reading further from the fill than this share asks whether the unit was right
TEMPERATURE_ROOM_K = 20.0  # cylinder and water further apart than this ask whether the unit was right


def looks_swapped(reading: Mixture, target: Mixture) -> bool:
    """True where oxygen and helium read backwards fit the target, and read straight do not.

    Args:
        reading: as typed.
        target: the gas wished for.
    """
    straight = max(abs(reading.o2_e4 - target.o2_e4), abs(reading.he_e4 - target.he_e4))
    mirrored = max(abs(reading.he_e4 - target.o2_e4), abs(reading.o2_e4 - target.he_e4))
    return mirrored <= SWAP_ROOM_E4 < straight


def _swap_finding(policy: Policy, subject: Subject, reading: Mixture, target: Mixture) -> Iterator[Finding]:
    if looks_swapped(reading, target):
        yield finding(policy, "gas.swapped", subject, reading=mixture_text(reading), target=mixture_text(target))


def swapped(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: oxygen and helium of the reading look swapped."""
    known, record = scope.known(cylinder), scope.record(cylinder)
    if known is None or record is None or record.target_o2_e4 is None or not scope.breathed(cylinder):
        return
    target = Mixture(record.target_o2_e4, record.target_he_e4 or 0)
    yield from _swap_finding(scope.policy, scope.subject(cylinder), known.reading.mixture, target)


def swapped_in_dive(dive: TeamDive, policy: Policy) -> Sequence[Finding]:
    """The same stops for the cylinders of a dive, where no clock is at hand.

    Args:
        dive: as planned.
        policy: the limits.
    """
    return [
        one
        for cylinder in dive.cylinders
        if cylinder.gas is not None and cylinder.target is not None
        for one in _swap_finding(
            policy, Subject(diver=cylinder.divers[0], cylinder=cylinder.id), cylinder.gas.mixture, cylinder.target
        )
    ]


def one_id_each(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: another cylinder carries the same ID, so that a label fits both."""
    record = scope.record(cylinder)
    if record is None:
        return
    others = [
        other.id
        for other in scope.inputs.register.values()
        if other.id != cylinder and other.id_on_metal.casefold() == record.id_on_metal.casefold()
    ]
    if others:
        yield scope.find("cylinder.same_id", scope.subject(cylinder), id=record.id_on_metal, other=", ".join(others))


def pressure_near_fill(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Note: the pressure at the analysis is far from that of the fill it measured."""
    known = scope.known(cylinder)
    fill = None if known is None else _fill(scope, cylinder, known.fill)
    filled = None if fill is None else fill.data.get("gauge_centibar")
    if known is None or known.gauge_centibar is None or not isinstance(filled, int) or filled <= 0:
        return
    if abs(known.gauge_centibar / filled - 1) > PRESSURE_ROOM:
        units = _pressure_units(scope, cylinder).value
        yield scope.find(
            "fill.pressure_far", scope.subject(cylinder), read=pressure_text(known.gauge_centibar / 100, units),
            filled=pressure_text(filled / 100, units),
        )  # fmt: skip


def _fill(scope: Scope, cylinder: str, fact_id: str) -> Fact | None:
    named = (fact for fact in scope.inputs.facts if fact.id == fact_id and fact.stream == f"gas/{cylinder}")
    return next((fact for fact in named if fact.kind in {Kind.FILLED, Kind.TOPPED_UP}), None)


def _pressure_units(scope: Scope, cylinder: str) -> UnitSystem:
    owner = next(iter(scope.breathers(cylinder)), None)
    return next((diver.units for diver in scope.inputs.divers if diver.id == owner), scope.inputs.units)


def temperature_near_water(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Note: cylinder and water are so far apart that one of the units may be wrong."""
    known = scope.known(cylinder)
    water_k = scope.inputs.dive.place.water_temperature_k if scope.inputs.dive else None
    if known is None or known.temperature_centi_k is None or water_k is None or not scope.in_dive(cylinder):
        return
    read_k = known.temperature_centi_k / 100
    if abs(read_k - water_k) > TEMPERATURE_ROOM_K:
        units = scope.inputs.units.value
        yield scope.find(
            "analysis.temperature_far", scope.subject(cylinder), cylinder=temperature_text(read_k, units),
            water=temperature_text(water_k, units),
        )  # fmt: skip


def vouches_at_start(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: the analysis vouches now, but not any more when the dive starts."""
    known, start = scope.known(cylinder), scope.inputs.start
    if known is None or start is None or known.expires is None or not scope.in_dive(cylinder):
        return
    if known.expires < start:
        yield scope.find("gas.expires_before_dive", scope.subject(cylinder), until=scope.moment(known.expires),
                         start=scope.moment(start))  # fmt: skip


def dive_is_today(scope: Scope) -> Iterator[Finding]:
    """Stop: the dive is planned for another dive day than now."""
    inputs = scope.inputs
    today = dive_day(scope.now, inputs.zone, scope.policy)
    planned = inputs.day if inputs.start is None else dive_day(inputs.start, inputs.zone, scope.policy)
    if inputs.plan is not None and planned is not None and planned != today and not _overnight(scope, inputs.start):
        yield scope.find("dive.other_day", Subject(), day=planned.isoformat(), today=today.isoformat())


def _overnight(scope: Scope, start: datetime | None) -> bool:
    """True for a dive that starts within the next hours, across the end of the dive day."""
    return start is not None and timedelta(0) <= start.astimezone(ZoneInfo("UTC")) - scope.now <= timedelta(hours=6)
