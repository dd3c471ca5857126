"""The page of a recipe in one call: what a program needs to make one."""

from concurrent.futures import Executor
from pathlib import Path
from typing import Literal

from brewsim.answers.everything import everything
from brewsim.answers.learned_log import learned_log
from brewsim.beer.pose import posed
from brewsim.constants import WANTED_CHANCE
from brewsim.errors import InputError
from brewsim.logbook.brew import Batches, read_batches
from brewsim.logbook.house import House, with_house
from brewsim.priors.library import Priors, load_priors
from brewsim.recipe.read import read_recipe
from brewsim.recipe.schema import Recipe
from brewsim.study.model.replicates import Progress
from brewsim.wording.content import Content
from brewsim.wording.page_content import page_content


def report(
    recipe: Recipe | str | Path,
    *,
    draws: int | Literal["auto"] = 16_384,
    seed: int = 1,
    chance: float = WANTED_CHANCE,
    batches: Batches | str | Path | None = None,
    house: House | str | Path | None = None,
    priors: Priors | str | Path | None = None,
    executor: Executor | None = None,
    progress: Progress = lambda _done, _text: None,
) -> Content:
    """Run every study of a recipe's page and return the page as data.

    Parameters
    ----------
    recipe
        A recipe, or the path of its file.
    draws
        Simulated batches behind the intervals; "auto" goes on until the printed digits are
        settled.
    seed
        Of the draws: the same seed gives the same page.
    chance
        Wanted chance, 0 to 1, that all targets are met.
    batches
        A batch log as `read_batches` returns it, or the path of its file where the recipe is one:
        the page forecasts after it, and answers the recipe's wish about a tasted batch.
    house
        What the brewery has learned, or the path of its file.
    priors
        Priors, or the path of a file of own ones put over the shipped.
    executor
        Where two of the longer studies may run beside the others; no figure changes.
    progress
        Called with the share done, 0 to 1, and what is being done.

    Returns
    -------
    Content
        Everything the page says, in the units of the recipe; `write_report` writes it.

    Raises
    ------
    InputError
        For a recipe, a house file or priors that cannot be used, with every fault found.

    Examples
    --------
    >>> import brewsim
    >>> content = brewsim.report("demo-recipes/quillhaven-bitter.toml", draws=1024)
    >>> content.title
    'Quillhaven bitter'
    """
    read = _recipe(recipe)
    shelf = load_priors(Path(priors)) if isinstance(priors, str | Path) else priors
    shelf = shelf or load_priors()
    problem, rows = posed(read, shelf)
    if house is not None:
        problem = with_house(problem, house, shelf)
    log, tasted = None, None
    if batches is not None:
        learned = _log(batches, recipe, shelf)
        log, tasted = learned_log(read, problem, learned, shelf, seed=seed, progress=progress)
    found = everything(
        read,
        problem,
        shelf,
        draws=draws,
        seed=seed,
        chance=chance,
        log=log,
        tasted=tasted,
        executor=executor,
        progress=progress,
    )
    return page_content(found, rows, shelf)


def _log(given: Batches | str | Path, recipe: object, priors: Priors) -> Batches:
    if isinstance(given, Batches):
        return given
    if not isinstance(recipe, str | Path):
        told = "a log is read with the recipe's file: give its path, or what read_batches returns"
        raise InputError("batches", [told])
    return read_batches(given, recipe, priors)


def _recipe(given: object) -> Recipe:
    if isinstance(given, str | Path):
        return read_recipe(given)
    if not isinstance(given, Recipe):
        kind = type(given).__name__
        raise InputError("recipe", [f"a Recipe or the path of its file is wanted, not {kind}"])
    return given
