"""What the three demo recipes say before anything is measured: `python -m tests.prior_predictive`.

A brewer reads the table and says where it is wrong; the counts say what the numbers rest on.
"""

from collections import Counter
from pathlib import Path

import numpy as np

from brewsim.beer.pose import posed
from brewsim.graph.build import formulas_in
from brewsim.priors.library import load_priors
from brewsim.quantities.catalogue import SIDE_FIGURES, outcome_of
from brewsim.recipe.read import read_recipe
from brewsim.study.propagation.simulate import simulate
from tests.test_every_formula import INPUTS, MODULES

DEMOS = sorted((Path(__file__).parents[1] / "demo-recipes").glob("quillhaven-*.toml"))
DEMOS = [path for path in DEMOS if "batches" not in path.stem and "second" not in path.stem]
LEVELS = (0.005, 0.05, 0.25, 0.5, 0.75, 0.95, 0.995)
MORE = ("fermenter_volume_l", "energy_kcal_l", "tinseth_ibu", "rating_excess_vol")
SOFT = ("assumption", "from memory")


def levels_of(problem, draws=16_384):
    """Return quantity -> its values at LEVELS, outcomes first, then some side figures."""
    names = [*problem.outcomes, *(name for name in MORE if name in problem.graph)]
    drawn = simulate(problem, draws, keep=[n for n in names if n not in problem.outcomes])
    return {name: np.quantile(drawn[name].values, LEVELS) for name in names}


def text_of(quantity, values):
    """Return the values in shown units, as many figures as mean something."""
    outcome = outcome_of(quantity)
    shown = [outcome.per_model * float(value) for value in values]
    if outcome.decimals is None:
        return [f"{value:.3g}" for value in shown]
    return [f"{value:.{outcome.decimals}f}" for value in shown]


def soft_share(rows):
    """Return how many of the uncertain inputs rest on assumption or memory, and how many are."""
    spread = [row for row in rows if row.spread not in ("no spread", "exactly", "")]
    soft = [row for row in spread if any(word in row.grade for word in SOFT)]
    return len(soft), len(spread)


def table_of(path):
    """Return the lines of one recipe's table."""
    problem, rows = posed(read_recipe(path))
    yield f"\n{problem.name}: {len(problem.factors)} uncertain inputs, {len(problem.knobs)} knobs"
    heads = [f"{100 * level:g} %" for level in LEVELS]
    yield f"{'':34}" + "".join(f"{head:>9}" for head in heads) + "  unit"
    for quantity, values in levels_of(problem).items():
        cells = "".join(f"{cell:>9}" for cell in text_of(quantity, values))
        yield f"{outcome_of(quantity).label[:33]:34}{cells}  {outcome_of(quantity).unit}"
    soft, spread = soft_share(rows)
    yield f"{soft} of {spread} uncertain inputs ({soft / spread:.0%}) rest on assumption or memory"


def counts():
    """Return the lines that say how much there is and what it rests on."""
    priors = list(load_priors().everything())
    grades = Counter(prior.grade for prior in priors)
    yield f"\nformulas {len(formulas_in(*MODULES))}, inputs {len(INPUTS)}, priors {len(priors)}:"
    for grade, number in grades.most_common():
        yield f"  {grade:16}{number:5}  {number / len(priors):.0%}"
    yield f"side figures: {', '.join(SIDE_FIGURES)}"


def main():
    """Print the tables of the demos, then the counts."""
    for path in DEMOS:
        print(*table_of(path), sep="\n")  # noqa: T201 - it prints a table
    print(*counts(), sep="\n")  # noqa: T201 - it prints a table


if __name__ == "__main__":
    main()
