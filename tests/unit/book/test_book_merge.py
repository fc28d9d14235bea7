"""Merge: gapless, all or nothing, in either store; forks and altered bundles are refused and named."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from book_days import NOW, POLICY, ZONE, draft, filled_in_bulk, made, put, reopened, standing_in
from gaswright.book.bundle import BundleHead, export_bundle, head_line, seal_of
from gaswright.book.canonical import hash_of, text_of
from gaswright.book.errors import BookUnavailable, BundleDamaged, BundleGap, Fork, ReadOnlyBook
from gaswright.book.folding import custody_folding
from gaswright.book.handle import Book
from gaswright.book.machine import claim
from gaswright.book.merge import merge_bundle
from gaswright.book.people import note_of
from gaswright.book.store import open_book
from gaswright.book.verify import verify
from gaswright.custody.fact import Kind, Value
from gaswright.custody.standing import Unknown
from gaswright.errors import InputError


@pytest.fixture
def station(tmp_path: Path) -> Iterator[Book]:
    """Another book, with a fill and its analysis of c1, a person and a note."""
    with made(tmp_path, "station", origin="STATION1") as opened:
        note = note_of("valve stiff")
        opened.append([draft(), draft(Kind.ANALYSED, rests_on=("#1",), o2_e4=1820, he_e4=4460, note=note.hash)],
                      key="k", request="r", now=NOW, notes=[note])
        opened.people.add("s1", "Station Example")
        yield opened


@pytest.fixture
def bundle(station: Book, tmp_path: Path) -> Path:
    """A bundle of that book."""
    export_bundle(station, tmp_path / "stick", by="s1", now=NOW)
    return tmp_path / "stick"


def contents(book: Book) -> tuple[object, ...]:
    """Everything that a merge may change."""
    return (sorted(fact.id for fact in book.facts()), dict(book.head_hashes()), book.people.all(), book.origin)


def test_merge_puts_in_what_is_missing(book: Book, station: Book, bundle: Path) -> None:
    """Facts, names and notes of the other book are here afterwards, and the proof holds."""
    put(book, draft(stream="gas/c9"))
    merged = merge_bundle(book, bundle, now=NOW)
    assert (merged.new, merged.known, merged.streams, merged.origin) == (2, 0, ("gas/c1",), None)
    assert book.stream("gas/c1") == station.stream("gas/c1")
    assert book.people.name("s1") == "Station Example"
    note = str(book.stream("gas/c1")[1].data["note"])
    assert book.note(note) == "valve stiff"
    assert standing_in(book).known == standing_in(station).known
    assert verify(book).problems == ()


def test_merge_again_changes_nothing(book: Book, bundle: Path) -> None:
    """Merging the same bundle twice gives the same book."""
    merge_bundle(book, bundle, now=NOW)
    before = contents(book)
    again = merge_bundle(book, bundle, now=NOW)
    assert (again.new, again.known, again.streams) == (0, 2, ())
    assert contents(book) == before


def test_later_bundle_continues(book: Book, station: Book, bundle: Path, tmp_path: Path) -> None:
    """A bundle of the later facts alone is a gapless continuation; one that skips a fact is refused whole."""
    put(station, draft(after=("STATION1-1",)))
    put(station, draft(stream="gas/c2"))
    export_bundle(station, tmp_path / "later", by="s1", now=NOW, known={"STATION1": 2})
    export_bundle(station, tmp_path / "gap", by="s1", now=NOW, known={"STATION1": 3})
    with pytest.raises(BundleGap) as gap:
        merge_bundle(book, tmp_path / "later", now=NOW)
    assert (gap.value.origin, gap.value.first_missing, gap.value.last_missing) == ("STATION1", 1, 2)
    merge_bundle(book, bundle, now=NOW)
    with pytest.raises(BundleGap):
        merge_bundle(book, tmp_path / "gap", now=NOW)
    assert merge_bundle(book, tmp_path / "later", now=NOW).new == 2
    assert book.head_hashes()["STATION1"] == station.head_hashes()["STATION1"]


def test_fork_is_refused_and_both_are_named(book: Book, bundle: Path, tmp_path: Path) -> None:
    """Two books that wrote different facts under one id are never merged; the sentence names id and both hashes."""
    with made(tmp_path, "copy", origin="STATION1") as copy:
        put(copy, draft(stream="gas/c1", gauge_centibar=1))
        export_bundle(copy, tmp_path / "forked", by="s1", now=NOW)
        here = copy.head_hashes()["STATION1"][1]
    merge_bundle(book, bundle, now=NOW)
    before = contents(book)
    with pytest.raises(Fork) as fork:
        merge_bundle(book, tmp_path / "forked", now=NOW)
    assert fork.value.fact == "STATION1-1"
    assert fork.value.hash_there == here
    assert fork.value.hash_here in str(fork.value)
    assert contents(book) == before


def test_fork_before_a_later_bundle_is_found(book: Book, bundle: Path, tmp_path: Path) -> None:
    """A later bundle of a copy that went another way is refused where its predecessor differs."""
    with made(tmp_path, "copy", origin="STATION1") as copy:
        put(copy, draft(), draft(stream="gas/c7"), draft())
        export_bundle(copy, tmp_path / "forked", by="s1", now=NOW, known={"STATION1": 2})
    merge_bundle(book, bundle, now=NOW)
    with pytest.raises(Fork, match="STATION1-2"):
        merge_bundle(book, tmp_path / "forked", now=NOW)


def test_every_altered_byte_of_a_bundle_is_named(tmp_path: Path, bundle: Path) -> None:
    """Whichever byte of the file is altered, the bundle is refused with the line, and nothing is merged."""
    raw = bundle.read_bytes()
    lines = raw.count(b"\n")
    with made(tmp_path, "mine") as book:
        for place in range(len(raw)):
            (tmp_path / "altered").write_bytes(raw[:place] + bytes([raw[place] ^ 1]) + raw[place + 1:])
            line = min(raw[:place].count(b"\n") + 1, lines)
            with pytest.raises(BundleDamaged) as damage:
                merge_bundle(book, tmp_path / "altered", now=NOW)
            assert damage.value.where == f"line {line}", place
        assert list(book.facts()) == []


@pytest.mark.parametrize("cut", [0, 1, 400, -1, -2, -200])
def test_bundle_that_ends_early_is_refused(book: Book, bundle: Path, cut: int) -> None:
    """A bundle whose copying was broken off anywhere is refused whole."""
    bundle.write_bytes(bundle.read_bytes()[:cut])
    with pytest.raises(BundleDamaged):
        merge_bundle(book, bundle, now=NOW)
    assert list(book.facts()) == []


def test_bundle_with_more_than_it_says_is_refused(book: Book, bundle: Path) -> None:
    """A line behind the last one is refused."""
    bundle.write_bytes(bundle.read_bytes() + b"{}\n")
    with pytest.raises(BundleDamaged):
        merge_bundle(book, bundle, now=NOW)


@pytest.mark.parametrize("content", [b"\n", b"{}\n", b"null\n", b"\xff\n", b'{"bundle":1}\n', b"[" * 100_000,
                                     b'{"bundle":"gaswright.bundle/1","seal":""}\n'])
def test_file_that_is_no_bundle_is_refused(tmp_path: Path, content: bytes) -> None:
    """Anything else is refused at its first line."""
    (tmp_path / "letter").write_bytes(content)
    with made(tmp_path) as book, pytest.raises(BundleDamaged):
        merge_bundle(book, tmp_path / "letter", now=NOW)


def test_bundle_of_a_newer_program_is_refused(tmp_path: Path) -> None:
    """A bundle of a later format says that an update is needed."""
    fields: dict[str, Value] = {"bundle": "gaswright.bundle/2"}
    (tmp_path / "new").write_text(text_of(fields | {"seal": seal_of(fields)}) + "\n")
    with made(tmp_path) as book, pytest.raises(InputError, match="update"):
        merge_bundle(book, tmp_path / "new", now=NOW)


def test_clock_of_the_sender_is_shown(book: Book, station: Book, tmp_path: Path) -> None:
    """By how much the sender's clock was ahead is part of the answer."""
    export_bundle(station, tmp_path / "late", by="s1", now=NOW + timedelta(hours=2))
    assert merge_bundle(book, tmp_path / "late", now=NOW).clock_offset == timedelta(hours=2)


