"""`gaswright labels-off`: the end of the day."""

import click

from gaswright.cli.book_options import printed, writing, writing_options
from gaswright.errors import InputError, Problem

__all__ = ["command"]


@click.command(name="labels-off")
@click.argument("cylinders", nargs=-1)
@click.option("--all", "everything", is_flag=True, help="Every cylinder with a gas, but for staged and frozen ones.")
@writing_options
@click.pass_context
def command(
    context: click.Context, cylinders: tuple[str, ...], everything: bool, db: str | None, by: str,  # noqa: FBT001  click passes by name
    at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Take labels off: nothing can be breathed tomorrow on today's word."""
    from gaswright.services.book_gas import labels_off  # noqa: PLC0415  commands load what they need

    if bool(cylinders) == everything:
        raise InputError([Problem("cylinder", "name cylinders, or give --all, not both")])
    with writing("labels-off", db, by, at_text, key, cylinders=cylinders, everything=everything) as (book, act):
        done = labels_off(book, act, None if everything else cylinders)
    context.exit(printed(done, "labels off"))
