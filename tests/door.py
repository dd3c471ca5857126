"""The street door in this process: the real `main`, its exit code, and what it printed."""

import contextlib
import io
import subprocess
import sys
import traceback
from pathlib import Path
from typing import NamedTuple
from unittest import mock

from brewsim.cli import app, main, worker_process

ROOT = Path(__file__).resolve().parents[1]
DEMOS = ROOT / "demo-recipes"


class Done(NamedTuple):
    """Exit code, standard output, standard error (with the traceback, had there been one)."""

    code: int
    out: str
    err: str


def brewsim(*words, folder, helped=False):
    """Run a command as a person would in a folder; exit code 1 stands for a traceback.

    A long command starts a second process to help it only if it is to be `helped`.
    """
    out, err = io.StringIO(), io.StringIO()
    app.registered_commands.clear()
    arguments = ["brewsim", *(str(word) for word in words)]
    with (
        contextlib.chdir(folder),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        mock.patch.object(sys, "argv", arguments),
        contextlib.nullcontext() if helped else mock.patch.object(worker_process, "cores", _one),
    ):
        try:
            main()
            code = 0
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else int(stop.code is not None)
        except Exception:  # noqa: BLE001 - whatever it is, a person would have met it
            code = 1
            traceback.print_exc(file=err)
    return Done(code, out.getvalue(), err.getvalue())


def _one():
    return 1


def loads(module, code):
    """Whether a fresh interpreter has a module loaded after some code."""
    asked = f"import sys\n{code}\nprint({module!r} in sys.modules)"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    return {"True": True, "False": False}[done.stdout.strip()]
