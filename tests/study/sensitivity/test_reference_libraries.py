"""Indices of the largest demo against SALib, SciPy and OpenTURNS, each with its own sampling."""

from pathlib import Path

import numpy as np
import openturns as ot
import pytest
from SALib.analyze import sobol as salib_analyze
from SALib.sample import sobol as salib_sample
from scipy.stats import sobol_indices, uniform

import brewsim
from brewsim.study.sensitivity.sobol import rank
from tests.benchmarks.__main__ import Plain

PALE = Path(__file__).resolve().parents[3] / "demo-recipes" / "quillhaven-pale.toml"
OUTCOMES = ("alcohol_by_volume_fraction", "bitterness_ibu", "thiol_lead", "hop_aroma_activity")
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def problem():
    posed = brewsim.pose(brewsim.read_recipe(PALE))
    assert len(posed.factors) >= 45
    from dataclasses import replace

    return replace(posed, outcomes=OUTCOMES, targets={})


@pytest.fixture(scope="module")
def model(problem):
    plain = Plain(problem)

    def outcomes(points):
        y = plain(points)
        y[OUTCOMES.index("hop_aroma_activity")] = np.log2(y[OUTCOMES.index("hop_aroma_activity")])
        return y

    return outcomes


@pytest.fixture(scope="module")
def ours(problem):
    found = rank(problem, base=2048, seed=3)
    half = {
        kind: (found[f"{kind}_high"] - found[f"{kind}_low"]).to_numpy() / 2 / 2.3646
        for kind in ("first_order", "total_order")
    }
    return found, half


def agrees(ours, kind, theirs, their_error):
    """Within four joint standard errors, and a floor of 0.004 for what neither resolves."""
    found, half = ours
    gap = np.abs(found[kind].to_numpy() - theirs)

    return np.all(gap <= 4 * np.hypot(half[kind], their_error) + 0.004)


def test_salib_gives_the_same_indices(problem, model, ours):
    """Saltelli and Jansen estimators of SALib, base 2048; its bootstrap as standard error."""
    count = len(problem.factors)
    told = {
        "num_vars": count,
        "names": [f"x{i}" for i in range(count)],
        "bounds": [[0.0, 1.0]] * count,
    }
    points = salib_sample.sample(told, 2048, calc_second_order=False, seed=5)
    found = [
        salib_analyze.analyze(told, y, calc_second_order=False, num_resamples=30, seed=5)
        for y in model(points.T)
    ]

    for kind, name in (("first_order", "S1"), ("total_order", "ST")):
        value = np.stack([f[name] for f in found])
        error = np.stack([f[f"{name}_conf"] for f in found]) / 1.96

        assert agrees(ours, kind, value, error)


def test_scipy_gives_the_same_indices(problem, model, ours):
    """scipy.stats.sobol_indices from four scrambles; their spread is its standard error."""
    dists = [uniform()] * len(problem.factors)
    runs = [sobol_indices(func=model, n=1024, dists=dists, rng=seed) for seed in range(4)]

    for kind in ("first_order", "total_order"):
        values = np.stack([np.asarray(getattr(run, kind)) for run in runs])
        error = values.std(axis=0, ddof=1) / 2

        assert agrees(ours, kind, values.mean(axis=0), 2 * error)


def test_openturns_gives_the_same_indices(problem, model, ours):
    """OpenTURNS' Saltelli algorithm on its own independent design of 4,096 points."""
    ot.RandomGenerator.SetSeed(7)
    size, count = 4096, len(problem.factors)
    law = ot.JointDistribution([ot.Uniform(0.0, 1.0)] * count)
    design = ot.SobolIndicesExperiment(law, size, False).generate()
    values = model(np.asarray(design).T)

    first, total = [], []
    for y in values:
        algorithm = ot.SaltelliSensitivityAlgorithm(design, ot.Sample(y[:, None]), size)
        first.append(np.asarray(algorithm.getFirstOrderIndices()))
        total.append(np.asarray(algorithm.getTotalOrderIndices()))
    error = 1.5 / np.sqrt(size)

    assert agrees(ours, "first_order", np.stack(first), error)
    assert agrees(ours, "total_order", np.stack(total), error)
