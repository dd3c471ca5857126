"""Targets: which draws land in the limits."""

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.model.problem import Target
from brewsim.study.model.replicates import Flags


def lands(values: FloatArray, target: Target) -> Flags:
    """Return whether each value is inside the target; not finite is not inside."""
    low, high = target.ends
    return np.isfinite(values) & (values >= low) & (values <= high)
