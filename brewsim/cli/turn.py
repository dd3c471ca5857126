"""brewsim turn: outcomes along one knob."""

from typing import Annotated

import typer

from brewsim.cli import say
from brewsim.cli.loading import load
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile, Seed

KnobName = Annotated[str, typer.Argument(help='A knob by name, such as "precursor 1 dose".')]


def turn(
    recipe: RecipeFile,
    knob: KnobName,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Show every outcome along one knob, and between which settings the targets are met.

    Example: brewsim turn demo-recipes/quillhaven-lager.toml "precursor 1 dose"
    """
    import brewsim
    from brewsim.cli import shown
    from brewsim.report.build_knobs import knob_curves
    from brewsim.report.recipe_looks import recipe_looks

    loaded = load(recipe, priors, house)
    along = brewsim.turn(loaded.problem, knob, seed=seed)
    if json:
        say.as_json(along.drop_vars("dots").to_dict())
        return
    targets = [name for name in loaded.problem.targets if name in along["outcome"].values]
    names = targets or list(loaded.problem.outcomes[:4])
    per = float(along.attrs["per_shown"])
    rows = []
    for place, setting in enumerate(along["setting"].to_numpy().tolist()):
        at = along.isel(setting=place)
        told = setting if isinstance(setting, str) else f"{setting / per:.4g} {along.attrs['unit']}"
        cells = [
            shown.span(n, float(at["low"].sel(outcome=n)), float(at["high"].sel(outcome=n)))
            for n in names
        ]
        rows.append((told, *cells, shown.in_fifty(float(at["joint"]))))
    header = ("setting", *[shown.label(n) for n in names], "all targets")
    say.table(f"{along.attrs['label']}: nine chances in ten", header, rows)
    curves = knob_curves(loaded.problem, [along], recipe_looks(loaded.problem))
    say.lines(*(curve.sentence for curve in curves))
