"""brewsim compare: two recipes on common draws."""

import math
from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import Loaded, load
from brewsim.cli.made_by import drew
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile, Seed, readable_or_dash

Other = Annotated[
    Path,
    typer.Argument(
        help="The other recipe; - reads it from standard input.", callback=readable_or_dash
    ),
]

_SURE, _WHOLE = 10_000.0, 10.0
_ENDS = ("low", "difference", "high")
_DROWNED = 0.02
"""Share of an outcome's scatter below which a change of it is not worth a word."""


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
    from brewsim.beer.display_units import rows_of
    from brewsim.quantities.format import heading, number, span

    first, second = load(recipe, priors, house), load(other, priors, house)
    found = brewsim.compare(first.problem, second.problem, seed=seed)
    drew(found.attrs["draws"])
    if json:
        say.as_json(found.to_dict())
        return
    rows, same_again, unseen, slight = [], [], [], []
    looks = rows_of(first.problem, found["outcome"].to_numpy().tolist())
    for name, look in looks.items():
        row = found.sel(outcome=name)
        if float(row["tied"]) == 1.0:
            same_again.append(heading(look))
            continue
        if max(abs(_from_nothing(look, row, key)) for key in _ENDS) <= _least(look, row):
            slight.append(heading(look))
            continue
        unseen += _hidden(look, row)
        change = _change(look, row)
        count = float(row["batches"])
        brews = "–" if change.endswith("nothing") else "over 200"
        rows.append(
            (
                heading(look),
                f"{change}\n{span(look, float(row['second_low']), float(row['second_high']))}",
                f"{round(50 * float(row['lower']))} / {round(50 * float(row['tied']))}",
                _ratio(float(row["variance_ratio"])),
                number(count, 0) if math.isfinite(count) else brews,
            )
        )
    header = (
        "second less first",
        "change, nine in ten",
        "lower / tied of 50",
        "variance ratio",
        "brews to tell",
    )
    names = _names((first.recipe.name, recipe), (second.recipe.name, other))
    say.table(" against ".join(names), header, rows)
    if same_again:
        say.lines(f"The same in every batch (50 ties of 50): {', '.join(same_again)}.")
    if slight:
        say.lines(f"Changed by next to nothing: {', '.join(slight)}.")
    if unseen:
        say.lines(f"Smaller than what repeat brews differ by: {'; '.join(unseen)}.")
    say.lines(
        *filter(None, [_own_mashes(first, second)]),
        "Change: what the second recipe does to a batch in which all else is the same; below it"
        " the second recipe itself, nine in ten.",
        "Brews to tell: how many of each recipe show the difference over the scatter of repeat"
        " brews (4 times in 5).",
        "Variance ratio: how much less the difference varies on common draws than on draws of"
        " its own for each recipe.",
    )


def _own_mashes(first: Loaded, second: Loaded) -> str:
    """Say where two mashes make no difference because each attenuation is read for its own."""
    from brewsim.beer.knobs_stated import own_mash
    from brewsim.beer.process_settings import ATTENUATION_FOR
    from brewsim.beer.statements import resolve

    one, other = (own_mash(resolve(each.recipe), each.problem) for each in (first, second))
    if not (one and other) or one == other:
        return ""
    return (
        f"The attenuation of each recipe is read for its own mash, {one} and {other}, so that"
        f" the other mash does not change it. To see what it does, add {ATTENUATION_FOR} ="
        f' "{one}" under [given] of the second.'
    )


def _names(*named: tuple[str, Path]) -> list[str]:
    """Return what tells the two apart: their names, their files', or where their files lie."""
    ways = ([name for name, _ in named], [path.name for _, path in named])
    return next((way for way in ways if len(set(way)) > 1), [str(path) for _, path in named])


def _folds(look: Any, row: Any) -> bool:  # noqa: ANN401 - a Quantity and its Dataset
    """Whether people read a change as so many times."""
    from brewsim.wording.paired import as_folds

    return as_folds(look, str(row["scale"].item()))


def _figure(look: Any, row: Any, key: str) -> float:  # noqa: ANN401 - a Quantity and its Dataset
    """Return a change, or an end of it: a difference in shown units, or so many times."""
    from brewsim.wording.paired import change_figure

    return change_figure(look, str(row["scale"].item()), float(row[key]))


def _from_nothing(look: Any, row: Any, key: str) -> float:  # noqa: ANN401
    """Return how far a change, or an end of it, is from none at all."""
    return _figure(look, row, key) - float(_folds(look, row))


def _least(look: Any, row: Any) -> float:  # noqa: ANN401 - a Quantity and its Dataset
    """Return the largest change that is not worth a word, as `_from_nothing` gives it."""
    from brewsim.quantities.format import slight

    per = 1.0 if _folds(look, row) else look.per_model
    return per * max(slight(look, float(row["first"])), _DROWNED * float(row["scatter"]))


def _change(look: Any, row: Any) -> str:  # noqa: ANN401 - a Quantity and its Dataset
    from brewsim.wording.paired import change_words

    low, middle, high = (float(row[key]) for key in _ENDS)
    return change_words(look, str(row["scale"].item()), (low, middle, high))


def _hidden(look: Any, row: Any) -> list[str]:  # noqa: ANN401 - a Quantity and its Dataset
    """Return the change against the scatter of repeat brews, where it is the smaller of the two."""
    from brewsim.quantities.format import number, spread, times

    change, scatter = _figure(look, row, "difference"), float(row["scatter"])
    folds = _folds(look, row)
    if folds and not 0 < change < math.inf:
        return []
    size = math.log2(change) if folds else change / look.per_model
    if abs(size) >= scatter:
        return []
    if abs(_from_nothing(look, row, "difference")) <= _least(look, row):
        return []
    if folds:
        return [f"{look.label} ({times(size, 3)} against {times(scatter, 3)})"]
    return [f"{look.label} ({number(change)} against {spread(look, scatter)})"]


def _ratio(ratio: float) -> str:
    from brewsim.quantities.format import number

    if not math.isfinite(ratio) or ratio > _SURE:
        return "–" if not math.isfinite(ratio) else "over 10 000"
    return number(ratio, 0 if ratio >= _WHOLE else 1)
