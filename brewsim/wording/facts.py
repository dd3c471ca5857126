"""What a recipe tells the page besides numbers: facts for the cautions, and its input rows."""

from collections.abc import Sequence

from brewsim.answers.over_rating import OverRating
from brewsim.beer.assumptions import Row
from brewsim.beer.process_settings import is_diastatic
from brewsim.priors.library import Priors
from brewsim.quantities.english import capital
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem
from brewsim.wording.caution_lines import USUAL_RATING_VOL, Facts
from brewsim.wording.content import InputRow

_NO_SOURCE = ("", "assumption", "from memory", "common practice, no source", "recipe")


def facts_of(recipe: Recipe, problem: Problem, priors: Priors, over: OverRating | None) -> Facts:
    """Return what the cautions need to know."""
    said = recipe.yeast.diastatic
    entry = priors.find("yeast", recipe.yeast.name) if recipe.yeast.name else None
    release = recipe.yeast.thiol_release or (entry.tags.get("release") if entry else None)
    rating = problem.fixed.get("bottle_rating_vol")
    return Facts(
        bottled=recipe.package.container == "bottle",
        rating_vol=float(rating.ravel()[0]) if rating is not None else USUAL_RATING_VOL,
        over_rating_chance=None if over is None else over.chance,
        over_rating_error=0.0 if over is None else over.error,
        over_rating_sought=over is not None and over.sought,
        dry_hopped=any(hop.when.step == "dry hop" for hop in recipe.hop),
        diastatic=said or ("yes" if is_diastatic(recipe.yeast.name, said, priors) else "no"),
        engineered="yes" if "engineered" in {release, *_choices(recipe)} else "no",
        grape_product=any("grape" in one.name.lower() for one in recipe.precursor),
        fermenter_l=recipe.volume.value,
        hot_side=bool(recipe.malt or recipe.sugar),
    )


def _choices(recipe: Recipe) -> tuple[str, ...]:
    """Return the thiol releases a knob may choose."""
    knob = recipe.knobs.get("yeast thiol_release")
    return knob.choices if knob else ()


def numbered_rows(
    rows: Sequence[Row],
) -> tuple[tuple[InputRow, ...], tuple[InputRow, ...], tuple[tuple[str, str], ...]]:
    """Return the rows understood, the rows assumed, and their sources, numbered as cited."""
    cited = [row.source for row in rows if row.source not in _NO_SOURCE]
    numbers = {text: str(place) for place, text in enumerate(dict.fromkeys(cited), 1)}
    understood: list[InputRow] = []
    assumed: list[InputRow] = []
    for row in rows:
        spread = f"{row.spread}; {row.kinds}" if row.kinds else row.spread
        source = f"[{numbers[row.source]}]" if row.source in numbers else ""
        taken = InputRow(capital(row.what), row.value, spread, row.grade, source)
        (assumed if row.assumed else understood).append(taken)
    return tuple(understood), tuple(assumed), tuple((n, text) for text, n in numbers.items())
