"""The compiled kernel: numba takes the sources of `kernel.py` and `batch_kernel.py` as they stand.

The cache of a compiler does not see that a function calls another one whose source has changed, and returned the old
result: so its folder is named after a hash of every source of the engine and the version of the compiler. Where
nothing can be written there is no cache. No fast mathematics, the error model of array code, no vector library:
the answers are those of plain Python, bit for bit on one machine.
"""

import ast
import hashlib
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from gaswright.decompression import batch_kernel, kernel

__all__ = ["cache_folder", "compiled", "compiler_version", "cores", "engine_hash"]

SOURCES = (kernel, batch_kernel)
ENGINE = Path(__file__).parent
DiveRuns = Callable[..., None]


def cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def compiler_version() -> str | None:
    """The version of the compiler, or None where there is none."""
    numba = _compiler()
    return None if numba is None else str(numba.__version__)


def _compiler() -> Any:  # noqa: ANN401  a module without types
    os.environ.setdefault("NUMBA_DISABLE_INTEL_SVML", "1")
    try:
        import numba  # noqa: PLC0415  half a second, for batches alone
    except ImportError:
        return None
    return numba


def engine_hash(version: str, sources: Path = ENGINE) -> str:
    """A name for this state of the engine: every source of it, the compiler, and the interpreter.

    Args:
        version: of the compiler.
        sources: folder of the sources.
    """
    digest = hashlib.sha256(f"{version} {sys.version}".encode())
    for path in sorted(sources.glob("*.py")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:24]


def cache_folder(version: str) -> Path | None:
    """The folder of the compiled kernel of this state of the engine, made and writable; None where nothing is.

    Args:
        version: of the compiler.
    """
    import platformdirs  # noqa: PLC0415  for batches alone

    folder = Path(platformdirs.user_cache_dir("gaswright", appauthor=False)) / "kernel" / engine_hash(version)
    probe = folder / f"probe-{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
        probe.unlink()
    except OSError:
        return None
    return folder


@lru_cache(maxsize=1)
def compiled() -> DiveRuns | None:
    """`dive_runs` compiled, or None where the compiler is missing; compiling happens at its first call."""
    numba = _compiler()
    if numba is None:
        return None
    folder = cache_folder(str(numba.__version__))
    with _cached_in(numba, folder):
        return _from_sources(lambda function: _compile(numba, function, keep=folder is not None))


def _compile(numba: Any, function: Any, *, keep: bool) -> Any:  # noqa: ANN401  a module without types
    """A function handed to the compiler.

    No array is made inside, so none is counted (_nrt): counting takes half the time and makes threads wait. All but the
    outermost are put into their callers: handing over forty arrays costs more than what most of them do.
    """
    inside = function.__name__ != "dive_runs"
    return numba.njit(nogil=True, error_model="numpy", cache=keep, _nrt=False, forceinline=inside)(function)


@contextmanager
def _cached_in(numba: Any, folder: Path | None) -> Iterator[None]:  # noqa: ANN401  a module without types
    """The compiler keeps what is declared inside in this folder; other users of it keep theirs."""
    before = numba.config.CACHE_DIR
    if folder is not None:
        numba.config.CACHE_DIR = str(folder)
    try:
        yield
    finally:
        numba.config.CACHE_DIR = before


def _from_sources(compile_it: Callable[[Any], Any]) -> DiveRuns:
    """The functions of the sources once more, in a namespace of their own, each handed to the compiler."""
    made: dict[str, Any] = {}
    for module in SOURCES:
        path = Path(str(module.__file__))
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = [node.name for node in tree.body if isinstance(node, ast.FunctionDef)]
        tree.body = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
        space = vars(module) | {name: made[name] for name in made}
        exec(compile(tree, str(path), "exec", dont_inherit=True), space)  # noqa: S102  our own source, unchanged
        for name in names:
            space[name] = compile_it(space[name])
        made |= {name: space[name] for name in names}
    dive_runs: DiveRuns = made["dive_runs"]
    return dive_runs
