"""`gaswright label`: a label was put on a cylinder."""

import click

from gaswright.cli.book_options import printed, writing, writing_options

__all__ = ["command"]


@click.command(name="label")
@click.argument("cylinder")
@click.option("--serial-read", "serial_read", required=True, help="The serial, or its last four, read from the metal.")
@writing_options
@click.pass_context
def command(
    context: click.Context, cylinder: str, serial_read: str, db: str | None, by: str, at_text: str | None,
    key: str | None,
) -> None:  # fmt: skip
    """Record a label that shows the analysis in force; the ID is read from the metal, not from a list."""
    from gaswright.services.book_gas import label  # noqa: PLC0415  commands load what they need

    with writing("label", db, by, at_text, key, cylinder=cylinder, serial_read=serial_read) as (book, act):
        done = label(book, act, cylinder, serial_read)
    context.exit(printed(done, f"{cylinder} labelled"))
