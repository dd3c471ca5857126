"""brewsim rank: what drives each outcome."""

from typing import Annotated, Literal

import typer

from brewsim.cli import say
from brewsim.cli.loading import load, outcome_named
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, Quiet, RecipeFile, Seed

_SHOWN = 8


def rank(
    recipe: RecipeFile,
    outcome: Annotated[
        str, typer.Option(help="One outcome by name (alcohol, bitterness, ...); all without it.")
    ] = "",
    by: Annotated[
        Literal["factor", "group", "kind"],
        typer.Option(help="Single inputs, ingredients and steps, or kinds of spread."),
    ] = "factor",
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Rank what drives each outcome, with the sampling error of each share.

    Example: brewsim rank demo-recipes/quillhaven-lager.toml --outcome thiol_lead
    """
    import brewsim
    from brewsim.cli import shown

    loaded = load(recipe, priors, house)
    wanted = [outcome_named(loaded.problem, outcome)] if outcome else loaded.problem.outcomes
    with say.progress("ranking", quiet=quiet or json) as progress:
        ranked = brewsim.rank(loaded.problem, seed=seed, by=by, progress=progress)
    if json:
        table = ranked.to_dataframe().reset_index()
        chosen = table[table["outcome"].isin(wanted)]
        say.as_json(
            {
                "recipe": loaded.recipe.name,
                "by": by,
                "seed": seed,
                "indices": chosen.to_dict(orient="records"),
            }
        )
        return
    for name in wanted:
        rows = ranked.sel(outcome=name).sortby("total_order", ascending=False)
        lines = [
            (
                str(row["label"].item()),
                shown.percent(float(row["total_order"])),
                (
                    f"{100 * float(row['total_order_low']):.0f} to "
                    f"{100 * float(row['total_order_high']):.0f}"
                ),
                shown.percent(max(0.0, float(row["first_order"]))),
            )
            for place in range(min(_SHOWN, rows.sizes["factor"]))
            for row in [rows.isel(factor=place)]
            if float(row["total_order"]) > 0
        ]
        header = ("share of the spread", "with others", "between", "alone")
        say.table(shown.label(name), header, lines)
