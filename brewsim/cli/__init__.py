"""The street door: parse, call, print. One command a file; no arithmetic here."""

import sys

import typer

from brewsim.errors import BrewsimError, InputError

app = typer.Typer(
    name="brewsim",
    help="What to expect of a beer recipe whose numbers are uncertain, and what drives it.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

_MOST_FAULTS = 100
_LONGEST = 800


def main() -> None:
    """Run the command line.

    Exit codes: 0 fine, 2 the input was wrong or nothing could be written, 130 stopped by the
    person, 1 a bug of ours.
    """
    from brewsim.cli.commands import register

    register(app)
    try:
        app()
    except InputError as error:
        count = len(error.faults)
        for fault in error.faults[:_MOST_FAULTS]:
            told = fault if len(fault) <= _LONGEST else f"{fault[:_LONGEST]} ..."
            typer.echo(f"{error.where}: {told}", err=True)
        if count > _MOST_FAULTS:
            typer.echo(f"... and {count - _MOST_FAULTS} more.", err=True)
        typer.echo(f"{count} fault{'s' if count > 1 else ''}; nothing was written.", err=True)
        sys.exit(2)
    except BrewsimError as error:
        typer.echo(f"brewsim: {error}", err=True)
        sys.exit(2)
    except OSError as error:
        told = f"{error.filename}: {error.strerror}" if error.filename else str(error)
        typer.echo(f"brewsim: {told}; nothing was written.", err=True)
        sys.exit(2)
    except KeyboardInterrupt:
        typer.echo("stopped; nothing half-written is left.", err=True)
        sys.exit(130)
