"""`gaswright papers`: labels, slates and cards as PDF."""

from pathlib import Path

import click

from gaswright.cli.options import json_option, moment, policy_option, trip_argument

__all__ = ["command"]


@click.command(name="papers")
@trip_argument
@click.option("--out", "folder", type=click.Path(path_type=Path), required=True, help="Folder for the PDFs.")
@click.option("--now", "now_text", default=None, help="Judge at this time (default: the clock).")
@click.option("--only", "only", default="labels,slates,cards", show_default=True, help="Which, parted by commas.")
@click.option("--stock", "stock", default="a4", show_default=True, help="Paper: a4 or letter.")
@policy_option
@json_option
@click.pass_context
def command(
    context: click.Context, trip_path: Path, folder: Path, now_text: str | None, only: str, stock: str,
    policy_path: Path | None, as_json: bool,  # noqa: FBT001  click passes by name
) -> None:  # fmt: skip
    """Print what the records allow: labels, slates, switch card. What is withheld is named with its reason."""
    from gaswright.cli.render import withheld_lines  # noqa: PLC0415  commands load what they need
    from gaswright.services.answers import checked_trip, papers_answer_text  # noqa: PLC0415
    from gaswright.services.papers import papers_of, write_papers  # noqa: PLC0415

    checked = checked_trip(trip_path, policy_path, moment(now_text))
    papers = papers_of(checked, [word.strip() for word in only.split(",") if word.strip()], stock=stock)
    written = write_papers(papers, folder)
    if as_json:
        click.echo(papers_answer_text(checked, papers, written))
    else:
        click.echo("\n".join([*(str(path) for path in written), *withheld_lines(checked.day, papers)]))
    context.exit(3 if papers.withheld else 0)
