"""The paper that sheets are printed on."""

from enum import StrEnum

from gaswright.errors import InputError

__all__ = ["SlateSize", "Stock", "size_mm", "slate_size_of", "stock_of"]


class Stock(StrEnum):
    """Paper for labels, cards and deck sheets."""

    A4 = "a4"
    LETTER = "letter"


class SlateSize(StrEnum):
    """Paper for slates, upright."""

    A6 = "a6"
    A5 = "a5"


_SIZES_MM = {
    Stock.A4: (210.0, 297.0),  # ISO 216, exact
    Stock.LETTER: (215.9, 279.4),  # 8.5 in x 11 in, exact
    SlateSize.A6: (105.0, 148.0),  # ISO 216, exact
    SlateSize.A5: (148.0, 210.0),  # ISO 216, exact
}


def size_mm(paper: Stock | SlateSize) -> tuple[float, float]:
    """Width and height of upright paper [mm].

    Args:
        paper: which.
    """
    return _SIZES_MM[paper]


def stock_of(name: str) -> Stock:
    """The paper of a name.

    Args:
        name: "a4" or "letter".

    Raises:
        InputError: another name.
    """
    if name not in set(Stock):
        raise InputError(f"paper {name!r} is not known for labels and cards; choose {' or '.join(Stock)}")
    return Stock(name)


def slate_size_of(name: str) -> SlateSize:
    """The slate paper of a name.

    Args:
        name: "a6" or "a5".

    Raises:
        InputError: another name.
    """
    if name not in set(SlateSize):
        raise InputError(f"paper {name!r} is not known for slates; choose {' or '.join(SlateSize)}")
    return SlateSize(name)
