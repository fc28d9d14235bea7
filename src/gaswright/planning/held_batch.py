"""A held plan on very many gases of one cylinder: by the batch kernel, its samples verified."""

from collections.abc import Iterator, Mapping, Sequence

from gaswright.decompression.request import Breath
from gaswright.physics.mixture import Mixture
from gaswright.planning.held_plan import HeldPlan, Shown, breath_instead, shown_with
from gaswright.planning.kit import Kit

__all__ = ["pool_shares", "shown_in_bulk"]

WORTH_A_BATCH = 300  # gases from which the kernel's start is worth it [GASWRIGHT]


def shown_in_bulk(held: HeldPlan, cylinder: str, gases: Sequence[Mixture]) -> list[Shown | None]:
    """What the held plan comes to for each gas that a cylinder may hold; None where no schedule exists.

    Args:
        held: the planned dive.
        cylinder: id.
        gases: one after the other.

    Raises:
        BatchUnsound: the batch does not stand up to single schedules.
        Unverified: the verifier does not pass a run.
    """
    if len(gases) < WORTH_A_BATCH:
        return shown_with(held, cylinder, gases)
    from gaswright.decompression.batch import run_many  # noqa: PLC0415  arrays and compiler are loaded when needed
    from gaswright.decompression.batch_columns import column, gas_columns  # noqa: PLC0415
    from gaswright.decompression.batch_request import Variations  # noqa: PLC0415

    kit, request = held.kit, held.request
    o2, he = gas_columns(request, len(gases), dict(_changed(held, cylinder, gases)))
    bottom = column([diver.rmv_bottom_l_min for diver in kit.dive.divers])
    deco = column([diver.rmv_deco_l_min for diver in kit.dive.divers])
    variations = Variations(len(gases), o2=o2, he=he, rmv_bottom_l_min=bottom, rmv_deco_l_min=deco)
    made = run_many(request, variations, stops=True)
    shares = [pool_shares(kit, use.diver, use.cylinder) for use in made.uses]
    keys = [round(depth_m * 1000) for depth_m in made.halt_m]
    last = round(request.levels[-1].depth_m * 1000)
    stops = made.stop_min.tolist() if made.stop_min is not None else []
    used = made.used_l.tolist() if made.used_l is not None else []
    rows = zip(made.feasible.tolist(), made.tts_min.tolist(), stops, made.bottom_wait_min.tolist(), used, strict=True)
    return [Shown(tts, _halts(keys, halts, last, wait), _used(shares, litres)) if fine else None
            for fine, tts, halts, wait, litres in rows]


def _changed(
    held: HeldPlan, cylinder: str, gases: Sequence[Mixture]
) -> Iterator[tuple[Breath, list[tuple[float, float]]]]:
    """Each planned gas that changes with the cylinder's, to its oxygen and helium run by run."""
    seen: set[Breath] = set()
    request = held.request
    places = (request.start_gas, *(level.gas for level in request.levels), *(one.gas for one in request.changes),
              *(phase.gas for cycle in request.cycles for phase in cycle.phases))
    for place in places:
        for diver, breath in place.items():
            pool = held.kit.pool(diver, breath.cylinder)
            if breath in seen or not any(c.id == cylinder for c in pool):
                continue
            seen.add(breath)
            breathed = [breath_instead(held.kit, diver, breath, {cylinder: gas}) for gas in gases]
            yield breath, [(one.o2, one.he) for one in breathed]


def pool_shares(kit: Kit, diver: str, cylinder: str) -> Mapping[str, float]:
    """Cylinder id to its share of what a diver draws "from" one of them: mains share by volume [fraction].

    Args:
        kit: of the dive.
        diver: id.
        cylinder: id as the schedule names it.
    """
    pool = kit.pool(diver, cylinder)
    volume_l = sum(c.volume_l for c in pool)
    return {c.id: c.volume_l / volume_l for c in pool}


def _halts(keys: Sequence[int], minutes: Sequence[float], last: int, wait_min: float) -> dict[int, float]:
    found = {key: stop_min for key, stop_min in zip(keys, minutes, strict=True) if stop_min > 0.0}
    if wait_min > 0.0:
        found[last] = found.get(last, 0.0) + wait_min
    return found


def _used(shares: Sequence[Mapping[str, float]], litres: Sequence[float]) -> dict[str, float]:
    found: dict[str, float] = {}
    for share, used_l in zip(shares, litres, strict=True):
        for cylinder, part in share.items():
            found[cylinder] = found.get(cylinder, 0.0) + used_l * part
    return found
