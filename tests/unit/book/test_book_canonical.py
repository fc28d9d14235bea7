"""The text of a fact and its hash."""

import hashlib
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaswright.book.canonical import (
    LARGEST_INTEGER,
    body_of,
    fact_of,
    first_hash,
    hash_of,
    id_parts,
    moment_of,
    parsed,
    request_hash,
    text_of,
    time_text,
)
from gaswright.book.upcasts import UPCASTS, Upcast, current
from gaswright.custody.fact import Fact, Kind
from gaswright.errors import InputError

SAMPLES = Path(__file__).parent / "samples"
FACT = Fact("K7Q2M9XA-1", Kind.FILLED, "gas/c1", datetime(2027, 5, 14, 5, tzinfo=UTC),
            datetime(2027, 5, 14, 6, tzinfo=UTC), "d1", (), (), {"gauge_centibar": 23000}, "UTC", "a", "k")
TEXT = (
    '{"act":"a","after":[],"at":"2027-05-14T05:00:00.000000Z","by":"d1","data":{"gauge_centibar":23000},'
    '"id":"K7Q2M9XA-1","key":"k","kind":"cylinder.filled/1","recorded":"2027-05-14T06:00:00.000000Z",'
    '"request":"r","rests_on":[],"stream":"gas/c1","zone":"UTC"}'
)

values = st.recursive(
    st.none() | st.booleans() | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER) | st.text(st.characters(codec="utf-8")),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text(st.characters(codec="utf-8")), inner, max_size=4),
    max_leaves=12,
)


def test_text_is_as_written_by_hand() -> None:
    """Keys sorted, no spaces, times in UTC with six digits, kind and version in one field."""
    assert text_of(body_of(FACT, "r")) == TEXT


def test_hashes_are_sha256_of_what_stands_there() -> None:
    """Anyone can recompute the chain with SHA-256: of the origin, then of previous hash and text."""
    first = hashlib.sha256(b"K7Q2M9XA").hexdigest()
    assert first_hash("K7Q2M9XA") == first
    assert hash_of(first, TEXT) == hashlib.sha256(first.encode() + TEXT.encode()).hexdigest()
    assert request_hash("ä") == hashlib.sha256("ä".encode()).hexdigest()


def test_fact_comes_back_from_its_text() -> None:
    """What is read from a text is the fact that was written, whatever zone its time was given in."""
    assert fact_of(TEXT) == FACT
    east = replace(FACT, at=FACT.at.astimezone(timezone(timedelta(hours=2))))
    assert text_of(body_of(east, "r")) == TEXT


@given(data=st.dictionaries(st.text(st.characters(codec="utf-8")), values, max_size=4))
def test_every_data_survives(data: dict[str, object]) -> None:
    """Any data without floats comes back as it was, and is written in one way only."""
    text = text_of(body_of(replace(FACT, data=data), "r"))  # type: ignore[arg-type]
    assert fact_of(text).data == data
    assert text_of(parsed(text)) == text
    assert "\n" not in text


@pytest.mark.parametrize(
    "value", [1.5, 2**63, -(2**63), "\ud800", {1: 2}, {"a": float("nan")}, [0.0], {"\udfff": 1}, b"x"]
)
def test_what_is_not_canonical_is_refused(value: object) -> None:
    """Floats, integers beyond 64 bits, half letters and keys that are no texts never enter a fact."""
    with pytest.raises(InputError):
        text_of({"data": value})  # type: ignore[dict-item]


@pytest.mark.parametrize("text", [
    "", "{", "[]", "null", TEXT + " ", TEXT[:-1], TEXT.replace('"by":"d1",', ""), TEXT.replace("23000", "23000.5"),
    TEXT.replace("23000", "NaN"), TEXT.replace("/1", ""), TEXT.replace("/1", "/x"), TEXT.replace("/1", "/²"),
    TEXT.replace("05:00:00.000000Z", "05:00:00Z"), TEXT.replace("05:00:00.000000Z", "25:00:00.000000Z"),
    TEXT.replace("2027-05-14T05", "2027-W19-5T05"), TEXT.replace("05:00:00.000000Z", "05:00:00,000000Z"),
    TEXT.replace('"after":[]', '"after":[1]'), TEXT.replace('"after":[]', '"after":{}'), TEXT.replace('"d1"', "1"),
    TEXT.replace('{"gauge_centibar":23000}', "[]"), "[" * 100_000,
])
def test_text_that_is_no_fact_is_refused(text: str) -> None:
    """A text that lacks a field, or has one of another type, is refused and never repaired."""
    with pytest.raises(InputError):
        fact_of(text)


def test_times_need_an_offset() -> None:
    """A time without an offset is no moment; nor is one beyond what UTC can say."""
    with pytest.raises(InputError):
        time_text(datetime(2027, 5, 14))  # noqa: DTZ001  what is refused
    with pytest.raises(InputError):
        time_text(datetime.max.replace(tzinfo=timezone(timedelta(hours=-2))))


@given(first=st.datetimes(timezones=st.just(UTC)), second=st.datetimes(timezones=st.just(UTC)))
def test_times_sort_as_their_texts(first: datetime, second: datetime) -> None:
    """Stored times sort as text as they do as time, and come back."""
    assert (first < second) == (time_text(first) < time_text(second))
    assert moment_of(time_text(first)) == first


def test_id_has_an_origin_and_a_number() -> None:
    """Only eight letters, a dash and a number from 1 make an id."""
    assert id_parts("K7Q2M9XA-412") == ("K7Q2M9XA", 412)
    assert all(id_parts(text) is None for text in ("K7Q2M9XA", "K7Q2M9XA-0", "k7q2m9xa-1", "K7Q2M9XA-01", "R-1", ""))


@pytest.mark.parametrize("kind", list(Kind))
def test_sample_of_every_kind_reads_as_it_did(kind: Kind) -> None:
    """A fact that a released version wrote is read, and its text is the one this version would write."""
    text = (SAMPLES / f"{kind}.1.json").read_text(encoding="utf-8")
    fact = current(fact_of(text))
    assert (fact.kind, fact.id, fact.version) == (kind, "K7Q2M9XA-412", 1)
    assert (fact.at, fact.zone) == (datetime(2027, 5, 14, 5, 40, 0, 125000, tzinfo=UTC), "Europe/Berlin")
    assert text_of(body_of(fact_of(text), request_hash("typed"))) == text


def test_every_upcast_has_a_sample() -> None:
    """Each version that an upcast reads has a sample file."""
    assert all((SAMPLES / f"{kind}.{version}.json").is_file() for kind, version in UPCASTS)


def test_upcasts_are_walked_step_by_step() -> None:
    """An old fact reaches the newest version through each step; an unknown version stays as it is."""
    steps: dict[tuple[str, int], Upcast] = {
        ("cylinder.filled", 1): lambda data: {**data, "source": None},
        ("cylinder.filled", 2): lambda data: {**data, "gauge_millibar": int(str(data["gauge_centibar"])) * 10},
    }
    read = current(FACT, steps)
    assert (read.version, read.data["gauge_millibar"], read.data["source"]) == (3, 230000, None)
    assert current(replace(FACT, version=9), steps).version == 9
    assert dict(FACT.data) == {"gauge_centibar": 23000}
