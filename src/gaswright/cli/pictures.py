"""`gaswright pictures`: every picture of a planned dive as SVG."""

from pathlib import Path

import click

from gaswright.cli.options import dive_option, policy_option, trip_argument

__all__ = ["command"]


@click.command(name="pictures")
@trip_argument
@click.option("--out", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the pictures.")
@dive_option
@policy_option
def command(trip_path: Path, folder: Path, dive: str | None, policy_path: Path | None) -> None:
    """Draw profile, gas left, supersaturation, oxygen, and the window of each cylinder; they print in grey."""
    from gaswright.services.day import load_day  # noqa: PLC0415  commands load what they need
    from gaswright.services.pictures import write_pictures  # noqa: PLC0415

    click.echo("\n".join(str(path) for path in write_pictures(load_day(trip_path, policy_path, dive=dive), folder)))
