"""Coverage intervals of values, and shares between 0 and 1."""

from typing import Literal

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError


def coverage_interval(
    values: FloatArray, p: float, kind: Literal["symmetric", "shortest"] = "symmetric"
) -> tuple[float, float]:
    """Return the interval holding a share p of the values, (n,).

    Symmetric leaves (1 - p) / 2 on each side. Source: JCGM 101:2008, 7.7 and 5.3.4 (shortest).
    Raises StudyError for p outside 0 to 1 or values that are not finite.
    """
    check_share("coverage", p)
    if not np.isfinite(values).all():
        raise StudyError("an interval needs finite values")
    if kind == "symmetric":
        low, high = np.quantile(values, [(1 - p) / 2, (1 + p) / 2])
        return float(low), float(high)
    ordered = np.sort(values)
    span = min(int(p * len(ordered) + 0.5), len(ordered) - 1)
    start = int(np.argmin(ordered[span:] - ordered[: len(ordered) - span]))
    return float(ordered[start]), float(ordered[start + span])


def check_share(what: str, share: float) -> None:
    """Raise StudyError for a share that is not between 0 and 1."""
    if not 0 < share < 1:
        raise StudyError(f"{what} is a share between 0 and 1, not {share}")
