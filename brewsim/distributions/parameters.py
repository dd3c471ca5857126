"""Parameters of distributions: those that contradict each other are refused in words."""

import math
from collections.abc import Sequence

import numpy as np

from brewsim.errors import DistributionError

_ROUNDING = 1e-9


def finite(name: str, **numbers: object) -> None:
    """Refuse a parameter that is no finite number."""
    for key, number in numbers.items():
        if not isinstance(number, float | int | np.number) or not math.isfinite(number):
            raise DistributionError(f"{name}: {key} must be a finite number, not {number!r}")


def above_zero(name: str, **numbers: float) -> None:
    """Refuse a parameter that is not above 0."""
    finite(name, **numbers)
    for key, number in numbers.items():
        if number <= 0:
            hint = "; for no spread write constant" if key in {"sd", "log_sd", "scale"} else ""
            raise DistributionError(f"{name}: {key} must be above 0, not {number}{hint}")


def in_order(name: str, low: float, high: float) -> None:
    """Refuse limits of which low does not lie below high."""
    finite(name, low=low, high=high)
    if not low < high:
        raise DistributionError(
            f"{name}: low must lie below high, not {low} and {high}; for no spread write constant"
        )


def weighted(name: str, what: str, members: Sequence[object], weights: Sequence[float]) -> None:
    """Refuse probabilities that are not one for each member, or do not add up to 1."""
    if not len(members) or len(members) != len(weights):
        raise DistributionError(
            f"{name}: give one probability for each {what}, not {len(weights)} for {len(members)}"
        )
    total = math.fsum(weights)
    if not all(weight >= 0 for weight in weights) or abs(total - 1) > _ROUNDING:
        raise DistributionError(
            f"{name}: probabilities must be 0 or more and add up to 1, not {total:.6g};"
            " divide each by their sum"
        )
