"""brewsim priors: look one up, begin one of your own, see what yours change."""

from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.options import AsJson, PriorsFile, Seed


def priors(
    name: Annotated[str, typer.Argument(help="A quantity or an ingredient; all without it.")] = "",
    own: PriorsFile = None,
    new: Annotated[
        str,
        typer.Option(help="Print an entry of your own: hop, malt, sugar, precursor or yeast NAME."),
    ] = "",
    compare: Annotated[
        Path | None,
        typer.Option(help="Your file of priors: say what it changes in a recipe's intervals."),
    ] = None,
    recipe: Annotated[
        Path | None,
        typer.Option(help="With --compare: the recipe; the starter of `brewsim new` without it."),
    ] = None,
    seed: Seed = 1,
    json: AsJson = False,
) -> None:
    """Show a prior: its spread in words, its kinds, grade and source.

    Example: brewsim priors "Hersbrucker Spät"
    Example: brewsim priors --new hop "My variety"
    """
    if new:
        from brewsim.priors.library import load_priors
        from brewsim.priors.starter import starter_prior

        typer.echo(starter_prior(new, name, load_priors(own)), nl=False)
    elif compare is not None:
        _compare(compare, recipe, seed, as_json=json)
    else:
        _show(name, own, as_json=json)


def _show(name: str, own: Path | None, *, as_json: bool) -> None:
    from brewsim.beer.glossary import prior_rows

    rows = prior_rows(name, own)
    if as_json:
        say.as_json({"priors": rows})
        return
    for row in rows:
        say.lines(
            f"{row['of']}{row['quantity']}: {row['spread']}",
            f"    {row['kinds']}{': ' if row['kinds_note'] else ''}{row['kinds_note']}",
            f"    {row['grade']}: {row['source']}",
            *([f"    {row['note']}"] if row["note"] else []),
        )


def _compare(file: Path, recipe: Path | None, seed: int, *, as_json: bool) -> None:
    from brewsim.answers.prior_comparison import compare_priors
    from brewsim.priors.library import load_priors
    from brewsim.recipe.read import parse_recipe, read_recipe
    from brewsim.recipe.starter import starter_recipe

    read = parse_recipe(starter_recipe()) if recipe is None else read_recipe(recipe)
    found = compare_priors(read, load_priors(), load_priors(file), seed=seed)
    if as_json:
        say.as_json({"recipe": read.name, "changed": found.changed, "outcomes": _figures(found)})
        return
    if not found.changed:
        say.lines(f"{file} changes nothing in {read.name}: the recipe uses none of it.")
        return
    say.lines(f"{file} changes in {read.name}: {', '.join(found.changed)}.")
    _print(found)


def _figures(found: Any) -> list[dict[str, object]]:  # noqa: ANN401 - a PriorComparison
    ends = ("low", "median", "high")
    return [
        {
            "outcome": name,
            "before": {end: float(found.before.sel(outcome=name)[end]) for end in ends},
            "after": {end: float(found.after.sel(outcome=name)[end]) for end in ends},
        }
        for name in found.before["outcome"].to_numpy().tolist()
    ]


def _print(found: Any) -> None:  # noqa: ANN401 - a PriorComparison
    from brewsim.wording.before_after import before_after_rows

    header = ("the next batch, nine chances in ten", "shipped priors", "yours", "spread then")
    say.table("", header, before_after_rows(found.problem, found.before, found.after))
