"""Small dives for the planning tests: invented people, invented cylinders."""

from dataclasses import replace
from typing import Any

from gaswright.analysis.reading import Reading
from gaswright.exchange.policy_file import policy_of, shipped_policy
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning.dive import Basis, Diver, Level, PlanCylinder, Role, Settings, TeamDive
from gaswright.policy import Policy

__all__ = ["POLICY", "STRICT", "WATER_K", "cylinder", "deco", "dive", "diver", "main", "tightened"]

POLICY = shipped_policy()
WATER_K = 281.15  # 8 C
STRICT = Place(water_temperature_k=WATER_K)


def tightened(**changes: float) -> Policy:
    """The shipped policy with other values."""
    return policy_of(changes)


def diver(name: str = "d1", **changes: Any) -> Diver:  # noqa: ANN401  any field of the type
    """A diver of usual consumption."""
    usual = Diver(name, f"Diver {name}", name.upper(), rmv_bottom_l_min=18.0, rmv_deco_l_min=15.0)
    return replace(usual, **changes)


def cylinder(name: str, divers: str, role: Role, gas: tuple[int, int] | None, **changes: Any) -> PlanCylinder:  # noqa: ANN401
    """A cylinder; the gas in percent, its uncertainty 0.5 % O2 and 1 % He."""
    reading = None if gas is None else Reading(Mixture(gas[0] * 100, gas[1] * 100), 50, 100 if gas[1] else 0)
    usual = PlanCylinder(
        id=name, serial=f"S-{name}", divers=tuple(divers.split()), role=role, volume_l=12.0,
        working_pressure_bar=200.0, gas=reading, basis=Basis.ANALYSED, gauge_bar=200.0, temperature_k=WATER_K,
    )
    return replace(usual, **changes)


def main(name: str, divers: str, gas: tuple[int, int] | None = (18, 45), **changes: Any) -> PlanCylinder:  # noqa: ANN401
    """Large mains that hold minimum gas on the dives of these tests."""
    return cylinder(name, divers, Role.MAIN, gas, **({"volume_l": 36.0, "gauge_bar": 230.0} | changes))


def deco(name: str, divers: str, gas: tuple[int, int] | None = (50, 0), **changes: Any) -> PlanCylinder:  # noqa: ANN401
    """A deco cylinder."""
    return cylinder(name, divers, Role.DECO, gas, **changes)


def dive(*, team: int = 2, depth_m: float = 45.0, minutes: float = 20.0, **changes: Any) -> TeamDive:  # noqa: ANN401
    """A dive that clears: 21/35 in the mains, 50 % and oxygen for the way up, nobody alone."""
    divers = tuple(diver(f"d{n}") for n in range(1, team + 1))
    cylinders = tuple(
        c for d in divers
        for c in (main(f"m-{d.id}", d.id, (21, 35)), deco(f"e-{d.id}", d.id), deco(f"o-{d.id}", d.id, (100, 0)))
    )
    usual = TeamDive(divers, cylinders, (Level(depth_m, minutes),), STRICT, Settings())
    return replace(usual, **changes)
