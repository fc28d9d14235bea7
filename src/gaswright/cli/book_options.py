"""Options and readers that the commands of the book share."""

import json
import secrets
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import click

from gaswright.cli.options import Decorator
from gaswright.errors import InputError, Problem

if TYPE_CHECKING:
    from gaswright.services.book_acts import Act, Done
    from gaswright.services.book_opening import OpenBook

__all__ = [
    "at_moment", "clock", "day_typed", "db_option", "printed", "request_text", "typed_bar", "writing",
    "writing_options",
]

db_option: Decorator = click.option(
    "--db", "db", default=None, envvar="GASWRIGHT_DB", show_envvar=True, metavar="URL",
    help="The book: sqlite:///path or postgresql+psycopg://...; default: in your data folder.",
)  # fmt: skip


def writing_options(command: Any) -> Any:  # noqa: ANN401  as click's decorators
    """The command with the options of every act: --db, --by, --at, --key.

    Args:
        command: to be decorated.
    """
    for option in (
        click.option("--key", "key", default=None, help="Of this entry: given again, it is recorded once."),
        click.option("--at", "at_text", default=None, metavar="TIME", help="When it happened (default: now)."),
        click.option("--by", "by", required=True, metavar="PERSON", help="Id of who did it."),
        db_option,
    ):
        command = option(command)
    return command


def clock() -> datetime:
    """The machine's clock."""
    return datetime.now(UTC)


def at_moment(text: str | None, zone: str, now: datetime, option: str = "--at") -> datetime:
    """The moment that an option names; one without offset is local to the book's zone.

    Args:
        text: ISO 8601, None: now.
        zone: IANA name.
        now: of the machine; aware.
        option: its name, for the problem.

    Raises:
        InputError: it is no time, or one that comes twice or never on the day the clocks change.
    """
    from zoneinfo import ZoneInfo  # noqa: PLC0415  commands load what they need

    if text is None:
        return now
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError([Problem(option, f"{text[:40]!r} is not a time; write it as 2027-05-14T08:15:00")]) from error
    if not 1970 <= moment.year <= 2200:
        raise InputError([Problem(option, f"{text[:40]!r} is outside the years 1970 to 2200")])
    if moment.tzinfo is not None:
        return moment.astimezone(UTC)
    first, second = (moment.replace(tzinfo=ZoneInfo(zone), fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        raise InputError([Problem(option, f"{text} comes twice or never in {zone} on the day the clocks change; write "
                                  f"it with its offset, such as {text}+02:00")])
    return first.astimezone(UTC)


def day_typed(text: str | None, option: str) -> date | None:
    """The date that an option names, None if it was not given.

    Args:
        text: ISO 8601.
        option: its name, for the problem.

    Raises:
        InputError: it is no date.
    """
    try:
        return None if text is None else date.fromisoformat(text)
    except ValueError as error:
        raise InputError([Problem(option, f"{text!r} is not a date; write it as 2028-05-01")]) from error


def typed_bar(text: str | None, units: str, option: str = "--pressure", high: float = 310.0) -> float | None:
    """The gauge pressure that an option names, None if it was not given.

    Args:
        text: plain, or with its unit.
        units: that read a plain number.
        option: its name, for the problem.
        high: most allowed [bar].

    Raises:
        InputError: it is no pressure, or out of range.
    """
    from gaswright.exchange.quantity_text import typed_quantity  # noqa: PLC0415  commands load what they need
    from gaswright.units import Kind  # noqa: PLC0415

    if text is None:
        return None
    return typed_quantity(text, Kind.PRESSURE, units, name=option, low=0.0, high=high)


def request_text(command: str, typed: dict[str, object]) -> str:
    """What was typed, as the text behind a key: the same words give the same text, whatever the clock says.

    Args:
        command: its name.
        typed: options and arguments as typed; what was not given is left out.
    """
    given = {name: value for name, value in typed.items() if value not in (None, False, ())}
    return json.dumps({"command": command, **given}, sort_keys=True, ensure_ascii=True)


@contextmanager
def writing(
    command: str, db: str | None, by: str, at_text: str | None, key: str | None, **typed: object
) -> Iterator["tuple[OpenBook, Act]"]:
    """The open book, and the act that was typed.

    Args:
        command: its name.
        db: address of the book, None: the user's.
        by: person id.
        at_text: when, None: now.
        key: of the entry, None: one is drawn.
        **typed: everything else that was typed.
    """
    from gaswright.services.book_acts import Act  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415

    now = clock()
    with opened(book_url(db), now=now) as book:
        for notice in book.book.notices:
            click.echo(notice, err=True)
        request = request_text(command, {**typed, "by": by, "at": at_text})
        at = at_moment(at_text, book.zone, now)
        yield book, Act(by, at, key if key is not None else secrets.token_hex(16), request)


def printed(done: "Done", what: str, ids: Sequence[str] | None = None) -> int:
    """The exit code of an act whose id was printed, as the last word: 3 if a stop is among its findings.

    Args:
        done: what came of it; it is durable.
        what: happened, in a few words.
        ids: to print, None: those of the act.
    """
    from gaswright.findings import Severity  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_answers import finding_lines  # noqa: PLC0415

    for line in finding_lines(done.findings):
        click.echo(line, err=True)
    click.echo(f"{what}: {' '.join(done.ids if ids is None else ids)}")
    return 3 if any(finding.severity is Severity.STOP for finding in done.findings) else 0
