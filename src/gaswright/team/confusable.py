"""Labels of one team that can be read as each other.

Four ways, each only where both readings really stand on labels of this dive, on two different cylinders:

turned over     a whole number that reads as another when the label hangs upside down (6/9, 16/91, 60/9).
percent or MOD  the same bare number is a percentage on one label and a MOD on another (50 % and 50 m).
other unit      a MOD in feet and a MOD in metres within one of each other (20 ft and 21 m).
one digit       MODs of two cylinders of one diver, equally long, one digit apart (21 m and 24 m).

What asks an answer and what is only a note in the brief: see `Confusion.asks`.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations, product

from gaswright.analysis.reading import Reading
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import percent_text
from gaswright.planning.dive import UnitSystem

__all__ = [
    "Confusion", "How", "LabelNumber", "LabelTexts", "confusions", "label_texts", "mark_number", "mod_number",
    "turned_over",
]

PERCENT, METRE, FOOT = "%", "m", "ft"
OTHER_UNIT_APART = 1  # 20 ft of oxygen against 20 or 21 m: common practice, no source
_MARK = re.compile(r"([0-9]{1,3}(?:[.,][0-9])?)\s*(m|ft)")
_TURNED = {"0": "0", "1": "1", "6": "9", "8": "8", "9": "6"}  # shapes of the digits turned by half a turn


class How(StrEnum):
    """How one number is taken for another."""

    TURNED = "turned over"
    PERCENT_OR_MOD = "percentage or MOD"
    OTHER_UNIT = "the other unit"
    ONE_DIGIT = "one digit apart"


@dataclass(frozen=True, slots=True)
class LabelNumber:
    """One number as it stands on a label, with its unit.

    Args:
        number: the digits as printed ("49.6", "21").
        unit: "%", "m" or "ft".
    """

    number: str
    unit: str

    def __str__(self) -> str:
        return f"{self.number} {self.unit}"


@dataclass(frozen=True, slots=True)
class LabelTexts:
    """What stands on the labels of one cylinder.

    Args:
        cylinder: id.
        divers: ids of those who breathe from it.
        mods: its MOD with its unit, and a permanent mark's.
        percents: the percentages on it.
        gas_name: the gas as the label says it.
        switched_to: True for a cylinder picked by its MOD at a switch (it carries a buddy label); False for mains.
    """

    cylinder: str
    divers: tuple[str, ...]
    mods: tuple[LabelNumber, ...]
    percents: tuple[LabelNumber, ...]
    gas_name: str = ""
    switched_to: bool = True


@dataclass(frozen=True, slots=True)
class Confusion:
    """Two label numbers that can be taken for each other.

    Args:
        first: the number on the first cylinder's label.
        second: the number on the second cylinder's label.
        how: how one is taken for the other.
        cylinders: ids of the two cylinders.
        divers: ids of divers who carry both; empty: two different divers carry them.
        both_switched_to: both cylinders are picked by their MOD at a switch.
    """

    first: LabelNumber
    second: LabelNumber
    how: How
    cylinders: tuple[str, str]
    divers: tuple[str, ...] = ()
    both_switched_to: bool = True

    @property
    def same_diver(self) -> bool:
        """True if one diver carries both."""
        return bool(self.divers)

    @property
    def asks(self) -> bool:
        """True if a person must answer, False for a note in the brief.

        One diver must carry both. Unit clashes then always ask. Turned over asks if both numbers are of one unit:
        otherwise the unit, which turns with its number, tells them apart. One digit asks only between two cylinders
        that are picked by their MOD, and in metres: in feet every MOD stands on the 10 ft grid, so that 20 ft and
        70 ft, the two most common of all, would ask on every normal day; an ask that always comes is not read.
        """
        if not self.same_diver:
            return False
        if self.how is How.TURNED:
            return self.first.unit == self.second.unit
        return self.how is not How.ONE_DIGIT or (self.both_switched_to and self.first.unit == METRE)

    @property
    def text(self) -> str:
        """One phrase for a sentence: "6 m / 9 m (turned over)"."""
        return f"{self.first} / {self.second} ({self.how})"


def label_texts(
    cylinder: str, divers: tuple[str, ...], reading: Reading, mod: LabelMod, units: UnitSystem, *,
    mark: LabelNumber | None = None, switched_to: bool = True,
) -> LabelTexts:
    """What stands on the labels of a cylinder of this reading.

    Args:
        cylinder: id.
        divers: ids of those who breathe from it.
        reading: the analysed gas.
        mod: its label MOD.
        units: unit system of the team: the label's.
        mark: its permanent mark, if it has one.
        switched_to: False for mains.
    """
    own = mod_number(mod, units)
    mods = (own,) if mark is None or mark == own else (own, mark)
    parts = (reading.mixture.o2_e4, reading.mixture.he_e4)
    percents = tuple(LabelNumber(percent_text(part), PERCENT) for part in parts if part)
    return LabelTexts(cylinder, divers, mods, percents, reading.mixture.name, switched_to)


def mod_number(mod: LabelMod, units: UnitSystem) -> LabelNumber:
    """The MOD as the label prints it.

    Args:
        mod: in both unit systems.
        units: the label's.
    """
    if units is UnitSystem.IMPERIAL:
        return LabelNumber(str(mod.feet), FOOT)
    return LabelNumber(str(mod.metres), METRE)


def mark_number(mark: str) -> LabelNumber | None:
    """The number and unit of a permanent mark typed as "21 m" or "70 ft"; None if it does not say both.

    Args:
        mark: as typed.
    """
    read = _MARK.fullmatch(mark.strip().lower())
    if read is None:
        return None
    return LabelNumber(f"{float(read[1].replace(',', '.')):g}", read[2])


def turned_over(number: str) -> str | None:
    """The number that a whole number reads as upside down; None if it does not read as a number.

    Args:
        number: digits as printed.
    """
    if not number or any(digit not in _TURNED for digit in number):
        return None
    return "".join(_TURNED[digit] for digit in reversed(number)).lstrip("0") or "0"


def confusions(labels: Sequence[LabelTexts]) -> tuple[Confusion, ...]:
    """Every pair of label numbers on two cylinders that can be taken for each other.

    Args:
        labels: one entry per cylinder of the dive.
    """
    return tuple(found for one, other in combinations(labels, 2) for found in _between(one, other))


def _between(one: LabelTexts, other: LabelTexts) -> Iterator[Confusion]:
    divers = tuple(diver for diver in one.divers if diver in other.divers)
    for first, second in product(one.mods + one.percents, other.mods + other.percents):
        how = _how(first, second, same_diver=bool(divers))
        if how:
            yield Confusion(first, second, how, (one.cylinder, other.cylinder), divers,
                            one.switched_to and other.switched_to)


def _how(first: LabelNumber, second: LabelNumber, *, same_diver: bool) -> How | None:
    if first.number != second.number and _either_turned(first.number, second.number):
        return How.TURNED
    units = {first.unit, second.unit}
    if PERCENT in units:
        return How.PERCENT_OR_MOD if len(units) == 2 and first.number == second.number else None
    if len(units) == 2:
        return How.OTHER_UNIT if abs(float(first.number) - float(second.number)) <= OTHER_UNIT_APART else None
    return How.ONE_DIGIT if same_diver and _digits_apart(first.number, second.number) == 1 else None


def _either_turned(first: str, second: str) -> bool:
    # 60 turned over reads 09; 9 turned over reads 6: the zero is lost one way only, so both ways are asked.
    return turned_over(first) == second or turned_over(second) == first


def _digits_apart(first: str, second: str) -> int | None:
    if len(first) != len(second):
        return None
    return sum(a != b for a, b in zip(first, second, strict=True))
