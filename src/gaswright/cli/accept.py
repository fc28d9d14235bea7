"""`gaswright accept`: does the plan hold on this reading."""

from pathlib import Path

import click

from gaswright.cli.options import dive_option, json_option, policy_option, trip_argument

__all__ = ["command"]


@click.command(name="accept")
@trip_argument
@click.option("--cylinder", "cylinder", required=True, help="Id of the cylinder in the trip file.")
@click.option("--o2", "o2", required=True, help="Oxygen as read, in percent.")
@click.option("--he", "he", required=True, help="Helium as read, in percent; none: not measured.")
@click.option("--uncertainty-o2", "u_o2", default=None, help="Of that reading, percent (default: the policy's).")
@click.option("--uncertainty-he", "u_he", default=None, help="Of that reading, percent (default: the policy's).")
@click.option("--plot", "plot_path", type=click.Path(path_type=Path), default=None, help="Draw the window there, SVG.")
@dive_option
@policy_option
@json_option
@click.pass_context
def command(
    context: click.Context, trip_path: Path, cylinder: str, o2: str, he: str, u_o2: str | None,
    u_he: str | None, plot_path: Path | None, dive: str | None, policy_path: Path | None,
    as_json: bool,  # noqa: FBT001  click passes by name
) -> None:  # fmt: skip
    """Whether a plan holds on a reading, must be made again, or refuses it; why, what changes, what mends it."""
    from gaswright.planning.verdict import Word  # noqa: PLC0415  commands load what they need
    from gaswright.services.accept import (  # noqa: PLC0415
        accept_answer_text,
        accept_lines,
        accepted,
        window_picture,
        write_text,
    )

    day, judged = accepted(trip_path, policy_path, dive, cylinder, o2, he, u_o2, u_he)
    if plot_path is not None:
        write_text(plot_path, window_picture(day, judged))
    click.echo(accept_answer_text(day, judged) if as_json else "\n".join(accept_lines(day, judged)))
    context.exit(3 if judged.verdict is Word.REFUSE else 0)
