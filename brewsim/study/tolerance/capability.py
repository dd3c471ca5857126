"""Process capability of simulated outcomes and of measured batches, with its sampling error.

The quantile form asks for the 0.135 and 99.865 % quantiles, which few draws cannot give; outcomes
that are felt in folds use the normal form on their own scale instead.
"""

import math
from dataclasses import dataclass

import numpy as np

from brewsim.dims import FloatArray, Scale
from brewsim.study.model.replicates import half_width
from brewsim.study.model.targets import Target, lands
from brewsim.study.propagation.figures import on_scale
from brewsim.study.tolerance.tolerance import normal_capability, quantile_capability

_Z90 = 1.645
ENOUGH_DRAWS = 65_536
"""Below this many draws the 99.865 % quantile rests on fewer than 90 of them."""


@dataclass(frozen=True)
class SimulatedCapability:
    """Pp and Ppk (nan without limits on both sides, or where nothing is inside) and their errors.

    `outside` is the share beyond the limits. `form` tells how they were found; `few` that there
    were too few draws for the quantile form to be trusted.
    """

    potential: float
    potential_error: float
    actual: float
    actual_error: float
    outside: float
    outside_error: float
    form: str
    few: bool


def simulated_capability(
    values: FloatArray, target: Target, *, scale: Scale = "linear", replicates: int = 8
) -> SimulatedCapability:
    """Return the capability of draws (n,), equal replicates one after the other.

    Errors are half widths of 95 % t intervals over the replicates. Draws that are not finite
    count as outside. Source: ISO 22514-2, quantile form (from memory).
    """
    parts = values.reshape(replicates, -1)
    pooled = _figures(values, target, scale)
    spread = half_width(np.array([_figures(part, target, scale) for part in parts]))
    return SimulatedCapability(
        potential=float(pooled[0]),
        potential_error=float(spread[0]),
        actual=float(pooled[1]),
        actual_error=float(spread[1]),
        outside=float(pooled[2]),
        outside_error=float(spread[2]),
        form="quantiles" if scale == "linear" else "normal on the log scale",
        few=scale == "linear" and values.size < ENOUGH_DRAWS,
    )


@dataclass(frozen=True)
class MeasuredCapability:
    """Pp and Ppk from the whole spread of batches, Cp and Cpk from the spread inside subgroups.

    Each is nan where it has no limits. The ends hold the true Ppk in nine logs of ten.
    """

    potential: float
    actual: float
    actual_low: float
    actual_high: float
    short_potential: float
    short_actual: float


def measured_capability(
    values: FloatArray, target: Target, within: float, *, scale: Scale = "linear"
) -> MeasuredCapability:
    """Return the capability of measured batches (n,); `within` is the spread inside subgroups.

    Normal, on the outcome's own scale, on which `within` is too. Source: NIST/SEMATECH e-Handbook
    6.1.6, its confidence limits of Cpk too.

    >>> import numpy as np
    >>> made = np.array([14.0, 18.0, 16.0, 16.0])
    >>> round(measured_capability(made, Target(8.0, 20.0), 2.0).short_actual, 4)
    0.6667
    """
    work = on_scale(values, scale)
    limits = [_limit(target.lower, scale), _limit(target.upper, scale)]
    middle, count = float(work.mean()), len(work)
    found = [
        normal_capability(middle, spread, *limits) if spread > 0 else None
        for spread in (float(work.std(ddof=1)), within)
    ]
    both = [math.nan if f is None or math.isinf(f.potential) else f.potential for f in found]
    one = [math.nan if f is None or math.isinf(f.actual) else f.actual for f in found]
    half = _Z90 * math.sqrt(1 / (9 * count) + one[0] ** 2 / (2 * (count - 1)))
    return MeasuredCapability(both[0], one[0], one[0] - half, one[0] + half, both[1], one[1])


def _figures(values: FloatArray, target: Target, scale: Scale) -> FloatArray:
    good = np.isfinite(values)
    outside = 1 - float(np.mean(lands(values, target)))
    kept = on_scale(values[good], scale)
    kept = kept[np.isfinite(kept)]
    if kept.size < 3 or kept.min() == kept.max():
        return np.array([np.nan, np.nan, outside])
    limits = [_limit(target.lower, scale), _limit(target.upper, scale)]
    if scale == "linear":
        found = quantile_capability(kept, *limits)
    else:
        found = normal_capability(float(kept.mean()), float(kept.std(ddof=1)), *limits)
    both = found.potential if math.isfinite(found.potential) else math.nan
    one = found.actual if math.isfinite(found.actual) else math.nan
    return np.array([both, one, outside])


def _limit(value: float | None, scale: Scale) -> float | None:
    """Return a limit on the outcome's scale; one at or below 0 is none there."""
    if value is None or scale == "linear":
        return value
    return float(on_scale(np.array(value), scale)) if value > 0 else None
