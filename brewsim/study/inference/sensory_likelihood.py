"""Log likelihoods of what tasters answer: Thurstone's scale, its words, choices and orders.

Perceived strengths stand on one scale y, on which one cup adds a normal error of standard
deviation `sd`; only differences in `sd` can be told from comparisons. Arrays broadcast over
samples.
"""

from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING, Literal

import numpy as np
from scipy.special import log_ndtr, logsumexp, ndtr

from brewsim.dims import FloatArray

if TYPE_CHECKING:
    from scipy.interpolate import CubicSpline

CHOICE_SCALE = float(np.sqrt(2) / 1.702)
"""Scale of the logistic choice error for a cup's sd of 1: the logit nearest to the probit."""

_LEAST_GAP = -1e-16
_FURTHEST = 12.0
_KNOTS = 601
_NODES = 400
_LEAST_SHARE = 1e-12

Method = Literal["triangle", "tetrad"]


def log_between(low: FloatArray, high: FloatArray) -> FloatArray:
    """Return log(Phi(high) - Phi(low)) for low < high, stable in both tails; ends may be infinite.

    Example:
        >>> round(float(np.exp(log_between(np.array(-1.0), np.array(1.0)))), 4)
        0.6827
    """
    flipped = low > 0
    a, b = np.where(flipped, -high, low), np.where(flipped, -low, high)
    top = log_ndtr(b)
    with np.errstate(all="ignore"):
        return np.asarray(top + np.log1p(-np.exp(np.minimum(log_ndtr(a) - top, _LEAST_GAP))))


def log_category(
    place: int, y: FloatArray, cuts: Sequence[FloatArray], sd: FloatArray
) -> FloatArray:
    """Return the log chance of a category of an ordered probit, 0 for the one below all cuts.

    Args:
        place: which category, 0 to len(cuts).
        y: the strength, (n,).
        cuts: the limits between categories, rising, (n,) each.
        sd: scatter of one judgement about y, (n,).
    """
    low = (cuts[place - 1] - y) / sd if place else np.full_like(y, -np.inf)
    high = (cuts[place] - y) / sd if place < len(cuts) else np.full_like(y, np.inf)
    return log_between(low, high)


def just_about_right_cuts(
    ideal: FloatArray, half: FloatArray, width: FloatArray
) -> tuple[FloatArray, ...]:
    """Return the four limits of a just-about-right scale of five words.

    "just right" reaches `half` to each side of the ideal, "too much" and "too little" `width` on
    from there.

    Source: scale type: L. Rothman & M. J. Parker (eds.), Just-About-Right (JAR) Scales, ASTM
        MNL63, 2009.
    """
    far = half + width
    return ideal - far, ideal - half, ideal + half, ideal + far


def log_dominant(chosen: int, ys: Sequence[FloatArray], sd: FloatArray) -> FloatArray:
    """Return the log chance that one of several attributes is named as standing in front.

    Multinomial logit with the choice error of two cups.
    """
    v = np.stack(ys) / (CHOICE_SCALE * sd)
    return np.asarray(v[chosen] - logsumexp(v, axis=0))


def log_paired(
    stronger: int, asked: int, first: FloatArray, second: FloatArray, sd: FloatArray
) -> FloatArray:
    """Return the log likelihood that so many of those asked find the first stronger.

    Two-alternative forced choice: each with chance Phi((y1 - y2) / (sqrt(2) sd)). The number of
    ways to choose them is left out.

    Source: L. L. Thurstone, A law of comparative judgment, Psychol. Rev. 34 (1927) 273, case V
        (from memory).
    """
    x = (first - second) / (np.sqrt(2) * sd)
    return np.asarray(stronger * log_ndtr(x) + (asked - stronger) * log_ndtr(-x))


def log_ranking(
    places: Sequence[Sequence[int]], ys: Sequence[FloatArray], sd: FloatArray
) -> FloatArray:
    """Return the log chance of an order with ties, strongest first; every tie weight is 1.

    Args:
        places: groups of indices into `ys`; those of one group are tied.
        ys: strengths, (n,) each; five at most are practical.
        sd: scatter of one cup.

    Source: D. Firth, I. Kosmidis & H. Turner, Davidson-Luce model for multi-item choice with
        ties, arXiv 1909.07123, 2019.
    """
    v = np.stack(ys) / (CHOICE_SCALE * sd)
    left = [i for group in places for i in group]
    total = np.zeros(v.shape[1:])
    for group in places:
        if len(left) == 1:
            break
        sets = [
            v[list(s)].mean(axis=0) for n in range(1, len(left) + 1) for s in combinations(left, n)
        ]
        total = total + v[list(group)].mean(axis=0) - logsumexp(np.stack(sets), axis=0)
        left = [i for i in left if i not in group]
    return total


