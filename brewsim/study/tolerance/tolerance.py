"""Limits from measured values alone: statistical tolerance intervals, their factors and sizes.

Terms after ISO 16269-6: an interval that holds at least a `content` share of all batches, with
`confidence`. Not to be mixed up with a specification, which is what somebody wants.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import optimize, special

from brewsim.dims import FloatArray
from brewsim.errors import StudyError

FEW_BATCHES = 8


@lru_cache(maxsize=256)
def two_sided_factor(count: int, content: float, confidence: float) -> float:
    """Exact two-sided factor k for a normal sample with unknown mean and standard deviation.

    Solves P(content of mean +- k s >= content) = confidence by integration over the error of
    the mean. Source: definition in ISO 16269-6:2014; integral after Krishnamoorthy & Mathew
    (2009), Statistical Tolerance Regions, section 2.3 (from memory).

    `count` values; `content` and `confidence` between 0 and 1; k is in standard deviations.

    >>> round(two_sided_factor(10, 0.95, 0.95), 2)
    3.39
    """
    _check(count, content, confidence)
    from scipy import integrate  # noqa: PLC0415 - slow to import, and few ask for this

    degrees = count - 1

    def reached(k: float) -> float:
        def integrand(z: float) -> float:
            half = _half_width(abs(z) / math.sqrt(count), content)
            chance = special.chdtrc(degrees, degrees * (half / k) ** 2)
            return float(chance * math.exp(-0.5 * z * z))

        value, _ = integrate.quad(integrand, 0.0, 9.0, limit=200)
        return math.sqrt(2 / math.pi) * value

    guess = _howe(count, content, confidence)
    low, high = 0.5 * guess, 2.0 * guess
    return float(optimize.brentq(lambda k: reached(k) - confidence, low, high, xtol=1e-10))


def _half_width(offset: float, content: float) -> float:
    """Half width r with Phi(offset + r) - Phi(offset - r) = content."""

    def missing(r: float) -> float:
        return float(special.ndtr(offset + r) - special.ndtr(offset - r)) - content

    start = float(special.ndtri(0.5 + content / 2))
    return float(optimize.brentq(missing, 0.0, start + offset + 8.0, xtol=1e-12))


def _howe(count: int, content: float, confidence: float) -> float:
    degrees = count - 1
    chi = special.chdtri(degrees, confidence)
    return float(special.ndtri(0.5 + content / 2) * math.sqrt(degrees * (1 + 1 / count) / chi))


def prediction_factor(count: int, chance: float) -> float:
    """Factor k: the next value lies in mean +- k s with `chance`. Source: Student's t.

    `count` values; `chance` between 0 and 1; k is in standard deviations. Raises StudyError.

    >>> round(prediction_factor(10, 0.95), 2)
    2.37
    """
    return float(special.stdtrit(count - 1, 0.5 + chance / 2) * math.sqrt(1 + 1 / count))


def wilks_sample_size(content: float, confidence: float, *, order: int = 1, sides: int = 1) -> int:
    """Smallest sample whose order statistics hold `content` with `confidence`.

    `order` 1 is the extreme value, 2 the next, and so on; with two sides that many are cut off
    at both ends. Source: Wilks (1941), Ann. Math. Statist. 12, 91-96; coverage of
    [x_r, x_s] is Beta(s - r, n - s + r + 1).

    `content` and `confidence` are between 0 and 1.

    >>> wilks_sample_size(0.95, 0.95)
    59
    """
    cut = order if sides == 1 else 2 * order
    size = cut
    while special.betainc(size - cut + 1, cut, content) > 1 - confidence:
        size += 1
    return size


def order_statistics_confidence(count: int, content: float, *, cut: int) -> float:
    """Confidence that a sample without its `cut` outermost values still holds `content`.

    `count` values, of which `cut` are left out; `content` is between 0 and 1.

    >>> round(order_statistics_confidence(59, 0.95, cut=1), 2)
    0.95
    """
    if cut >= count + 1:
        return 0.0
    return float(1 - special.betainc(count - cut + 1, cut, content))


@dataclass(frozen=True)
class Capability:
    """Process capability: the quantile form of ISO 22514-2 beside its plain name."""

    potential: float
    actual: float
    share_outside: float


def normal_capability(
    mean: float, standard_deviation: float, lower: float | None, upper: float | None
) -> Capability:
    """Return Pp and Ppk of a normal outcome and the share outside the limits.

    Source: ISO 22514-2 (from memory). Called Pp, Ppk where the standard deviation is the overall
    one.

    All four in the unit of the outcome.

    >>> round(normal_capability(5.0, 0.1, lower=4.7, upper=5.3).actual, 2)
    1.0
    """
    reach = 3 * standard_deviation
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    outside = special.ndtr((low - mean) / standard_deviation)
    outside += special.ndtr((mean - high) / standard_deviation)
    actual = min((high - mean) / reach, (mean - low) / reach)
    return Capability((high - low) / (2 * reach), float(actual), float(outside))


def quantile_capability(values: FloatArray, lower: float | None, upper: float | None) -> Capability:
    """Return Pp and Ppk of any outcome from its 0.135, 50 and 99.865 % quantiles.

    Source: ISO 22514-2, quantile form (from memory). `values` is (n,) simulated or measured.

    `lower` and `upper` are in the unit of the values.

    >>> import numpy as np
    >>> round(quantile_capability(np.linspace(4.0, 6.0, 10_001), 4.0, 6.0).potential, 2)
    1.0
    """
    tail_low, middle, tail_high = np.quantile(values, [0.00135, 0.5, 0.99865])
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    actual = min((high - middle) / (tail_high - middle), (middle - low) / (middle - tail_low))
    outside = float(np.mean((values < low) | (values > high)))
    return Capability(float((high - low) / (tail_high - tail_low)), float(actual), outside)


@dataclass(frozen=True)
class LogSummary:
    """What a log of batches alone says about one quantity; on the log scale where `logged`."""

    count: int
    mean: float
    standard_deviation: float
    standard_deviation_low: float
    standard_deviation_high: float
    tolerance_low: float
    tolerance_high: float
    content: float
    confidence: float
    factor: float
    next_low: float
    next_high: float
    control_low: float
    control_high: float
    order_confidence: float
    few: bool


def summarise_log(
    values: FloatArray, *, content: float = 0.95, confidence: float = 0.95, logged: bool = False
) -> LogSummary:
    """Summarise measured values of one quantity; raises StudyError below two values.

    The interval of the standard deviation is the 95 % chi-square interval. Control limits are
    mean +- 3 s: what the process does, not what anybody wants.

    `values` is (n,); `content` and `confidence` are of the tolerance interval.

    >>> import numpy as np
    >>> summarise_log(np.array([5.0, 5.1, 4.9, 5.2])).count
    4
    """
    data = np.asarray(values, dtype=float)
    data = data[np.isfinite(data)]
    count = len(data)
    if count < 2:
        raise StudyError("a spread needs at least two measured batches")
    work = np.log(data) if logged else data
    mean, spread = float(work.mean()), float(work.std(ddof=1))
    degrees = count - 1
    wide = math.sqrt(degrees / special.chdtri(degrees, 0.975))
    tight = math.sqrt(degrees / special.chdtri(degrees, 0.025))
    factor = two_sided_factor(count, content, confidence)
    nearby = prediction_factor(count, content)
    back = np.exp if logged else (lambda x: x)
    return LogSummary(
        count=count,
        mean=float(back(mean)),
        standard_deviation=spread,
        standard_deviation_low=spread * tight,
        standard_deviation_high=spread * wide,
        tolerance_low=float(back(mean - factor * spread)),
        tolerance_high=float(back(mean + factor * spread)),
        content=content,
        confidence=confidence,
        factor=factor,
        next_low=float(back(mean - nearby * spread)),
        next_high=float(back(mean + nearby * spread)),
        control_low=float(back(mean - 3 * spread)),
        control_high=float(back(mean + 3 * spread)),
        order_confidence=order_statistics_confidence(count, content, cut=2),
        few=count < FEW_BATCHES,
    )


def _check(count: int, content: float, confidence: float) -> None:
    if count < 2 or not 0 < content < 1 or not 0 < confidence < 1:
        raise StudyError("a tolerance factor needs 2 or more values and shares between 0 and 1")
