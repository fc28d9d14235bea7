"""`gaswright plan-b`: which depths and minutes hold with the gas in hand."""

from pathlib import Path

import click

from gaswright.cli.options import dive_option, json_option, policy_option, trip_argument
from gaswright.cli.progress import progress_bar

__all__ = ["command"]


@click.command(name="plan-b")
@trip_argument
@click.option("--depths", "depths", default=None, help='"30 36 42" or "30 to 60 by 3" (default: around the trip\'s).')
@click.option("--minutes", "minutes", default=None, help='"10 15 20" or "10 to 40 by 5" (default: around the trip\'s).')
@click.option("--plot", "plot_path", type=click.Path(path_type=Path), default=None, help="Draw the map there, SVG.")
@dive_option
@policy_option
@json_option
def command(
    trip_path: Path, depths: str | None, minutes: str | None, plot_path: Path | None, dive: str | None,
    policy_path: Path | None, as_json: bool,  # noqa: FBT001  click passes by name
) -> None:  # fmt: skip
    """For the gas and the pressures in hand: which depths and minutes hold, and the rule that stops the others."""
    from gaswright.services.accept import write_text  # noqa: PLC0415  commands load what they need
    from gaswright.services.alternatives import (  # noqa: PLC0415
        plan_b_answer_text,
        plan_b_lines,
        plan_b_picture,
        planned_b,
    )
    from gaswright.services.day import load_day  # noqa: PLC0415

    day = load_day(trip_path, policy_path, dive=dive)
    with progress_bar("plan B") as told:
        made = planned_b(day, depths, minutes, told)
    if plot_path is not None:
        write_text(plot_path, plan_b_picture(day, made))
    click.echo(plan_b_answer_text(day, made) if as_json else "\n".join(plan_b_lines(day, made)))
