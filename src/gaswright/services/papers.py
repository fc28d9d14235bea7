"""The papers of a day: what may be printed now, and what is withheld with its reason."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from gaswright.clearance.leave import label_mods, label_permit, sheet_permit
from gaswright.clearance.permits import LabelPermit, SheetPermit
from gaswright.errors import InputError, Refused
from gaswright.findings import Finding
from gaswright.planning.dive import Diver
from gaswright.services.checking import Checked

__all__ = ["PAPER_KINDS", "Papers", "Withheld", "label_leave", "papers_of", "sheet_leave", "write_papers"]

PAPER_KINDS = ("labels", "slates", "cards")


@dataclass(frozen=True, slots=True)
class Withheld:
    """A sheet that was asked for and is not printed.

    Args:
        kind: labels, slates or cards.
        subject: id of the cylinder, or the sheet.
        findings: why not; empty: nothing is planned.
    """

    kind: str
    subject: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Papers:
    """What a day prints.

    Args:
        sheets: file name to PDF bytes.
        kinds: file name to labels, slates or cards.
        codes: file name to the sheet codes on it.
        withheld: what is not printed.
    """

    sheets: Mapping[str, bytes]
    kinds: Mapping[str, str]
    codes: Mapping[str, tuple[str, ...]]
    withheld: tuple[Withheld, ...]


def label_leave(checked: Checked, cylinder: str) -> LabelPermit | tuple[Finding, ...]:
    """Leave to print the labels of one cylinder, or why not.

    Args:
        checked: a day judged.
        cylinder: id.
    """
    day = checked.day
    people = {diver.id: diver for diver in day.trip.divers}
    standing, record = day.standings[cylinder], day.register[cylinder]
    used = set() if checked.plan is None else set(checked.plan.planned.supply)
    return label_permit(
        standing,
        record,
        tuple(people[diver] for diver in record.divers),
        day.trip.policy,
        zone=day.trip.zone,
        now=checked.now,
        units=day.trip.units,
        planned=cylinder in used,
        mod=label_mods(checked.inputs, day.trip.policy).get(cylinder),
        analyst_initials=_initials(people, standing.known.by) if standing.known else "",
        place=day.trip.place,
    )


def _initials(people: Mapping[str, Diver], person: str) -> str:
    return people[person].initials if person in people else person


def sheet_leave(checked: Checked) -> SheetPermit | tuple[Finding, ...]:
    """Leave to print the team's slates and cards, or why not.

    Args:
        checked: a day judged.

    Raises:
        Refused: the trip plans no dive.
    """
    trip = checked.day.trip
    return sheet_permit(checked.inputs, checked.clearance, trip.policy, trip_name=trip.name, day=trip.day)


def papers_of(checked: Checked, kinds: Sequence[str] = PAPER_KINDS, *, stock: str = "a4") -> Papers:
    """The papers of a day as PDF, and what is withheld.

    Args:
        checked: a day judged.
        kinds: of "labels", "slates", "cards".
        stock: "a4" or "letter"; slates are A6, or A5 where the rows need it.

    Raises:
        InputError: an unknown kind of paper, or a name that the font cannot show.
    """
    unknown = [kind for kind in kinds if kind not in PAPER_KINDS]
    if unknown:
        raise InputError(f"there is no paper {', '.join(unknown)!r}; choose from {', '.join(PAPER_KINDS)}")
    makers: Mapping[str, Callable[[Checked, str], Papers]] = {"labels": _labels, "slates": _slates, "cards": _cards}
    made = [makers[kind](checked, stock) for kind in PAPER_KINDS if kind in kinds]
    return Papers(
        {name: content for papers in made for name, content in papers.sheets.items()},
        {name: kind for papers in made for name, kind in papers.kinds.items()},
        {name: codes for papers in made for name, codes in papers.codes.items()},
        tuple(withheld for papers in made for withheld in papers.withheld),
    )


def _labels(checked: Checked, stock: str) -> Papers:
    from gaswright.paper.labels import labels_pdf  # noqa: PLC0415  typst only when something is printed

    leaves = {cylinder: label_leave(checked, cylinder) for cylinder in checked.day.standings}
    permits = {cylinder: leave for cylinder, leave in leaves.items() if isinstance(leave, LabelPermit)}
    withheld = tuple(
        Withheld("labels", cylinder, leave) for cylinder, leave in leaves.items() if isinstance(leave, tuple)
    )
    if not permits:
        return Papers({}, {}, {}, withheld)
    every = list(permits.values())
    sheets = {f"label-{cylinder}.pdf": labels_pdf([permit], stock=stock) for cylinder, permit in permits.items()}
    sheets["labels-walk-round.pdf"] = labels_pdf(every, stock=stock, walk_round=True)
    codes: dict[str, tuple[str, ...]] = {
        f"label-{cylinder}.pdf": (permit.sheet_code,) for cylinder, permit in permits.items()
    }
    codes["labels-walk-round.pdf"] = tuple(permit.sheet_code for permit in every)
    return Papers(sheets, dict.fromkeys(sheets, "labels"), codes, withheld)


def _slates(checked: Checked, stock: str) -> Papers:
    from gaswright.paper.slates import slate_pdf  # noqa: PLC0415  typst only when something is printed

    del stock
    leave = None if checked.plan is None else sheet_leave(checked)
    if not isinstance(leave, SheetPermit):
        return Papers({}, {}, {}, (Withheld("slates", "team", leave or ()),))
    names = {f"slate-{diver.id}.pdf": diver.id for diver in leave.divers}
    sheets = {name: _slate(slate_pdf, leave, diver) for name, diver in names.items()}
    return Papers(sheets, dict.fromkeys(names, "slates"), dict.fromkeys(names, (leave.sheet_code,)), ())


def _slate(slate_pdf: Callable[[SheetPermit, str, str], bytes], leave: SheetPermit, diver: str) -> bytes:
    """A slate on A6; on A5 where its rows do not fit."""
    try:
        return slate_pdf(leave, diver, "a6")
    except Refused:
        return slate_pdf(leave, diver, "a5")


def _cards(checked: Checked, stock: str) -> Papers:
    from gaswright.paper.cards import switch_card_pdf  # noqa: PLC0415  typst only when something is printed
    from gaswright.paper.deck_sheet import deck_sheet_pdf  # noqa: PLC0415

    leave = None if checked.plan is None else sheet_leave(checked)
    if not isinstance(leave, SheetPermit):
        return Papers({}, {}, {}, (Withheld("cards", "team", leave or ()),))
    sheets = {"deck-sheet.pdf": deck_sheet_pdf(leave, stock)}
    withheld: tuple[Withheld, ...] = ()
    if leave.plan_only:
        withheld = (Withheld("cards", "switch card", tuple(f for f in checked.clearance.findings if f.blocks)),)
    else:
        sheets["switch-card.pdf"] = switch_card_pdf(leave, stock)
    return Papers(sheets, dict.fromkeys(sheets, "cards"), dict.fromkeys(sheets, (leave.sheet_code,)), withheld)


def write_papers(papers: Papers, folder: Path) -> tuple[Path, ...]:
    """The files written into a folder; every PDF is complete before its name appears.

    Args:
        papers: of a day.
        folder: made if it is not there.

    Raises:
        InputError: the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in papers.sheets.items():
            half = folder / f".{name}.part"
            half.write_bytes(content)
            half.replace(folder / name)
    except OSError as error:
        raise InputError(f"{folder}: cannot write there ({error.strerror}); choose another folder") from error
    return tuple(folder / name for name in papers.sheets)