def weak_orders(items: Sequence[int]) -> list[tuple[tuple[int, ...], ...]]:
    """Return every order of the items with ties, strongest first."""
    if not items:
        return [()]
    return [
        (group, *rest)
        for size in range(1, len(items) + 1)
        for group in combinations(items, size)
        for rest in weak_orders([i for i in items if i not in group])
    ]


def correct_share(method: Method, distance: FloatArray) -> FloatArray:
    """Return the share of right answers in a difference test at a distance in sd of one cup.

    Args:
        method: "triangle" (which of three cups is the odd one) or "tetrad" (two and two).
        distance: |y1 - y2| / sd; above 12 as at 12.

    Source: triangle: J. E. R. Frijters, A. Kooistra & P. F. G. Vereijken, Percept. Psychophys. 27
        (1980) 176; test: ISO 4120. Tetrad: J. M. Ennis et al. (from memory).

    Example:
        >>> round(float(correct_share("triangle", np.array(1.0))), 4)
        0.418
    """
    return np.asarray(_curve(method)(np.minimum(distance, _FURTHEST)))


def log_difference(right: int, asked: int, method: Method, distance: FloatArray) -> FloatArray:
    """Return the log likelihood of so many right answers; the number of ways is left out."""
    share = np.clip(correct_share(method, distance), _LEAST_SHARE, 1 - _LEAST_SHARE)
    return np.asarray(right * np.log(share) + (asked - right) * np.log1p(-share))


@lru_cache(maxsize=2)
def _curve(method: Method) -> "CubicSpline":
    from scipy.interpolate import CubicSpline  # noqa: PLC0415 - few logs hold a difference test

    knots = np.linspace(0, _FURTHEST, _KNOTS)
    exact = _triangle if method == "triangle" else _tetrad
    values = [exact(float(d)) for d in knots]
    return CubicSpline(knots, values, bc_type=((1, 0.0), "not-a-knot"))


def _triangle(d: float) -> float:
    r = np.sqrt(2 / 3) * d
    return 2 * _integral(
        lambda u: (ndtr(-u * np.sqrt(3) + r) + ndtr(-u * np.sqrt(3) - r)) * density(u), 0.0
    )


def _tetrad(d: float) -> float:
    def wrong(x: FloatArray) -> FloatArray:
        return density(x) * (2 * ndtr(x) * ndtr(x - d) - ndtr(x - d) ** 2)

    return 1 - 2 * _integral(wrong, -_FURTHEST)


def _integral(f: Callable[[FloatArray], FloatArray], low: float) -> float:
    nodes, weights = _rule()
    half = 0.5 * (_FURTHEST - low)
    return half * float(weights @ f(half * nodes + 0.5 * (_FURTHEST + low)))


@lru_cache(maxsize=1)
def _rule() -> tuple[FloatArray, FloatArray]:
    """Return the nodes and weights of the Gauss-Legendre rule."""
    return np.polynomial.legendre.leggauss(_NODES)


def density(x: FloatArray) -> FloatArray:
    """Return the standard normal density."""
    return np.asarray(np.exp(-0.5 * x * x) / np.sqrt(2 * np.pi))


def log_ladder(
    place: int, glasses: Sequence[FloatArray], ideal: FloatArray, sd: FloatArray
) -> FloatArray:
    """Return the log chance that one of several glasses, rising in strength, is the best liked.

    The glass nearest to a noisy ideal: an ordered probit whose limits lie midway between the
    glasses.
    """
    low, high = ladder_limits(place, glasses)
    return log_between((low - ideal) / sd, (high - ideal) / sd)


def ladder_limits(place: int, glasses: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Return between which ideals a glass is the nearest one; infinite at the ends."""
    here = glasses[place]
    low = 0.5 * (glasses[place - 1] + here) if place else np.full_like(here, -np.inf)
    last = place == len(glasses) - 1
    high = np.full_like(here, np.inf) if last else 0.5 * (here + glasses[place + 1])
    return low, high
