"""`gaswright check`: where every cylinder stands, and whether the team may go."""

from pathlib import Path

import click

from gaswright.cli.options import json_option, moment, policy_option, trip_argument

__all__ = ["command"]


@click.command(name="check")
@trip_argument
@click.option("--now", "now_text", default=None, help="Judge at this time (default: the clock).")
@policy_option
@json_option
@click.pass_context
def command(
    context: click.Context, trip_path: Path, now_text: str | None, policy_path: Path | None, as_json: bool  # noqa: FBT001
) -> None:
    """Where every cylinder stands now, and GO or NO GO with what mends it."""
    from gaswright.cli.render import check_text  # noqa: PLC0415  commands load what they need
    from gaswright.services.answers import check_answer_of, checked_trip  # noqa: PLC0415

    checked = checked_trip(trip_path, policy_path, moment(now_text))
    answer = check_answer_of(checked)
    click.echo(answer.as_json() if as_json else check_text(checked))
    context.exit(0 if checked.clearance.go else 3)
