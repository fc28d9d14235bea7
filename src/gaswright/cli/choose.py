"""`gaswright choose`: which gas for a depth, and what the house gases cost against it."""

from pathlib import Path

import click

from gaswright.cli.options import dive_option, json_option, policy_option, trip_argument

__all__ = ["command"]


@click.command(name="choose")
@trip_argument
@click.option("--depth", "depth", default=None, help="Depth, plain or with its unit (default: the trip's deepest).")
@click.option("--minutes", "minutes", default=None, help="Bottom time (default: the trip's).")
@click.option("--house", "house", multiple=True, help='The team\'s gases, parted by spaces: "18/45 21/35 50 oxygen".')
@click.option("--deco", "count", type=click.IntRange(0, 3), default=2, show_default=True, help="How many deco gases.")
@dive_option
@policy_option
@json_option
def command(
    trip_path: Path, depth: str | None, minutes: str | None, house: tuple[str, ...], count: int,
    dive: str | None, policy_path: Path | None, as_json: bool,  # noqa: FBT001  click passes by name
) -> None:  # fmt: skip
    """The best gases for a depth by the policy, and what the house gases cost against them, or why they lose."""
    from gaswright.services.alternatives import choice_lines, choose_answer_text, chosen  # noqa: PLC0415  late
    from gaswright.services.day import load_day  # noqa: PLC0415

    day = load_day(trip_path, policy_path, dive=dive)
    found = chosen(day, depth, minutes, house, count)
    click.echo(choose_answer_text(day, found) if as_json else "\n".join(choice_lines(day, found)))
