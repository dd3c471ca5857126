"""First-order indices from draws already made: no further run of the model."""

import numpy as np
import xarray as xr
from numpy.polynomial.legendre import legvander
from scipy.special import stdtrit

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.propagation.figures import MOST_BAD, on_scale, with_square
from brewsim.study.propagation.summary import columns_of, replicate_places
from brewsim.study.sensitivity.given_data import rank_of

_DEGREE, _ROWS_PER_DEGREE = 12, 64


def first_order_from_draws(draws: xr.Dataset) -> xr.Dataset:
    """Return first-order indices from draws with scores, dims ("outcome", "factor").

    `draws` come from `simulate(problem, keep_scores=True)`. Each outcome is expanded in
    Legendre polynomials of the rank of a factor's score, up to degree 12, less for few draws;
    squares are products of two replicates, so that chance adds nothing. `first_order` has 95 %
    limits `_low` and `_high` from a jackknife over replicates and from what two thirds of the
    degree would give. A factor's index counts what it carries through correlation, too. Source:
    Sudret, Reliability Engineering & System Safety 93 (2008) 964, for indices from an expansion.
    Raises StudyError for draws without scores; above 1 % of draws without a value there are no
    limits.

    >>> from brewsim import Problem, normal, simulate
    >>> def total(a, b):
    ...     return a + b
    >>> problem = Problem.of([total], {"a": normal(0.0, 1.0), "b": normal(0.0, 2.0)})
    >>> found = first_order_from_draws(simulate(problem, keep_scores=True))
    >>> found["first_order"].round(2).values.tolist()
    [[0.2, 0.8]]
    """
    if "score" not in draws:
        raise StudyError("these draws hold no scores; draw with simulate(..., keep_scores=True)")
    columns = columns_of(draws, {})
    where, there = replicate_places(draws)
    scores = draws["score"].to_numpy()
    shape = (len(columns), len(scores))
    degree = int(np.clip(there.sum(axis=1).min() // _ROWS_PER_DEGREE, 2, _DEGREE))
    parts, variances = np.empty((len(where), *shape, degree)), np.empty((len(where), len(columns)))
    bad = np.zeros(len(columns))
    for number, (places, filled) in enumerate(zip(where, there, strict=True)):
        own = places[filled]
        tables = [on_scale(y[own], attributes["scale"]) for attributes, y in columns.values()]
        bad += [float((~np.isfinite(y)).sum()) for y in tables]
        parts[number], variances[number] = _coefficients(scores[:, own], tables, degree)
    share = _shares(parts, variances)
    without = [np.delete(np.arange(len(where)), i) for i in range(len(where))]
    each = np.stack([_shares(parts[rest], variances[rest]) for rest in without])
    spread = np.sqrt((len(where) - 1) * np.var(each, axis=0))
    coarse = _shares(parts[..., : degree * 2 // 3], variances)
    half = float(stdtrit(len(where) - 1, 0.975)) * spread + np.abs(share - coarse)
    half = np.where((bad > MOST_BAD * there.sum())[:, None], np.nan, half)
    dims = ("outcome", "factor")
    return xr.Dataset(
        {
            "first_order": (dims, share),
            "first_order_low": (dims, share - half),
            "first_order_high": (dims, share + half),
        },
        coords={"outcome": list(columns), "factor": draws["factor"].to_numpy()},
        attrs={key: draws.attrs[key] for key in ("name", "seed", "draws") if key in draws.attrs},
    )


def _coefficients(
    scores: FloatArray, tables: list[FloatArray], degree: int
) -> tuple[FloatArray, FloatArray]:
    """Return how each outcome goes with each polynomial of each score, and the variances."""
    good = [np.isfinite(y) for y in tables]
    known = [np.where(g, y, 0.0) for g, y in zip(good, tables, strict=True)]
    means = [y.sum() / max(g.sum(), 1) for g, y in zip(good, known, strict=True)]
    centred = np.stack(
        [np.where(g, y - m, 0.0) for g, y, m in zip(good, known, means, strict=True)]
    )
    scale = np.sqrt(2 * np.arange(degree + 1) + 1)
    found = np.empty((len(tables), len(scores), degree))
    for place, score in enumerate(scores):
        own = (legvander(2 * rank_of(score) - 1, degree) * scale)[:, 1:]
        found[:, place] = centred @ own / len(score)
    with np.errstate(over="ignore"):
        return found, with_square((centred != 0).any(axis=1), centred.var(axis=1))


def _shares(parts: FloatArray, variances: FloatArray) -> FloatArray:
    """Return the sum of squared coefficients over the variance, (outcomes, factors).

    Products of two different replicates' coefficients, of which chance takes nothing.
    """
    count = len(parts)
    with np.errstate(over="ignore", invalid="ignore"):
        pairs = (parts.sum(axis=0) ** 2 - (parts**2).sum(axis=0)) / (count * (count - 1))
    variance = variances.mean(axis=0)[:, None]
    return np.divide(
        pairs.sum(axis=2), variance, out=np.zeros(pairs.shape[:2]), where=variance != 0
    )
