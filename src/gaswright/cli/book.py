"""`gaswright book`: made, proved, saved, merged."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from gaswright.cli.book_options import clock, day_typed, db_option, printed, writing, writing_options
from gaswright.errors import InputError, Problem

if TYPE_CHECKING:
    from gaswright.book.merge import Merged

__all__ = ["command"]


@click.group(name="book")
def command() -> None:
    """The book of facts that nobody can quietly change."""


@command.command(name="init")
@click.option("--name", "name", default=None, help="Name of the first person (default: the id).")
@click.option("--zone", "zone", default=None, help="IANA time zone of the place (default: this machine's, or UTC).")
@writing_options
@click.pass_context
def init(
    context: click.Context, name: str | None, zone: str | None, db: str | None, by: str, at_text: str | None,
    key: str | None,
) -> None:  # fmt: skip
    """Make an empty book and register its first person."""
    import secrets  # noqa: PLC0415  commands load what they need

    from gaswright.cli.book_options import at_moment, request_text  # noqa: PLC0415
    from gaswright.services.book_acts import Act  # noqa: PLC0415
    from gaswright.services.book_opening import book_url  # noqa: PLC0415
    from gaswright.services.book_people import init_book  # noqa: PLC0415

    now, place = clock(), zone or machine_zone()
    request = request_text("book init", {"by": by, "at": at_text, "name": name, "zone": zone})
    act = Act(by, at_moment(at_text, place, now), key or secrets.token_hex(16), request)
    done = init_book(book_url(db), act, name=name or by, zone=place, now=now)
    origin = done.ids[0].partition("-")[0]
    context.exit(printed(done, f"book {origin} made in zone {place}; {by} entered", done.ids[:1]))


def machine_zone() -> str:
    """The IANA name of this machine's time zone; UTC where it does not say."""
    import os  # noqa: PLC0415  commands load what they need
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError  # noqa: PLC0415

    linked = str(Path("/etc/localtime").resolve())
    for name in (os.environ.get("TZ", ""), linked.partition("/zoneinfo/")[2]):
        try:
            return ZoneInfo(name).key if name else "UTC"
        except (ZoneInfoNotFoundError, ValueError, OSError):
            continue
    return "UTC"


@command.command(name="verify")
@db_option
@click.pass_context
def verify(context: click.Context, db: str | None) -> None:
    """Prove that no byte of the book was changed; exit code 3 names what was."""
    from gaswright.book.verify import verify as verified  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415

    with opened(book_url(db), now=clock(), read_only=True) as book:
        found = verified(book.book)
        heads = book.book.head_hashes()
    for problem in found.problems:
        click.echo(problem)
    for absent in found.absent:
        click.echo(f"{absent} is named and not here: merge the book of {absent.partition('-')[0]}")
    if not found.problems:
        for origin, (number, hash_) in heads.items():
            click.echo(f"{origin}-{number} {hash_}")
    click.echo(f"{found.facts} facts, {len(found.problems)} problems")
    context.exit(3 if found.problems else 0)


@command.command(name="backup")
@click.option("--to", "folder", type=click.Path(path_type=Path), default=None, help="Folder; else beside the book.")
@click.option("--second", "second", type=click.Path(path_type=Path), default=None, help="Folder on another disk.")
@click.option("--keep", "keep", type=click.IntRange(1, 1000), default=10, show_default=True, help="How many to keep.")
@db_option
def backup(folder: Path | None, second: Path | None, keep: int, db: str | None) -> None:
    """Save a snapshot that was verified, and print its name."""
    from gaswright.book.backup import backup as saved  # noqa: PLC0415  commands load what they need
    from gaswright.book.backup import default_folder  # noqa: PLC0415
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415

    url, now = book_url(db), clock()
    with opened(url, now=now) as book:
        click.echo(str(saved(book.book, folder or default_folder(url), now=now, keep=keep, second=second)))


@command.command(name="restore")
@click.argument("snapshot", type=click.Path(path_type=Path))
@db_option
def restore(snapshot: Path, db: str | None) -> None:
    """Make a book from a snapshot, which is verified first; it writes under a new origin."""
    from gaswright.book.backup import restore as restored  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_opening import book_url  # noqa: PLC0415

    click.echo(f"restored; from now on it writes as {restored(snapshot, book_url(db), now=clock())}")


