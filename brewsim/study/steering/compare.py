"""Two recipes on common draws: paired differences, and whether anybody could tell them apart."""

import math
from collections.abc import Iterable

import numpy as np
import xarray as xr
from scipy.special import ndtri

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.coverage import check_share
from brewsim.study.propagation.paired import middle_and_ends, paired_change
from brewsim.study.propagation.sweep import chance_and_error

_SIGNIFICANCE = 0.05
_POWER = 0.8
MOST_BATCHES = 200


def compare(
    first: Problem,
    second: Problem,
    *,
    draws: int = 16_384,
    seed: int = 1,
    coverage: float = 0.9,
    outcomes: Iterable[str] = (),
) -> xr.Dataset:
    """Compare two problems batch by batch, everything they share drawn once.

    A latent is shared when its factor id, kind and lot are the same. Returns dims (outcome,):
    `difference` (median of second - first; a fold, second / first, for outcomes on a log scale,
    0 or infinite where the second or the first has none at all) with low and high; `first`,
    `second` (medians), `second_low`, `second_high`; `lower`, `tied`, `higher` (shares of pairs),
    `lower_error`; `scatter` (standard deviation over brews of the first with everything else the
    same; of log2 for fold outcomes); `batches` (repeat brews of each needed to tell the difference
    from that scatter: two-sided 5 %, 80 % power; nan when above 200); `variance_ratio`
    (independent over paired variance of the difference).

    Differences are in each outcome's unit; `coverage` is of their interval, `outcomes` those
    wanted, all without, from `draws` draws of one `seed`. Raises StudyError where nothing can be
    compared.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> float(compare(problem, problem)["difference"][0])
    0.0
    """
    names = tuple(outcomes) or tuple(o for o in first.outcomes if o in second.outcomes)
    if not names:
        raise StudyError("the two have no outcome in common")
    check_share("coverage", coverage)
    plan = Plan.of(draws, seed)
    common = CommonDraws([first, second], plan, by_kind=True, fresh=frozenset({"batch"}))
    before = Evaluator(first, common, names).at()
    after = Evaluator(second, common, names).at()
    again = Evaluator(first, common, names, again=True).at()
    rows = [
        _row(first, name, before[name], after[name], again[name], plan, coverage) for name in names
    ]
    return xr.Dataset(
        {key: (("outcome",), np.array([row[key] for row in rows])) for key in rows[0]},
        coords={
            "outcome": list(names),
            "scale": (("outcome",), [first.scales.get(name, "linear") for name in names]),
        },
        attrs={"first": first.name, "second": second.name, "draws": plan.draws, "seed": seed},
    )


def _row(
    problem: Problem,
    name: str,
    before: FloatArray,
    after: FloatArray,
    again: FloatArray,
    plan: Plan,
    coverage: float,
) -> dict[str, float]:
    folds = problem.scales.get(name, "linear") != "linear"
    scale = problem.scales.get(name, "linear")
    low, middle, high = paired_change(before, after, scale, coverage)
    with np.errstate(all="ignore"):
        x, y, z = (np.log2(v) if folds else v for v in (before, after, again))
        change = np.where(after == before, 0.0, y - x)
        again_by = x - z
        size = np.log2(middle) if folds else middle
    good = np.isfinite(change)
    second_low, _, second_high = middle_and_ends(after, coverage)
    noise = again_by[np.isfinite(again_by)]
    scatter = math.sqrt(0.5 * float(np.mean(noise**2))) if noise.size else 0.0
    lower, error = chance_and_error((after < before).astype(float), plan)
    usual = np.isfinite(x) & np.isfinite(y)
    paired = float(np.var(change[usual])) if usual.any() else 0.0
    alone = float(np.var(x[usual]) + np.var(y[usual])) if usual.any() else 0.0
    return {
        "first": _median(before),
        "second": _median(after),
        "second_low": second_low,
        "second_high": second_high,
        "difference": middle,
        "low": low,
        "high": high,
        "lower": lower,
        "lower_error": error,
        "tied": float(np.mean(after == before)),
        "higher": float(np.mean(after > before)),
        "scatter": scatter,
        "batches": batches_to_tell(float(size), scatter),
        "variance_ratio": alone / paired if paired > 0 else math.inf,
        "not_finite": float(np.sum(~good)),
    }


def _median(values: FloatArray) -> float:
    """Return the median of what has a value; nan if nothing has."""
    known = values[~np.isnan(values)]
    return float(np.median(known)) if known.size else math.nan


def batches_to_tell(difference: float, scatter: float) -> float:
    """Return how many brews of each kind tell a difference from scatter; nan above 200.

    n = 2 ((z_{1 - a/2} + z_{power}) s / d)^2, at least 2, rounded up: the usual size of a
    two-sample comparison at a = 5 % and a power of 80 %. Source: NIST/SEMATECH e-Handbook 7.2.2.2.
    """
    if difference == 0 or not math.isfinite(difference):
        return math.nan
    z = float(ndtri(1 - _SIGNIFICANCE / 2) + ndtri(_POWER))
    count = max(2, math.ceil(2 * (z * scatter / difference) ** 2))
    return float(count) if count <= MOST_BATCHES else math.nan
