"""How points are split: `python -m tests.benchmarks.scrambles [--seeds 100] [drawn ranked shared]`.

Three designs at equal cost: eight scrambles; one scramble in eight consecutive blocks; four
scrambles in two blocks each. For every model and figure, over seeds: root mean square error in
units of the first design's, and how often the truth lies in the stated 95 % interval.
"""

import argparse
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import numpy as np

import brewsim
from brewsim import (
    Correlation,
    Problem,
    Target,
    lognormal,
    mixture,
    normal,
    shapley,
    simulate,
    student_t,
    summarise,
    triangular,
    uniform,
)
from brewsim.study.model import sampling
from brewsim.study.model.sampling import Plan, Points
from tests.benchmarks.functions import PUBLISHED, posed

NORMAL, UNIT = normal(0.0, 1.0), uniform(0.0, 1.0)
DESIGNS = {"8 x 1": 1, "1 x 8": 8, "4 x 2": 2}
"""How many consecutive blocks of one scramble are replicates."""


def faint(x1, x2, x3, x4):
    return x1 + 0.02 * x2 + 0.3 * x3 * x4


def step(x1, x2, x3):
    return 2.0 * (x1 + x2 > 1.2) + 0.5 * np.floor(4 * x3)


def product(x1, x2, x3):
    return x1 * x2 * x3


def kink(x1, x2, x3):
    return np.maximum(x1, x2) + np.abs(x3)


def heavy(x1, x2):
    return x1 + 2 * x2


def rare(x1, x2, x3):
    return x1 + x2 * x3


def tied(x1, x2, x3):
    return x1 + x2 * x2 + 0.5 * x3


def problems() -> dict[str, Problem]:
    """Return twelve models: smooth, faint, kinked, stepped, heavy, rare, correlated."""
    four, three = ("x1", "x2", "x3", "x4"), ("x1", "x2", "x3")
    spreads = zip(three, (0.2, 0.3, 0.4), strict=True)
    rarely = mixture((normal(0.0, 0.1), normal(3.0, 1.0)), (0.98, 0.02))
    matrix = ((1.0, 0.6), (0.6, 1.0))
    return {
        **{name: posed(name) for name in PUBLISHED},
        "faint": Problem.of([faint], dict.fromkeys(four, NORMAL)),
        "steps": Problem.of([step], dict.fromkeys(three, UNIT)),
        "lognormals": Problem.of([product], {n: lognormal(1.0, s) for n, s in spreads}),
        "kink": Problem.of([kink], {"x1": NORMAL, "x2": UNIT, "x3": triangular(-1.0, 0.0, 2.0)}),
        "heavy": Problem.of([heavy], {"x1": lognormal(1.0, 1.0), "x2": student_t(0.0, 1.0, 5)}),
        "rare": Problem.of([rare], {"x1": NORMAL, "x2": rarely, "x3": UNIT}),
        "correlated": Problem.of(
            [tied],
            dict.fromkeys(three, NORMAL),
            correlations=Correlation("knowledge", ("x1", "x2"), matrix),
        ),
    }


@contextmanager
def split(blocks: int) -> Iterator[None]:
    """Take so many replicates from one scramble."""
    before = Points.__init__

    def begun(self: Points, dimension: int, plan: Plan, replicate: int, start: int = 0) -> None:
        before(self, dimension, plan, replicate // blocks, start + replicate % blocks * plan.rows)

    sampling.Points.__init__ = begun
    try:
        yield
    finally:
        sampling.Points.__init__ = before


def drawn(problem: Problem, seed: int, finer: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Return mean, standard uncertainty, low, high and chance, and their errors."""
    table = summarise(simulate(problem, 4096 * finer, seed=seed))
    names = ("estimate", "standard_uncertainty", "low", "high", "in_target")
    return tuple(
        np.array([float(table[f"{name}{end}"][0]) for name in names]) for end in ("", "_error")
    )


def _indices(table: object, names: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    found = np.concatenate([table[name].to_numpy()[0] for name in names])
    high = np.concatenate([table[f"{name}_high"].to_numpy()[0] for name in names])
    return found, high - found


def ranked(problem: Problem, seed: int, finer: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Return first- and total-order indices, and their errors."""
    table = brewsim.rank(problem, base=256 * finer, seed=seed)
    return _indices(table, ("first_order", "total_order"))


def shared(problem: Problem, seed: int, finer: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Return Shapley effects and their errors."""
    return _indices(shapley(problem, base=256 * finer, seed=seed), ("shapley",))


Figures = Callable[..., tuple[np.ndarray, np.ndarray]]
KINDS: dict[str, tuple[Figures, int]] = {
    "drawn": (drawn, 256),
    "ranked": (ranked, 256),
    "shared": (shared, 64),
}


def compared(label: str, problem: Problem, figures: Figures, seeds: int, finer: int) -> str:
    """Return one line: error of each design in units of the first, then coverage of each."""
    with split(2):
        truth = np.mean([figures(problem, 10**6 + s, finer)[0] for s in range(2)], axis=0)
    errors, covers = [], []
    for blocks in DESIGNS.values():
        with split(blocks):
            found, said = map(
                np.array, zip(*(figures(problem, s) for s in range(seeds)), strict=True)
            )
        off = np.abs(found - truth)
        errors.append(np.sqrt((off**2).mean(axis=0)))
        covers.append((off <= said + 1e-12).mean(axis=0))
    moved = errors[0] > 1e-9 * (1 + np.abs(truth))
    gains = [errors[0][moved] / np.maximum(e[moved], 1e-15) for e in errors[1:]]
    cells = [" ".join(f"{g:.1f}" for g in gain) for gain in gains]
    cells += [" ".join(f"{c:.2f}"[-3:].replace(".00", "1.0") for c in x[moved]) for x in covers]
    return f"{label} | " + " | ".join(cells)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=100)
    parser.add_argument("kinds", nargs="*")
    options = parser.parse_args()
    for kind in options.kinds or KINDS:
        figures, finer = KINDS[kind]
        print(f"| {kind} | closer: 1 x 8 | 4 x 2 | covers: 8 x 1 | 1 x 8 | 4 x 2 |")
        print("|---|---|---|---|---|---|")
        for label, problem in problems().items():
            asked = targeted(problem)
            if kind == "ranked" and problem.correlations:
                continue
            print(f"| {compared(label, asked, figures, options.seeds, finer)} |", flush=True)


def targeted(problem: Problem) -> Problem:
    """Return the problem with a target around the middle half of its outcome."""
    from dataclasses import replace

    name = problem.outcomes[0]
    low, high = np.quantile(simulate(problem, 4096)[name].to_numpy(), [0.2, 0.7])
    return replace(problem, targets={name: Target(float(low), float(high))})


if __name__ == "__main__":
    main()
