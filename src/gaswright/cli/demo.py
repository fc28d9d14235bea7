"""`gaswright demo`: two days at an invented quarry, from trip file to papers."""

from pathlib import Path

import click

from gaswright.cli.options import json_option

__all__ = ["command"]


@click.command(name="demo")
@click.option(
    "--out", "folder", type=click.Path(path_type=Path), default=Path("demo-output"), show_default=True,
    help="Folder for trip files, PDFs and pictures.",
)  # fmt: skip
@json_option
def command(folder: Path, as_json: bool) -> None:  # noqa: FBT001  click passes by name
    """Run two demo days: one that clears, one that does not. Everything in them is made up."""
    from gaswright.services.demo import demo_days  # noqa: PLC0415  commands load what they need

    days = demo_days(folder)
    if as_json:
        from gaswright.services.answers import demo_answer_text  # noqa: PLC0415

        click.echo(demo_answer_text(days))
        return
    from rich.console import Console  # noqa: PLC0415

    from gaswright.cli.render import print_check, print_plan, withheld_lines  # noqa: PLC0415

    console = Console()
    for demo in days:
        console.rule(demo.trip_file.name)
        print_check(console, demo.checked)
        if demo.checked.clearance.go and demo.checked.plan is not None:
            print_plan(console, demo.checked.day, demo.checked.plan)
        for line in withheld_lines(demo.checked.day, demo.papers):
            console.print(line, highlight=False, markup=False)
        console.print(f"{len(demo.written)} files in {folder / demo.trip_file.stem}", highlight=False, markup=False)
