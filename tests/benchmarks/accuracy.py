"""First- and total-order indices at equal evaluations: `python -m tests.benchmarks.accuracy`.

Root mean square error over indices and seeds on five published functions, beside SciPy, SALib and
OpenTURNS at their defaults, each with base x (inputs + 2) evaluations, and time as a multiple of
brewsim's, without anybody's resampling. Truths are closed forms (Ishigami, Sobol' g), else SALib at
64 times the base. Of these only brewsim's times include intervals; the last two columns are SALib's
and OpenTURNS' times with 100 resamples.
"""

import argparse
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

import brewsim
from tests.benchmarks.functions import PUBLISHED, Bounds, posed
from tests.benchmarks.scrambles import split

Indices = tuple[np.ndarray, np.ndarray]


@dataclass(frozen=True)
class Asked:
    """One function, how many rows, which seed, how many resamples."""

    name: str
    function: Callable[..., np.ndarray]
    bounds: Bounds
    base: int
    seed: int
    resamples: int = 0


def ours(asked: Asked) -> Indices:
    """Eight scrambles."""
    found = brewsim.rank(posed(asked.name), base=asked.base // 8, seed=asked.seed)
    row = found.isel(outcome=0).sel(factor=list(asked.bounds))
    return row["first_order"].to_numpy(), row["total_order"].to_numpy()


def one_scramble(asked: Asked) -> Indices:
    """The same from one scramble in blocks, whose error would not be worth stating."""
    with split(8):
        return ours(asked)


def salib(asked: Asked) -> Indices:
    from SALib.analyze import sobol as analyze
    from SALib.sample import sobol as sample

    ends = list(map(list, asked.bounds.values()))
    told = {"num_vars": len(ends), "names": list(asked.bounds), "bounds": ends}
    points = sample.sample(told, asked.base, calc_second_order=False, seed=asked.seed)
    values = asked.function(*points.T)
    found = analyze.analyze(
        told, values, calc_second_order=False, num_resamples=max(asked.resamples, 2), seed=1
    )
    return found["S1"], found["ST"]


def scipy(asked: Asked) -> Indices:
    from scipy.stats import sobol_indices, uniform

    laws = [uniform(low, high - low) for low, high in asked.bounds.values()]
    found = sobol_indices(
        func=lambda x: asked.function(*x), n=asked.base, dists=laws, rng=asked.seed
    )
    return np.ravel(found.first_order), np.ravel(found.total_order)


def openturns(asked: Asked, *, spread: bool = False) -> Indices:
    import openturns as ot

    ot.Log.Show(ot.Log.NONE)
    ot.RandomGenerator.SetSeed(asked.seed)
    law = ot.JointDistribution([ot.Uniform(*ends) for ends in asked.bounds.values()])
    if spread:
        points = ot.LowDiscrepancyExperiment(ot.SobolSequence(), law, asked.base)
        points.setRandomize(True)
        design = ot.SobolIndicesExperiment(points, False).generate()
    else:
        design = ot.SobolIndicesExperiment(law, asked.base, False).generate()
    values = asked.function(*np.asarray(design).T)[:, None]
    found = ot.SaltelliSensitivityAlgorithm(design, ot.Sample(values), asked.base)
    first, total = found.getFirstOrderIndices(), found.getTotalOrderIndices()
    if asked.resamples:
        found.setUseAsymptoticDistribution(False)
        found.setBootstrapSize(asked.resamples)
        found.getFirstOrderIndicesInterval()
        found.getTotalOrderIndicesInterval()
    return np.array(first), np.array(total)


def openturns_spread(asked: Asked) -> Indices:
    return openturns(asked, spread=True)


PEERS: dict[str, Callable[[Asked], Indices]] = {
    "brewsim": ours,
    "(one scramble)": one_scramble,
    "SciPy": scipy,
    "SALib": salib,
    "OpenTURNS, plain": openturns,
    "OpenTURNS, Sobol'": openturns_spread,
}


def truth(asked: Asked) -> Indices:
    """Return the indices from a closed form, or from SALib with many more rows."""
    if asked.name == "Ishigami":
        share = 0.1 * np.pi**4
        one, two = 0.5 * (1 + share / 5) ** 2, 49 / 8
        both = share**2 * (1 / 18 - 1 / 50)
        whole = one + two + both
        return np.array([one, two, 0]) / whole, np.array([one + both, two, both]) / whole
    if asked.name == "Sobol' g":
        parts = np.array([1 / (3 * (1 + a) ** 2) for a in (0.0, 0.5, 3.0, 9.0, 99.0, 99.0)])
        whole = np.prod(1 + parts) - 1
        return parts / whole, parts / (1 + parts) * np.prod(1 + parts) / whole
    return salib(Asked(asked.name, asked.function, asked.bounds, 64 * asked.base, 77))


def timed(peer: Callable[[Asked], Indices], asked: Asked) -> float:
    start = time.process_time()
    peer(asked)
    return time.process_time() - start


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--base", type=int, default=2048)
    options = parser.parse_args()
    heads = [*PEERS, "SALib, 100 resamples", "OpenTURNS, 100 resamples"]
    print("| function | " + " | ".join(heads) + " |")
    print("|---" * (1 + len(heads)) + "|")
    for name, (function, bounds) in PUBLISHED.items():
        exact = truth(Asked(name, function, bounds, options.base, 0))
        cells, base_time = [], 0.0
        for peer in PEERS.values():
            peer(Asked(name, function, bounds, 256, 0))  # what is imported is no work of its own
            off, took = [], 0.0
            for seed in range(1, options.seeds + 1):
                start = time.process_time()
                found = peer(Asked(name, function, bounds, options.base, seed))
                took += time.process_time() - start
                off.append([f - e for f, e in zip(found, exact, strict=True)])
            errors = np.sqrt((np.array(off) ** 2).mean(axis=(0, 2)))
            base_time = base_time or took
            cells.append(f"{errors[0]:.4f}/{errors[1]:.4f}, {took / base_time:.1f}x")
        for peer in (salib, openturns):
            more = timed(peer, Asked(name, function, bounds, options.base, 1, 100))
            cells.append(f"{more * options.seeds / base_time:.0f}x")
        print(f"| {name} | " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main()
