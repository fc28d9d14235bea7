"""Gates on a cylinder's past: oxygen that falls, an analysis of the evening before, a cylinder out of use."""

from collections.abc import Iterator

from gaswright.clearance.scope import Scope, dive_day, mixture_text
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import stream_facts, voids
from gaswright.custody.labels import same_serial
from gaswright.custody.same_gas import oxygen_fall
from gaswright.findings import Finding
from gaswright.physics.mixture import percent_text

__all__ = ["oxygen_falls", "read_again", "retired"]


def oxygen_falls(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Note: the same gas was read richer before, by more than the uncertainty of both readings."""
    known = scope.known(cylinder)
    if known is None:
        return
    fall = oxygen_fall(stream_facts(scope.inputs.facts, f"gas/{cylinder}"), known.analysis, scope.policy)
    if fall is not None:
        yield scope.find("gas.oxygen_falls", scope.subject(cylinder), reading=mixture_text(fall.now.mixture),
                         before=f"{percent_text(fall.before.mixture.o2_e4)} %", at=scope.moment(fall.earlier.at))


def read_again(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: an analysis of an earlier dive day vouches by policy, but nobody read ID and pressure again today."""
    standing, known = scope.standing(cylinder), scope.known(cylinder)
    if standing is None or known is None or standing.staged or not scope.policy.evening_analysis:
        return
    zone, policy = scope.inputs.zone, scope.policy
    today = dive_day(scope.now, zone, policy)
    if dive_day(known.at, zone, policy) >= today or not scope.breathed(cylinder):
        return
    stream = stream_facts(scope.inputs.facts, f"gas/{cylinder}")
    corrected = voids(stream)
    if not any(fact.id not in corrected and dive_day(fact.at, zone, policy) == today
               and _reads_again(scope, cylinder, fact, known.analysis) for fact in stream):
        yield scope.find("gas.read_again", scope.subject(cylinder), at=scope.moment(known.at))


def _reads_again(scope: Scope, cylinder: str, fact: Fact, analysis: str) -> bool:
    record = scope.record(cylinder)
    return (
        fact.kind == Kind.PRESSURE_READ and analysis in fact.rests_on and record is not None and fact.at <= scope.now
        and isinstance(fact.data.get("gauge_centibar"), int)
        and same_serial(fact.data.get("serial_read"), record.serial)
    )


def retired(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: the register says that it is out of use for good."""
    record = scope.record(cylinder)
    if record is not None and record.retired:
        yield scope.find("cylinder.retired", scope.subject(cylinder))
