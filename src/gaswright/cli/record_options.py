"""Options that the commands on records out of a book share."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import click

from gaswright.errors import InputError

__all__ = ["day", "db_option", "now_utc", "reader_option", "typed_moment"]

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

db_option: Decorator = click.option(
    "--db", "url", envvar="GASWRIGHT_DB", default=None,
    help="Address of the book; default: the one in the user's data folder.",
)  # fmt: skip
reader_option: Decorator = click.option("--by", "by", default="", help="Id of the person who asks for it.")


def now_utc() -> datetime:
    """The moment on the machine's clock."""
    return datetime.now(UTC)


def day(text: str | None, option: str) -> date | None:
    """The day of an option, None if not given.

    Args:
        text: ISO 8601.
        option: named in the sentence.

    Raises:
        InputError: not a day.
    """
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"{option} {text!r} is not a day; write it as 2027-05-14") from error


def typed_moment(text: str, zone: str) -> datetime:
    """The moment of --at, aware; one without offset is local to the book.

    Args:
        text: ISO 8601.
        zone: IANA name of the book's time zone.

    Raises:
        InputError: not a time.
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"--at {text!r} is not a time; write it as 2027-05-14T08:15:00") from error
    return moment if moment.utcoffset() is not None else moment.replace(tzinfo=ZoneInfo(zone))
