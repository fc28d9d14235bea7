"""`gaswright fill`: a cylinder was filled."""

import click

from gaswright.cli.book_options import printed, typed_bar, writing, writing_options
from gaswright.cli.options import units_option

__all__ = ["command"]


@click.command(name="fill")
@click.argument("cylinder")
@click.option("--pressure", "pressure", default=None, help='After the fill, gauge; plain, or "3000 psi".')
@click.option("--target", "target", default=None, metavar="MIX", help="The gas aimed at: air, oxygen, 32, 18/45.")
@click.option("--top-up", "top_up", is_flag=True, help="Added to what was in it.")
@click.option(
    "--air", "air", type=click.Choice(["ordinary", "oxygen-compatible"]), default=None,
    help="Which air went in; ordinary air, or a top-up of which nobody says, ends oxygen clean.",
)  # fmt: skip
@units_option
@writing_options
@click.pass_context
def command(
    context: click.Context, cylinder: str, pressure: str | None, target: str | None, top_up: bool,  # noqa: FBT001  click passes by name
    air: str | None, units: str, db: str | None, by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Record a fill: what was in the cylinder before is unknown from then on, until it is analysed."""
    from gaswright.exchange.mixture_text import mixture  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_gas import Fill, fill  # noqa: PLC0415

    aimed_at = None if target is None else mixture(target)
    filling = Fill(typed_bar(pressure, units), aimed_at, top_up, air.replace("-", "_") if air else None)
    with writing("fill", db, by, at_text, key, cylinder=cylinder, pressure=pressure, target=target, top_up=top_up,
                 air=air, units=units) as (book, act):  # fmt: skip
        done = fill(book, act, cylinder, filling)
    context.exit(printed(done, f"{cylinder} {'topped up' if top_up else 'filled'}"))
