"""`gaswright records`: fill log, analysis log and the other records, out of the book."""

from pathlib import Path

import click

from gaswright.cli.book_options import clock, day_typed, db_option

__all__ = ["command"]


@click.command(name="records")
@click.option("--kind", "kinds", required=True, multiple=True,
              help="fill-log, analysis-log, labels, equipment, approvals, dives or incidents; may be given again.")
@click.option("--out", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the files.")
@click.option("--from", "first", default=None, help="First day, as 2027-05-14.")
@click.option("--to", "last", default=None, help="Last day, counted in.")
@click.option("--format", "formats", default="pdf,csv,json", show_default=True, help="Which, parted by commas.")
@click.option("--stock", "stock", default="a4", show_default=True, help="Paper: a4 or letter.")
@click.option("--by", "by", default="", metavar="PERSON", help="Id of the person who asks for it.")
@db_option
def command(
    kinds: tuple[str, ...], folder: Path, first: str | None, last: str | None, formats: str, stock: str, by: str,
    db: str | None,
) -> None:  # fmt: skip
    """Write records of the book: every line is one fact; corrections are lines of their own, nothing is left out."""
    from gaswright.exchange.records import Period, record_kind_of  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415
    from gaswright.services.records import record_files, records_of, write_records  # noqa: PLC0415

    wanted = [record_kind_of(kind) for kind in kinds]
    period = Period(day_typed(first, "--from"), day_typed(last, "--to"))
    chosen = [word.strip() for word in formats.split(",") if word.strip()]
    with opened(book_url(db), now=clock(), read_only=True) as book:
        made = [record_files(records_of(book, kind, period, by=by), chosen, stock=stock) for kind in wanted]
    for files in made:
        written = write_records(files, folder)
        click.echo(f"{files.table.title}, {files.table.period.text}: {len(files.table.rows)} entries")
        click.echo("\n".join(str(path) for path in written))
