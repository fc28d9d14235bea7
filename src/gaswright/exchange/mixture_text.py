"""A gas as the trade writes it, read: `air`, `oxygen`, `32`, `EAN32`, `18/45`."""

import re

from gaswright.errors import InputError
from gaswright.physics.mixture import AIR, WHOLE_E4, Mixture
from gaswright.units import QuantityError, percent_e4

__all__ = ["mixture"]

_ENRICHED = re.compile(r"ean\s*(?=[0-9])", re.IGNORECASE)
_EXAMPLES = "write air, oxygen, 32, EAN32 or 18/45"


def mixture(text: object) -> Mixture:
    """The mixture that a text names; only the word air is air, a reading of 21.0 is 21.0.

    Args:
        text: `air`, `oxygen`, percent of oxygen (`32`, `EAN32`), or oxygen and helium (`18/45`); decimal comma or
            point, at most two decimals.

    Raises:
        InputError: no such gas; a fraction instead of percent; more than the whole.
    """
    if isinstance(text, bool) or not isinstance(text, str | int):
        raise InputError(f"{text!r} is no gas as text; {_EXAMPLES}")
    try:
        return _mixture(str(text).strip())
    except (QuantityError, ValueError) as error:
        raise InputError(f"{str(text)[:40]!r} is no gas: {error}; {_EXAMPLES}") from error


def _mixture(text: str) -> Mixture:
    word = text.lower()
    if word == "air":
        return AIR
    if word == "oxygen":
        return Mixture(WHOLE_E4)
    parts = _ENRICHED.sub("", text, count=1).split("/") if _ENRICHED.match(text) else text.split("/")
    if len(parts) > 2:
        raise QuantityError("it has more than two parts")
    return _checked(percent_e4(parts[0], low_e4=100), percent_e4(parts[1], name="he") if parts[1:] else 0)


def _checked(o2_e4: int, he_e4: int) -> Mixture:
    if o2_e4 + he_e4 > WHOLE_E4:
        raise QuantityError(f"o2 + he is {(o2_e4 + he_e4) / 100:g} %; allowed are at most 100 %")
    return Mixture(o2_e4, he_e4)
