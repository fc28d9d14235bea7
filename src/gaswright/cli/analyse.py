"""`gaswright analyse`: a reading of what is in a cylinder."""

import click

from gaswright.cli.book_options import printed, typed_bar, writing, writing_options
from gaswright.cli.options import units_option
from gaswright.errors import InputError, Problem

__all__ = ["command"]


@click.command(name="analyse")
@click.argument("cylinder")
@click.option("--o2", "o2", default=None, help="Oxygen read, in percent.")
@click.option("--he", "he", default=None, help="Helium read, in percent; none: not measured.")
@click.option("--pressure", "pressure", default=None, help='Gauge; plain or with its unit ("3000 psi").')
@click.option("--temperature", "temperature", default=None, help='Of the cylinder; plain or with its unit ("57 F").')
@click.option("--witness", "witness", default=None, metavar="PERSON", help="Who watched.")
@click.option("--analyser", "analyser", default=None, help="Which instrument.")
@click.option("--beside", "beside", is_flag=True, help="A second reading beside the earlier ones, not instead of them.")
@click.option("--accept", "accept", is_flag=True, help="Accept the analysis that another made; without a reading.")
@units_option
@writing_options
@click.pass_context
def command(
    context: click.Context, cylinder: str, o2: str | None, he: str | None, pressure: str | None,
    temperature: str | None, witness: str | None, analyser: str | None, beside: bool, accept: bool,  # noqa: FBT001  click passes by name
    units: str, db: str | None, by: str, at_text: str | None, key: str | None,
) -> None:  # fmt: skip
    """Record an analysis: it names the fill it measured, and vouches for today."""
    from gaswright.services.book_gas import accept as accepted  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_gas import analyse  # noqa: PLC0415

    given = {"o2": o2, "he": he, "pressure": pressure, "temperature": temperature, "witness": witness,
             "analyser": analyser, "beside": beside, "accept": accept, "units": units}
    if accept and any(value for name, value in given.items() if name not in {"accept", "units"}):
        raise InputError([Problem("--accept", "is given with a reading; accept what another read, or read it")])
    reading = None if accept else _typed(o2, he, pressure, temperature, witness, analyser, units, beside=beside)
    with writing("analyse", db, by, at_text, key, cylinder=cylinder, **given) as (book, act):
        done = accepted(book, act, cylinder) if reading is None else analyse(book, act, cylinder, reading)
    context.exit(printed(done, f"{cylinder} {'accepted' if accept else 'analysed'}"))


def _typed(
    o2: str | None, he: str | None, pressure: str | None, temperature: str | None, witness: str | None,
    analyser: str | None, units: str, *, beside: bool,
) -> "Typed":  # type: ignore[name-defined]  # noqa: F821  loaded late
    from gaswright.exchange.quantity_text import typed_quantity  # noqa: PLC0415  commands load what they need
    from gaswright.services.book_gas import Typed  # noqa: PLC0415
    from gaswright.units import ZERO_CELSIUS_K, Kind  # noqa: PLC0415

    if o2 is None:
        raise InputError([Problem("--o2", "is missing; give the oxygen that was read, in percent")])
    measured = he is not None and he.strip().lower() != "none"
    kelvin = None if temperature is None else typed_quantity(
        temperature, Kind.TEMPERATURE, units, name="--temperature", low=ZERO_CELSIUS_K - 20, high=ZERO_CELSIUS_K + 60)
    return Typed(
        _percent_e4(o2, "o2", 100), _percent_e4(str(he), "he", 0) if measured else None, o2, he or "",
        typed_bar(pressure, units), kelvin, witness, analyser, beside, measured,
    )  # fmt: skip


def _percent_e4(text: str, name: str, low_e4: int) -> int:
    from gaswright.units import QuantityError, percent_e4  # noqa: PLC0415  commands load what they need

    try:
        return percent_e4(text, name=name, low_e4=low_e4)
    except QuantityError as error:
        raise InputError([Problem(f"--{name}", str(error))]) from error
