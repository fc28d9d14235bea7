"""The register: the latest fact by naming, and the more restrictive of two that do not know each other."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from custody_facts import corrected, fact, registered
from gaswright.custody.fact import Kind, Value
from gaswright.custody.register import CylinderRecord
from gaswright.custody.registering import register


def merged(one: dict[str, Any], other: dict[str, Any]) -> CylinderRecord:
    """The record of two register facts that do not know each other; the order does not matter."""
    facts = [registered("R-1", **one), registered("R-2", **other)]
    assert register(facts) == register(facts[::-1])
    return register(facts)["c1"]


def test_register_fact_is_read() -> None:
    """Every field of a register fact is read as it stands."""
    assert register([registered()]) == {"c1": CylinderRecord(
        "c1", "AB 4711", ("d1",), "main", 24000, 23200, True, date(2028, 5, 1), date(2027, 12, 1), None, 1800, 4500,  # noqa: FBT003  in the order of the type
        None, True,  # noqa: FBT003  in the order of the type
    )}


def test_later_fact_supersedes_what_it_names() -> None:
    """A register fact that names an earlier one replaces it, also with a less restrictive value."""
    first = registered("R-1", oxygen_clean=False)
    assert register([registered("R-2", after=("R-1",)), first])["c1"].oxygen_clean is True


@pytest.mark.parametrize(("field", "one", "other", "expected"), [
    ("oxygen_clean", True, False, False),
    ("tested_until", "2028-05-01", "2027-05-01", date(2027, 5, 1)),
    ("tested_until", "2028-05-01", None, date(2028, 5, 1)),
    ("visual_until", None, None, None),
    ("volume_ml", 24000, 20000, 20000),
    ("working_centibar", 23200, 20000, 20000),
    ("isolator_open", True, False, False),
    ("isolator_open", True, None, None),
    ("role", "deco", "main", "main"),
    ("role", "deco", "suit", "suit"),
    ("permanent_mark", "21 m", "70 ft", "70 ft"),  # 21.3 m
    ("permanent_mark", "21 m", None, "21 m"),
    ("permanent_mark", "60 m", "see tape", "see tape"),
    ("target_o2_e4", 1800, 2100, None),
    ("pair", "d1-mains", None, "d1-mains"),
])
def test_more_restrictive_of_each_field(field: str, one: Value, other: Value, expected: object) -> None:
    """Two register facts that do not know each other count with the more restrictive value of each field."""
    assert getattr(merged({field: one}, {field: other}), field) == expected


def test_everybody_named_breathes_it() -> None:
    """Those who breathe from it are all who are named anywhere, the common owner first."""
    assert merged({"divers": ["d2", "d1"]}, {"divers": ["d2", "d3"]}).divers == ("d2", "d1", "d3")
    assert merged({"divers": ["d2"]}, {"divers": ["d1"]}).divers == ("d1", "d2")
    assert merged({"divers": []}, {"divers": ["d1"]}).divers == ("d1",)


def test_two_serials_match_nothing() -> None:
    """If two serials are claimed, neither the whole nor the last four of either can be read as this cylinder."""
    record = merged({"serial": "4711"}, {"serial": "4712"})
    assert not {record.serial, record.id_on_metal} & {"4711", "4712"}


def test_correction_of_a_register_fact_takes_trust_away() -> None:
    """A voided register fact and the one it superseded count together, the more restrictive of each field."""
    first, second = registered("R-1", volume_ml=20000), registered("R-2", after=("R-1",), oxygen_clean=False)
    voided = register([first, second, corrected("C-1", "R-2", stream="register/c1")])["c1"]
    assert (voided.oxygen_clean, voided.volume_ml) == (False, 20000)


@pytest.mark.parametrize("changes", [
    {"serial": ""}, {"divers": "d1"}, {"divers": [1]}, {"volume_ml": 0}, {"working_centibar": True},
    {"tested_until": "soon"}, {"role": None}, {"permanent_mark": 21},
])
def test_record_that_cannot_be_read_is_not_in_the_register(changes: dict[str, Any]) -> None:
    """A register fact with data that cannot be read leaves its cylinder out of the register."""
    assert register([registered(**changes)]) == {}
    assert register([registered("R-1"), registered("R-2", **changes)]) == {}


def test_fact_about_another_cylinder_is_not_in_the_register() -> None:
    """A register fact whose id is not that of its stream leaves the cylinder out."""
    assert register([replace(registered(), stream="register/c2")]) == {}


def test_newer_kind_leaves_the_cylinder_out() -> None:
    """A kind or version that this program does not know leaves that cylinder out, and only that one."""
    other = fact("cylinder.painted", "R-7", stream="register/c2")
    assert list(register([registered(), other])) == ["c1"]
    assert register([registered(), fact(Kind.REGISTERED, "R-7", stream="register/c1", version=2)]) == {}
