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
    from gaswright.services.answers import check_answer_text, checked_trip  # noqa: PLC0415  loads what it needs

    checked = checked_trip(trip_path, policy_path, moment(now_text))
    if as_json:
        click.echo(check_answer_text(checked))
    else:
        from rich.console import Console  # noqa: PLC0415

        from gaswright.cli.render import print_check  # noqa: PLC0415

        print_check(Console(), checked)
    context.exit(0 if checked.clearance.go else 3)
