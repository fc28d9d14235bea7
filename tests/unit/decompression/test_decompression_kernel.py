"""The kernel: the closed form against an ODE solver, the leader against stepping, and the shape of its source."""

import ast
import inspect
import math
import random

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from check import close
from gaswright.decompression import kernel
from gaswright.decompression.ceiling_limits import tolerated_bar, weighted
from gaswright.decompression.coefficients import VAPOUR_BAR, coefficients
from gaswright.decompression.ladder import decay, stop_table, travel_table
from gaswright.decompression.request import Breath, Schedule, ScheduleRequest
from gaswright.decompression.scheduler import unverified_schedule
from gaswright.physics.mixture import AIR
from gaswright.physics.place import Place
from oracles.teams import sixty_metres


def rates() -> np.ndarray:
    """Rates of exchange, nitrogen then helium."""
    constants = coefficients("C")
    half_times_min: np.ndarray = np.array(constants.n2_half_min + constants.he_half_min)
    return math.log(2.0) / half_times_min


def integrated(
    start_bar: np.ndarray, breath: Breath, from_bar: float, to_bar: float, minutes: float
) -> np.ndarray:
    """The 32 tensions after a linear change of ambient pressure, by a general-purpose ODE solver."""
    fraction = np.repeat([breath.n2, breath.he], 16)

    def slope(at_min: float, bar: np.ndarray) -> np.ndarray:
        ambient_bar = from_bar + (to_bar - from_bar) * at_min / minutes
        change: np.ndarray = rates() * ((ambient_bar - VAPOUR_BAR) * fraction - bar)
        return change

    end_bar: np.ndarray = solve_ivp(slope, (0.0, minutes), start_bar, rtol=1e-10, atol=1e-12).y[:, -1]
    return end_bar


@pytest.mark.parametrize("seed", range(5))
def test_closed_form_agrees_with_an_ode_solver(seed: int) -> None:
    """Random pieces of profile on random gases end at the tensions that scipy's solve_ivp finds."""
    draw = random.Random(seed)  # noqa: S311  a seeded draw of test cases
    place = Place(surface_bar=draw.uniform(0.7, 1.03), bar_per_m=0.1005)
    n2, he = [0.75] * 16, [0.0] * 16
    expected, depth_m = np.array(n2 + he), 0.0
    for _ in range(6):
        to_m, minutes = draw.choice([depth_m, draw.uniform(0.0, 90.0)]), draw.uniform(0.3, 30.0)
        helium = draw.uniform(0.0, 0.6)
        breath = Breath("c", draw.uniform(0.1, 1.0 - helium), helium)
        expected = integrated(expected, breath, place.ambient_bar(depth_m), place.ambient_bar(to_m), minutes)
        if to_m == depth_m:
            dry_bar = place.ambient_bar(to_m) - VAPOUR_BAR
            kernel.stay(n2, he, 1, [breath.n2], [breath.he], dry_bar, *decay(minutes, "C"), 0)
        else:
            steps = travel_table(((depth_m, to_m, abs(to_m - depth_m) / minutes),), place, "C")
            kernel.go(n2, he, 1, [breath.n2], [breath.he], steps.e_n2, steps.e_he, steps.k_n2, steps.k_he, 0)
        depth_m = to_m
        for actual, value in zip(n2 + he, expected, strict=True):
            close(actual, float(value), within=1e-7)


def integrated_dive(request: ScheduleRequest, made: Schedule, diver: str) -> np.ndarray:
    """The 32 tensions at the surface, by integrating every segment."""
    rest_bar = (request.place.saturated_bar - VAPOUR_BAR) * AIR.n2
    bar = np.array([rest_bar] * 16 + [0.0] * 16)
    for piece in made.segments:
        ends = request.place.ambient_bar(piece.from_m), request.place.ambient_bar(piece.to_m)
        bar = integrated(bar, piece.gas[diver], *ends, piece.minutes)
    return bar


