"""Gates on more than one cylinder: pairs, cylinders alike, labels that can be confused, the surface, the plan's age."""

from collections.abc import Iterator
from itertools import combinations, groupby

from gaswright.clearance.scope import Scope, mixture_text
from gaswright.custody.standing import Known
from gaswright.findings import Finding, Subject
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import percent_text
from gaswright.planning.dive import Basis, Rig, Role
from gaswright.planning.mods import mod_of
from gaswright.team.confusable import Confusion, LabelTexts, confusions, label_texts, mark_number, mod_number

__all__ = ["confusable_labels", "isolators", "pairs_agree", "plan_is_on_these_gases", "surface_oxygen", "two_alike"]


def pairs_agree(scope: Scope) -> Iterator[Finding]:
    """Note or ask: two cylinders of a pair, each analysed, differ."""
    paired = sorted(
        (pair, cylinder)
        for cylinder, record in scope.inputs.register.items()
        if scope.breathed(cylinder) and (pair := record.pair or _own_mains(scope, cylinder))
    )
    for pair, members in groupby(paired, key=lambda member: member[0]):
        known = [(cylinder, gas) for _, cylinder in members if (gas := scope.known(cylinder)) is not None]
        differing = [found for one, other in combinations(known, 2) if (found := _differ(scope, pair, one, other))]
        yield from differing


def _own_mains(scope: Scope, cylinder: str) -> str | None:
    """The name of the pair that two mains of one diver are, whether anybody named it or not."""
    breathers = scope.breathers(cylinder)
    if scope.role(cylinder) is not Role.MAIN or len(breathers) != 1:
        return None
    return f"{scope.name(breathers[0])}'s mains"


def _differ(
    scope: Scope, pair: str, one: tuple[str, Known], other: tuple[str, Known],
) -> Finding | None:
    first, second = one[1].reading.mixture, other[1].reading.mixture
    o2_e4, he_e4 = abs(first.o2_e4 - second.o2_e4), abs(first.he_e4 - second.he_e4)
    policy = scope.policy
    asks = o2_e4 > round(policy.pair_o2_ask_percent * 100) or he_e4 > round(policy.pair_he_ask_percent * 100)
    if not asks and o2_e4 <= round(policy.pair_o2_note_percent * 100):
        return None
    parts = [f"{percent_text(part)} % {name}" for part, name in ((o2_e4, "O2"), (he_e4, "He")) if part]
    return scope.find("pair.differs" if asks else "pair.differs_note", scope.subject(one[0]), pair=pair,
                      difference=" and ".join(parts))


def isolators(scope: Scope) -> Iterator[Finding]:
    """Ask: isolator shut at the analysis of manifolded mains; note: nobody said. Both posts analysed is a pair."""
    rigs = {diver.id: diver.rig for diver in scope.inputs.divers}
    for cylinder, record in scope.inputs.register.items():
        if record.pair or scope.role(cylinder) is not Role.MAIN or not scope.in_dive(cylinder):
            continue
        if scope.known(cylinder) is None:
            continue
        if record.isolator_open is False:
            yield scope.find("pair.isolator", scope.subject(cylinder), state="shut")
        elif record.isolator_open is None and any(
            rigs.get(diver) is Rig.DOUBLES for diver in scope.breathers(cylinder)
        ):
            yield scope.find("pair.isolator_unknown", scope.subject(cylinder))


def two_alike(scope: Scope) -> Iterator[Finding]:
    """Ask: a diver carries two cylinders, not mains and not a pair, of one gas or with one MOD on the label."""
    for diver in scope.team:
        carried = [cylinder for cylinder in scope.cylinders if _picked_by_mod(scope, diver, cylinder)]
        alike = [pair for pair in combinations(carried, 2) if _alike(scope, *pair)]
        if alike:
            ids = dict.fromkeys(cylinder for pair in alike for cylinder in pair)
            yield scope.find("team.two_alike", Subject(diver=diver), cylinders=" and ".join(
                f"{cylinder} ({_label_line(scope, cylinder)})" for cylinder in ids))


def _picked_by_mod(scope: Scope, diver: str, cylinder: str) -> bool:
    planned = scope.planned(cylinder)
    return (
        scope.in_dive(cylinder) and diver in scope.breathers(cylinder) and scope.role(cylinder) is not Role.MAIN
        and scope.known(cylinder) is not None and not (planned is not None and planned.staged)
    )


