"""Options and readers that several commands share."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from gaswright.errors import InputError

__all__ = ["dive_option", "json_option", "moment", "policy_option", "trip_argument", "units_option"]

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

json_option: Decorator = click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON, alone.")
policy_option: Decorator = click.option(
    "--policy", "policy_path", type=click.Path(path_type=Path), default=None,
    help="A policy file of your own; it may tighten; what it loosens becomes an ask.",
)  # fmt: skip
dive_option: Decorator = click.option(
    "--dive", "dive", default=None, help="Id of the dive, where the file has several (default: the first).",
)  # fmt: skip
units_option: Decorator = click.option(
    "--units", "units", type=click.Choice(["metric", "imperial"]), default="metric", show_default=True,
    help="How plain numbers are read and shown.",
)  # fmt: skip
trip_argument: Decorator = click.argument("trip_path", metavar="TRIP.toml", type=click.Path(path_type=Path))


def moment(text: str | None) -> datetime | None:
    """The moment that --now names, aware or local to the trip; None if not given.

    Args:
        text: ISO 8601, with or without offset.

    Raises:
        InputError: not a time.
    """
    if text is None:
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"--now {text!r} is not a time; write it as 2027-05-14T08:15:00") from error
