"""Who pulls a switch shallower: the cylinder that allows less than the step is meant for, never the sound ones."""

from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Plan
from gaswright.planning.plan import plan
from unit.planning.dives import POLICY, deco, dive
from unit.planning.test_planning_findings import with_cylinder

OXYGEN, EAN50 = Mixture(10_000), Mixture(5_000)


def pulls(made: Plan) -> list[str | None]:
    """The cylinders that are asked about."""
    return [f.subject.cylinder for f in made.findings if f.code == "team.pulled_shallower"]


def test_a_lean_gas_in_the_oxygen_step_does_not_blame_the_oxygen() -> None:
    """One diver's oxygen cylinder reads 50 %: the step stays at 6 m, and nobody is told to refill good oxygen."""
    base = dive()
    for diver in ("d1", "d2"):
        base = with_cylinder(deco(f"o-{diver}", diver, (100, 0), target=OXYGEN), base)
    made = plan(with_cylinder(deco("o-d1", "d1", (50, 0), target=OXYGEN), base), POLICY)
    assert pulls(made) == []
    assert 6.0 in {gas.depth_m for gas in made.team_gases}


def test_a_lean_gas_in_the_fifty_step_does_not_blame_the_fifty() -> None:
    """One reads 40 % and would allow more depth than the step is meant for: nothing is pulled."""
    base = with_cylinder(deco("e-d2", "d2", (50, 0), target=EAN50), dive())
    assert pulls(plan(with_cylinder(deco("e-d1", "d1", (40, 0), target=EAN50), base), POLICY)) == []


def test_a_rich_gas_is_the_one_that_pulls() -> None:
    """53 % allows 18 m only: that cylinder is named, and the step would be at 21 m without it."""
    base = with_cylinder(deco("e-d1", "d1", (50, 0), target=EAN50), dive())
    made = plan(with_cylinder(deco("e-d2", "d2", (53, 0), target=EAN50), base), POLICY)
    assert pulls(made) == ["e-d2"]
    step = next(gas for gas in made.team_gases if gas.pulled_by)
    assert (step.depth_m, step.would_be_m) == (18.0, 21.0)
