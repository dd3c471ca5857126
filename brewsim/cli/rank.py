"""brewsim rank: what drives each outcome."""

import math
from collections.abc import Collection
from typing import Annotated, Any, Literal

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import load, outcome_named
from brewsim.cli.made_by import doubt, drew
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, Quiet, RecipeFile, Seed

_SHOWN = 8
_NOTHING = 0.005


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
    from brewsim.quantities.catalogue import outcome_of
    from brewsim.quantities.chances import percent
    from brewsim.study.tolerance.value_of_information import exact_measurements
    from brewsim.wording.notes import ranking_doubts

    loaded = load(recipe, priors, house)
    choices = _choices(loaded.problem, seed) if by == "factor" else {}
    wanted = [outcome_named(loaded.problem, outcome)] if outcome else loaded.problem.outcomes
    with say.progress("ranking", quiet=quiet or json) as progress:
        ranked = brewsim.rank(loaded.problem, seed=seed, by=by, progress=progress)
    drew(int(ranked.attrs["base"]) * int(ranked.attrs["replicates"]))
    doubts = ranking_doubts(ranked, wanted, loaded.problem.units)
    doubt(*doubts)
    if json:
        table = ranked.to_dataframe().reset_index()
        chosen = table[table["outcome"].isin(wanted)]
        say.as_json(
            {
                "recipe": loaded.recipe.name,
                "by": by,
                "seed": seed,
                "indices": chosen.to_dict(orient="records"),
                "choices": {
                    choice: {name: _share(data, name) for name in wanted}
                    for choice, data in choices.items()
                },
            }
        )
        return
    reachable = {one.factor for one in exact_measurements(loaded.problem)}
    for name in wanted:
        rows = ranked.sel(outcome=name).sortby("total_order", ascending=False)
        lines = [
            (
                str(row["label"].item()),
                _of_all(float(row["total_order"])),
                _between(float(row["total_order_low"]), float(row["total_order_high"])),
                _of_all(float(row["first_order"])),
                _who(row, reachable) if by == "factor" else "",
            )
            for place in range(min(_SHOWN, rows.sizes["factor"]))
            for row in [rows.isel(factor=place)]
            if not float(row["total_order"]) <= 0
        ]
        lines += [
            (f"choice: {choice}", f"({percent(share)})", "", "", "choose")
            for choice, data in choices.items()
            if (share := _share(data, name)["total_order"]) > _NOTHING
        ]
        header = ("share of the spread", "with others", "between", "alone", "you can")
        say.table(outcome_of(name, loaded.problem.units).title, header, lines)
    if choices:
        say.lines("In brackets: a choice's share if each of its options were as likely.")
    say.lines(*doubts)


def _who(row: Any, reachable: Collection[str]) -> str:  # noqa: ANN401 - a factor of a Dataset
    """Say what a person can do: turn it, measure what lasts before the brew, or neither."""
    if bool(row["turnable"].item()):
        return "turn"
    return "measure" if str(row["factor"].item()) in reachable else "nobody"


def _choices(problem: Any, seed: int) -> dict[str, Any]:  # noqa: ANN401 - a Problem
    """Return what each choice would add if its options were equally likely, by choice."""
    from brewsim.beer.scenarios import choices_of
    from brewsim.study.steering.scenario_comparison import choice_shares

    return {
        choice: choice_shares(options, draws=4096, seed=seed)
        for choice, options in choices_of(problem).items()
    }


def _share(data: Any, name: str) -> dict[str, float]:  # noqa: ANN401 - a Dataset
    if name not in data["outcome"].to_numpy():
        return {"first_order": 0.0, "total_order": 0.0}
    row = data.sel(outcome=name)
    return {key: float(row[key]) for key in ("first_order", "total_order")}


def _of_all(share: float) -> str:
    """Return a share in percent, or a dash where it is none."""
    from brewsim.quantities.chances import percent

    return "–" if math.isnan(share) else percent(max(0.0, share))


def _between(low: float, high: float) -> str:
    """Return the sampling interval of a share in percent, or a dash where there is none."""
    from brewsim.quantities.format import number

    if math.isnan(low) or math.isnan(high):
        return "–"
    return " to ".join(number(100 * end, 0) for end in (low, high))
