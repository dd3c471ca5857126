"""Families of distributions: one function each, which checks the parameters.

Each returns a `Distribution`: values from normal scores and back, quantiles, chances, moments.
"""

import math
from collections.abc import Sequence

import numpy as np

from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant, LogNormal, Normal, Triangular, Uniform
from brewsim.distributions.composed import Discrete, Empirical, Mixture
from brewsim.distributions.parameters import above_zero, finite, in_order, weighted
from brewsim.distributions.tabulated import Arcsine, Beta, Gamma, HalfNormal, StudentT
from brewsim.distributions.trapezoid import CurvilinearTrapezoid
from brewsim.distributions.truncation import Truncated
from brewsim.errors import DistributionError

_LEAST_KEPT = 1e-12


def normal(mean: float, sd: float) -> Distribution:
    """Return a normal distribution; raises DistributionError unless sd is above 0.

    >>> normal(5.0, 0.4).mean
    5.0
    """
    finite("normal", mean=mean)
    above_zero("normal", sd=sd)
    return Normal(float(mean), float(sd))


def lognormal(median: float, log_sd: float) -> Distribution:
    """Return a lognormal by its median and the sd of its natural logarithm, both above 0.

    `log_sd` 0.1 is about 10 % either way, in any unit.

    >>> lognormal(15.0, 0.5).median
    15.0
    """
    above_zero("lognormal", median=median, log_sd=log_sd)
    return LogNormal(float(median), float(log_sd))


def uniform(low: float, high: float) -> Distribution:
    """Return a uniform distribution; raises DistributionError unless low lies below high.

    >>> uniform(1.0, 3.0).support
    (1.0, 3.0)
    """
    in_order("uniform", low, high)
    return Uniform(float(low), float(high))


def triangular(low: float, mode: float, high: float) -> Distribution:
    """Return a triangular distribution; the mode may sit at either end.

    >>> round(triangular(5.0, 5.5, 6.2).mean, 3)
    5.567
    """
    in_order("triangular", low, high)
    if not low <= mode <= high:
        raise DistributionError(
            f"triangular: the mode {mode} must lie between low {low} and high {high};"
            " write low, mode, high in that order"
        )
    return Triangular(float(low), float(mode), float(high))


def beta(a: float, b: float, low: float = 0.0, high: float = 1.0) -> Distribution:
    """Return a beta distribution by its two shapes, stretched from low to high.

    >>> beta(2.0, 3.0).mean
    0.4
    """
    above_zero("beta", a=a, b=b)
    in_order("beta", low, high)
    return Beta(float(a), float(b), float(low), float(high))


def beta_from_moments(mean: float, sd: float) -> Distribution:
    """Return the beta distribution on 0 to 1 that has this mean and standard deviation.

    >>> round(beta_from_moments(0.75, 0.02).standard_deviation, 4)
    0.02
    """
    above_zero("beta", sd=sd)
    if not 0 < mean < 1:
        raise DistributionError(
            f"beta: the mean must lie between 0 and 1, not {mean};"
            " write per cent as a fraction, or use lognormal for a quantity without upper limit"
        )
    largest = math.sqrt(mean * (1 - mean))
    if sd >= largest:
        raise DistributionError(
            f"beta: with mean {mean} the sd must be below {largest:.4g}, not {sd}"
        )
    if sd < 1e-9 * largest:
        raise DistributionError(f"beta: an sd of {sd} is no spread; use constant")
    size = mean * (1 - mean) / sd**2 - 1
    return beta(mean * size, (1 - mean) * size)


def gamma(shape: float, scale: float) -> Distribution:
    """Return a gamma distribution; mean shape x scale, sd sqrt(shape) x scale.

    >>> gamma(4.0, 0.5).mean
    2.0
    """
    above_zero("gamma", shape=shape, scale=scale)
    return Gamma(float(shape), float(scale))


def student_t(location: float, scale: float, degrees: float) -> Distribution:
    """Return a moved and scaled t (JCGM 101 6.4.9); no variance at 2 degrees or fewer.

    >>> student_t(5.0, 0.2, 9.0).median
    5.0
    """
    finite("student_t", location=location)
    above_zero("student_t", scale=scale, degrees=degrees)
    return StudentT(float(location), float(scale), float(degrees))


def arcsine(low: float, high: float) -> Distribution:
    """Return an arcsine distribution (JCGM 101 6.4.6): a value that swings like a sine.

    >>> arcsine(2.0, 4.0).median
    3.0
    """
    in_order("arcsine", low, high)
    return Arcsine(float(low), float(high))


def curvilinear_trapezoid(low: float, high: float, half_width_error: float) -> Distribution:
    """Return a uniform whose ends are each off by up to half_width_error (JCGM 101 6.4.3).

    >>> curvilinear_trapezoid(9.0, 11.0, 0.5).support
    (8.5, 11.5)
    """
    in_order("curvilinear_trapezoid", low, high)
    above_zero("curvilinear_trapezoid", half_width_error=half_width_error)
    if half_width_error >= (high - low) / 2:
        raise DistributionError(
            f"curvilinear_trapezoid: half_width_error {half_width_error} must be below half of"
            f" {low} to {high}; ends as unsure as that call for triangular or normal"
        )
    return CurvilinearTrapezoid(float(low), float(high), float(half_width_error))


