"""Three books under any order of entries, corrections and merges, with clocks off by hours.

However the bundles travel, the books hold the same facts and say the same of each cylinder; whatever a correction or a
clock does, it never makes a gas known.
"""

import os
import shutil
import tempfile
from contextlib import ExitStack
from datetime import timedelta
from functools import cache
from itertools import count, permutations
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from book_days import NOW, POLICY, ZONE, draft, made
from gaswright.book.draft import Draft
from gaswright.book.folding import custody_folding, standing
from gaswright.book.handle import Book
from gaswright.book.machine import claim
from gaswright.book.merge import export_bundle, merge_bundle
from gaswright.book.store import open_book
from gaswright.book.verify import verify
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.folding import fold
from gaswright.custody.heads import GAS_CHANGING
from gaswright.custody.standing import Rung, Standing

ORIGINS = ("BOATBOAT", "STATION2", "PHONE333", "EMPTY444", "EMPTY555")
FOLDING = custody_folding(POLICY, ZONE)
CYLINDERS = ("c1", "c2")
CHANGES = (Kind.FILLED, Kind.FILLED, Kind.FILLED, Kind.TOPPED_UP, Kind.DRAINED, Kind.LENT, Kind.RETURNED,
           Kind.LABELS_REMOVED)
SCALE = 8 if os.environ.get("GASWRIGHT_SYSTEM") == "1" else 1

books = st.integers(0, 2)
cylinders = st.sampled_from(("c1", "c1", "c2"))
skews = st.sampled_from([0, 0, 0, 0, -60 * 16, -120, 4, 90, 60 * 30]).map(lambda minutes: timedelta(minutes=minutes))
oxygens = st.sampled_from([1800, 1800, 1850, 2500])
BY_HAND: dict[str, Any] = {"he_e4": 4500, "u_o2_e4": 50, "u_he_e4": 100}


@cache
def templates() -> Path:
    """A folder of empty books, made once."""
    folder = Path(tempfile.mkdtemp(prefix="gw-books-"))
    for origin in ORIGINS:
        made(folder, origin, origin=origin).close()
    return folder


def fresh(folder: Path, origin: str, name: str = "") -> Book:
    """An empty book of this origin, copied from the templates."""
    path = folder / f"{name or origin}.db"
    shutil.copyfile(templates() / f"{origin}.db", path)
    claim(origin, str(path.resolve()), 0, folder / "origins")
    return open_book(f"sqlite:///{path}", now=NOW, origins=folder / "origins", folding=FOLDING)


def facts_of(book: Book) -> dict[str, Fact]:
    """Every fact as it counts, by id."""
    return {fact.id: fact for fact in book.facts()}


def said_of(book: Book) -> list[Standing]:
    """What a book says of every cylinder, at several times of day, from its rows."""
    return [standing(book, cylinder, POLICY, zone=ZONE, now=NOW + timedelta(hours=hours))
            for cylinder in CYLINDERS for hours in (0, 4, 20)]


