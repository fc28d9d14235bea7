"""`gaswright gas`: what one mixture may do."""

import click

from gaswright.cli.options import json_option, units_option

__all__ = ["command"]


@click.command(name="gas")
@click.argument("mix")
@click.option("--ppo2", "ppo2", default=None, help="ppO2 limit in ata; default: the policy's 1.4 and 1.6.")
@click.option("--depth", "depth", default=None, help='Depth, plain or with its unit ("200 ft").')
@units_option
@json_option
def command(mix: str, ppo2: str | None, depth: str | None, units: str, as_json: bool) -> None:  # noqa: FBT001
    """What a gas may do: MOD, minimum depth, and at a depth ppO2, END and density.

    MIX is the word air, oxygen, a percentage (32 or EAN32), or oxygen/helium (18/45). The numbers are judged as typed,
    without an analyser's uncertainty: a cylinder's MOD comes from its analysis.
    """
    from gaswright.services.gas import gas_answer_text, gas_judged, gas_lines  # noqa: PLC0415  loads what it needs

    judged = gas_judged(mix, ppo2, depth, units)
    click.echo(gas_answer_text(judged) if as_json else "\n".join(gas_lines(judged, units)))