def test_fill_elsewhere_makes_two_heads(book: Book, station: Book, tmp_path: Path) -> None:
    """A gas known here is unknown once a fill from elsewhere that did not know it is merged."""
    put(book, draft(), draft(Kind.ANALYSED, rests_on=("#1",), o2_e4=1820, he_e4=4460))
    assert standing_in(book).known is not None
    export_bundle(station, tmp_path / "x", by="s1", now=NOW)
    merge_bundle(book, tmp_path / "x", now=NOW)
    assert standing_in(book).why is Unknown.TWO_HEADS


def test_rows_of_streams_are_right_after_a_merge(tmp_path: Path, bundle: Path) -> None:
    """The rows of the streams that got facts are folded anew; others stay."""
    with made(tmp_path, "mine", folding=custody_folding(POLICY, ZONE)) as book:
        put(book, draft(), draft(stream="gas/c9"))
        before = book.standing_rows()
        merge_bundle(book, bundle, now=NOW)
        after = book.standing_rows()
        assert len(after["gas/c1"].heads) == 2
        assert after["gas/c9"] == before["gas/c9"]
        assert verify(book).problems == ()


def test_old_copy_that_meets_its_own_facts_goes_on_under_a_new_origin(tmp_path: Path) -> None:
    """Facts of the own origin that are not here show an old copy: they are merged and a new origin begins."""
    with made(tmp_path, "boat", origin="BOATBOAT") as boat:
        put(boat, draft())
        old = (tmp_path / "boat.db").read_bytes()
        put(boat, draft(after=("BOATBOAT-1",)))
        export_bundle(boat, tmp_path / "x", by="d1", now=NOW)
    (tmp_path / "boat.db").write_bytes(old)
    with reopened(tmp_path, "boat") as copy:
        assert copy.notices != ()
    (tmp_path / "boat.db").write_bytes(old)
    claim("BOATBOAT", str((tmp_path / "boat.db").resolve()), 0, tmp_path / "origins")
    with reopened(tmp_path, "boat") as copy:
        assert copy.origin == "BOATBOAT"
        merged = merge_bundle(copy, tmp_path / "x", now=NOW)
        assert merged.origin is not None
        assert put(copy, draft()) == (f"{merged.origin}-1",)
        assert copy.head_hashes()["BOATBOAT"][0] == 2


