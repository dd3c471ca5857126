"""brewsim new: a starter recipe, or one from a document of the trade's interchange standard."""

import re
from pathlib import Path
from typing import Annotated

import typer

from brewsim.cli import console as say
from brewsim.cli.made_by import doubt
from brewsim.cli.options import PriorsFile


def new(
    name: Annotated[str, typer.Argument(help="Name of the new recipe.")] = "",
    source: Annotated[
        Path | None,
        typer.Option("--from", help="A BeerJSON 1.0 document to take the recipe from."),
    ] = None,
    recipe: Annotated[
        str, typer.Option("--recipe", help="With --from: which recipe, by name or number.")
    ] = "",
    priors: PriorsFile = None,
    out: Annotated[
        Path | None,
        typer.Option(help="File to write, - for the terminal; named after the recipe."),
    ] = None,
) -> None:
    """Write a commented recipe that passes `check`: a starter, or one from a document.

    Example: brewsim new "Quillhaven porter"
    Example: brewsim new --from porter.json
    """
    if source is not None:
        _from_document(source, name, recipe, priors, out)
        return
    from brewsim.errors import InputError
    from brewsim.recipe.starter import starter_recipe

    if not name.strip():
        raise InputError("brewsim new", ['name the recipe, brewsim new "My pale ale", or --from'])
    try:
        text = starter_recipe(name)
    except ValueError as error:
        raise InputError("NAME", [f"“{name[:60]}” {error}"]) from None
    path = _write(name, text, out)
    if path is not None:
        say.lines(f"{path} written. Change it, then: brewsim check {path}")


def _from_document(
    source: Path, name: str, which: str, priors: Path | None, out: Path | None
) -> None:
    from brewsim.interchange.from_beerjson import import_beerjson
    from brewsim.priors.library import load_priors

    found = import_beerjson(source, which, load_priors(priors))
    doubt(*found.assumed)
    path = _write(name or found.name, found.text, out)
    if path is None:
        return
    say.lines(*[f"- left out: {item}" for item in found.left])
    say.lines(*[f"- assumed: {item}" for item in found.assumed])
    say.lines(f"{path} written. Read its remarks, then: brewsim check {path}")


def _write(name: str, text: str, out: Path | None) -> Path | None:
    """Write a recipe to a file that is not there yet, or print it; returns the file."""
    from brewsim.errors import InputError
    from brewsim.files.text_files import write_whole

    if str(out) == "-":
        typer.echo(text, nl=False)
        return None
    safe = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "recipe"
    path = out or Path(f"{safe[:60]}.toml")
    if path.exists():
        raise InputError(str(path), ["this file is there already; name another with --out"])
    write_whole(path, text.encode())
    return path
