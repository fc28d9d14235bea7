"""`gaswright people`: who does things."""

import click

from gaswright.cli.book_options import clock, db_option, printed, writing, writing_options

__all__ = ["command"]


@click.group(name="people")
def command() -> None:
    """Who fills, analyses and dives; the names can be erased, the ids stay."""


@command.command(name="add")
@click.argument("person")
@click.option("--name", "name", default=None, help="Name on the board and on papers (default: the id).")
@writing_options
@click.pass_context
def add(
    context: click.Context, person: str, name: str | None, db: str | None, by: str, at_text: str | None,
    key: str | None,
) -> None:  # fmt: skip
    """Enter a person, or give a new name to one."""
    from gaswright.services.book_people import add_person  # noqa: PLC0415  commands load what they need

    with writing("people add", db, by, at_text, key, person=person, name=name) as (book, act):
        done = add_person(book, act, person, name or person)
    context.exit(printed(done, f"{person} entered"))


@command.command(name="list")
@db_option
def listed(db: str | None) -> None:
    """Everybody whom the book knows."""
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_people import person_ids  # noqa: PLC0415

    with opened(book_url(db), now=clock(), read_only=True) as book:
        for person, name in person_ids(book).items():
            click.echo(f"{person}  {name}")
