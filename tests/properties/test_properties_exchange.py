"""Whatever is in a trip file, the reader gives a trip or an InputError; units come back as they went in."""

from datetime import UTC

from hypothesis import given, settings
from hypothesis import strategies as st

from check import close
from gaswright.errors import InputError
from gaswright.exchange.mixture_text import mixture
from gaswright.exchange.trip import Trip
from gaswright.exchange.trip_facts import facts_of
from gaswright.exchange.trip_fields import TABLES
from gaswright.exchange.trip_reader import trip_of_bytes
from gaswright.physics.mixture import Mixture
from gaswright.units import (
    Kind,
    QuantityError,
    amount_text,
    depth_text,
    parse_number,
    percent_e4,
    plain_number,
    quantity,
)
from unit.exchange.trip_texts import BASE

LINES = BASE.splitlines()
KEYS = sorted({key for table in TABLES.values() for key in table.fields} | {"a", "x y", "end_limit_m", "u_o2_percent"})
VALUES = st.one_of(
    st.sampled_from([
        "true", "nan", "-inf", "1e400", "0.32", "-5", "0", "100", "2027-05-14", "2027-05-14T08:00:00",
        "08:00:00", "2027-10-31T02:30:00", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59-12:00",
        '"c1"', '"d1"', '"team"', '"21 m"',
        '"3,000 psi"', '"80 cu ft"', '["d1", "d2"]', "[]", "{}", "[{}]", "[{from_m = 0, m_min = 9}]",
        '"\\u0000"', "'air'",
        "0x1" + "0" * 60, "1_0", '"metric"', '"imperial"', '"staged"', '"1 s"', "[[[]]]",
    ]),
    st.integers(-(10**30), 10**30).map(str),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=12).map(
        lambda text: '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    ),
)  # fmt: skip


def read(content: bytes) -> Trip | None:
    """The trip of some bytes, None if they are refused with sentences that each name a place."""
    try:
        return trip_of_bytes(content, "pit.toml")
    except InputError as error:
        problems = error.problems
    assert problems
    assert all(problem.where.startswith("pit.toml") and problem.what for problem in problems)
    assert "\n" not in "".join(str(problem) for problem in problems)
    return None


def must_be_whole(trip: Trip | None) -> None:
    """A trip that was read can be turned into facts, and all its times are aware."""
    if trip is not None:
        assert all(fact.at.tzinfo is UTC for fact in facts_of(trip))
        assert trip.planned_divers or not trip.dives


@given(st.binary(max_size=400))
@settings(max_examples=100)
def test_any_bytes_are_a_trip_or_an_input_error(content: bytes) -> None:
    """Random bytes never raise anything but InputError."""
    assert read(content) is None


@given(st.lists(st.tuples(st.sampled_from(["", *TABLES]), st.booleans(), st.sampled_from(KEYS), VALUES), max_size=12))
@settings(max_examples=150)
def test_random_tables_are_a_trip_or_an_input_error(rows: list[tuple[str, bool, str, str]]) -> None:
    """TOML of known tables and keys with random values never raises anything but InputError."""
    text = "\n".join(
        (f"[[{table}]]\n" if array else f"[{table}]\n") * bool(table) + f'"{key}" = {value}'
        for table, array, key, value in rows
    )
    assert read(text.encode()) is None, "a trip needs more than a dozen keys"


@given(st.lists(st.tuples(st.integers(0, len(LINES) - 1), VALUES), min_size=1, max_size=3))
@settings(max_examples=300)
def test_a_valid_file_with_other_values_is_a_trip_or_an_input_error(changes: list[tuple[int, str]]) -> None:
    """Any value of a valid file may be replaced by any other: the file is read or refused."""
    lines = list(LINES)
    for number, value in changes:
        key, equals, _ = lines[number].partition(" = ")
        lines[number] = f"{key} = {value}" if equals else lines[number]
    must_be_whole(read("\n".join(lines).encode()))


@given(st.lists(st.tuples(st.sampled_from(["drop", "repeat", "move"]), st.integers(0, 10_000), st.integers(0, 10_000)),
                min_size=1, max_size=4))
@settings(max_examples=300)
def test_a_valid_file_with_lines_lost_repeated_or_moved(edits: list[tuple[str, int, int]]) -> None:
    """Lines of a valid file may be lost, repeated or moved: the file is read or refused."""
    lines = list(LINES)
    for edit, first, second in edits:
        line = lines[first % len(lines)]
        if edit != "repeat":
            del lines[first % len(lines)]
        if edit != "drop":
            lines.insert(second % len(lines), line)
    must_be_whole(read("\n".join(lines).encode()))


@given(st.integers(0, len(BASE) - 1), st.binary(max_size=3))
@settings(max_examples=200)
def test_a_valid_file_with_bytes_put_in(place: int, content: bytes) -> None:
    """Bytes put into a valid file anywhere: the file is read or refused."""
    data = BASE.encode()
    must_be_whole(read(data[:place] + content + data[place:]))


@given(st.text(max_size=30))
@settings(max_examples=200)
def test_any_text_is_a_number_or_refused(text: str) -> None:
    """parse_number gives a finite number or QuantityError, for any text, and so does any quantity."""
    for reader in (parse_number, lambda typed: quantity(typed, Kind.PRESSURE, "imperial")):
        try:
            number = reader(text)
        except QuantityError:
            continue
        assert -1e40 < number < 1e40


@given(st.text(max_size=12))
@settings(max_examples=200)
def test_any_text_is_a_mixture_or_refused(text: str) -> None:
    """mixture gives a mixture or InputError, for any text."""
    try:
        gas = mixture(text)
    except InputError:
        return
    assert isinstance(gas, Mixture)


@given(st.integers(100, 10_000), st.integers(0, 99))
def test_hundredths_of_a_percent_come_back_from_their_text(o2_e4: int, share: int) -> None:
    """Every mixture in hundredths of a percent is read back from its text with comma and with point."""
    he_e4 = (10_000 - o2_e4) * share // 100 // 100 * 100
    for text in (f"{o2_e4 / 100:.2f}/{he_e4 / 100:.2f}", f"{o2_e4 / 100:.2f}/{he_e4 / 100:.2f}".replace(".", ",")):
        assert mixture(text) == Mixture(o2_e4, he_e4)
    assert percent_e4(o2_e4 / 100) == o2_e4


@given(st.sampled_from([Kind.DEPTH, Kind.PRESSURE, Kind.VOLUME, Kind.RATE, Kind.SPEED, Kind.TEMPERATURE]),
       st.floats(1, 500), st.sampled_from(["metric", "imperial"]))
def test_quantities_round_trip_between_systems(kind: Kind, value: float, system: str) -> None:
    """A canonical value shown in a system and read back is the same; with its unit also in the other system."""
    close(quantity(plain_number(value, kind, system), kind, system), value, within=1e-9 * value)
    other = "metric" if system == "imperial" else "imperial"
    text = amount_text(value, kind, system, decimals=6)
    close(quantity(text, kind, other), value, within=1e-3, why=text)


@given(st.floats(0, 300), st.sampled_from(["metric", "imperial"]))
def test_depths_round_to_the_side_that_is_asked_for(depth_m: float, system: str) -> None:
    """Down is never deeper and up never shallower than the depth, by more than binary noise; both within a unit."""
    unit_m = 0.3048 if system == "imperial" else 1.0
    down, up = (quantity(depth_text(depth_m, system, rounding), Kind.DEPTH) for rounding in ("down", "up"))
    assert depth_m - unit_m < down <= depth_m + 1e-6
    assert depth_m - 1e-6 <= up < depth_m + unit_m
