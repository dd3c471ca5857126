"""Simulation-based calibration of every kind of tasters' answers on a small linear brewery.

Talts et al. 2018, arXiv 1804.06788: with truth drawn from the prior and answers drawn from the
truth, its rank among posterior draws is uniform.
"""

import time
from collections.abc import Iterable

import numpy as np
from scipy import stats

from brewsim.study.inference import update as updating
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.model.batch import Answer
from tests.study.tasted_beers import KINDS, answered, two_batches

_CHAINS = 127
_BINS = 8


def calibration(fits: int, kinds: Iterable[str] = KINDS) -> None:
    """Print, for each kind, the smallest p of its quantities, its bound, and coverage."""
    for kind in kinds:
        print(of_kind(kind, fits), flush=True)


def of_kind(kind: str, fits: int) -> str:
    """Return one kind's line of the table; every quantity is a latent, a cup or a difference."""
    started, ranks, inside = time.perf_counter(), [], []
    rng = np.random.default_rng(1000 + list(KINDS).index(kind))
    blank = Model(two_batches(KINDS[kind]))
    for fit in range(fits):
        truth = rng.standard_normal((len(blank.names), 1))
        found = Model(_brewed(blank, KINDS[kind], truth, rng))
        run = updating._start(Linearisation(found), np.random.default_rng(fit), _CHAINS, None)
        run.settle(2)
        for _ in range(3):
            run.sweep()
        drawn, true = _quantities(found, run.state), _quantities(found, truth)
        ranks.append((drawn < true).sum(axis=1))
        low, high = np.quantile(drawn, [0.05, 0.95], axis=1)
        inside.append((low < true[:, 0]) & (true[:, 0] < high))
    counts = np.array(ranks) * _BINS // (_CHAINS + 1)
    chances = np.array([stats.chisquare(np.bincount(c, minlength=_BINS)).pvalue for c in counts.T])
    return (
        f"{kind}: {fits} fits, {len(chances)} quantities, {time.perf_counter() - started:.0f} s: "
        f"smallest p {chances.min():.4f} (bound {0.01 / len(chances):.4f}), KS of p "
        f"{stats.kstest(chances, 'uniform').pvalue:.2f}, 90 % interval holds "
        f"{np.mean(inside):.3f}"
    )


def _brewed(
    blank: Model, answers: tuple[Answer, ...], truth: np.ndarray, rng: np.random.Generator
) -> list[updating.Batch]:
    predicted = blank.predicted(truth)
    told = [answered(a, ys, scores, rng) for a, ys, scores in blank.tasted(predicted)]
    assert len(told) == len(answers)
    read = float(predicted[0, 0] + 0.2 * rng.standard_normal())
    return two_batches(told, read)


def _quantities(model: Model, state: np.ndarray) -> np.ndarray:
    cups = model.predicted(state)[len(model.readings) :][: len(model.cups)]
    apart = cups[:1] - cups[1:2] if len(cups) > 1 else cups[:0]
    return np.concatenate([state, cups, apart])
