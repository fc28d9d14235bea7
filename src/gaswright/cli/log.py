"""`gaswright log`: who did what."""

import click

from gaswright.cli.book_options import clock, db_option
from gaswright.cli.options import json_option

__all__ = ["command"]


@click.command(name="log")
@click.argument("cylinder", required=False)
@click.option("--limit", "limit", type=click.IntRange(1, 10_000), default=50, show_default=True, help="How many.")
@db_option
@json_option
def command(cylinder: str | None, limit: int, db: str | None, as_json: bool) -> None:  # noqa: FBT001  click passes by name
    """The latest facts, of one cylinder or of all, oldest first."""
    from gaswright.services.book_answers import log_answer_text, log_lines  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_day import heads_sha256  # noqa: PLC0415
    from gaswright.services.book_log import log  # noqa: PLC0415
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415

    with opened(book_url(db), now=clock(), read_only=True) as book:
        entries = log(book, cylinder=cylinder, limit=limit)
        sha256 = heads_sha256(book) if as_json else ""
        click.echo(log_answer_text(book, entries, sha256) if as_json else "\n".join(log_lines(entries)))
