"""`gaswright today`: the board."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from gaswright.cli.book_options import at_moment, clock, db_option, printed, writing
from gaswright.cli.options import json_option, policy_option
from gaswright.errors import InputError, Problem

if TYPE_CHECKING:
    from gaswright.services.book_day import Today

__all__ = ["command"]


@click.command(name="today")
@click.option("--now", "now_text", default=None, help="Judge at this time (default: the clock).")
@click.option("--clear", "clear", is_flag=True, help="Record that the team is cleared, where it may go. With --by.")
@click.option("--withdraw", "withdraw", default=None, metavar="PERSON", help="Record that one withdraws. With --by.")
@click.option("--by", "by", default=None, metavar="PERSON", help="Id of who clears or withdraws.")
@click.option("--at", "at_text", default=None, metavar="TIME", help="When (default: now).")
@click.option("--key", "key", default=None, help="Of this entry: given again, it is recorded once.")
@policy_option
@db_option
@json_option
@click.pass_context
def command(
    context: click.Context, now_text: str | None, clear: bool, withdraw: str | None, by: str | None,  # noqa: FBT001  click passes by name
    at_text: str | None, key: str | None, policy_path: Path | None, db: str | None, as_json: bool,  # noqa: FBT001
) -> None:  # fmt: skip
    """Where every cylinder stands now, and GO or NO GO with what mends it."""
    if clear or withdraw:
        context.exit(_recorded(db, by, at_text, key, withdraw, clear=clear))
    if by or at_text or key:
        raise InputError([Problem("--by", "belongs to --clear or --withdraw; the board itself records nothing")])
    from gaswright.services.book_day import today  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415

    now: datetime = clock()
    with opened(book_url(db), now=now, policy_path=policy_path) as book:
        for notice in book.book.notices:
            click.echo(notice, err=True)
        shown = today(book, at_moment(now_text, book.zone, now, "--now"))
    _show(shown, as_json=as_json)
    context.exit(0 if shown.checked.clearance.go else 3)


def _show(shown: "Today", *, as_json: bool) -> None:
    if as_json:
        from gaswright.services.book_answers import today_answer_text  # noqa: PLC0415  commands load what they need

        click.echo(today_answer_text(shown))
        return
    from rich.console import Console  # noqa: PLC0415

    from gaswright.cli.book_render import print_today  # noqa: PLC0415

    print_today(Console(), shown)


def _recorded(
    db: str | None, by: str | None, at_text: str | None, key: str | None, withdraw: str | None, *, clear: bool
) -> int:
    from gaswright.services.book_clearance import clear_team, withdraw_diver  # noqa: PLC0415  commands load what they need

    if by is None or (clear and withdraw):
        raise InputError([Problem("--by", "is missing; say who clears or withdraws, one of both")])
    with writing("today", db, by, at_text, key, clear=clear, withdraw=withdraw) as (book, act):
        if withdraw:
            return printed(withdraw_diver(book, act, withdraw), f"{withdraw} withdrawn")
        return printed(clear_team(book, act), "team cleared")