def test_a_whole_dive_agrees_with_an_ode_solver() -> None:
    """The tensions of two divers at the surface are those of integrating the printed segments."""
    request = sixty_metres(2)
    made = unverified_schedule(request)
    for diver in request.divers:
        tissues = made.tissues[diver]
        for actual, value in zip(
            tissues.n2_bar + tissues.he_bar, integrated_dive(request, made, diver), strict=True
        ):
            close(actual, float(value), within=1e-7)


def test_a_row_is_clear_at_the_first_unit_that_stepping_finds() -> None:
    """Table lookup and stepping one unit after another find the same first clear unit."""
    constants, place, stops = coefficients("C"), Place(), stop_table(1.0, "C")
    steps = travel_table(((9.0, 6.0, 3.0),), place, "C")
    dry_bar, ambient_bar = place.ambient_bar(9.0) - VAPOUR_BAR, place.ambient_bar(6.0)
    for c in range(1, 12):
        n2, he, in_n2, in_he = 2.2, 1.2, 0.5 * dry_bar, 0.0
        limits = (constants.a_n2_bar[c], constants.b_n2[c], constants.a_he_bar[c], constants.b_he[c], 0.4, ambient_bar)
        found = kernel.units_to_clear(
            n2, he, in_n2, in_he, steps.e_n2[c], steps.e_he[c], 0.5 * steps.k_n2[c], 0.0,
            stops.e_n2, stops.e_he, c, stops.units, *limits,
        )
        count = 0
        while kernel.forbids(
            n2 * steps.e_n2[c] + 0.5 * steps.k_n2[c], he * steps.e_he[c], *limits
        ) and count < stops.units:
            n2 = in_n2 + (n2 - in_n2) * stops.e_n2[16 + c]
            he *= stops.e_he[16 + c]
            count += 1
        assert found == count > 0


def test_tolerated_pressure_and_limit_are_two_forms_of_one_rule() -> None:
    """A compartment is forbidden just above its tolerated ambient pressure and allowed just below the tension limit."""
    constants = coefficients("C")
    for c in range(16):
        a_bar = weighted(2.0, 1.5, constants.a_n2_bar[c], constants.a_he_bar[c])
        b = weighted(2.0, 1.5, constants.b_n2[c], constants.b_he[c])
        limit_bar = tolerated_bar(3.5, a_bar, b, 0.6)
        row = (2.0, 1.5, constants.a_n2_bar[c], constants.b_n2[c], constants.a_he_bar[c], constants.b_he[c], 0.6)
        assert kernel.forbids(*row, limit_bar - 1e-9)
        assert not kernel.forbids(*row, limit_bar + 1e-9)


def test_a_tissue_without_inert_gas_is_never_forbidden() -> None:
    """Zero tension divides by nothing."""
    assert not kernel.forbids(0.0, 0.0, 0.4, 0.9, 0.6, 0.8, 0.3, 1.0)


def test_the_source_of_the_kernel_keeps_to_scalars_and_arrays() -> None:
    """No dict, class, exception, closure, comprehension, power, remainder, or call but range, len and its own."""
    tree = ast.parse(inspect.getsource(kernel))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    own = {function.name for function in functions} | {"range", "len"}
    forbidden = (
        ast.Dict, ast.ClassDef, ast.Raise, ast.Try, ast.Lambda, ast.ListComp, ast.GeneratorExp, ast.DictComp,
        ast.Pow, ast.Mod, ast.With, ast.Attribute, ast.JoinedStr,
    )
    for function in functions:
        for node in ast.walk(function):
            assert not isinstance(node, forbidden), f"{function.name} uses {type(node).__name__}"
            assert not isinstance(node, ast.FunctionDef) or node is function, f"{function.name} holds a closure"
            if isinstance(node, ast.Call):
                assert isinstance(node.func, ast.Name)
                assert node.func.id in own
