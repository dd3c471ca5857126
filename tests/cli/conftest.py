"""A runner that calls the commands in this process, as the street door does."""

from collections.abc import Callable
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from brewsim.cli.commands import register

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def demo() -> Callable[[str], str]:
    """Return the path of a demo recipe by its short name."""
    return lambda name: str(ROOT / "demo-recipes" / f"quillhaven-{name}.toml")


@pytest.fixture(scope="session")
def run() -> Callable[..., Result]:
    """Return a function that runs a command and gives exit code and output."""
    app = typer.Typer()
    register(app)
    runner = CliRunner()
    return lambda *words: runner.invoke(app, [str(word) for word in words])
