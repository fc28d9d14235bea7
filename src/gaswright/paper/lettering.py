"""Names as the font of the sheets can show them: marks are stripped only where a letter would be missing."""

import unicodedata
from collections.abc import Iterable

from gaswright.paper.font import characters
from gaswright.planning.dive import Diver

__all__ = ["name_on_paper", "names_on_paper"]

# Letters that are no base letter with a mark: common transliterations, no source.
_WRITTEN = {
    "Ł": "L", "ł": "l", "Đ": "D", "đ": "d", "Ø": "O", "ø": "o", "\u0131": "i", "Ħ": "H", "ħ": "h", "Ŧ": "T", "ŧ": "t",
    "Æ": "AE", "æ": "ae", "Œ": "OE", "œ": "oe", "ẞ": "SS", "ß": "ss", "Þ": "TH", "þ": "th", "Ð": "D", "ð": "d",
    "Ŋ": "N", "ŋ": "n", "ĸ": "k", "\u2018": "'", "\u2019": "'", "\u02bc": "'", "\u2010": "-", "\u2011": "-",
    "\u2013": "-", "\u2014": "-", "\u00a0": " ", "\u202f": " ",
}


def name_on_paper(name: str) -> str:
    """A name of a person or a trip, every letter that the font lacks written with letters it has.

    What has no such spelling stays as it is and is refused where the sheet is set. Digits are never rewritten. Never
    for numbers or IDs.

    Args:
        name: as typed.
    """
    return "".join(_written(one) for one in unicodedata.normalize("NFC", name))


def _written(one: str) -> str:
    if one in characters():
        return one
    if one in _WRITTEN:
        return _WRITTEN[one]
    bare = "".join(part for part in unicodedata.normalize("NFKD", one) if not unicodedata.combining(part))
    letters = bool(bare) and all(part.isalpha() and part in characters() for part in bare)
    return bare if letters else one


def names_on_paper(divers: Iterable[Diver]) -> dict[str, str]:
    """Diver id to the name on paper; where two would read alike, each carries its id.

    Args:
        divers: of one team.
    """
    names = {diver.id: name_on_paper(diver.name) for diver in divers}
    alike = {name for name in names.values() if list(names.values()).count(name) > 1}
    return {diver: f"{name} ({diver})" if name in alike else name for diver, name in names.items()}
