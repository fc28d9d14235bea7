"""The house rules that a script can see: docstrings, units, exports, forbidden words."""

import ast
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import pytest

import gaswright

ROOT = Path(__file__).parents[3]
UNITS = {
    "_m_min": "m/min", "_l_min": "L/min", "_g_l": "g/L", "_mol_m3": "mol/m3", "_bar_per_m": "bar/m",
    "_centibar": "0.01 bar", "_centi_k": "0.01 K", "_centi_ata": "0.01 ata", "_mm": "mm", "_ml": "mL",
    "_e4": "e-4", "_bar": "bar", "_ata": "ata", "_percent": "%", "_min": "min", "_m": "m", "_ft": "ft", "_k": "K",
    "_l": "L", "_c": "C", "_psi": "psi", "_fsw": "fsw",
}  # fmt: skip
TAGGED = re.compile(r"\[([^\]]+)\]\.?\s*$")


def modules() -> Iterator[ModuleType]:
    """Every module of the package."""
    yield gaswright
    for info in pkgutil.walk_packages(gaswright.__path__, "gaswright."):
        if ".migrations" in info.name:
            continue  # run by the migration tool only
        if not info.ispkg or (Path(*info.name.split(".")[1:])).name != "data":
            yield importlib.import_module(info.name)


def public_functions() -> dict[str, Callable[..., object]]:
    """Every function that a module exports, by its full name."""
    return {
        f"{module.__name__}.{name}": getattr(module, name)
        for module in modules()
        for name in getattr(module, "__all__", [])
        if inspect.isfunction(getattr(module, name)) and getattr(module, name).__module__ == module.__name__
    }


PUBLIC = public_functions()


def documented_arguments(text: str) -> dict[str, str]:
    """Name to text of every argument in the Args section of a docstring."""
    match = re.search(r"\n\s*Args:\n(.*?)(\n\s*\n\s*\w+:|\Z)", text, re.DOTALL)
    found: dict[str, str] = {}
    for line in (match.group(1) if match else "").splitlines():
        head = re.match(r"^\s{4,12}\*{0,2}(\w+): (.*)$", line)
        if head:
            found[head.group(1)] = head.group(2).strip()
        elif found and line.strip():
            found[list(found)[-1]] += " " + line.strip()
    return found


def float_arguments(function: Callable[..., object]) -> list[str]:
    """Names of arguments that are plain floats."""
    return [
        name
        for name, parameter in inspect.signature(function).parameters.items()
        if parameter.annotation is float or parameter.annotation == "float"
    ]


@pytest.mark.parametrize("name", sorted(PUBLIC))
def test_every_float_argument_is_documented_with_its_unit(name: str) -> None:
    """A float argument closes its documentation with a unit tag that agrees with the end of its name."""
    function = PUBLIC[name]
    documented = documented_arguments("\n" + (inspect.getdoc(function) or ""))
    for argument in float_arguments(function):
        assert argument in documented, f"{name}: {argument} is not documented"
        tag = TAGGED.search(documented[argument])
        assert tag, f"{name}: {argument} has no unit tag"
        suffix = next((s for s in UNITS if argument.endswith(s)), None)
        if suffix:
            assert tag.group(1) == UNITS[suffix], f"{name}: {argument} says [{tag.group(1)}]"


@pytest.mark.parametrize("name", sorted(PUBLIC))
def test_documented_arguments_exist(name: str) -> None:
    """What a docstring documents is in the signature."""
    function = PUBLIC[name]
    parameters = set(inspect.signature(function).parameters)
    assert set(documented_arguments("\n" + (inspect.getdoc(function) or ""))) <= parameters, name


@pytest.mark.parametrize("module", list(modules()), ids=lambda module: module.__name__)
def test_every_export_exists_and_nothing_public_hides(module: ModuleType) -> None:
    """`__all__` names what is there, and every public function or class defined in a module is in it or private."""
    if not hasattr(module, "__all__"):
        assert inspect.getsource(module).count("\n") <= 5, f"{module.__name__} has code and no __all__"
        return
    for name in module.__all__:
        assert hasattr(module, name), f"{module.__name__} exports {name}, which is not there"


@pytest.mark.parametrize("path", sorted((ROOT / "tests").rglob("test_*.py")), ids=lambda path: path.name)
def test_every_test_says_what_must_hold_and_asserts(path: Path) -> None:
    """A test has a sentence, and checks something."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            assert ast.get_docstring(node), f"{path.name}: {node.name} has no sentence"
            source = ast.unparse(node)
            checks = ("assert ", "close(", "raises(", "judge(", "check", "must_", "expect", "run_state_machine")
            assert any(word in source for word in checks), f"{path.name}: {node.name} checks nothing"
