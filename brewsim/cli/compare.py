"""brewsim compare: two recipes on common draws."""

import math
from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import say
from brewsim.cli.loading import load
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile, Seed

Other = Annotated[
    Path, typer.Argument(help="The other recipe.", exists=True, dir_okay=False, readable=True)
]

_SURE, _WHOLE = 10_000.0, 10.0


def compare(
    recipe: RecipeFile,
    other: Other,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Compare two recipes batch by batch, with everything they share drawn once.

    Example: brewsim compare batch-1.toml batch-2-plan.toml
    """
    import brewsim
    from brewsim.cli import shown

    first, second = load(recipe, priors, house), load(other, priors, house)
    found = brewsim.compare(first.problem, second.problem, seed=seed)
    if json:
        say.as_json(found.to_dict())
        return
    rows, same_again, unseen = [], [], []
    looks = shown.rows(first.problem, found["outcome"].to_numpy().tolist())
    for name, look in looks.items():
        row = found.sel(outcome=name)
        if float(row["tied"]) == 1.0:
            same_again.append(shown.label(look))
            continue
        unseen += _hidden(look, row)
        folds = str(row["scale"].item()) != "linear"
        low, middle, high = (float(row[key]) for key in ("low", "difference", "high"))
        if not folds:
            change = f"{shown.value(look, middle)} ({shown.span(look, low, high)})"
        elif 0 < middle < math.inf:
            change = f"× {middle:.2f} ({low:.2f} to {high:.2f})"
        else:
            change = "to nothing" if middle == 0 else "from nothing"
        count = float(row["batches"])
        brews = "–" if change.endswith("nothing") else "over 200"
        rows.append(
            (
                shown.label(look),
                change,
                f"{round(50 * float(row['lower']))} / {round(50 * float(row['tied']))}",
                _ratio(float(row["variance_ratio"])),
                f"{count:.0f}" if math.isfinite(count) else brews,
            )
        )
    header = (
        "second less first",
        "change, nine in ten",
        "lower / tied of 50",
        "variance ratio",
        "brews to tell",
    )
    say.table(f"{first.recipe.name} against {second.recipe.name}", header, rows)
    if same_again:
        say.lines(f"The same in every batch (50 ties of 50): {', '.join(same_again)}.")
    if unseen:
        say.lines(f"Smaller than what repeat brews differ by: {'; '.join(unseen)}.")
    say.lines(
        "Change: what the second recipe does to a batch in which all else is the same.",
        "Brews to tell: how many of each recipe show the difference over the scatter of repeat"
        " brews (4 times in 5).",
        "Variance ratio: how much less the difference varies on common draws than on draws of"
        " its own for each recipe.",
    )


def _hidden(look: Any, row: Any) -> list[str]:  # noqa: ANN401 - an Outcome and its Dataset
    """Return the change against the scatter of repeat brews, where it is the smaller of the two."""
    folds = str(row["scale"].item()) != "linear"
    change, scatter = float(row["difference"]), float(row["scatter"])
    if folds and not 0 < change < math.inf:
        return []
    if abs(math.log2(change) if folds else change) >= scatter:
        return []
    if folds:
        return [f"{look.label} (× {change:.2f} against × {2**scatter:.2f})"]
    per = look.per_model
    return [f"{look.label} ({change * per:.2g} against {scatter * per:.2g})"]


def _ratio(ratio: float) -> str:
    if not math.isfinite(ratio) or ratio > _SURE:
        return "–" if not math.isfinite(ratio) else "over 10 000"
    return f"{ratio:.0f}" if ratio >= _WHOLE else f"{ratio:.1f}"