@command.command(name="adopt")
@db_option
def adopt(db: str | None) -> None:
    """Let a database that was restored from a dump, or a copied file, write under a new origin."""
    from gaswright.book.store import adopt as adopted  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_opening import book_url  # noqa: PLC0415

    click.echo(f"from now on it writes as {adopted(book_url(db), now=clock())}")


@command.command(name="export")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--day", "day_text", default=None, metavar="DATE", help="That day as a trip file, instead of a bundle.")
@click.option("--by", "by", default=None, metavar="PERSON", help="Id of who exports.")
@db_option
def export(path: Path, day_text: str | None, by: str | None, db: str | None) -> None:
    """Write a bundle of every fact for another book, or a day as a trip file."""
    from gaswright.book.bundle import export_bundle  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_acts import checked_person  # noqa: PLC0415
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415

    day, now = day_typed(day_text, "--day"), clock()
    with opened(book_url(db), now=now) as book:
        person = checked_person(book.book, by) if by else ""
        if day is None:
            head = export_bundle(book.book, path, by=person, now=now)
            count = sum(one.last - one.first + 1 for one in head.ranges)
            click.echo(f"{count} facts of {len(head.ranges)} origins in {path}")
            return
        from gaswright.services.book_trip import write_day  # noqa: PLC0415

        write_day(book, day, path)
        click.echo(f"{day} in {path}")


@command.command(name="merge")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--by", "by", default=None, metavar="PERSON", help="Id of who merges; needed for a trip file.")
@click.option("--at", "at_text", default=None, metavar="TIME", help="When a plan was made (default: now).")
@click.option("--key", "key", default=None, help="Of a trip file's entry (default: from its content).")
@db_option
@click.pass_context
def merge(
    context: click.Context, path: Path, by: str | None, at_text: str | None, key: str | None, db: str | None
) -> None:
    """Put in what is missing: the facts of a bundle, or a trip file's plan, cylinders and rows."""
    if path.suffix == ".toml":
        context.exit(_trip_taken(path, by, at_text, key, db))
    from gaswright.book.merge import merge_bundle  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_acts import checked_person  # noqa: PLC0415
    from gaswright.services.book_opening import book_url, opened  # noqa: PLC0415

    now = clock()
    with opened(book_url(db), now=now) as book:
        if by:
            checked_person(book.book, by)
        _say_merged(merge_bundle(book.book, path, now=now))


def _say_merged(merged: "Merged") -> None:
    click.echo(f"{merged.new} new facts, {merged.known} known; {len(merged.streams)} streams")
    seconds = round(merged.clock_offset.total_seconds())
    said = "ahead of" if seconds > 0 else "behind"
    click.echo(f"the sender's clock was {abs(seconds)} s {said} this one's, the journey counted")
    if merged.origin:
        click.echo(f"this book was an old copy; from now on it writes as {merged.origin}")


def _trip_taken(path: Path, by: str | None, at_text: str | None, key: str | None, db: str | None) -> int:
    import hashlib  # noqa: PLC0415  commands load what they need

    from gaswright.exchange.toml_file import bytes_of_file  # noqa: PLC0415
    from gaswright.services.book_trip import take_trip  # noqa: PLC0415

    if by is None:
        raise InputError([Problem("--by", "is missing; say who puts the trip file in")])
    content = bytes_of_file(path)
    digest = hashlib.sha256(content).hexdigest()
    with writing("book merge", db, by, at_text, key or digest[:32], content_sha256=digest) as (book, act):
        done = take_trip(book, act, content, path.name)
    return printed(done, f"{len(done.ids)} facts", done.ids[:1])


@command.command(name="correct")
@click.argument("fact")
@click.option("--reason", "reason", required=True, help="Why it is wrong; an erasable note.")
@writing_options
@click.pass_context
def correct(
    context: click.Context, fact: str, reason: str, db: str | None, by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Void one fact: that takes trust away, and never gives it."""
    from gaswright.services import book_handling  # noqa: PLC0415  commands load what they need

    with writing("book correct", db, by, at_text, key, fact=fact, reason=reason) as (book, act):
        done = book_handling.correct(book, act, fact, reason)
    context.exit(printed(done, f"{fact} corrected"))
