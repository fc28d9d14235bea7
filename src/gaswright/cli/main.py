"""The program `gaswright`: finds the command, runs it, and turns every error into one sentence and an exit code."""

import os
import sys
from importlib import import_module

import click

from gaswright import __version__
from gaswright.errors import GaswrightError, InputError, Refused

__all__ = ["CAUTION", "COMMANDS", "EXIT_CODES", "main", "run"]

CAUTION = (
    "A planning aid for trained and certified divers. No schedule removes the risk of decompression illness. "
    "Analyse every cylinder yourself. Training, the team's procedures, local law and licensed or medical "
    "professionals decide."
)

# Exit codes by the root of an error; the first match counts. Anything else is a defect of ours: 1.
EXIT_CODES: tuple[tuple[type[GaswrightError], int], ...] = ((InputError, 2), (Refused, 3), (GaswrightError, 3))

COMMANDS = {
    "gas": "gaswright.cli.gas",
    "plan": "gaswright.cli.plan",
    "check": "gaswright.cli.check",
    "papers": "gaswright.cli.papers",
    "accept": "gaswright.cli.accept",
    "stress": "gaswright.cli.stress",
    "choose": "gaswright.cli.choose",
    "plan-b": "gaswright.cli.plan_b",
    "booklet": "gaswright.cli.booklet",
    "pictures": "gaswright.cli.pictures",
    "records": "gaswright.cli.records",
    "evidence": "gaswright.cli.evidence",
    "erase": "gaswright.cli.erase",
    "book": "gaswright.cli.book",
    "people": "gaswright.cli.people",
    "cylinder": "gaswright.cli.cylinder",
    "fill": "gaswright.cli.fill",
    "analyse": "gaswright.cli.analyse",
    "label": "gaswright.cli.label",
    "labels-off": "gaswright.cli.labels_off",
    "today": "gaswright.cli.today",
    "log": "gaswright.cli.log",
    "demo": "gaswright.cli.demo",
    "doctor": "gaswright.cli.doctor",
}


class _LateGroup(click.Group):
    """A group that imports a command only when it is asked for: `gas` must answer at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in COMMANDS:
            return None
        command = import_module(COMMANDS[cmd_name]).command
        return command if isinstance(command, click.Command) else None


@click.group(
    cls=_LateGroup,
    help=f"What is in this cylinder now, who says so, until when?\n\n{CAUTION}",
    context_settings={"help_option_names": ["--help"]},
)
@click.version_option(__version__, prog_name="gaswright")
def program() -> None:
    """Hold the commands."""


def main() -> None:
    """Run the program and leave with its exit code."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """The exit code of one call of the program.

    Args:
        arguments: as typed, without the program's name.
    """
    try:
        answer = program.main(arguments, prog_name="gaswright", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        return 2
    except click.exceptions.Abort:
        click.echo("stopped; nothing was written half", err=True)
        return 130
    except GaswrightError as error:
        click.echo(str(error), err=True)
        return next(code for kind, code in EXIT_CODES if isinstance(error, kind))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        if os.environ.get("GASWRIGHT_TRACE"):
            raise
        click.echo(
            f"a defect of ours ({type(error).__name__}: {error}); nothing can be trusted from this run. "
            "Please report it with the input; GASWRIGHT_TRACE=1 shows where.",
            err=True,
        )
        return 1
    return answer if isinstance(answer, int) else 0


if __name__ == "__main__":
    main()
