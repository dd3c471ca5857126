"""The street door: parse, call, print. One command a file; no arithmetic here."""

import sys

import typer

from brewsim.cli import say
from brewsim.errors import BrewsimError

app = typer.Typer(
    name="brewsim",
    help="What to expect of a beer recipe whose numbers are uncertain, and what drives it.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def main() -> None:
    """Run the command line.

    Exit codes: 0 fine, 2 the input was wrong or nothing could be written, 130 stopped by the
    person, 1 a bug of ours.
    """
    from brewsim.cli.commands import register

    register(app)
    try:
        app()
    except (BrewsimError, OSError) as error:
        say.faults(error)
        sys.exit(2)
    except KeyboardInterrupt:
        typer.echo("stopped; nothing half-written is left.", err=True)
        sys.exit(130)