def test_reading_alone_merges_nothing(tmp_path: Path, bundle: Path) -> None:
    """A book that is open for reading refuses a bundle."""
    made(tmp_path, "mine").close()
    with open_book(f"sqlite:///{tmp_path / 'mine.db'}", read_only=True, now=NOW, origins=tmp_path / "o") as book:
        with pytest.raises(ReadOnlyBook):
            merge_bundle(book, bundle, now=NOW)
        assert export_bundle(book, tmp_path / "out", by="d1", now=NOW).ranges == ()


def test_bundle_that_cannot_be_read_or_written_is_named(tmp_path: Path) -> None:
    """A missing bundle, and a folder that is not there, are named in one sentence."""
    with made(tmp_path) as book:
        with pytest.raises(BookUnavailable, match="absent"):
            merge_bundle(book, tmp_path / "absent", now=NOW)
        with pytest.raises(BookUnavailable, match="no-folder"):
            export_bundle(book, tmp_path / "no-folder" / "x", by="d1", now=NOW)


def test_bundle_of_many_facts_passes_pages(book: Book, tmp_path: Path) -> None:
    """More facts than one page go out and in, through both stores and back, with the same hashes."""
    with made(tmp_path, "big", origin="BIGBIGBG") as big:
        filled_in_bulk(big, 4500, cylinders=3)
        export_bundle(big, tmp_path / "x", by="d1", now=NOW)
        assert merge_bundle(book, tmp_path / "x", now=NOW).new == 4500
        assert book.head_hashes() == big.head_hashes()
        assert len(list(book.facts())) == 4500
    export_bundle(book, tmp_path / "y", by="d1", now=NOW)
    assert (tmp_path / "y").read_bytes().split(b"\n")[1:] == (tmp_path / "x").read_bytes().split(b"\n")[1:]


def test_forged_bundle_cannot_hold_what_is_not_canonical(tmp_path: Path) -> None:
    """A bundle whose sender wrote texts of his own making, with all its hashes right, is refused."""
    with made(tmp_path, "s", origin="STATION1") as station:
        put(station, draft(), key="k")
        head = export_bundle(station, tmp_path / "x", by="s1", now=NOW)
    text = (tmp_path / "x").read_text().split("\n")[1]
    with made(tmp_path, "mine") as book:
        spaced, nul = text.replace(",", ", "), text.replace('"d1"', '"d\\u00001"')
        for forged in (spaced, nul, text.replace("gas/c1", "gas/c\\n1")):
            assert forged != text
            first = head_line(resealed(head, forged))
            (tmp_path / "forged").write_bytes(first + forged.encode() + b"\n")
            with pytest.raises(BundleDamaged):
                merge_bundle(book, tmp_path / "forged", now=NOW)


def resealed(head: BundleHead, forged: str) -> BundleHead:
    """The first line as if the one fact had always been the forged text."""
    (each,) = head.ranges
    hash_ = hash_of(each.previous, forged)
    return replace(head, ranges=(replace(each, hash=hash_, marks=hash_[:8]),))
