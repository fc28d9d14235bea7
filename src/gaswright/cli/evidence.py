"""`gaswright evidence`: all that the book holds about one frozen cylinder, in one file."""

from pathlib import Path

import click

from gaswright.cli.book_options import clock, db_option

__all__ = ["command"]


@click.command(name="evidence")
@click.argument("cylinder")
@click.option("--out", "path", type=click.Path(path_type=Path), required=True, help="The zip file to write.")
@click.option("--stock", "stock", default="a4", show_default=True, help="Paper: a4 or letter.")
@click.option("--by", "by", default="", metavar="PERSON", help="Id of the person who asks for it.")
@db_option
def command(cylinder: str, path: Path, stock: str, by: str, db: str | None) -> None:
    """Write the evidence about a frozen CYLINDER: facts as stored, their hashes, the records, and how to check it."""
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415  commands load what they need
    from gaswright.services.evidence import write_evidence  # noqa: PLC0415

    with opened(book_url(db), now=clock(), read_only=True) as book:
        click.echo(str(write_evidence(book, cylinder, path, by=by, stock=stock)))
