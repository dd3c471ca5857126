"""The street door: parse, call, print. One command a file; no arithmetic here."""

import atexit
import gc
import os
import sys
from typing import Annotated, NoReturn

import typer

from brewsim.cli import console as say
from brewsim.errors import BrewsimError

app = typer.Typer(
    name="brewsim",
    invoke_without_command=True,
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

_STOPPED = 130
_NEW_BETWEEN_SEARCHES = 100_000
"""New objects before Python looks for circles among them: hardly one is garbage here."""
_THREADS = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS")
_START = """\
brewsim says what to expect of a beer recipe whose numbers are uncertain.

Three commands to start with:

  brewsim new "My pale ale"            write a commented recipe to change
  brewsim check my-pale-ale.toml       what was understood and what was assumed
  brewsim report my-pale-ale.toml      one page: what to expect, what drives it

brewsim --help lists every command, brewsim COMMAND --help says how each is called."""


def _print_version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        typer.echo(f"brewsim {version('brewsim')}")
        raise typer.Exit


@app.callback()
def start(
    context: typer.Context,
    version: Annotated[  # noqa: ARG001 - its callback answers
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Say the version."),
    ] = False,
) -> None:
    """What to expect of a beer recipe whose numbers are uncertain, and what drives it."""
    if context.invoked_subcommand is None:
        typer.echo(_START)


def main() -> None:
    """Run the command line.

    Exit codes: 0 fine, 2 the input was wrong or nothing could be written, 3 computed
    but not to be trusted, 130 stopped by the person, 1 a bug of ours.
    """
    from brewsim.cli.commands import register
    from brewsim.cli.encoding import tolerate_old_encodings

    for name in _THREADS:  # many small matrices: threads cost them ten times what they save
        os.environ.setdefault(name, "1")
    tolerate_old_encodings()
    gc.set_threshold(_NEW_BETWEEN_SEARCHES)  # usual looks take a twentieth of a page's time
    atexit.register(gc.freeze)  # no last search for garbage: it takes 0.15 s, the exit frees all
    register(app)
    try:
        app()
    except BaseException as error:
        if _is_stop(error):
            _stopped()
        if _is_cut_off(error):
            sys.exit(0)  # whoever read the output has read enough, as `head` does
        if isinstance(error, BrewsimError | OSError):
            say.faults(error)
            sys.exit(2)
        raise


def _is_stop(error: BaseException | None) -> bool:
    """Whether a Ctrl-C is behind an error; libraries may wrap what falls into their imports."""
    if isinstance(error, SystemExit):
        return error.code == _STOPPED
    while error is not None and not isinstance(error, KeyboardInterrupt):
        error = error.__cause__ or error.__context__
    return error is not None


def _is_cut_off(error: BaseException) -> bool:
    """Whether the reader of our output closed it; typer leaves with 1 then."""
    behind = error.__context__ if isinstance(error, SystemExit) else error
    return isinstance(behind, BrokenPipeError)


def _stopped() -> NoReturn:
    """Leave with 130 without the interpreter's own farewell.

    Everything of ours has been put away by then. The farewell would wait for threads, and ends
    with a signal instead of 130 where Ctrl-C fell into code that an import writes for itself.
    """
    typer.echo("Stopped; nothing half-written is left.", err=True)
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(_STOPPED)
