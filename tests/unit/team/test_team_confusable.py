"""Labels that can be read as each other: each way, its near misses, and a normal day."""

import pytest

from gaswright.analysis.reading import Reading
from gaswright.exchange.policy_file import shipped_policy
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Role, UnitSystem
from gaswright.planning.mods import label_mod_of
from gaswright.team.confusable import (
    Confusion,
    How,
    LabelNumber,
    LabelTexts,
    confusions,
    label_texts,
    mark_number,
    mod_number,
    turned_over,
)

POLICY = shipped_policy()


def number(text: str) -> LabelNumber:
    """The number of "21 m", "50 %" or "70 ft"."""
    digits, unit = text.split()
    return LabelNumber(digits, unit)


def label(cylinder: str, *texts: str, diver: str = "d1", switched_to: bool = True) -> LabelTexts:
    """A label with these numbers on it."""
    numbers = [number(text) for text in texts]
    return LabelTexts(cylinder, (diver,), tuple(one for one in numbers if one.unit != "%"),
                      tuple(one for one in numbers if one.unit == "%"), switched_to=switched_to)


def between(first: str, second: str, *, one_diver: bool = True, mains: bool = False) -> list[Confusion]:
    """What is found between two labels of one number each."""
    other = "d1" if one_diver else "d2"
    return list(confusions([label("a", first, switched_to=not mains), label("b", second, diver=other)]))


@pytest.mark.parametrize(
    ("upright", "turned"),
    [("6", "9"), ("16", "91"), ("18", "81"), ("19", "61"), ("66", "99"), ("68", "89"), ("86", "98"), ("60", "9"),
     ("9", "6"), ("90", "6"), ("0", "0"), ("69", "69"), ("101", "101")],
)
def test_numbers_upside_down(upright: str, turned: str) -> None:
    """The pairs of the trade follow from turning the digits 0 1 6 8 9 (common practice, no source)."""
    assert turned_over(upright) == turned


@pytest.mark.parametrize("upright", ["21", "50", "", "18.2", "7", "1a"])
def test_numbers_that_do_not_read_upside_down(upright: str) -> None:
    """Other digits, and numbers with a decimal, read as nothing."""
    assert turned_over(upright) is None


@pytest.mark.parametrize(
    ("first", "second", "how"),
    [
        ("6 m", "9 m", How.TURNED), ("9 m", "6 m", How.TURNED), ("60 m", "9 m", How.TURNED),
        ("9 m", "60 m", How.TURNED), ("66 ft", "99 ft", How.TURNED), ("18 %", "81 %", How.TURNED),
        ("16 m", "91 %", How.TURNED), ("50 %", "50 m", How.PERCENT_OR_MOD), ("21 m", "21 %", How.PERCENT_OR_MOD),
        ("32 ft", "32 %", How.PERCENT_OR_MOD), ("20 ft", "20 m", How.OTHER_UNIT), ("20 ft", "21 m", How.OTHER_UNIT),
        ("21 m", "24 m", How.ONE_DIGIT), ("20 ft", "70 ft", How.ONE_DIGIT),
    ],
)
def test_numbers_that_read_as_each_other(first: str, second: str, how: How) -> None:
    """Each way is found, whichever label comes first."""
    for one, other in ((first, second), (second, first)):
        (found,) = between(one, other)
        assert found.how is how
        assert (str(found.first), str(found.second)) == (one, other)
        assert found.same_diver


@pytest.mark.parametrize(
    ("first", "second"),
    [("6 m", "6 m"), ("6 m", "21 m"), ("49.6 %", "50 m"), ("50 %", "50 %"), ("20 ft", "22 m"), ("21 m", "36 m"),
     ("21 m", "121 m"), ("18.2 %", "81 %"), ("69 m", "69 m"), ("49 %", "59 %")],
)
def test_numbers_that_do_not(first: str, second: str) -> None:
    """Equal numbers of one unit mean the same; others are told apart."""
    assert between(first, second) == []


def test_one_digit_matters_only_to_a_diver_who_carries_both() -> None:
    """Two divers never pick from each other's cylinders by one digit."""
    assert between("21 m", "24 m", one_diver=False) == []


def test_both_readings_must_stand_on_labels() -> None:
    """A number that nothing else on this dive reads as is no confusion, nor are two numbers of one cylinder."""
    assert confusions([label("a", "6 m", "18 %", "81 %"), label("b", "21 m", "49.6 %")]) == ()


@pytest.mark.parametrize(
    ("first", "second", "mains", "asks"),
    [
        ("6 m", "9 m", False, True), ("16 m", "91 %", False, False), ("50 %", "50 m", False, True),
        ("21 %", "21 m", True, True), ("20 ft", "21 m", False, True), ("21 m", "24 m", False, True),
        ("61 m", "21 m", True, False), ("20 ft", "70 ft", False, False),
    ],
)
def test_what_asks_and_what_is_a_note(first: str, second: str, mains: bool, asks: bool) -> None:  # noqa: FBT001  a table
    """One diver who carries both is asked where the label alone cannot tell them apart; else it is a note."""
    (found,) = between(first, second, mains=mains)
    assert found.asks is asks
    assert not any(one.asks for one in between(first, second, one_diver=False, mains=mains))


@pytest.mark.parametrize(
    ("typed", "read"),
    [("21 m", "21 m"), ("70 ft", "70 ft"), (" 21M ", "21 m"), ("6m", "6 m"), ("21,5 m", "21.5 m"), ("21", None),
     ("m", None), ("", None), ("21 feet", None), ("-6 m", None), ("50 %", None), ("٦ m", None)],
)
def test_a_mark_needs_a_number_and_a_unit(typed: str, read: str | None) -> None:
    """A bare number is not read."""
    found = mark_number(typed)
    assert (None if found is None else str(found)) == read


def test_a_label_says_mod_percentages_and_mark() -> None:
    """Units are the team's; a mark that agrees is not said twice; no helium, no helium number."""
    reading = Reading(Mixture(5000), 50, 100)
    mod = label_mod_of(reading, Role.DECO, POLICY)
    texts = label_texts("e1", ("d1",), reading, mod, UnitSystem.IMPERIAL, mark=LabelNumber("70", "ft"))
    assert [str(one) for one in texts.mods + texts.percents] == ["70 ft", "50 %"]
    marked = label_texts("e1", ("d1",), reading, mod, UnitSystem.METRIC, mark=LabelNumber("70", "ft"))
    assert [str(one) for one in marked.mods] == ["21 m", "70 ft"]
    assert str(mod_number(LabelMod(160, 6, 20), UnitSystem.IMPERIAL)) == "20 ft"


@pytest.mark.parametrize("units", list(UnitSystem))
@pytest.mark.parametrize("main_o2_e4", [1750, 1820, 1850])
def test_a_normal_day_asks_nobody(main_o2_e4: int, units: UnitSystem) -> None:
    """Mains near 18/45, EAN50 and oxygen, in metres and in feet: no ask for any diver."""
    labels = []
    for diver, shift in (("d1", 0), ("d2", 20), ("d3", -20)):
        for role, o2_e4, he_e4 in ((Role.MAIN, main_o2_e4 + shift, 4460), (Role.DECO, 4960 + shift, 0),
                                   (Role.DECO, 9920 + shift, 0)):
            reading = Reading(Mixture(o2_e4, he_e4), 50, 100)
            mod = label_mod_of(reading, role, POLICY)
            labels.append(label_texts(f"{diver}-{o2_e4}", (diver,), reading, mod, units,
                                      switched_to=role is not Role.MAIN))
    assert not [found.text for found in confusions(labels) if found.asks]
