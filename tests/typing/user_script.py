"""A script as a user writes it; only type-checked, in strict mode."""

from pathlib import Path
from typing import reveal_type

import brewsim
from brewsim import Choice, Kinds, Knob, Problem, Reading, Target, lognormal, normal


def ratio(level: float, haze: float) -> float:
    return level / haze


problem = Problem.of(
    [ratio],
    {"level": (lognormal(4.0, 0.1), Kinds(0.5, 0.0, 0.5)), "haze": normal(2.0, 0.1)},
    targets={"ratio": Target(1.5, 2.5)},
    knobs=(Knob("kind", "the kind", choices=(Choice("plain"),), current="plain"),),
)
draws = brewsim.simulate(problem, draws=1024, seed=1)
reveal_type(draws)
table = brewsim.summarise(draws, coverage=0.95)
middle: float = float(table["median"].sel(outcome="ratio"))
indices = brewsim.rank(problem, by="kind")
shares = brewsim.variance_budget(problem, ["ratio"])
first: float = shares["ratio"][0].batch
tightened = brewsim.tighten(problem, "ratio", uncertainty=0.05)
worth = brewsim.worth_of_measuring(problem)
spread = brewsim.spread_by_kind(problem)
large = brewsim.summarise_large(problem, draws=2**20)
limits = brewsim.conformity.acceptance_limits(Target(1.5, 2.5), uncertainty=0.1, chance=0.95)
factor: float = brewsim.tolerance.two_sided_factor(10, 0.95, 0.9)
batch = brewsim.Batch("B1", problem, (Reading("ratio", 2.1, 0.05),))
learned = brewsim.learn(problem, [batch])
causes = brewsim.explain(learned, "B1", outcomes=["ratio"])
estimate: float = causes[0].shares[0].estimate

recipe = brewsim.read_recipe("demo-recipes/quillhaven-lager.toml")
beer = brewsim.pose(recipe, priors=brewsim.load_priors())
log = brewsim.read_batches("demo-recipes/quillhaven-lager-six-batches.toml")
page: Path = brewsim.write_report("page.html", brewsim.report(recipe))
version: str = brewsim.__version__
try:
    brewsim.steer(beer, chance=0.6)
except brewsim.StudyError as error:
    words: str = str(error)
