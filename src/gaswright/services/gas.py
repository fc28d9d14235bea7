"""One mixture judged as typed: no uncertainty, no team marks, no stop grid."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gaswright.errors import InputError, RangeError
from gaswright.exchange.answer_types import AtDepthAnswer, ModAnswer
from gaswright.exchange.answers import gas_answer, json_text
from gaswright.exchange.mixture_text import mixture
from gaswright.exchange.policy_file import shipped_policy
from gaswright.physics.density import DENSITY_BASIS, density_g_l
from gaswright.physics.depth_limits import LabelMod, label_minimum_depth_m, label_mod, place_mod_m, ppo2_ata
from gaswright.physics.mixture import Mixture
from gaswright.physics.narcosis import ead_m, end_nitrogen_only_m, end_oxygen_narcotic_m
from gaswright.physics.place import Place
from gaswright.policy import Policy
from gaswright.units import Kind, QuantityError, depth_text, parse_number, quantity

__all__ = ["GasAtDepth", "GasJudged", "gas_answer_text", "gas_judged", "gas_lines"]

PPO2_RANGE_ATA = (0.16, 1.65)
DEPTH_RANGE_M = (0.0, 300.0)


@dataclass(frozen=True, slots=True)
class GasAtDepth:
    """A gas at one depth.

    Args:
        depth_m: depth [m].
        ppo2_ata: partial pressure of oxygen [ata].
        end_oxygen_narcotic_m: END, oxygen counted [m].
        end_nitrogen_only_m: END, nitrogen alone [m].
        density_g_l: density on the 0 C basis [g/L].
        ead_m: equivalent air depth, None for helium mixes [m].
    """

    depth_m: float
    ppo2_ata: float
    end_oxygen_narcotic_m: float
    end_nitrogen_only_m: float
    density_g_l: float
    ead_m: float | None


@dataclass(frozen=True, slots=True)
class GasJudged:
    """What a gas may do, at the sea's surface pressure in the water that depth gauges assume.

    Args:
        typed: the words of the request.
        mixture: as typed.
        mods: by limit: as a label says it, and the exact depth at the place.
        minimum_depth_m: shallowest depth with enough oxygen, rounded up [m].
        at_depth: None where no depth was given.
        policy: whose limits were used.
    """

    typed: str
    mixture: Mixture
    mods: tuple[tuple[LabelMod, float], ...]
    minimum_depth_m: int
    at_depth: GasAtDepth | None
    policy: Policy


def gas_judged(mix: str, ppo2: str | None = None, depth: str | None = None, units: str = "metric") -> GasJudged:
    """What a gas may do.

    Args:
        mix: air, oxygen, 32, EAN32 or 18/45.
        ppo2: limit in ata as typed; None: the policy's.
        depth: as typed, with or without unit; None: not asked.
        units: how a plain depth is read.

    Raises:
        InputError: not a gas, not a number, or outside the ranges.
    """
    gas, policy, place = mixture(mix), shipped_policy(), Place()
    limits = (policy.ppo2_bottom_ata, policy.ppo2_deco_ata) if ppo2 is None else (_number(ppo2, "--ppo2"),)
    mods = tuple(_mod(gas, limit_ata, place) for limit_ata in limits)
    low_centi_ata = math.ceil(policy.ppo2_low_stop_ata * 100 - 1e-9)
    return GasJudged(
        typed=" ".join(str(part) for part in (mix, ppo2, depth) if part is not None),
        mixture=gas,
        mods=mods,
        minimum_depth_m=label_minimum_depth_m(gas.o2_e4, low_centi_ata),
        at_depth=None if depth is None else _at_depth(gas, _depth_m(depth, units), place),
        policy=policy,
    )


def _number(text: str, name: str) -> float:
    try:
        return parse_number(text.strip().removesuffix("ata"))
    except QuantityError as error:
        raise InputError(f"{name} {text!r}: {error}") from error


def _depth_m(text: str, units: str) -> float:
    try:
        depth_m = quantity(text, Kind.DEPTH, units)
    except QuantityError as error:
        raise InputError(f"--depth {text!r}: {error}") from error
    if not DEPTH_RANGE_M[0] <= depth_m <= DEPTH_RANGE_M[1]:
        raise RangeError("--depth", depth_m, "m", *DEPTH_RANGE_M, "give a depth that is dived")
    return depth_m


def _mod(gas: Mixture, limit_ata: float, place: Place) -> tuple[LabelMod, float]:
    if not PPO2_RANGE_ATA[0] <= limit_ata <= PPO2_RANGE_ATA[1]:
        raise RangeError("--ppo2", limit_ata, "ata", *PPO2_RANGE_ATA, "nothing above 1.65 is planned")
    limit_centi_ata = int(limit_ata * 100 + 1e-9)
    return label_mod(gas.o2_e4, limit_centi_ata, on_grid=False), place_mod_m(gas.o2, limit_centi_ata / 100, place)


def _at_depth(gas: Mixture, depth_m: float, place: Place) -> GasAtDepth:
    ambient_bar = place.ambient_bar(depth_m)
    return GasAtDepth(
        depth_m,
        ppo2_ata(gas.o2, ambient_bar),
        end_oxygen_narcotic_m(gas, depth_m),
        end_nitrogen_only_m(gas, depth_m),
        density_g_l(gas, ambient_bar),
        ead_m(gas, depth_m) if gas.he_e4 == 0 else None,
    )


def gas_answer_text(judged: GasJudged) -> str:
    """The answer of `gas` as JSON text.

    Args:
        judged: a gas.
    """
    mods = [ModAnswer(mod.limit_centi_ata / 100, mod.metres, mod.feet, place_m) for mod, place_m in judged.mods]
    here = judged.at_depth
    at_depth = None if here is None else AtDepthAnswer(
        here.depth_m, here.ppo2_ata, here.end_oxygen_narcotic_m, here.end_nitrogen_only_m, here.density_g_l,
        here.ead_m,
    )  # fmt: skip
    return json_text(
        gas_answer(judged.mixture, mods, judged.minimum_depth_m, at_depth, judged.policy, typed=judged.typed)
    )


def gas_lines(judged: GasJudged, units: str = "metric") -> Sequence[str]:
    """The same for a terminal, a unit on every number.

    Args:
        judged: a gas.
        units: metric or imperial.
    """
    gas, shallow_m = judged.mixture, judged.minimum_depth_m
    lines = [f"{gas.name}: O2 {gas.o2 * 100:g} %, He {gas.he * 100:g} %, N2 {gas.n2 * 100:g} %"]
    lines += [f"MOD at {mod.limit_centi_ata / 100:g} ata: {mod.metres} m, {mod.feet} ft" for mod, _ in judged.mods]
    lines.append(
        "enough oxygen at the surface, by the label convention"
        if shallow_m == 0
        else f"NOT shallower than {depth_text(shallow_m, units, 'up')}: too little oxygen"
    )
    if judged.at_depth is not None:
        lines += _depth_lines(judged, judged.at_depth, units)
    return [
        *lines,
        "As typed: no uncertainty, stop grid or team marks (oxygen 6 m / 20 ft, EAN50 21 m / 70 ft).",
        "A cylinder's MOD comes from its own analysis.",
    ]


def _depth_lines(judged: GasJudged, here: GasAtDepth, units: str) -> Sequence[str]:
    counted = depth_text(here.end_oxygen_narcotic_m, units, "up")
    nitrogen = depth_text(here.end_nitrogen_only_m, units, "up")
    return [
        f"at {depth_text(here.depth_m, units)}: ppO2 {here.ppo2_ata:.2f} ata{_warning(judged, here)}",
        f"  END {counted} (oxygen narcotic), {nitrogen} (nitrogen only)",
        f"  density {here.density_g_l:.2f} g/L ({DENSITY_BASIS})",
    ]


def _warning(judged: GasJudged, here: GasAtDepth) -> str:
    """What must not be overlooked at this depth."""
    if here.ppo2_ata < judged.policy.ppo2_low_stop_ata:
        return ": TOO LITTLE OXYGEN, not breathable here"
    passed = [mod.limit_centi_ata / 100 for mod, _ in judged.mods if here.ppo2_ata > mod.limit_centi_ata / 100]
    return f": DEEPER THAN ITS MOD at {max(passed):g} ata" if passed else ""
