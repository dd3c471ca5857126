"""From a phrase to a distribution: what was stated, with the prior's spread where none was."""

import math
from dataclasses import replace

from brewsim.distributions import constructors as f
from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import LogNormal, Normal, Triangular, Uniform
from brewsim.distributions.tabulated import Beta
from brewsim.distributions.truncation import Truncated
from brewsim.quantities.statement import Z90, Phrase

_UNLIMITED = (-math.inf, math.inf)


_SHARE = (0.0, 1.0)


_HALF = 0.5


_ENDS_APART = 2.5
"""Standard deviations to the whole: cut off there, the median moves by less than 0.01 of one."""


def apply(
    phrase: Phrase, prior: Distribution | None, limits: tuple[float, float] = _UNLIMITED
) -> Distribution:
    """Return the distribution a phrase means; `limits` are what is physically possible.

    A plain value moves the prior's median there and keeps its relative spread; without a prior it
    is exact. Raises ValueError for a one-sided phrase, which is no spread.
    """
    kind, middle = phrase.kind, phrase.middle
    if kind in ("at_most", "at_least"):
        raise ValueError("a limit is not a spread; write a value, a range, or value ± spread")
    if kind in ("exactly", "plain"):
        exact = kind == "exactly" or prior is None
        return f.constant(middle) if exact or prior is None else moved(prior, middle, limits)
    if kind == "measured":
        return _measured(phrase, prior, limits)
    return _kept(_shape(phrase), limits)


def _shape(phrase: Phrase) -> Distribution:
    """Return the distribution of a phrase that states its own spread, before any limit."""
    middle = phrase.middle
    if phrase.kind == "factor":
        return f.lognormal(middle, math.log(phrase.factor or 1.0) / Z90)
    if phrase.kind == "sd":
        return f.normal(middle, phrase.sd) if phrase.sd else f.constant(middle)
    if phrase.low is None or phrase.high is None:
        raise ValueError("a range needs two ends")
    low, high = phrase.low, phrase.high
    if low == high:
        return f.constant(low)
    if phrase.kind == "uniform":
        return f.uniform(low, high)
    if phrase.kind == "triangular":
        return f.triangular(low, middle, high)
    return f.normal((low + high) / 2, (high - low) / 2 / Z90)


def _kept(distribution: Distribution, limits: tuple[float, float]) -> Distribution:
    """Return the distribution inside the limits, as it is where they do not cut into it."""
    low, high = limits
    inner_low, inner_high = distribution.support
    if low <= inner_low and high >= inner_high:
        return distribution
    return f.truncated(distribution, low, high)


def _measured(
    phrase: Phrase, prior: Distribution | None, limits: tuple[float, float]
) -> Distribution:
    count = len(phrase.values)
    mean = sum(phrase.values) / count
    spread = math.sqrt(sum((v - mean) ** 2 for v in phrase.values) / (count - 1))
    if spread == 0:
        return f.constant(mean)
    if phrase.lots:
        return _kept(
            f.student_t(mean, spread * math.sqrt(1 + 1 / count), max(count - 1, 3)), limits
        )
    if count >= 4:
        return _kept(f.student_t(mean, spread / math.sqrt(count), count - 1), limits)
    sd = spread
    if prior is not None and prior.median:
        sd = abs(prior.standard_deviation * mean / prior.median) or spread
    return _kept(f.normal(mean, sd / math.sqrt(count)), limits)


def moved(
    prior: Distribution, middle: float, limits: tuple[float, float] = _UNLIMITED
) -> Distribution:
    """Return the prior with its median at `middle` and its relative spread kept.

    A share above a half is relative to what is left to the whole, too, so that its median stays
    where it was stated and nothing lies beyond 1.
    """
    if isinstance(prior, Truncated):
        return _kept(moved(prior.whole, middle, limits), limits)
    if middle == 0 or prior.median == 0:
        return f.constant(middle)
    if limits == _SHARE and middle > _HALF and 0 < prior.median < 1 and not isinstance(prior, Beta):
        return _near_the_whole(prior, middle)
    ratio = middle / prior.median
    if isinstance(prior, Beta) and 0 < middle < 1:
        mean, sd = prior.mean, prior.standard_deviation
        return f.beta_from_moments(middle, sd * middle * (1 - middle) / (mean * (1 - mean)))
    if isinstance(prior, Normal):
        return _kept(f.normal(middle, prior.scale * abs(ratio)), limits)
    return _kept(_times(prior, ratio), limits)


def _near_the_whole(prior: Distribution, middle: float) -> Distribution:
    """Return a share above a half, spread as the prior is on the odds, at most to the whole."""
    if middle >= 1:
        return f.constant(middle)
    usual = prior.median
    spread = prior.standard_deviation * middle * (1 - middle) / (usual * (1 - usual))
    return _kept(f.normal(middle, min(spread, (1 - middle) / _ENDS_APART)), _SHARE)


def _times(prior: Distribution, ratio: float) -> Distribution:
    """Return a distribution of positive values with every value times a positive ratio."""
    if ratio > 0 and isinstance(prior, LogNormal):
        return replace(prior, middle=prior.middle * ratio)
    if ratio > 0 and isinstance(prior, Triangular):
        return f.triangular(prior.low * ratio, prior.mode * ratio, prior.high * ratio)
    if ratio > 0 and isinstance(prior, Uniform):
        return f.uniform(prior.low * ratio, prior.high * ratio)
    return f.constant(prior.median * ratio)
