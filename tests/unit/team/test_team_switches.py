"""The switch plan and the gas matrix."""

from collections.abc import Mapping, Sequence

import pytest

from check import close
from gaswright.analysis.reading import Reading
from gaswright.decompression.request import Breath, Schedule, Segment, SegmentKind
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place
from gaswright.planning.dive import Basis, Case, Diver, Level, Plan, PlanCylinder, Role, TeamDive, TeamGas
from gaswright.team.matrix import gas_matrix
from gaswright.team.switches import switch_plan

MODS = {"e1": LabelMod(160, 21, 70, "EAN50"), "e2": LabelMod(160, 18, 60), "o1": LabelMod(160, 6, 20, "oxygen")}


def cylinder(name: str, role: Role, gas: Mixture | None, divers: tuple[str, ...] = ()) -> PlanCylinder:
    """A cylinder of the diver whose number it carries."""
    owners = divers or (f"d{name[1]}",)
    return PlanCylinder(name, f"X{name}", owners, role, 12.0, 232.0, Reading(gas) if gas else None, Basis.ANALYSED,
                        200.0, 288.15)


CYLINDERS = (
    cylinder("o1", Role.DECO, Mixture(9920), ("d1", "d2")), cylinder("e1", Role.DECO, Mixture(4960)),
    cylinder("e2", Role.DECO, Mixture(5200)), cylinder("m1", Role.MAIN, Mixture(1820, 4460)),
    cylinder("m2", Role.MAIN, Mixture(1800, 4500)), cylinder("m3", Role.MAIN, None),
)


def dive(*divers: str) -> TeamDive:
    """A dive of these divers."""
    return TeamDive(tuple(Diver(one, one, one, 18.0, 15.0) for one in divers), CYLINDERS, (Level(57.0, 25.0),), Place())


def plan(gases: Sequence[Mapping[str, str]], schedule: Schedule | None = None) -> Plan:
    """A plan with these switches at 21 m, 6 m ..."""
    depths_m = (21.0, 6.0)
    case = Case("planned", (), 0.0, 0.0, completed=True, schedule=schedule, oxygen={}, supply={})
    return Plan(Basis.ANALYSED, tuple(TeamGas(depth_m, gas) for depth_m, gas in zip(depths_m, gases, strict=False)),
                (case,), 27.0, ())


def test_the_next_in_order_confirms_and_the_last_is_confirmed_by_the_first() -> None:
    """Three divers in the order of the card."""
    (switch,) = switch_plan(plan([{"d2": "e2", "d1": "e1", "d3": "m3"}]), dive("d1", "d2", "d3"))
    assert switch.order == ("d2", "d1", "d3")
    assert [turn.confirmed_by for turn in switch.turns] == ["d1", "d3", "d2"]


def test_two_divers_confirm_each_other() -> None:
    """Each is the other's buddy."""
    (switch,) = switch_plan(plan([{"d1": "e1", "d2": "e2"}]), dive("d1", "d2"))
    assert [turn.confirmed_by for turn in switch.turns] == ["d2", "d1"]


def test_one_who_switches_alone_in_a_team_is_confirmed_by_the_next_of_the_team() -> None:
    """The team watches although only one switches."""
    (switch,) = switch_plan(plan([{"d2": "e2"}]), dive("d1", "d2", "d3"))
    assert [turn.confirmed_by for turn in switch.turns] == ["d3"]


def test_a_diver_alone_is_confirmed_by_nobody() -> None:
    """The card then says to read twice."""
    (switch,) = switch_plan(plan([{"d1": "e1"}]), dive("d1"))
    assert [turn.confirmed_by for turn in switch.turns] == [None]