def half_normal(sd: float) -> Distribution:
    """Return the size of a normal around 0; sd is that normal's, not the result's.

    >>> round(half_normal(1.0).mean, 4)
    0.7979
    """
    above_zero("half_normal", sd=sd)
    return HalfNormal(float(sd))


def constant(value: float) -> Distribution:
    """Return a distribution without spread.

    >>> constant(60.0).standard_deviation
    0.0
    """
    finite("constant", value=value)
    return Constant(float(value))


def discrete(values: Sequence[float], probabilities: Sequence[float]) -> Distribution:
    """Return a distribution over a few values; those given twice are added up.

    >>> discrete([0.0, 1.0], [0.9, 0.1]).mean
    0.1
    """
    weighted("discrete", "value", values, probabilities)
    mass: dict[float, float] = {}
    for value, probability in zip(values, probabilities, strict=True):
        finite("discrete", value=value)
        mass[float(value)] = mass.get(float(value), 0.0) + float(probability)
    kept = sorted((value, chance) for value, chance in mass.items() if chance > 0)
    return Discrete(tuple(value for value, _ in kept), tuple(chance for _, chance in kept))


def bernoulli(probability: float) -> Distribution:
    """Return an event: 1 with the probability, else 0.

    >>> bernoulli(0.02).mean
    0.02
    """
    if not 0 <= probability <= 1:
        raise DistributionError(
            f"bernoulli: a probability lies between 0 and 1, not {probability}; write 2 % as 0.02"
        )
    return discrete([0.0, 1.0], [1 - probability, probability])


def mixture(components: Sequence[Distribution], weights: Sequence[float]) -> Distribution:
    """Return one of several distributions by weight; of certain values only, a discrete one.

    >>> round(mixture([normal(0.0, 1.0), normal(4.0, 1.0)], [0.75, 0.25]).mean, 6)
    1.0
    """
    weighted("mixture", "component", components, weights)
    for component in components:
        if not isinstance(component, Distribution):
            raise DistributionError(f"mixture: {component!r} is no distribution; constant(...) is")
    kept = [(c, float(w)) for c, w in zip(components, weights, strict=True) if w > 0]
    if all(isinstance(component, Constant | Discrete) for component, _ in kept):
        pairs = [(value, w * chance) for c, w in kept for value, chance in c.atoms]
        return discrete([value for value, _ in pairs], [chance for _, chance in pairs])
    if len(kept) == 1:
        return kept[0][0]
    return Mixture(tuple(component for component, _ in kept), tuple(w for _, w in kept))


def empirical(values: Sequence[float]) -> Distribution:
    """Return the distribution of two or more measured values, not all the same.

    >>> empirical([5.4, 5.9, 5.6]).median
    5.6
    """
    for value in values:
        finite("empirical", value=value)
    ordered = sorted(map(float, values))
    if len(ordered) < 2 or ordered[0] == ordered[-1]:
        raise DistributionError(
            "empirical: give two or more different values; for a single one write constant,"
            " or normal with its measurement error"
        )
    return Empirical(tuple(ordered))


def truncated(
    distribution: Distribution, low: float = -math.inf, high: float = math.inf
) -> Distribution:
    """Return the distribution kept between low and high, exactly, both ends included.

    >>> truncated(normal(0.8, 0.1), high=1.0).support[1]
    1.0
    """
    if math.isnan(low) or math.isnan(high) or not low < high:
        raise DistributionError(f"truncated: low must lie below high, not {low} and {high}")
    first, last = distribution.support
    if low <= first and high >= last:
        return distribution
    if isinstance(distribution, Constant | Discrete):
        inside = [(v, p) for v, p in distribution.atoms if low <= v <= high]
        total = _enough(sum(p for _, p in inside), distribution, low, high)
        return discrete([v for v, _ in inside], [p / total for _, p in inside])
    if isinstance(distribution, Mixture):
        pairs = list(zip(distribution.components, distribution.weights, strict=True))
        kept = [(c, w * _mass(c, low, high)) for c, w in pairs]
        kept = [(c, w) for c, w in kept if w > 0]
        total = _enough(sum(w for _, w in kept), distribution, low, high)
        whole = [(c, w / total) for c, w in kept if w / total > _LEAST_KEPT]
        share = sum(w for _, w in whole)
        return mixture([truncated(c, low, high) for c, _ in whole], [w / share for _, w in whole])
    if isinstance(distribution, Truncated):
        return truncated(
            distribution.whole, max(low, distribution.low), min(high, distribution.high)
        )
    _enough(_mass(distribution, low, high), distribution, low, high)
    return Truncated(distribution, float(low), float(high))


def _mass(distribution: Distribution, low: float, high: float) -> float:
    below, above = distribution.chances(np.array([low, high]))
    gap = above[0] - above[1] if above[0] < below[1] else below[1] - below[0]
    return float(gap) + sum(chance for atom, chance in distribution.atoms if atom == low)


def _enough(mass: float, distribution: Distribution, low: float, high: float) -> float:
    if mass < _LEAST_KEPT:
        raise DistributionError(
            f"truncated: {distribution} has nothing between {low} and {high}; its median is"
            f" {distribution.median:.6g}: correct the limits or the distribution"
        )
    return mass
