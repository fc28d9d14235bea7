"""`gaswright doctor`: is this installation sound."""

import click

from gaswright.cli.options import json_option

__all__ = ["command"]


@click.command(name="doctor")
@json_option
@click.pass_context
def command(context: click.Context, as_json: bool) -> None:  # noqa: FBT001  click passes by name
    """Try every part once with a known answer."""
    from gaswright.services.doctor import check_ups  # noqa: PLC0415  commands load what they need

    found = check_ups()
    if as_json:
        from gaswright.services.answers import doctor_answer_text  # noqa: PLC0415

        click.echo(doctor_answer_text(found))
    else:
        click.echo("\n".join(f"{'ok ' if well else 'BAD'} {name}: {says}" for name, well, says in found))
    context.exit(0 if all(well for _, well, _ in found) else 3)
