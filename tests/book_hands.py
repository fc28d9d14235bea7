"""A book for the tests of its services: opened at any time, acts written short."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from itertools import count
from pathlib import Path

from gaswright.planning.dive import Role
from gaswright.services.book_acts import Act
from gaswright.services.book_cylinders import NewCylinder, add_cylinder
from gaswright.services.book_day import Today, today
from gaswright.services.book_opening import OpenBook, opened
from gaswright.services.book_people import add_person, init_book

__all__ = ["NOW", "TRIP", "act", "at_hand", "cylinder", "new_book", "row", "url"]

NOW = datetime(2027, 5, 15, 5, 30, tzinfo=UTC)  # 07:30 in Vienna
ZONE = "Europe/Vienna"
TRIP = files("gaswright").joinpath("data/demo/quarry-day.toml").read_text(encoding="utf-8")
_KEYS = count(1)


def url(folder: Path, name: str = "boat") -> str:
    """The address of a book in a folder."""
    return f"sqlite:///{folder / name}.db"


def act(by: str = "ines", *, at: datetime = NOW, key: str = "", request: str = "typed",
        heads: tuple[str, ...] | None = None) -> Act:
    """An act under a key of its own."""
    return Act(by, at, key or f"key-{next(_KEYS)}", request, heads)


def new_book(folder: Path, name: str = "boat", *, now: datetime = NOW, origin: str | None = None) -> None:
    """A book with Ines and Tomas in it."""
    init_book(url(folder, name), act(at=now), name="Ines", zone=ZONE, now=now, origin=origin, origins=folder / "own")
    with at_hand(folder, name, now=now) as book:
        add_person(book, act(at=now), "tomas", "Tomas")


@contextmanager
def at_hand(folder: Path, name: str = "boat", *, now: datetime = NOW, minutes: float = 0.0,
            policy: Path | None = None) -> Iterator[OpenBook]:
    """The book of a folder, open, some minutes later."""
    moment = now + timedelta(minutes=minutes)
    with opened(url(folder, name), now=moment, origins=folder / "own", policy_path=policy) as book:
        yield book


def cylinder(book: OpenBook, id: str = "c1", serial: str = "HM 1187", *, role: str = Role.DECO,  # noqa: A002  the field is called id
             oxygen_clean: bool = True, divers: tuple[str, ...] = ("ines",)) -> None:
    """A cylinder in the register, in test."""
    until = NOW.date() + timedelta(days=400)
    add_cylinder(book, act(at=book.now), NewCylinder(
        id, serial, divers, role, 11.1, 207.0, oxygen_clean, until, until))


def row(shown: Today | OpenBook, id: str = "c1") -> str:  # noqa: A002  the field is called id
    """The word of a cylinder on the board."""
    board = today(shown) if isinstance(shown, OpenBook) else shown
    return next(one.standing for one in board.rows if one.cylinder == id)
