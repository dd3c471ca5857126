"""brewsim card: one sheet for the kettle."""

from pathlib import Path
from typing import Annotated

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import load, read_files
from brewsim.cli.made_by import drew
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile, Seed
from brewsim.files.text_files import read_text, refuse_to_replace


def card(
    recipe: RecipeFile,
    out: Annotated[
        Path | None, typer.Option(help="The sheet to write; named after the recipe file.")
    ] = None,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Write the brew-day card: what to heat, weigh and read, and what to do when it is off.

    One side of A4 or Letter. What is written into its blanks is what a batch log asks for.

    Example: brewsim card demo-recipes/quillhaven-lager.toml
    """
    from dataclasses import asdict

    from brewsim.answers.brew_card import DRAWS, brew_card
    from brewsim.page.page import render_card, write_page
    from brewsim.wording.brew_day_card import brew_day_card, caution_of, expected

    name = "recipe" if str(recipe) == "-" else recipe.stem
    path = out or Path(f"{name}-card.html")
    refuse_to_replace(path, "--out", read_files(recipe, priors, house))
    loaded = load(recipe, priors, house)
    found = brew_card(loaded.recipe, loaded.problem, loaded.priors, seed=seed)
    drew(DRAWS)
    if json:
        say.as_json(asdict(found))
        return
    told = brew_day_card(
        loaded.recipe,
        loaded.problem,
        found,
        expect=expected(loaded.problem, found),
        caution=caution_of(loaded.recipe),
        version=_version(),
        seed=seed,
    )
    write_page(path, render_card(told, read_text(recipe)))
    say.lines(
        f"{path} written: print it on one side of A4 or Letter. Filled in: brewsim log {path}"
    )


def _version() -> str:
    import brewsim

    return str(brewsim.__version__)