def _alike(scope: Scope, one: str, other: str) -> bool:
    records = scope.record(one), scope.record(other)
    if records[0] and records[1] and records[0].pair and records[0].pair == records[1].pair:
        return False
    numbers = {str(mod_number(scope.mods[cylinder], scope.inputs.units)) for cylinder in (one, other)}
    return len(numbers) == 1 or _whole_percents(scope, one) == _whole_percents(scope, other)


def _whole_percents(scope: Scope, cylinder: str) -> tuple[int, int] | None:
    known = scope.known(cylinder)
    if known is None:
        return None
    return round(known.reading.mixture.o2_e4 / 100), round(known.reading.mixture.he_e4 / 100)


def _label_line(scope: Scope, cylinder: str) -> str:
    known = scope.known(cylinder)
    name = mixture_text(known.reading.mixture) if known is not None else "unknown"
    return f"{name}, MOD {mod_number(scope.mods[cylinder], scope.inputs.units)}"


def confusable_labels(scope: Scope) -> Iterator[Finding]:
    """Ask per diver, and one note for the brief: labels of this dive that can be read as each other."""
    found = confusions([texts for cylinder in scope.cylinders if (texts := _texts(scope, cylinder)) is not None])
    asking = [confusion for confusion in found if confusion.asks]
    for diver in scope.team:
        own = _phrases(confusion for confusion in asking if diver in confusion.divers)
        if own:
            yield scope.find("team.confusable_own", Subject(diver=diver), pairs=", ".join(own))
    said = set(_phrases(iter(asking)))
    rest = [text for text in _phrases(confusion for confusion in found if not confusion.asks) if text not in said]
    if rest:
        yield scope.find("team.confusable", Subject(), pairs=", ".join(rest))


def _phrases(found: Iterator[Confusion]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(confusion.text for confusion in found))


def _texts(scope: Scope, cylinder: str) -> LabelTexts | None:
    if not scope.in_dive(cylinder):
        return None
    known, record = scope.known(cylinder), scope.record(cylinder)
    mark = mark_number(record.permanent_mark) if record is not None and record.permanent_mark else None
    divers, switched_to = scope.breathers(cylinder), scope.role(cylinder) is not Role.MAIN
    if known is not None:
        return label_texts(cylinder, divers, known.rich, scope.mods[cylinder], scope.inputs.units, mark=mark,
                           switched_to=switched_to)
    return LabelTexts(cylinder, divers, (mark,), (), "", switched_to) if mark is not None else None


def surface_oxygen(scope: Scope) -> Iterator[Finding]:
    """Ask: surface oxygen does not last the ride for the persons named; note: nobody said."""
    if scope.inputs.dive is None:
        return
    surface = scope.inputs.surface
    if surface is None or surface.oxygen_l is None or surface.ride_min is None or surface.persons is None:
        yield scope.find("surface.oxygen_unknown", Subject())
        return
    need_l = scope.policy.surface_oxygen_l_min * surface.ride_min * surface.persons
    if surface.oxygen_l < need_l:
        yield scope.find("surface.oxygen_short", Subject(), have=f"{surface.oxygen_l:.0f} L", need=(
            f"{need_l:.0f} L ({surface.persons} x {surface.ride_min:g} min x "
            f"{scope.policy.surface_oxygen_l_min:g} L/min)"))


def plan_is_on_these_gases(scope: Scope) -> Iterator[Finding]:
    """Stop: the plan was made on another reading than the one in force, or on a deeper MOD than the label's."""
    if scope.inputs.dive is None or scope.inputs.plan is None:
        return
    for cylinder in scope.inputs.dive.cylinders:
        known = scope.known(cylinder.id)
        if known is None or cylinder.gas is None or cylinder.basis is not Basis.ANALYSED:
            continue
        on_reading = cylinder.gas.mixture in {known.reading.mixture, known.rich.mixture, known.lean.mixture}
        if not on_reading or _deeper(mod_of(cylinder, scope.policy), scope.mods[cylinder.id]):
            yield scope.find("plan.outdated", scope.subject(cylinder.id), planned=mixture_text(cylinder.gas.mixture),
                             reading=mixture_text(known.rich.mixture))


def _deeper(planned: LabelMod | None, label: LabelMod) -> bool:
    return planned is not None and (planned.metres > label.metres or planned.feet > label.feet)

