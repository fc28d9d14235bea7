"""Is this installation sound: the parts a day rests on, each tried once with a known answer."""

import sys
from collections.abc import Callable
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from gaswright.errors import GaswrightError
from gaswright.exchange.policy_file import POLICY_NAMES, shipped_policy
from gaswright.physics.mixture import Mixture
from gaswright.physics.state_equation import compressibility

__all__ = ["CHECK_UPS", "check_ups"]

OLDEST_PYTHON = (3, 11)
Z_TRIMIX = (Mixture(1800, 4500), 293.15, 232.0, 1.13083)  # tests/outside/z_table_293K.csv, computed with CoolProp


def check_ups() -> tuple[tuple[str, bool, str], ...]:
    """Name, whether it is well, and one sentence, for every part."""
    return tuple((name, *_tried(check_up)) for name, check_up in CHECK_UPS.items())


def _tried(check_up: Callable[[], str]) -> tuple[bool, str]:
    try:
        return True, check_up()
    except (GaswrightError, ImportError, OSError, ValueError, ArithmeticError, ZoneInfoNotFoundError) as error:
        return False, f"{type(error).__name__}: {error}"


def _python() -> str:
    if sys.version_info < OLDEST_PYTHON:
        raise ValueError(f"Python {sys.version.split()[0]} is too old; install 3.11 or newer")
    return f"Python {sys.version.split()[0]}"


def _zones() -> str:
    ZoneInfo("Europe/Vienna")
    return "time zones are there"


def _policy() -> str:
    policy = shipped_policy()
    return f"policy {policy.version}, {len(POLICY_NAMES)} settings"


def _gas() -> str:
    mixture, temperature_k, pressure_bar, printed = Z_TRIMIX
    found = compressibility(pressure_bar, temperature_k, mixture)
    if abs(found / printed - 1) > 0.0015:
        raise ArithmeticError(f"compressibility of {mixture.name} is {found:.5f}, reference {printed:.5f}")
    return f"real gas: Z of {mixture.name} at {pressure_bar:g} bar is {found:.4f}, reference {printed:.4f}"


def _schedule() -> str:
    from gaswright.decompression.request import (  # noqa: PLC0415  a doctor loads one part at a time
        Breath,
        Direction,
        GasChange,
        ProfileLevel,
        ScheduleRequest,
    )
    from gaswright.decompression.scheduler import schedule  # noqa: PLC0415
    from gaswright.physics.place import Place  # noqa: PLC0415

    back, deco = Breath("back", 0.18, 0.45), Breath("deco", 0.5, 0.0)
    change = GasChange(Direction.UP, 21.0, {"d": deco})
    made = schedule(ScheduleRequest(("d",), {"d": back}, (ProfileLevel(45.0, 20.0),), (change,), Place()))
    return f"schedule verified: 45 m, 20 min, TTS {made.tts_min:.0f} min"


def _paper() -> str:
    from gaswright.paper.font import characters  # noqa: PLC0415  a doctor loads one part at a time

    missing = set("0123456789 m%/") - characters()
    if missing:
        raise ValueError(f"the label font lacks {sorted(missing)}")
    import typst  # noqa: PLC0415

    return f"label font is there, typst {getattr(typst, '__version__', 'is there')}"


CHECK_UPS: dict[str, Callable[[], str]] = {
    "python": _python,
    "time zones": _zones,
    "policy": _policy,
    "real gas": _gas,
    "schedule": _schedule,
    "paper": _paper,
}
