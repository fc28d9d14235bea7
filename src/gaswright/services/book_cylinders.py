"""Cylinders in the register of a book: entered, inspected, cleaned, assigned, retired."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from gaswright.book.draft import Draft
from gaswright.custody.fact import Kind, Value
from gaswright.custody.registering import register
from gaswright.errors import InputError, Problem
from gaswright.physics.mixture import Mixture
from gaswright.planning.dive import Role
from gaswright.services.book_acts import Act, Done, checked_cylinder, checked_person, done_before, record
from gaswright.services.book_opening import OpenBook

__all__ = ["NewCylinder", "add_cylinder", "assign", "clean", "inspect_cylinder", "register_data", "retire"]

TEAM = "team"
LOWEST_L, HIGHEST_L = 0.3, 120.0  # water volume
LOWEST_BAR, HIGHEST_BAR = 50.0, 310.0  # working pressure


@dataclass(frozen=True, slots=True)
class NewCylinder:
    """What the register is told of a cylinder.

    Args:
        id: short id.
        serial: as stamped.
        divers: ids of those who breathe from it, the owner first; "team" alone: everybody.
        role: what it is for.
        volume_l: water volume [L].
        working_bar: working pressure, gauge [bar].
        oxygen_clean: cleaned and kept for oxygen.
        tested_until: hydrostatic test, None.
        visual_until: visual inspection, None.
        permanent_mark: with its unit, None.
        target: the gas wished for, None.
        pair: name of the pair it is analysed with, None.
        isolator_open: of manifolded doubles, None.
    """

    id: str
    serial: str
    divers: tuple[str, ...]
    role: str
    volume_l: float
    working_bar: float
    oxygen_clean: bool = False
    tested_until: date | None = None
    visual_until: date | None = None
    permanent_mark: str | None = None
    target: Mixture | None = None
    pair: str | None = None
    isolator_open: bool | None = None


def register_data(new: NewCylinder) -> dict[str, Value]:
    """The data of a register fact.

    Args:
        new: what the register is told.
    """
    return {
        "id": new.id, "serial": new.serial, "divers": list(new.divers), "role": new.role,
        "volume_ml": round(new.volume_l * 1000), "working_centibar": round(new.working_bar * 100),
        "oxygen_clean": new.oxygen_clean,
        "tested_until": None if new.tested_until is None else new.tested_until.isoformat(),
        "visual_until": None if new.visual_until is None else new.visual_until.isoformat(),
        "permanent_mark": new.permanent_mark, "pair": new.pair, "isolator_open": new.isolator_open,
        "target_o2_e4": None if new.target is None else new.target.o2_e4,
        "target_he_e4": None if new.target is None else new.target.he_e4,
    }


def add_cylinder(opened: OpenBook, act: Act, new: NewCylinder) -> Done:
    """A cylinder entered in the register.

    Args:
        opened: the book.
        act: the request.
        new: what the register is told.

    Raises:
        InputError: the id or the serial is taken, an unknown owner, or a value out of range; all problems at once.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    _check_owners(opened, new.divers)
    if problems := [*_problems(new), *_taken(opened, new)]:
        raise InputError(problems)
    draft = Draft(Kind.REGISTERED, f"register/{new.id}", act.at, act.by, data=register_data(new), zone=opened.zone)
    return Done(record(opened, act, (draft,)))


def _check_owners(opened: OpenBook, divers: Sequence[str]) -> None:
    if not divers:
        raise InputError([Problem("--owner", "is missing; give the id of who breathes from it, or team")])
    for diver in divers if tuple(divers) != (TEAM,) else ():
        checked_person(opened.book, diver, "--owner")


def _problems(new: NewCylinder) -> list[Problem]:
    ok = 0 < len(new.id) <= 32 and new.id.isascii() and new.id[0].isalnum() and all(
        letter.isalnum() or letter in "._-" for letter in new.id)
    found = [] if ok else [Problem("cylinder", f"{new.id[:40]!r} is no id; an id has 1 to 32 letters, digits, points, "
                                   "dashes or underscores and begins with a letter or digit")]
    if not new.serial.strip() or len(new.serial) > 60 or not new.serial.isprintable():
        found.append(Problem("--serial", f"{new.serial[:40]!r} cannot be a stamped serial; give 1 to 60 characters"))
    if new.role not in set(Role):
        found.append(Problem("--role", f"is {new.role!r}; allowed are {', '.join(Role)}"))
    if not LOWEST_L <= new.volume_l <= HIGHEST_L:
        found.append(Problem("--volume", f"is a water volume of {new.volume_l:g} L; allowed are {LOWEST_L:g} to "
                             f"{HIGHEST_L:g} L"))
    if not LOWEST_BAR <= new.working_bar <= HIGHEST_BAR:
        found.append(Problem("--working-pressure", f"is {new.working_bar:g} bar; allowed are {LOWEST_BAR:g} to "
                             f"{HIGHEST_BAR:g} bar"))
    return found


def _taken(opened: OpenBook, new: NewCylinder) -> list[Problem]:
    """The id is taken if any fact of the register or of a gas carries it; the serial, if another cylinder has it."""
    names = opened.book.streams("register/")
    if f"register/{new.id}" in names:
        return [Problem("cylinder", f"{new.id} is registered already; each id stands for one cylinder")]
    records = register(tuple(opened.book.facts(names)))
    same = [record.id for record in records.values() if record.serial == new.serial and not record.retired]
    return [Problem("--serial", f"{new.serial} is {same[0]} already; one serial is one cylinder")] if same else []


def inspect_cylinder(
    opened: OpenBook, act: Act, cylinder: str, *, tested_until: date | None = None, visual_until: date | None = None
) -> Done:
    """Test dates read from the shoulder or from the inspector's paper.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        tested_until: hydrostatic test, None: not inspected.
        visual_until: visual inspection, None: not inspected.

    Raises:
        InputError: no date is given, or an unknown person or cylinder.
    """
    if tested_until is None and visual_until is None:
        raise InputError([Problem("--tested-until", "give --tested-until, --visual-until, or both")])
    return _later(opened, act, cylinder, Kind.INSPECTED, {
        "tested_until": None if tested_until is None else tested_until.isoformat(),
        "visual_until": None if visual_until is None else visual_until.isoformat(),
    })


def clean(opened: OpenBook, act: Act, cylinder: str) -> Done:
    """A cylinder cleaned for oxygen: it is oxygen clean again until an ordinary air top-up.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
    """
    return _later(opened, act, cylinder, Kind.OXYGEN_CLEANED, {})


def retire(opened: OpenBook, act: Act, cylinder: str) -> Done:
    """A cylinder taken out of use for good.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
    """
    return _later(opened, act, cylinder, Kind.RETIRED, {})


def assign(opened: OpenBook, act: Act, cylinder: str, divers: tuple[str, ...]) -> Done:
    """A cylinder given to other divers.

    Args:
        opened: the book.
        act: the request.
        cylinder: id.
        divers: ids, the owner first; "team" alone: everybody.
    """
    if done_before(opened, act) is None:
        _check_owners(opened, divers)
    return _later(opened, act, cylinder, Kind.ASSIGNED, {"divers": list(divers)})


def _later(opened: OpenBook, act: Act, cylinder: str, kind: Kind, data: dict[str, Value]) -> Done:
    """A register fact that supersedes every one that stands in the register of this cylinder now."""
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    checked_cylinder(opened.book, cylinder)
    stream = f"register/{cylinder}"
    seen = tuple(fact.id for fact in opened.book.stream(stream))
    return Done(record(opened, act, (Draft(kind, stream, act.at, act.by, seen, data=data, zone=opened.zone),)))
