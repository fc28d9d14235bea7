"""Gates on one cylinder's gas and labels: what is in it, who says so, and does its label say the same."""

from collections.abc import Iterator
from datetime import timedelta

from gaswright.clearance.scope import Scope, mixture_text, stale
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.register import CylinderRecord
from gaswright.custody.standing import Known, Standing, Unknown
from gaswright.findings import Finding
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import UnitSystem
from gaswright.planning.mods import mod_m
from gaswright.planning.wording import depth_text
from gaswright.team.confusable import LabelNumber, mark_number, mod_number

__all__ = [
    "agreement", "fill_tolerance", "gas_codes", "gas_known", "label_shows_analysis", "own_analysis", "permanent_mark",
    "staging_depth", "unknown_gas",
]

STAGING_ROOM_M = 0.005  # places are recorded to the centimetre; 70 ft is 21.336 m
_UNSAID = {"changed": "(time not recorded)", "at": "(time not recorded)", "ahead": "some time", "fact": "?"}


def gas_codes() -> frozenset[str]:
    """Codes of the stops that say only that a gas is unknown; frozen is more than that."""
    return frozenset(f"gas.{why}" for why in Unknown if why is not Unknown.FROZEN)


def gas_known(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: the gas is unknown. Suit gas and surface oxygen are only asked whether they are frozen."""
    standing = scope.standing(cylinder)
    frozen = standing is not None and (standing.frozen or standing.why is Unknown.FROZEN)
    if frozen:
        yield scope.find("gas.frozen", scope.subject(cylinder))
    elif scope.breathed(cylinder):
        yield from unknown_gas(scope, cylinder, standing)


def unknown_gas(scope: Scope, cylinder: str, standing: Standing | None) -> Iterator[Finding]:
    """Stop: why the gas of a cylinder is unknown now; nothing if it is known.

    Args:
        scope: of the clearance.
        cylinder: id.
        standing: as folded; None: nobody folded one.
    """
    why = _why(standing, scope)
    if why is None:
        return
    values = dict(standing.why_values) if standing is not None else {}
    if standing is not None and standing.known is not None:
        known = standing.known
        values = {"at": scope.moment(known.at), "ahead": _span_text(known.at - scope.now)} | values
    yield scope.find(f"gas.{why}", scope.subject(cylinder), **(_UNSAID | values))


def _why(standing: Standing | None, scope: Scope) -> Unknown | None:
    if standing is None:
        return Unknown.NEVER_ANALYSED
    if standing.why is not None:
        return standing.why
    if standing.known is None:
        return Unknown.NEVER_ANALYSED
    return stale(standing.known, scope.policy, scope.now)


def _span_text(span: timedelta) -> str:
    minutes = round(span.total_seconds() / 60)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min"


def agreement(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Note: what the fold remarked about a known gas (two readings that agree)."""
    known = scope.known(cylinder)
    if known is not None and scope.breathed(cylinder):
        for code in known.notes:
            yield scope.find(code, scope.subject(cylinder))


def own_analysis(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Ask: a planned diver breathes what another analysed and has not accepted it."""
    known = scope.known(cylinder)
    if known is None or not scope.in_dive(cylinder):
        return
    for diver in scope.breathers(cylinder):
        if diver in scope.team and diver != known.by and diver not in known.accepted_by:
            yield scope.find("analysis.by_another", scope.about(diver, cylinder), by=scope.name(known.by),
                             breather=scope.name(diver))


def fill_tolerance(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Note: the reading is outside the tolerance of the fill's target."""
    known = scope.known(cylinder)
    target = _target(scope, cylinder, known) if known is not None else None
    if known is None or target is None or not scope.breathed(cylinder):
        return
    reading = known.reading.mixture
    if _off(reading.o2_e4, target.o2_e4, scope.policy.fill_tolerance_o2_percent) or _off(
        reading.he_e4, target.he_e4, scope.policy.fill_tolerance_he_percent
    ):
        yield scope.find("fill.out_of_tolerance", scope.subject(cylinder), reading=mixture_text(reading),
                         target=mixture_text(target))


def _off(one_e4: int, other_e4: int, percent: float) -> bool:
    return abs(one_e4 - other_e4) > round(percent * 100)


def _target(scope: Scope, cylinder: str, known: Known) -> Mixture | None:
    fill = _fact(scope, known.fill)
    record = scope.record(cylinder)
    o2_e4, he_e4 = (fill.data.get("target_o2_e4"), fill.data.get("target_he_e4")) if fill is not None else (None, None)
    if o2_e4 is None and record is not None:
        o2_e4, he_e4 = record.target_o2_e4, record.target_he_e4
    return Mixture(o2_e4, he_e4 if isinstance(he_e4, int) else 0) if isinstance(o2_e4, int) else None


def _fact(scope: Scope, fact_id: str) -> Fact | None:
    return next((fact for fact in scope.inputs.facts if fact.id == fact_id), None)


def label_shows_analysis(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: no label, or a label put on another cylinder. Suit and surface: only the wrong one is a fault."""
    standing, record = scope.standing(cylinder), scope.record(cylinder)
    if standing is not None and standing.label_serial_matches is False:
        read = _serial_read(scope, standing)
        yield scope.find("label.other_cylinder", scope.subject(cylinder), read=read,
                         serial=cylinder if record is None else _serial_like(record, read))
    elif standing is not None and standing.label is None and scope.breathed(cylinder) and scope.known(cylinder):
        yield scope.find("label.missing", scope.subject(cylinder))


def _serial_like(record: CylinderRecord, read: str) -> str:
    return record.serial if len(read) > len(record.id_on_metal) else record.id_on_metal


def _serial_read(scope: Scope, standing: Standing) -> str:
    stream = f"gas/{standing.cylinder}"
    known = standing.known
    read = [
        str(fact.data["serial_read"])
        for fact in scope.inputs.facts
        if fact.kind == Kind.LABEL_APPLIED and fact.stream == stream and fact.data.get("serial_read")
        and (fact.id == standing.label or (known is not None and known.analysis in fact.rests_on))
    ]
    return read[-1] if read else "another cylinder"


def permanent_mark(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: a permanent mark deeper than the MOD, or one that cannot be read; note: it is not deeper."""
    record, mod = scope.record(cylinder), scope.mods.get(cylinder)
    if record is None or not record.permanent_mark or mod is None:
        return
    if scope.known(cylinder) is None or not scope.breathed(cylinder):
        return
    mark = mark_number(record.permanent_mark)
    if mark is None:
        yield scope.find("mark.unreadable", scope.subject(cylinder), mark=record.permanent_mark,
                         mod=str(mod_number(mod, scope.inputs.units)))
        return
    own = _in_unit_of(mark, mod)
    code = "mark.deeper_than_mod" if float(mark.number) > float(own.number) else "mark.not_analysis"
    yield scope.find(code, scope.subject(cylinder), mark=str(mark), mod=str(own))


def _in_unit_of(mark: LabelNumber, mod: LabelMod) -> LabelNumber:
    return mod_number(mod, UnitSystem.IMPERIAL if mark.unit == "ft" else UnitSystem.METRIC)


def staging_depth(scope: Scope, cylinder: str) -> Iterator[Finding]:
    """Stop: staged or hung deeper than its MOD, as planned or as it was really left."""
    mod = scope.mods.get(cylinder)
    if mod is None or scope.known(cylinder) is None or not scope.breathed(cylinder):
        return
    deepest_m = max(_places_m(scope, cylinder), default=None)
    if deepest_m is not None and deepest_m > mod_m(mod, scope.inputs.units) + STAGING_ROOM_M:
        yield scope.find("mod.staging", scope.subject(cylinder), use=depth_text(deepest_m, scope.inputs.units),
                         mod=str(mod_number(mod, scope.inputs.units)))


def _places_m(scope: Scope, cylinder: str) -> Iterator[float]:
    planned = scope.planned(cylinder)
    if planned is not None and planned.staged and planned.place_depth_m is not None:
        yield planned.place_depth_m
    staged = scope.staged_fact(cylinder)
    depth_cm = staged.data.get("place_depth_cm") if staged is not None else None
    if isinstance(depth_cm, int):
        yield depth_cm / 100

