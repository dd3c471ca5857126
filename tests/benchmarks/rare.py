"""Rare chances beside closed forms and OpenTURNS: `python -m tests.benchmarks.rare [--seeds 200]`.

For every case and chance: how far the estimate is off (root mean square over seeds, relative), how
far it says it is, how often the truth lies in its interval, how often it says that it is doubtful,
and runs of the model. OpenTURNS' subset simulation runs at its own defaults on the linear cases.
"""

import argparse
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri
from scipy.stats import norm

import brewsim
from brewsim import Problem, Target, bernoulli, lognormal, normal

CHANCES = (1e-3, 1e-4, 1e-5, 1e-6)


@dataclass(frozen=True)
class Case:
    """A problem with limits that are missed with a known chance."""

    label: str
    problem: Problem
    limits: dict[str, Target]
    truth: float


def summed(count: int) -> Callable[..., np.ndarray]:
    """Return a formula that adds as many inputs."""
    space: dict[str, Callable[..., np.ndarray]] = {}
    names = [f"x{i}" for i in range(count)]
    exec(f"def total({', '.join(names)}): return {' + '.join(names)}", space)  # noqa: S102
    return space["total"]


def linear(count: int, chance: float) -> Case:
    """Return a sum of normals above a limit."""
    factors = {f"x{i}": normal(0.0, 1.0) for i in range(count)}
    limit = math.sqrt(count) * -float(ndtri(chance))
    problem = Problem.of([summed(count)], factors)
    return Case(f"sum of {count} normals", problem, {"total": Target(upper=limit)}, chance)


def product(chance: float) -> Case:
    """Return a product of three lognormals above a limit."""

    def amount(a, b, c):
        return a * b * c

    spreads = (0.2, 0.4, 0.6)
    factors = {n: lognormal(1.0, s) for n, s in zip("abc", spreads, strict=True)}
    limit = math.exp(math.hypot(*spreads) * -float(ndtri(chance)))
    problem = Problem.of([amount], factors)
    return Case("product of 3 lognormals", problem, {"amount": Target(upper=limit)}, chance)


def series(chance: float) -> Case:
    """Return two outcomes of different inputs, of which either may leave both its limits."""

    def one(a, b):
        return a + b

    def two(c, d):
        return 3 * c - 4 * d

    one_chance = 1 - math.sqrt(1 - chance)
    reach = -float(ndtri(one_chance / 2))
    factors = {n: normal(0.0, 1.0) for n in "abcd"}
    limits = {
        "one": Target(-reach * math.sqrt(2), reach * math.sqrt(2)),
        "two": Target(-5 * reach, 5 * reach),
    }
    return Case("series of 4 limits", Problem.of([one, two], factors), limits, chance)


def stalled(chance: float) -> Case:
    """Return a sum to which a rare event adds three deviations, among many idle inputs."""

    def level(stall, start, i0, i1, i2, i3, i4, i5, i6, i7):
        return start + 3 * stall + 0 * (i0 + i1 + i2 + i3 + i4 + i5 + i6 + i7)

    def truth(limit: float) -> float:
        return float(0.98 * norm.sf(limit) + 0.02 * norm.sf(limit - 3))

    low, high = 1.0, 12.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if truth(middle) > chance else (low, middle)
    factors = {"stall": bernoulli(0.02), "start": normal(0.0, 1.0)}
    factors |= {f"i{k}": normal(0.0, 1.0) for k in range(8)}
    problem = Problem.of([level], factors)
    return Case("rare event", problem, {"level": Target(upper=low)}, chance)


CASES: tuple[Callable[[float], Case], ...] = (
    lambda chance: linear(2, chance),
    product,
    series,
    lambda chance: linear(50, chance),
    stalled,
)


def measured(case: Case, seeds: int) -> str:
    """Return one line: errors, coverage, doubts, runs."""
    found = [brewsim.rare_chance(case.problem, case.limits, seed=s) for s in range(seeds)]
    off = np.array([f.chance / case.truth - 1 for f in found])
    said = np.median([(f.high / f.low - 1) / 2 for f in found])
    inside = np.array([f.low <= case.truth <= f.high for f in found])
    doubted = np.array([not f.trusted for f in found])
    sure = inside[~doubted].mean() if (~doubted).any() else float("nan")
    runs = np.mean([f.evaluations for f in found])
    return (
        f"{case.label} | {case.truth:.0e} | {np.sqrt((off**2).mean()):.4f} | {said:.4f} | "
        f"{inside.mean():.3f} | {sure:.3f} | {doubted.mean():.3f} | {runs:,.0f}"
    )


def openturns(count: int, chance: float, seeds: int) -> str:
    """Return the line of OpenTURNS' subset simulation on a sum of normals."""
    import openturns as ot

    ot.Log.Show(ot.Log.NONE)
    limit = math.sqrt(count) * -float(ndtri(chance))
    names = [f"x{i}" for i in range(count)]
    model = ot.SymbolicFunction(names, [" + ".join(names)])
    law = ot.Normal(count)
    event = ot.ThresholdEvent(
        ot.CompositeRandomVector(model, ot.RandomVector(law)), ot.Greater(), limit
    )
    found, said, runs, inside = [], [], [], []
    for seed in range(seeds):
        ot.RandomGenerator.SetSeed(seed)
        run = ot.SubsetSampling(event)
        run.setMaximumOuterSampling(10_000)
        run.setBlockSize(1)
        run.run()
        result = run.getResult()
        value, width = result.getProbabilityEstimate(), 1.96 * result.getStandardDeviation()
        found.append(value)
        said.append(width / value)
        inside.append(abs(value - chance) <= width)
        runs.append(result.getOuterSampling() * result.getBlockSize())
    off = np.array(found) / chance - 1
    return (
        f"OpenTURNS, sum of {count} normals | {chance:.0e} | {np.sqrt((off**2).mean()):.4f} | "
        f"{np.median(said):.4f} | {np.mean(inside):.3f} | | | {np.mean(runs):,.0f}"
    )


def lines(seeds: int, peers: int) -> Iterator[str]:
    """Yield the table's lines."""
    yield "case | chance | off by | says | covers | covers if sure | doubtful | runs"
    yield "|".join(["---"] * 8)
    for case in CASES:
        for chance in CHANCES:
            yield measured(case(chance), seeds)
    for count in (2, 50):
        for chance in CHANCES:
            yield openturns(count, chance, peers)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--peers", type=int, default=20)
    options = parser.parse_args()
    for line in lines(options.seeds, options.peers):
        print(f"| {line} |", flush=True)


if __name__ == "__main__":
    main()
