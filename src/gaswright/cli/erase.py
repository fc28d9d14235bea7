"""`gaswright erase`: a person's name or a note, out of the book; the chain stays whole."""

import click

from gaswright.cli.book_options import printed, writing, writing_options
from gaswright.errors import InputError

__all__ = ["command"]


@click.command(name="erase")
@click.argument("what", metavar="person|note")
@click.argument("name", metavar="ID")
@click.option("--reason", "reason", required=True, help="Why; name nobody in it.")
@writing_options
def command(what: str, name: str, reason: str, db: str | None, by: str, at_text: str | None, key: str | None) -> int:
    """Erase the name of a person, or a note (by its hash, or the id of the fact that has it).

    Ids and hashes stay in the chain, so every standing stays as it was. Papers, files, backups and bundles made before
    keep what they hold.
    """
    from gaswright.services.erasing import erase_note, erase_person  # noqa: PLC0415  commands load what they need

    if what not in {"person", "note"}:
        raise InputError(f"{what!r} cannot be erased; write person or note")
    with writing("erase", db, by, at_text, key, what=what, name=name, reason=reason) as (book, act):
        erased = (erase_person if what == "person" else erase_note)(book, act, name, reason)
    click.echo("Papers, files, backups and bundles made before still hold what they held; tell those who have them.")
    return printed(erased.done, f"{erased.count} {'text' if erased.count == 1 else 'texts'} erased")
