"""The rules that bound an acceptance window: each is one question to a reading, the sheet held as it is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from gaswright.analysis.reading import Reading
from gaswright.catalogue import CATALOGUE, RULES
from gaswright.findings import Rule
from gaswright.physics.content import free_litres
from gaswright.physics.density import density_g_l
from gaswright.physics.depth_limits import ppo2_ata
from gaswright.physics.mixture import WHOLE_E4, Mixture
from gaswright.physics.narcosis import end_oxygen_narcotic_m
from gaswright.planning.contents import Content
from gaswright.planning.dive import PlanCylinder
from gaswright.planning.gas_checks import planned_use_m
from gaswright.planning.held_plan import HeldPlan, Shown, moved_l
from gaswright.planning.mods import label_mod_of, limit_centi_ata, mod_m, used_both_ways
from gaswright.planning.uses import Use
from gaswright.policy import Policy

__all__ = [
    "AT_THE_PLACE", "DENSITY", "END", "MOD", "NO_SCHEDULE", "PPO2_LOW", "PRESSURE", "RUNS_OUT", "STOP_MOVED",
    "TTS_MOVED", "Questions", "available_with_l", "by_helium", "by_oxygen", "by_sheet", "questions_of", "rule_of",
    "too_dense",
]

MOD, AT_THE_PLACE, PPO2_LOW = "mod.planned_use", "mod.place_ppo2", "ppo2.low"
END, DENSITY = "narcosis.end", "density.ask"
NO_SCHEDULE, RUNS_OUT = "schedule.too_long", "supply.runs_out"
TTS_MOVED, STOP_MOVED, PRESSURE = "window.tts", "window.stop", "window.pressure"
ROUNDING = 1e-9  # binary rounding of a pressure, a density or a time
SAME_DEPTH_M = 1e-6  # two depths that are equal as typed, after conversion from feet
ROUNDING_L = 1e-6  # binary rounding of a volume of gas


@dataclass(frozen=True, slots=True)
class Questions:
    """What a reading of one cylinder is asked.

    Args:
        held: the planned dive.
        cylinder: whose window it is.
        use: where it is breathed.
        u_o2_e4: expanded uncertainty of a reading's oxygen [e-4].
        u_he_e4: expanded uncertainty of a reading's helium, counted where there is helium [e-4].
        end_limit_m: of the policy, or what the plan already has and was answered for [m].
        density_limit_g_l: the same for density [g/L].
        moved_l: cylinder id to the free gas that makes a printed pressure move too far [L].
        others_l: cylinder id to the free gas that can be breathed, the cylinder itself left out [L].
    """

    held: HeldPlan
    cylinder: PlanCylinder
    use: Use
    u_o2_e4: int
    u_he_e4: int
    end_limit_m: float
    density_limit_g_l: float
    moved_l: Mapping[str, float]
    others_l: Mapping[str, float]

    @property
    def policy(self) -> Policy:
        """The limits."""
        return self.held.kit.policy

    def reading(self, mixture: Mixture) -> Reading:
        """A reading with the uncertainty that counts here.

        Args:
            mixture: as read.
        """
        return Reading(mixture, self.u_o2_e4, self.u_he_e4 if mixture.he_e4 else 0)


def questions_of(held: HeldPlan, cylinder: str, u_o2_e4: int, u_he_e4: int) -> Questions:
    """What readings of a cylinder are asked; an END or a density that the plan already has is no news.

    Args:
        held: the planned dive; it breathes the cylinder.
        cylinder: id.
        u_o2_e4: expanded uncertainty of oxygen [e-4].
        u_he_e4: expanded uncertainty of helium [e-4].
    """
    kit, use, asked = held.kit, held.uses[cylinder], held.kit.cylinders[cylinder]
    others_l = {c: content.available_l for c, content in held.contents.items() if c != cylinder}
    bare = Questions(held, asked, use, u_o2_e4, u_he_e4, kit.policy.end_limit_m, kit.policy.density_ask_g_l,
                     moved_l(held, kit.policy.sheet_bar), others_l)
    if asked.gas is None:
        return bare
    planned = _lean_helium(asked.gas)
    end_m = end_oxygen_narcotic_m(planned, use.deepest_m)
    here_g_l = density_g_l(planned, kit.dive.place.ambient_bar(use.deepest_m))
    return replace(bare, end_limit_m=max(bare.end_limit_m, end_m),
                   density_limit_g_l=max(bare.density_limit_g_l, here_g_l))


def _lean_helium(reading: Reading) -> Mixture:
    return Mixture(reading.mixture.o2_e4, reading.lean_he_e4)


def by_oxygen(asked: Questions, reading: Reading) -> str | None:
    """The rule on oxygen that a reading breaks: MOD as numbers, ppO2 at the place, too little oxygen; None: none.

    Args:
        asked: the questions.
        reading: with its uncertainty; only its oxygen counts.
    """
    policy, cylinder, dive = asked.policy, asked.cylinder, asked.held.kit.dive
    both, deepest_m = used_both_ways(cylinder), planned_use_m(cylinder, asked.use)
    if deepest_m > mod_m(label_mod_of(reading, cylinder.role, policy, both_ways=both), dive.units) + SAME_DEPTH_M:
        return MOD
    rich_ata = ppo2_ata(reading.rich_o2_e4 / WHOLE_E4, dive.place.ambient_bar(deepest_m))
    if rich_ata > limit_centi_ata(cylinder.role, policy, both) / 100 + policy.ppo2_place_room_ata + ROUNDING:
        return AT_THE_PLACE
    lean_ata = ppo2_ata(reading.lean_o2_e4 / WHOLE_E4, dive.place.ambient_bar(asked.use.shallowest_m))
    return PPO2_LOW if lean_ata < policy.ppo2_low_stop_ata - ROUNDING else None


def by_helium(asked: Questions, reading: Reading) -> str | None:
    """The rule on narcosis that a reading breaks, None: none.

    Args:
        asked: the questions.
        reading: with its uncertainty; only its helium counts.
    """
    end_m = end_oxygen_narcotic_m(_lean_helium(reading), asked.use.deepest_m)
    return END if end_m > asked.end_limit_m + SAME_DEPTH_M else None


def too_dense(asked: Questions, reading: Reading) -> str | None:
    """The rule on density that a reading breaks, None: none.

    Args:
        asked: the questions.
        reading: with its uncertainty.
    """
    here_g_l = density_g_l(_lean_helium(reading), asked.held.kit.dive.place.ambient_bar(asked.use.deepest_m))
    return DENSITY if here_g_l > asked.density_limit_g_l + ROUNDING else None


def by_sheet(asked: Questions, shown: Shown | None, available_l: float | None) -> Sequence[str]:
    """The rules on decompression and supply that a re-planned outcome breaks; empty: none.

    Args:
        asked: the questions.
        shown: of the held plan on that gas, None where no schedule exists.
        available_l: what the cylinder then gives, None where its pressure is unknown [L]
    """
    if shown is None:
        return (NO_SCHEDULE,)
    planned, policy = asked.held.shown, asked.policy
    gives_l = dict(asked.others_l) | ({} if available_l is None else {asked.cylinder.id: available_l})
    broken = []
    if any(used_l > gives_l.get(c, used_l) + ROUNDING_L for c, used_l in shown.used_l.items()):
        broken.append(RUNS_OUT)
    if abs(shown.tts_min - planned.tts_min) > policy.sheet_tts_min + ROUNDING:
        broken.append(TTS_MOVED)
    halts = planned.halts.keys() | shown.halts.keys()
    if any(abs(shown.halts.get(h, 0.0) - planned.halts.get(h, 0.0)) > policy.sheet_stop_min + ROUNDING
           for h in halts):
        broken.append(STOP_MOVED)
    if any(abs(used_l - planned.used_l.get(c, 0.0)) > asked.moved_l.get(c, used_l + 1.0)
           for c, used_l in shown.used_l.items()):
        broken.append(PRESSURE)
    return broken


def available_with_l(content: Content, mixture: Mixture, unusable_bar: float) -> float:
    """Free gas that a cylinder gives at its start pressure if it holds another gas [L].

    Args:
        content: as planned.
        mixture: held instead.
        unusable_bar: gauge pressure that cannot be breathed [bar]
    """
    full_l = free_litres(content.start_bar, content.volume_l, content.temperature_k, mixture)
    return max(0.0, full_l - free_litres(unusable_bar, content.volume_l, content.temperature_k, mixture))


def rule_of(policy: Policy, code: str) -> Rule:
    """The rule behind a code of the catalogue, with its source.

    Args:
        policy: whose settings are named.
        code: key of the catalogue.
    """
    name = CATALOGUE[code].rule
    return Rule(name, RULES[name]) if name in RULES else policy.rule(name)
