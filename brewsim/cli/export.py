"""brewsim export: a recipe in the trade's open interchange standard."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from brewsim.cli import console as say
from brewsim.cli.options import PriorsFile, RecipeFile


class Standard(StrEnum):
    """What a recipe can be exported to."""

    BEERJSON = "beerjson"


def export(
    recipe: RecipeFile,
    to: Annotated[Standard, typer.Option(help="The standard: BeerJSON 1.0.")] = Standard.BEERJSON,
    out: Annotated[
        Path | None, typer.Option(help="File to write, - for the terminal; named after the recipe.")
    ] = None,
    priors: PriorsFile = None,
) -> None:
    """Write a recipe as a BeerJSON document: medians, with the spreads in its notes.

    Example: brewsim export demo-recipes/quillhaven-bitter.toml --to beerjson
    """
    import json

    from brewsim.files.text_files import refuse_to_replace, write_whole
    from brewsim.interchange.to_beerjson import export_beerjson
    from brewsim.priors.library import load_priors
    from brewsim.recipe.read import read_recipe

    document, lost = export_beerjson(read_recipe(recipe), load_priors(priors))
    text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
    if str(out) == "-":
        typer.echo(text, nl=False)
        return
    path = out or Path(f"{'recipe' if str(recipe) == '-' else recipe.stem}.{to}.json")
    refuse_to_replace(path, "--out", [recipe, priors], texts=False)
    write_whole(path, text.encode())
    say.lines(*[f"- not in the standard: {item}" for item in lost])
    say.lines(f"{path} written.")
