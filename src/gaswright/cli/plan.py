"""`gaswright plan`: the team's schedule on the gas in the cylinders."""

from pathlib import Path

import click

from gaswright.cli.options import json_option, policy_option, trip_argument

__all__ = ["command"]


@click.command(name="plan")
@trip_argument
@click.option("--plot", "plot_path", type=click.Path(path_type=Path), default=None, help="Draw the dive as SVG there.")
@click.option("--dive", "dive", default=None, help="Id of the dive, where the file has several (default: the first).")
@policy_option
@json_option
@click.pass_context
def command(
    context: click.Context, trip_path: Path, plot_path: Path | None, dive: str | None, policy_path: Path | None,
    as_json: bool,  # noqa: FBT001  click passes by name
) -> None:  # fmt: skip
    """Schedule, gas, oxygen and cases of the dive in a trip file, with every finding and what mends it."""
    from gaswright.findings import Severity  # noqa: PLC0415  commands load what they need
    from gaswright.services.checking import plan_day  # noqa: PLC0415
    from gaswright.services.day import load_day  # noqa: PLC0415

    day = load_day(trip_path, policy_path, dive=dive)
    plan = plan_day(day)
    if plot_path is not None:
        from gaswright.services.picture import write_plan_picture  # noqa: PLC0415

        write_plan_picture(day, plan, plot_path)
    if as_json:
        from gaswright.services.answers import plan_answer_text  # noqa: PLC0415

        click.echo(plan_answer_text(day, plan))
    else:
        from rich.console import Console  # noqa: PLC0415

        from gaswright.cli.render import print_plan  # noqa: PLC0415

        print_plan(Console(), day, plan)
    context.exit(3 if any(finding.severity is Severity.STOP for finding in plan.findings) else 0)
