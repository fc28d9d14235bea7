"""`gaswright gas`: what one mixture may do."""

import click

from gaswright.cli.options import json_option
from gaswright.services.gas import gas_judged

__all__ = ["command"]


@click.command(name="gas", context_settings={"ignore_unknown_options": False})
@click.argument("mix")
@click.option("--ppo2", "ppo2", default=None, help="ppO2 limit in ata; default: the policy's 1.4 and 1.6.")
@click.option("--depth", "depth", default=None, help='Depth in metres, or with its unit ("200 ft").')
@json_option
def command(mix: str, ppo2: str | None, depth: str | None, as_json: bool) -> None:  # noqa: FBT001  click passes by name
    """What a gas may do: MOD, minimum depth, and at a depth ppO2, END and density.

    MIX is the word air, oxygen, a percentage (32 or EAN32), or oxygen/helium (18/45). The numbers are judged as typed,
    without an analyser's uncertainty: a cylinder's MOD comes from its analysis.
    """
    answer = gas_judged(mix, ppo2, depth)
    if as_json:
        from gaswright.exchange.answers import json_text  # noqa: PLC0415  only the JSON door needs it

        click.echo(json_text(answer))
        return
    click.echo("\n".join(_lines(answer)))


def _lines(answer: dict[str, object]) -> list[str]:
    from gaswright.services.gas import gas_lines  # noqa: PLC0415  only the text door needs it

    return gas_lines(answer)
