"""brewsim relot: another lot of a hop, weighed so that the bitterness stays."""

from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import drawn, load, planned
from brewsim.cli.made_by import doubt, drew
from brewsim.cli.options import AsJson, HouseFile, LookDraws, PriorsFile, RecipeFile, Seed

Lot = Annotated[str, typer.Argument(help="The old lot by its name, or the variety.")]
NewAlpha = Annotated[
    str, typer.Option("--alpha", help='Alpha acid of the new pack, such as "6.5 %".')
]


def relot(
    recipe: RecipeFile,
    lot: Lot,
    alpha: NewAlpha,
    name: Annotated[str, typer.Option(help="Name of the new lot.")] = "",
    every: Annotated[
        bool, typer.Option("--all", help="Rescale mash, late and dry hops of the lot too.")
    ] = False,
    draws: LookDraws = 4096,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Swap a hop lot: what to weigh now, and the bitterness before and after.

    Example: brewsim relot demo-recipes/quillhaven-lager.toml N24 --alpha "6.5 %"
    """
    from brewsim.answers.lot_substitution import new_lot
    from brewsim.logbook.pose import pose

    loaded = load(recipe, priors, house)
    found = new_lot(loaded.recipe, lot, alpha, loaded.priors, name=name, every=every)
    options = {
        "old lot": loaded.problem,
        "new lot, weighed as before": pose(found.unscaled, house, loaded.priors),
        "new lot, rescaled": pose(found.recipe, house, loaded.priors),
    }
    bands = _bands(options, draws, seed)
    drew(planned(draws))
    doubt(*found.remarks)
    if json:
        say.as_json(_content(found, bands))
        return
    _print(found, bands)
    say.lines(f"{drawn(draws, seed)}.")


def _bands(options: dict[str, Any], draws: int, seed: int) -> Any:  # noqa: ANN401 - a Dataset
    from brewsim.study.steering.scenario_comparison import turn_between

    between = turn_between(options, current="old lot", label="lot", draws=draws, seed=seed)
    return between.sel(outcome="bitterness_ibu")


def _content(found: Any, bands: Any) -> dict[str, Any]:  # noqa: ANN401 - a NewLot and a Dataset
    from dataclasses import asdict

    return {
        "factor": found.factor,
        "additions": [asdict(a) for a in found.additions],
        "remarks": found.remarks,
        "bitterness_ibu": {
            str(option): {
                key: float(bands[key].sel(setting=option)) for key in ("low", "middle", "high")
            }
            for option in bands["setting"].to_numpy()
        },
    }


def _print(found: Any, bands: Any) -> None:  # noqa: ANN401 - a NewLot and a Dataset
    from brewsim.quantities.catalogue import outcome_of
    from brewsim.quantities.format import number, span, value

    percent = " to ".join(number(100 * alpha, 1) for alpha in (found.old_alpha, found.new_alpha))
    say.table(
        f"Alpha acid {percent} %: what to weigh now",
        ("addition", "before", "now", ""),
        [
            (
                f"hop {a.number}: {a.variety}, {a.when}",
                a.before,
                a.after,
                f"{number(found.factor, 2)}×" if a.scaled else "left as it was",
            )
            for a in found.additions
        ],
    )
    look = outcome_of("bitterness_ibu")
    rows = []
    for option in bands["setting"].to_numpy().tolist():
        at = bands.sel(setting=option)
        low, middle, high = (float(at[key]) for key in ("low", "middle", "high"))
        rows.append(
            (
                option,
                value(look, middle),
                span(look, low, high),
            )
        )
    say.table("Bitterness on common draws", ("", "median IBU", "nine in ten"), rows)
    say.lines(*found.remarks)
