"""A day of a small team in a book, for the tests of records: filled, analysed, corrected, kept as evidence."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from book_days import NOW, draft, made, put
from gaswright.book.handle import Book
from gaswright.book.people import note_of
from gaswright.custody.fact import Kind
from gaswright.services.book_opening import OpenBook, judging

__all__ = ["AT_ONCE", "ORIGIN", "REASON", "TO", "day_book", "judged"]

ORIGIN = "K7Q2M9XA"
REASON, TO = "typed into the wrong row", "the club next door"
AT_ONCE = NOW + timedelta(hours=12)
_CYLINDER: dict[str, Any] = {
    "id": "c1", "serial": "AB 4711", "divers": ["d1"], "role": "main", "volume_ml": 24000, "working_centibar": 23200,
    "oxygen_clean": True, "tested_until": "2027-05-01", "visual_until": "2027-12-01", "permanent_mark": None,
    "target_o2_e4": 1800, "target_he_e4": 4500, "pair": None, "isolator_open": True,
}
_READING: dict[str, Any] = {
    "o2_e4": 1820, "he_e4": 4460, "u_o2_e4": 50, "u_he_e4": 100, "gauge_centibar": 22850, "temperature_centi_k": 28915,
    "witness": "d2", "accepted_by": None, "analyser": "A2", "typed": {"o2": "18,2", "he": "44.6"},
}


def day_book(folder: Path) -> Book:
    """The book of the day, open; fifteen facts, their numbers as they are written beside them."""
    book = made(folder, origin=ORIGIN)
    book.people.add("d1", "Ines")
    book.people.add("d2", "Łucja")
    why, to = note_of(REASON), note_of(TO)
    fill: dict[str, Any] = {
        "gauge_centibar": 23000, "target_o2_e4": 1800, "target_he_e4": 4500, "implied": False, "air": None}
    put(book, draft(Kind.REGISTERED, "register/c1", **_CYLINDER))                                            # 1
    put(book, draft(Kind.ANALYSER_CALIBRATED, "analyser/A2", at=_at(5), point="air"))                        # 2
    put(book, draft(Kind.FILLED, at=_at(10), **fill))                                                        # 3
    put(book, draft(Kind.ANALYSED, at=_at(20), rests_on=(f"{ORIGIN}-3",), **{**_READING, "o2_e4": 8120}))    # 4
    put(book, draft(Kind.ANALYSED, at=_at(30), after=(f"{ORIGIN}-4",), rests_on=(f"{ORIGIN}-3",), **_READING))  # 5
    book.append([draft(Kind.CORRECTED, at=_at(31), voids=f"{ORIGIN}-4", reason_sha256=why.hash)], key="correct",
                request="typed", now=NOW, notes=[why])                                                       # 6
    put(book, draft(Kind.ACCEPTED, at=_at(32), by="d2", rests_on=(f"{ORIGIN}-5",)))                          # 7
    put(book, draft(Kind.LABEL_APPLIED, at=_at(35), rests_on=(f"{ORIGIN}-5",), serial_read="4711"))          # 8
    put(book, draft(Kind.PLAN_AGREED, "plan/am", at=_at(40), by="d2", text="=HYPERLINK(1)"))                 # 9
    put(book, draft(Kind.BREATHED, at=_at(200), rests_on=(f"{ORIGIN}-5",), gauge_centibar=8000))             # 10
    put(book, draft(Kind.LABELS_REMOVED, at=_at(300), after=(f"{ORIGIN}-3",)))                               # 11
    book.append([draft(Kind.LENT, at=_at(310), after=(f"{ORIGIN}-11",), to_sha256=to.hash)], key="lend",
                request="typed", now=NOW, notes=[to])                                                        # 12
    put(book, draft(Kind.FILLED, "gas/c2", at=_at(320), **fill))                                             # 13
    put(book, draft(Kind.FROZEN, at=_at(400), after=(f"{ORIGIN}-12",)))                                      # 14
    put(book, draft(Kind.INCIDENT_REPORTED, "incident/i1", at=_at(410), rests_on=(f"{ORIGIN}-14",),
                    cylinder="c1", text="taste of oil"))                                                     # 15
    return book


def _at(minutes: int) -> datetime:
    return NOW + timedelta(minutes=minutes)


def judged(book: Book) -> OpenBook:
    """The book with the shipped policy, twelve hours later."""
    return judging(book, AT_ONCE)
