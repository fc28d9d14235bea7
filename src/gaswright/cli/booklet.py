"""`gaswright booklet`: depths by minutes for the team's gases, as comma separated values."""

from pathlib import Path

import click

from gaswright.cli.options import dive_option, policy_option, trip_argument
from gaswright.cli.progress import progress_bar

__all__ = ["command"]


@click.command(name="booklet")
@trip_argument
@click.option("--depths", "depths", default=None, help='"30 36 42" or "30 to 60 by 3" (default: around the trip\'s).')
@click.option("--minutes", "minutes", default=None, help='"10 15 20" or "10 to 40 by 5" (default: around the trip\'s).')
@click.option("--out", "out_path", type=click.Path(path_type=Path), default=None, help="Write it there, else print.")
@dive_option
@policy_option
def command(
    trip_path: Path, depths: str | None, minutes: str | None, out_path: Path | None, dive: str | None,
    policy_path: Path | None,
) -> None:
    """TTS, stops and the cost of each lost gas for depths by minutes on the team's gases, as CSV."""
    from gaswright.services.accept import write_text  # noqa: PLC0415  commands load what they need
    from gaswright.services.alternatives import booklet_text  # noqa: PLC0415
    from gaswright.services.day import load_day  # noqa: PLC0415

    day = load_day(trip_path, policy_path, dive=dive)
    with progress_bar("booklet") as told:
        text = booklet_text(day, depths, minutes, told)
    if out_path is None:
        click.echo(text, nl=False)
    else:
        write_text(out_path, text)
        click.echo(str(out_path))
