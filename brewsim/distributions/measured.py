"""What own measurements say about a quantity: its mean, or the next lot's value."""

import math
from collections.abc import Sequence

from brewsim.distributions.base import Distribution
from brewsim.distributions.constructors import normal, student_t, truncated
from brewsim.errors import DistributionError

ENOUGH = 4
"""Values from which their own spread is used: a t with 1 or 2 degrees has no variance."""


def from_measurements(
    values: Sequence[float],
    *,
    known_sd: float | None = None,
    several_lots: bool = False,
    low: float = -math.inf,
    high: float = math.inf,
) -> Distribution:
    """Return what two or more measured values leave open, kept between low and high.

    Of one lot: where its true value lies. Four or more values give a scaled t, scale s / sqrt(n)
    with n - 1 degrees of freedom (JCGM 101:2008, 6.4.9); two or three a normal, `known_sd` /
    sqrt(n), where `known_sd` is the standard deviation one measurement is known to have.

    With `several_lots`: what the next lot may be, with sqrt(1 + 1/n) in place of 1 / sqrt(n);
    `known_sd` is then the known standard deviation from lot to lot.

    Raises DistributionError for fewer than two values, for two or three without `known_sd`, and
    where equal values would claim that there is no spread.

    >>> round(from_measurements([5.4, 5.9, 5.6, 5.5]).median, 6)
    5.6
    """
    count = len(values)
    if count < 2 or not all(math.isfinite(value) for value in values):
        raise DistributionError(
            f"measurements: give two or more finite values, not {list(values)};"
            " write a single one with its spread, as in 5.6 ± 0.3"
        )
    mean = math.fsum(values) / count
    shrink = math.sqrt(1 + 1 / count) if several_lots else math.sqrt(1 / count)
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (count - 1))
    if count >= ENOUGH and spread > 0:
        return truncated(student_t(mean, spread * shrink, count - 1), low, high)
    if known_sd is None:
        raise DistributionError(
            f"measurements: {count} values {'all alike ' if spread == 0 else ''}do not tell their"
            f" own spread; give {ENOUGH} or more different values, or the standard deviation of"
            f" {'a lot' if several_lots else 'one measurement'}"
        )
    return truncated(normal(mean, known_sd * shrink), low, high)
