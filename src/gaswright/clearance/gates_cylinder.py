"""Gates on the cylinder itself: register, test dates, oxygen service, pressure, staging."""

from collections.abc import Iterator
from datetime import date

from gaswright.clearance.scope import Scope, dive_day, mixture_text
from gaswright.custody.register import CylinderRecord
from gaswright.errors import RangeError
from gaswright.findings import Finding
from gaswright.physics.content import gauge_bar_at_temperature
from gaswright.physics.mixture import Mixture, percent_text
from gaswright.planning.wording import left_pressure_text, needed_pressure_text

__all__ = ["in_test", "oxygen_service", "registered", "settled_pressure", "staged_overnight"]

ZERO_CELSIUS_K = 273.15  # exact


def registered(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: nobody registered it, so size, tests and oxygen service are unknown."""
    if scope.record(cylinder) is None:
        yield scope.find("cylinder.not_registered", scope.subject(cylinder))


def in_test(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: out of test on the day; notes: soon out of test, or no date given."""
    record = scope.record(cylinder)
    if record is not None:
        yield from _test(scope, cylinder, "hydrostatic", record.tested_until)
        yield from _test(scope, cylinder, "visual", record.visual_until)


def _test(scope: Scope, cylinder: str, test: str, until: date | None) -> Iterator[Finding]:
    subject = scope.subject(cylinder)
    if until is None:
        yield scope.find("cylinder.test_unknown", subject, test=test)
    elif until < scope.today:
        yield scope.find("cylinder.out_of_test", subject, test=test, until=until.isoformat())
    elif (until - scope.today).days <= scope.policy.test_warning_days:
        yield scope.find("cylinder.test_soon", subject, test=test, until=until.isoformat())


def oxygen_service(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: the richest gas it can hold (reading plus uncertainty, or its target) needs an oxygen-clean cylinder."""
    record = scope.record(cylinder)
    if record is None or record.oxygen_clean:
        return
    held = _richest(scope, cylinder, record)
    if held is not None and held[0] > round(scope.policy.oxygen_service_percent * 100):
        yield scope.find("cylinder.not_oxygen_clean", scope.subject(cylinder), gas=held[1])


def _richest(scope: Scope, cylinder: str, record: CylinderRecord) -> tuple[int, str] | None:
    # Also a reading that no longer vouches: what was in it may still be.
    standing = scope.standing(cylinder)
    held = []
    if standing is not None and standing.known is not None:
        rich = standing.known.rich
        uncertain = f" (up to {percent_text(rich.rich_o2_e4)} % O2)" if rich.u_o2_e4 else ""
        held.append((rich.rich_o2_e4, mixture_text(rich.mixture) + uncertain))
    if record.target_o2_e4 is not None:
        target = Mixture(record.target_o2_e4, record.target_he_e4 or 0)
        held.append((record.target_o2_e4, f"{mixture_text(target)} (target)"))
    return max(held, default=None)


def settled_pressure(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Note: above its working pressure once settled; without a temperature the reading itself is judged."""
    standing, record = scope.standing(cylinder), scope.record(cylinder)
    known = standing.known if standing is not None else None
    if known is None or record is None or known.gauge_centibar is None:
        return
    reading_bar, working_bar = known.gauge_centibar / 100, record.working_centibar / 100
    settled_bar, reference = reading_bar, "the temperature of the reading (not read)"
    if known.temperature_centi_k is not None:
        settled = _settled_bar(reading_bar, known.temperature_centi_k / 100, known.reading.mixture, scope)
        if settled is not None:
            settled_bar, reference = settled, f"{scope.policy.settled_reference_c:g} C"
    if settled_bar > working_bar:
        units = scope.inputs.units
        yield scope.find("cylinder.over_pressure", scope.subject(cylinder), reference=reference,
                         settled=needed_pressure_text(settled_bar, units),
                         working=left_pressure_text(working_bar, units))


def _settled_bar(reading_bar: float, from_k: float, mixture: Mixture, scope: Scope) -> float | None:
    # Outside the range of the equation of state nothing is guessed: the reading itself is judged.
    try:
        return gauge_bar_at_temperature(
            reading_bar, from_k, scope.policy.settled_reference_c + ZERO_CELSIUS_K, mixture
        )
    except RangeError:
        return None


def staged_overnight(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Ask: staged on an earlier dive day than today's."""
    standing = scope.standing(cylinder)
    if standing is None or not standing.staged or not scope.breathed(cylinder):
        return
    fact = scope.staged_fact(cylinder)
    left = fact.at if fact is not None else standing.known.at if standing.known is not None else None
    zone, policy = scope.inputs.zone, scope.policy
    if left is not None and dive_day(left, zone, policy) < dive_day(scope.now, zone, policy):
        yield scope.find("cylinder.staged_overnight", scope.subject(cylinder), at=scope.moment(left))
