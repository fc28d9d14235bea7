"""The errors that Gaswright raises on purpose.

GaswrightError
├── InputError        what was given cannot be read or is out of range; carries every problem found (exit code 2)
│   └── RangeError    one physical quantity lies outside the range in which an equation holds
└── Refused           the request was understood and is refused on the facts (exit code 3)

Everything else that escapes is a defect of ours (exit code 1).
"""

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["GaswrightError", "InputError", "Problem", "RangeError", "Refused"]


class GaswrightError(Exception):
    """The root of every error raised on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what was given.

    Args:
        where: file and line, or the key: `quarry.toml, line 12, cylinder.o2`.
        what: the sentence: what is wrong, the value, the allowed range, what to do.
    """

    where: str
    what: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}" if self.where else self.what


class InputError(GaswrightError):
    """Input that cannot be used; `problems` holds all of them at once."""

    def __init__(self, problems: Iterable[Problem] | str) -> None:
        """Take the problems, or one sentence that needs no place."""
        self.problems: tuple[Problem, ...] = (
            (Problem("", problems),) if isinstance(problems, str) else tuple(problems)
        )
        super().__init__("\n".join(str(problem) for problem in self.problems))


class RangeError(InputError):
    """A quantity lies outside the range in which an equation holds."""

    def __init__(self, name: str, value: float, unit: str, low: float, high: float, action: str = "") -> None:
        """Name the quantity, its value, unit and allowed range, and what to do."""
        self.name, self.value, self.unit, self.low, self.high = name, value, unit, low, high
        tail = f"; {action}" if action else ""
        super().__init__(f"{name} is {value:g} {unit}, allowed are {low:g} to {high:g} {unit}{tail}")


class Refused(GaswrightError):  # noqa: N818  the word of the trade: a fill or a label is refused
    """The facts forbid what was asked; the sentence says why and what mends it."""
