"""`gaswright erase`: a person's name or a note, out of the book; the chain stays whole."""

from secrets import token_hex

import click

from gaswright.cli.record_options import db_option, now_utc, typed_moment
from gaswright.errors import InputError

__all__ = ["command"]


@click.command(name="erase")
@click.argument("what", metavar="person|note")
@click.argument("name", metavar="ID")
@click.option("--by", "by", required=True, help="Id of the person who erases.")
@click.option("--reason", "reason", required=True, help="Why; name nobody in it.")
@click.option("--at", "at_text", default=None, help="When, with its offset (default: the clock).")
@click.option("--key", "key", default=None, help="Key of this request; repeated with it, it is done once.")
@db_option
def command(what: str, name: str, by: str, reason: str, at_text: str | None, key: str | None, url: str | None) -> None:
    """Erase the name of a person, or a note (by its hash, or the id of the fact that has it).

    Ids and hashes stay in the chain, so every standing stays as it was. Papers, files, backups and bundles made before
    keep what they hold.
    """
    from gaswright.services.book_acts import Act  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415
    from gaswright.services.erasing import erase_note, erase_person  # noqa: PLC0415

    if what not in {"person", "note"}:
        raise InputError(f"{what!r} cannot be erased; write person or note")
    now = now_utc()
    with opened(book_url(url), now=now) as book:
        at = now if at_text is None else typed_moment(at_text, book.zone)
        act = Act(by, at, key or token_hex(16), f"erase {what} {name} {reason}")
        erased = (erase_person if what == "person" else erase_note)(book, act, name, reason)
    texts = "text was" if erased.count == 1 else "texts were"
    click.echo(f"{erased.count} {texts} erased here. Papers, files, backups and bundles "
               "made before still hold what they held; tell those who have them.")
    click.echo(erased.done.ids[0])
