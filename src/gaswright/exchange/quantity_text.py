"""One quantity that was typed at a door: canonical and in range, or one sentence saying what is wrong."""

from gaswright.errors import InputError, Problem
from gaswright.units import Kind, QuantityError, amount_text, quantity

__all__ = ["typed_quantity"]


def typed_quantity(
    value: object, kind: Kind, system: str = "metric", *, name: str, low: float | None = None, high: float | None = None
) -> float:
    """The canonical number of a quantity: a plain number in the system's unit, "200 ft" as it says.

    Args:
        value: a number or a text.
        kind: what is measured.
        system: "metric" or "imperial".
        name: of the option or argument, for the problem.
        low: least allowed, canonical; None: no limit.
        high: most allowed, canonical; None: no limit.

    Raises:
        InputError: not a number, not its unit, or outside the range.
    """
    try:
        number = quantity(value, kind, system)
    except QuantityError as error:
        raise InputError([Problem(name, f"{error}{_allowed(kind, system, low, high)}")]) from error
    if (low is not None and number < low) or (high is not None and number > high):
        raise InputError([Problem(name, f"is {value}{_allowed(kind, system, low, high)}")])
    return number


def _allowed(kind: Kind, system: str, low: float | None, high: float | None) -> str:
    bounds = [
        f"{word} {amount_text(bound, kind, system, decimals=2)}"
        for word, bound in (("at least", low), ("at most", high)) if bound is not None
    ]
    return f"; allowed is {' and '.join(bounds)}" if bounds else ""
