"""Targets: limits of an outcome, and which draws land in them."""

import math
from dataclasses import dataclass
from numbers import Real

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.replicates import Flags


@dataclass(frozen=True, slots=True)
class Target:
    """Limits an outcome should keep to; None where there is no limit on that side.

    In the unit of the outcome. Raises StudyError for limits that are no numbers, or swapped.

    >>> Target(4.8, 5.4).ends
    (4.8, 5.4)
    """

    lower: float | None = None
    upper: float | None = None

    def __post_init__(self) -> None:
        """Refuse limits that are no numbers or that nothing can lie between."""
        for limit in (self.lower, self.upper):
            if not isinstance(limit, Real | None):
                raise StudyError(f"limits of a target are numbers or None, not {limit!r}")
        low, high = self.ends
        if not low <= high:
            raise StudyError(
                f"a target runs from its lower to its upper limit, not {low} to {high}"
            )

    @property
    def ends(self) -> tuple[float, float]:
        """Both limits, infinite where there is none."""
        low = -math.inf if self.lower is None else self.lower
        return low, math.inf if self.upper is None else self.upper


def lands(values: FloatArray, target: Target) -> Flags:
    """Return whether each value is inside the target; not finite is not inside."""
    low, high = target.ends
    return np.isfinite(values) & (values >= low) & (values <= high)