class BookMachine(RuleBasedStateMachine):
    """Three books: people enter facts, correct them, send one entry to two books, and carry bundles about."""

    def __init__(self) -> None:
        super().__init__()
        self.stack = ExitStack()
        self.folder = Path(self.stack.enter_context(tempfile.TemporaryDirectory(prefix="gw-machine-")))
        self.books = [self.stack.enter_context(fresh(self.folder, origin)) for origin in ORIGINS[:3]]
        self.now = NOW
        self.keys = count(1)

    def teardown(self) -> None:
        try:
            self.bundles_meet_in_any_order()
        finally:
            self.stack.close()

    # ---- what people do

    def enter(self, book: Book, *drafts: Draft, skew: timedelta = timedelta(), key: str = "") -> None:
        """Entries by a machine whose clock is off."""
        book.append(drafts, key=key or f"key-{next(self.keys)}", request="typed", now=self.now + skew)

    def seen(self, book: Book, cylinder: str) -> tuple[str, ...]:
        """The heads that whoever enters something on this book sees."""
        row = book.standing_row(f"gas/{cylinder}")
        return row.heads if row else ()

    @rule(place=books, cylinder=cylinders, kind=st.sampled_from(CHANGES), at=skews, skew=skews)
    def change(self, place: int, cylinder: str, kind: Kind, at: timedelta, skew: timedelta) -> None:
        """A fill, a top-up, labels off."""
        book = self.books[place]
        self.enter(book, draft(kind, f"gas/{cylinder}", at=self.now + at, after=self.seen(book, cylinder)), skew=skew)

    @rule(place=books, cylinder=cylinders, at=skews, skew=skews, o2=oxygens)
    def analyse(self, place: int, cylinder: str, at: timedelta, skew: timedelta, o2: int) -> None:
        """An analysis of the one head that the book shows; it replaces those that it shows in force."""
        book = self.books[place]
        row = book.standing_row(f"gas/{cylinder}")
        if row and len(row.heads) == 1:
            self.enter(book, draft(Kind.ANALYSED, f"gas/{cylinder}", at=self.now + at, after=row.in_force,
                                   rests_on=row.heads, o2_e4=o2, **BY_HAND), skew=skew)

    @rule(place=books, cylinder=cylinders, o2=oxygens)
    def fill_analyse_label(self, place: int, cylinder: str, o2: int) -> None:
        """An ordinary morning, in one request."""
        book, stream = self.books[place], f"gas/{cylinder}"
        self.enter(book, draft(Kind.FILLED, stream, at=self.now, after=self.seen(book, cylinder)),
                   draft(Kind.ANALYSED, stream, at=self.now, rests_on=("#1",), o2_e4=o2, **BY_HAND),
                   draft(Kind.LABEL_APPLIED, stream, at=self.now, rests_on=("#2",), serial_read="4711"))

    @rule(place=books, cylinder=cylinders)
    def register(self, place: int, cylinder: str) -> None:
        """A cylinder is entered in the register, perhaps in two books apart."""
        self.enter(self.books[place], draft(
            Kind.REGISTERED, f"register/{cylinder}", at=self.now, id=cylinder, serial="AB 4711", divers=["d1"],
            role="main", volume_ml=24000, working_centibar=23200, oxygen_clean=True))

    @rule(place=books)
    def labels_off_for_all(self, place: int) -> None:
        """Labels off for all: one fact per cylinder, one request."""
        book = self.books[place]
        self.enter(book, *(draft(Kind.LABELS_REMOVED, f"gas/{cylinder}", at=self.now, after=self.seen(book, cylinder))
                           for cylinder in CYLINDERS))

    @rule(one=books, other=books, cylinder=cylinders, o2=oxygens)
    def send_to_two_books(self, one: int, other: int, cylinder: str, o2: int) -> None:
        """A phone sends one fill and its analysis to two books under the same keys."""
        key, stream = f"key-{next(self.keys)}", f"gas/{cylinder}"
        seen = self.seen(self.books[one], cylinder)  # the phone shows one book, and sends what it shows to both
        for book in (self.books[one], self.books[other]):
            self.enter(book, draft(Kind.FILLED, stream, at=self.now, after=seen),
                       draft(Kind.ANALYSED, stream, at=self.now, rests_on=("#1",), o2_e4=o2, **BY_HAND), key=key)

    @rule(place=books, cylinder=cylinders, at=skews, skew=skews, data=st.data())
    def correct(self, place: int, cylinder: str, at: timedelta, skew: timedelta, data: st.DataObject) -> None:
        """A correction of any fact, from whatever clock, makes no gas known and no label count."""
        book = self.books[place]
        there = [fact.id for fact in book.stream(f"gas/{cylinder}")]
        if not there:
            return
        before = said_of(book)
        voided = data.draw(st.sampled_from(there))
        self.enter(book, draft(Kind.CORRECTED, f"gas/{cylinder}", at=self.now + at, voids=voided), skew=skew)
        for was, now in zip(before, said_of(book), strict=True):
            assert list(Rung).index(now.rung) <= list(Rung).index(was.rung)
            assert now.known is None or (was.known is not None and was.known.rich == now.known.rich)

    @rule(one=books, other=books, skew=skews)
    def carry(self, one: int, other: int, skew: timedelta) -> None:
        """A bundle goes from one book to another, and arrives a second time."""
        sender, receiver = self.books[one], self.books[other]
        path = self.folder / "stick"
        export_bundle(sender, path, by="d1", now=self.now + skew)
        first = merge_bundle(receiver, path, now=self.now)
        again = merge_bundle(receiver, path, now=self.now)
        assert first.clock_offset == skew
        assert (again.new, again.known) == (0, first.new + first.known)
        assert set(facts_of(sender)) <= set(facts_of(receiver)) or one_entry_counts_elsewhere(sender, receiver)

    @rule(one=books, other=books)
    def exchange(self, one: int, other: int) -> None:
        """Two books exchange bundles: they hold the same facts and say the same of every cylinder."""
        self.carry(one, other, timedelta())
        self.carry(other, one, timedelta())
        left, right = self.books[one], self.books[other]
        assert left.head_hashes() == right.head_hashes()
        assert facts_of(left) == facts_of(right)
        assert said_of(left) == said_of(right)

    @rule(minutes=st.sampled_from([10, 240, 600, 1500]))
    def wait(self, minutes: int) -> None:
        """Time passes."""
        self.now += timedelta(minutes=minutes)

    # ---- what must hold

    @invariant()
    def rows_say_what_the_facts_say(self) -> None:
        """What a book says from its rows is what the fold says of its facts."""
        for book in self.books:
            for cylinder in CYLINDERS:
                facts = tuple(book.facts([f"gas/{cylinder}", f"register/{cylinder}"]))
                for now in (self.now, self.now + timedelta(hours=19)):
                    right = fold(facts, cylinder, POLICY, zone=ZONE, now=now)
                    assert standing(book, cylinder, POLICY, zone=ZONE, now=now) == right
                    timeless = fold(facts, cylinder, POLICY, zone=ZONE, now=None)
                    assert right.known is None or timeless.known is not None  # a clock only takes trust away

    @invariant()
    def known_gas_names_the_one_head(self) -> None:
        """A gas that is known rests on the only change that no other change names."""
        for book in self.books:
            for cylinder in CYLINDERS:
                known = standing(book, cylinder, POLICY, zone=ZONE, now=self.now).known
                changes = [fact for fact in book.stream(f"gas/{cylinder}") if fact.kind in GAS_CHANGING]
                named = {name for fact in changes for name in fact.after}
                assert known is None or [fact.id for fact in changes if fact.id not in named] == [known.fill]

    def bundles_meet_in_any_order(self) -> None:
        """Merged in any order, one by one or two at first, the bundles of all three make the same whole book."""
        for book in self.books:
            export_bundle(book, self.folder / f"{book.origin}.bundle", by="d1", now=self.now)
            assert verify(book).problems == ()
        bundles = [self.folder / f"{book.origin}.bundle" for book in self.books]
        made_of: list[tuple[object, ...]] = []
        for number, order in enumerate(permutations(bundles)):
            with fresh(self.folder, ORIGINS[3], f"all{number}") as together:
                for path in order:
                    merge_bundle(together, path, now=self.now)
                made_of.append((together.head_hashes(), facts_of(together), said_of(together)))
        with fresh(self.folder, ORIGINS[3], "two") as two, fresh(self.folder, ORIGINS[4], "three") as three:
            merge_bundle(two, bundles[1], now=self.now)
            merge_bundle(two, bundles[2], now=self.now)
            export_bundle(two, self.folder / "two.bundle", by="d1", now=self.now)
            merge_bundle(three, bundles[0], now=self.now)
            merge_bundle(three, self.folder / "two.bundle", now=self.now)
            made_of.append((three.head_hashes(), facts_of(three), said_of(three)))
            assert verify(three).problems == ()
        assert all(one == made_of[0] for one in made_of)


def one_entry_counts_elsewhere(sender: Book, receiver: Book) -> bool:
    """True if every fact that the receiver does not count under the sender's id is a copy that it counts once."""
    counted = {fact.key for fact in facts_of(receiver).values()}
    return all(fact.key in counted for fact in facts_of(sender).values())


TestBooks = BookMachine.TestCase
TestBooks.settings = settings(max_examples=10 * SCALE, stateful_step_count=18)
