"""brewsim steer: which knob settings land in the targets."""

from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import load
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, Quiet, RecipeFile, Seed
from brewsim.constants import WANTED_CHANCE

_WORTH = 0.01


def steer(
    recipe: RecipeFile,
    knob: Annotated[
        list[str] | None, typer.Option(help="Turn only this knob; repeat for several.")
    ] = None,
    chance: Annotated[
        float, typer.Option(help="Wanted chance that all targets are met.", min=0.01, max=0.999)
    ] = WANTED_CHANCE,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Find knob settings that land in the targets; say what stands in the way if none does.

    Example: brewsim steer demo-recipes/quillhaven-lager.toml --chance 0.6
    """
    from dataclasses import asdict

    import brewsim
    from brewsim.beer.display_units import rows_of
    from brewsim.wording.knobs import steered_sentences

    loaded = load(recipe, priors, house)
    with say.progress("steering", quiet=quiet or json) as progress:
        found = brewsim.steer(
            loaded.problem, knobs=knob or None, chance=chance, seed=seed, progress=progress
        )
    if json:
        say.as_json(asdict(found))
        return
    say.lines(*steered_sentences(loaded.problem, found, rows_of(loaded.problem)))
    if not found.reaches:
        say.lines(*_worth_knowing(loaded.problem, found, seed))


def _worth_knowing(problem: Any, found: Any, seed: int) -> list[str]:  # noqa: ANN401
    """Return what it would be worth to know before the brew, if anything is."""
    from brewsim.study.tolerance.value_of_information import worth_of_measuring

    moves = [found.now, found.best, *(single.move for single in found.singles)]
    decisions = [move.settings for move in moves]
    worths = worth_of_measuring(problem, decisions=decisions, draws=2048, seed=seed).found
    best = max(worths, key=lambda worth: worth.gain, default=None)
    if best is None or best.gain < _WORTH:
        told = "No single measurement before the brew would help to choose among these settings."
        return [told]
    label = next(f.label for f in problem.factors if f.id == best.measurement.factor)
    told = (
        f"Worth measuring before the brew: {label}. Knowing it exactly, and choosing among these"
        f" settings by it, would land about {100 * best.gain:.0f} in 100 more."
    )
    return [told]