def test_gas_cylinder_and_mod_stand_beside_each_diver() -> None:
    """Each diver's own cylinder, its analysed gas and MOD; the switch shows the shallowest MOD."""
    first, second = switch_plan(plan([{"d1": "e1", "d2": "e2"}, {"d1": "o1", "d2": "o1"}]), dive("d1", "d2"), MODS)
    assert [(turn.cylinder, turn.gas_name) for turn in first.turns] == [("e1", "49.6 %"), ("e2", "52 %")]
    close(first.depth_m, 21.0, within=0.0)
    assert first.shallowest_mod == MODS["e2"]
    assert [turn.gas_name for turn in second.turns] == ["OXYGEN", "OXYGEN"]
    assert second.shallowest_mod == MODS["o1"]


def test_a_missing_mod_is_none_and_an_unknown_gas_is_unknown() -> None:
    """Nothing is guessed for the card."""
    (switch,) = switch_plan(plan([{"d1": "e1", "d3": "m3"}]), dive("d1", "d3"), MODS)
    assert switch.turns[1].gas_name == "unknown"
    assert switch.turns[1].mod is None
    assert switch.shallowest_mod is None


def test_the_runtime_of_a_turn_is_when_the_diver_changes_to_it_there() -> None:
    """Turns one after the other; a gas breathed before, on the way down, is not that switch."""
    back, one, two = Breath("m1", 0.18, 0.45), Breath("e1", 0.5, 0.0), Breath("e2", 0.52, 0.0)
    segments = (
        Segment(SegmentKind.DESCENT, 0.0, 21.0, 0.0, 1.0, {"d1": one, "d2": back}),
        Segment(SegmentKind.LEVEL, 57.0, 57.0, 1.0, 29.0, {"d1": back, "d2": back}),
        Segment(SegmentKind.STOP, 21.0, 21.0, 30.0, 1.0, {"d1": one, "d2": back}),
        Segment(SegmentKind.STOP, 21.0, 21.0, 31.0, 3.0, {"d1": one, "d2": two}),
    )
    planned = plan([{"d1": "e1", "d2": "e2"}, {"d1": "o1"}], Schedule(segments, {}, 10.0, 40.0, {}))
    early = Segment(SegmentKind.STOP, 24.0, 24.0, 29.0, 1.0, {"d1": one, "d2": back})
    first, second = switch_plan(planned, dive("d1", "d2"))
    before = plan([{"d1": "e1"}], Schedule((*segments[:2], early, *segments[2:]), {}, 10.0, 40.0, {}))
    assert switch_plan(before, dive("d1", "d2"))[0].turns[0].from_runtime_min is None
    assert [turn.from_runtime_min for turn in first.turns] == [30.0, 31.0]
    assert [turn.from_runtime_min for turn in second.turns] == [None]


def test_the_matrix_has_a_row_per_diver_mains_first_then_from_the_deepest_mod() -> None:
    """Shared cylinders stand in each of their divers' rows and say so; unknown gas says unknown."""
    rows = gas_matrix(dive("d1", "d2", "d3"), MODS)
    assert [(row.diver, [cell.cylinder for cell in row.cells]) for row in rows] == [
        ("d1", ["m1", "e1", "o1"]), ("d2", ["m2", "e2", "o1"]), ("d3", ["m3"]),
    ]
    oxygen = rows[0].cells[2]
    assert oxygen.shared
    assert oxygen.mod == MODS["o1"]
    assert oxygen.gas_name == "OXYGEN"
    assert not rows[0].cells[0].shared
    assert (rows[2].cells[0].gas_name, rows[2].cells[0].analysed) == ("unknown", False)


@pytest.mark.parametrize("basis", list(Basis))
def test_the_matrix_tells_analysed_gas_from_a_target(basis: Basis) -> None:
    """A target is never shown as analysed."""
    one = PlanCylinder("m1", "X1", ("d1",), Role.MAIN, 24.0, 232.0, Reading(Mixture(1800, 4500)), basis, None, 288.15)
    team = TeamDive((Diver("d1", "Ines", "IN", 18.0, 15.0),), (one,), (Level(57.0, 25.0),), Place())
    assert gas_matrix(team)[0].cells[0].analysed is (basis is Basis.ANALYSED)
