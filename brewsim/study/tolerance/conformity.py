"""Does a measured value conform, and how often is the verdict wrong.

Terms after JCGM 106:2012: tolerance limits are what is wanted, acceptance limits what a measured
value is held against, the guard band lies between.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy import optimize, special

from brewsim.dims import FloatArray
from brewsim.study.model.targets import Target, lands


def conformance_probability(value: float, uncertainty: float, target: Target) -> float:
    """Chance that the true value lies in the target, given a measured value, vague prior.

    Source: JCGM 106:2012, 7.2 to 7.4. `uncertainty` is the standard uncertainty of `value`.

    All in the unit of the value.

    >>> round(conformance_probability(5.3, 0.1, Target(4.8, 5.4)), 2)
    0.84
    """
    low, high = ((end - value) / uncertainty for end in target.ends)
    return float(special.ndtr(high) - special.ndtr(low))


def acceptance_limits(target: Target, uncertainty: float, chance: float) -> Target:
    """Return limits for a measured value inside which it conforms with at least `chance`.

    The guard band is the same at both limits; where the window is too narrow for the wanted
    chance, both limits meet in its middle. Source: JCGM 106:2012, 8.3.

    `target` and `uncertainty` are in one unit; `chance` is between 0 and 1.

    >>> round(acceptance_limits(Target(4.8, 5.4), 0.05, 0.95).upper, 3)
    5.318
    """
    band = float(special.ndtri(chance)) * uncertainty
    if target.lower is None or target.upper is None:
        lower = None if target.lower is None else target.lower + band
        upper = None if target.upper is None else target.upper - band
        return Target(lower, upper)
    middle = (target.lower + target.upper) / 2
    half = (target.upper - target.lower) / 2

    def missing(edge: float) -> float:
        return conformance_probability(middle + edge, uncertainty, target) - chance

    if missing(0.0) <= 0:
        return Target(middle, middle)
    edge = optimize.brentq(missing, 0.0, half + 8 * uncertainty)
    return Target(middle - edge, middle + edge)


@dataclass(frozen=True)
class Risks:
    """Global risks: a false pass (consumer's) and a false reject (producer's)."""

    consumer: float
    producer: float


def simulated_risks(
    values: FloatArray, uncertainty: float, target: Target, accepted: Target
) -> Risks:
    """Return the risks for simulated true values (n,), a normal error of measuring integrated out.

    Source: JCGM 106:2012, 9.5.

    `values`, the standard `uncertainty` of a reading, `target` and the `accepted` limits of a
    reading are in one unit.

    >>> import numpy as np
    >>> limits = Target(4.8, 5.4)
    >>> simulated_risks(np.array([5.0, 5.2]), 0.01, limits, limits).consumer
    0.0
    """
    low, high = accepted.ends
    passing = special.ndtr((high - values) / uncertainty)
    passing -= special.ndtr((low - values) / uncertainty)
    good = lands(values, target)
    return Risks(
        consumer=float(np.mean(passing * ~good)), producer=float(np.mean((1 - passing) * good))
    )


def expected_conformance(
    values: FloatArray, value: float, uncertainty: float, target: Target
) -> float:
    """Chance that the true value lies in the target, given a reading and simulated values (n,).

    The simulated values are the prior, weighed by how well each explains the reading; nan where
    none does. Source: JCGM 106:2012, 6.3 (Bayes' theorem).

    `value`, its standard `uncertainty` and `target` are in the unit of `values`.

    >>> import numpy as np
    >>> expected_conformance(np.array([5.0, 5.2]), 5.1, 0.1, Target(4.8, 5.4))
    1.0
    """
    z = (values - value) / uncertainty
    weight = np.exp(-0.5 * np.where(np.isfinite(z), z, np.inf) ** 2)
    total = float(weight.sum())
    return float((weight * lands(values, target)).sum() / total) if total > 0 else math.nan
