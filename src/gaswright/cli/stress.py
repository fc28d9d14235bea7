"""`gaswright stress`: how often a plan breaks, and what matters most."""

from pathlib import Path

import click

from gaswright.cli.options import dive_option, json_option, policy_option, trip_argument
from gaswright.cli.progress import progress_bar

__all__ = ["command"]


@click.command(name="stress")
@trip_argument
@click.option("--runs", "runs", type=click.IntRange(1, 10_000_000), required=True, help="How many dives to make.")
@click.option("--seed", "seed", type=click.IntRange(0, 2**63 - 1), default=1, show_default=True,
              help="The same seed gives the same answer.")  # fmt: skip
@click.option("--workers", "workers", type=click.IntRange(1, 256), default=None,
              help="Threads (default: one per core); the answer does not depend on it.")  # fmt: skip
@dive_option
@policy_option
@json_option
def command(
    trip_path: Path, runs: int, seed: int, workers: int | None, dive: str | None, policy_path: Path | None,
    as_json: bool,  # noqa: FBT001  click passes by name
) -> None:  # fmt: skip
    """The plan under the spread of readings, depth, time, speed and consumption."""
    from gaswright.services.stress import stress_answer_text, stress_lines, stressed_trip  # noqa: PLC0415  late

    with progress_bar("stress") as told:
        day, made = stressed_trip(trip_path, policy_path, dive, runs, seed, workers, told)
    click.echo(stress_answer_text(day, made) if as_json else "\n".join(stress_lines(day, made)))
