"""From the command line's files to a problem; shared by every command that takes a recipe."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from brewsim.cli.made_by import doubt, settled

NOT_SETTLED = "what was learned of the batches has not settled, or leaves readings unexplained"


class Loaded(NamedTuple):
    """A recipe, its problem, and the rows of what was understood and assumed."""

    recipe: Any
    problem: Any
    rows: list[Any]
    priors: Any


@contextmanager
def faults_in(where: str, *others: str) -> Iterator[None]:
    """Name the file or the argument that a wish or a limit stands in.

    `others` are names under which its faults are raised by what knows no files.
    """
    from brewsim.errors import InputError

    try:
        yield
    except InputError as error:
        if error.where not in others:
            raise
        raise InputError(where, error.faults) from None


def load(path: Path, priors_file: Path | None = None, house: Path | None = None) -> Loaded:
    """Read and pose a recipe; every fault of the file comes as one InputError."""
    from brewsim.recipe.read import read_recipe

    recipe = read_recipe(path)  # a file with a fault is refused before SciPy is imported

    from brewsim.beer.pose import posed
    from brewsim.priors.library import load_priors

    priors = load_priors(priors_file)
    problem, rows = posed(recipe, priors)
    if house is not None:
        from brewsim.cli import console as say
        from brewsim.logbook.house import with_house

        problem = with_house(problem, house, priors)
        remarks = getattr(problem.learned, "remarks", ())
        say.aside(str(house), remarks)
        doubt(*remarks)
        settled(getattr(problem.learned, "trusted", True), NOT_SETTLED)
    doubt(*doubts_of(recipe, priors))
    return Loaded(recipe, problem, rows, priors)


def doubts_of(recipe: Any, priors: Any) -> list[str]:  # noqa: ANN401 - a Recipe and Priors
    """Return what was read of a recipe that may not be meant: remarks, names nearly known."""
    from brewsim.beer.statements import Basis, resolve
    from brewsim.beer.unknown_names import near_misses

    return [*recipe.remarks, *near_misses(Basis(resolve(recipe), priors))]


def read_files(
    recipe: Path, priors: Path | None = None, house: Path | None = None, log: Path | None = None
) -> list[Path]:
    """Return the files that a command reads, which it must never write over."""
    files = [file for file in (recipe, priors, house, log) if file is not None]
    return files if house is None else [*files, house.with_suffix(".draws.npz")]


def draws_of(text: str) -> Any:  # noqa: ANN401 - a number or the word auto
    """Return a number of draws, or "auto"; raises InputError for anything else."""
    from brewsim.errors import InputError

    if text == "auto":
        return "auto"
    try:
        number = int(text.replace("_", "").replace(",", ""))
    except ValueError:
        raise InputError("--draws", [f"{text!r} is no number; write 16384 or auto"]) from None
    if not 64 <= number <= 2**26:
        raise InputError("--draws", [f"{number} is out of range; write 64 to 67108864, or auto"])
    return number


def outcome_named(problem: Any, name: str) -> str:  # noqa: ANN401 - a Problem
    """Return the quantity behind an outcome's name; raises InputError with near misses."""
    from brewsim.errors import InputError, did_you_mean
    from brewsim.quantities.catalogue import outcome_of, quantity_of

    quantity = quantity_of(name)
    if quantity not in problem.outcomes:
        known = [outcome_of(outcome).name for outcome in problem.outcomes]
        near = did_you_mean(name, [*known, *problem.outcomes])
        near = near or f" There is: {', '.join(known)}."
        raise InputError("--outcome", [f"no outcome {name!r} of this recipe.{near}"])
    return quantity


def drawn(draws: int, seed: int) -> str:
    """Return how many draws a study takes when asked for so many, and their seed."""
    return f"{planned(draws)} draws, seed {seed}"


def planned(draws: int) -> int:
    """Return how many draws a study takes when asked for so many."""
    from brewsim.study.model.sampling import Plan

    return Plan.of(draws, 1).draws
