"""Correlation of normal scores: checked tables, their roots, and what follows from what is known.

A table may be singular: a correlation of 1 or -1 says that two factors are one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from brewsim.dims import FloatArray
from brewsim.errors import StudyError, did_you_mean
from brewsim.study.model.factor import KINDS

_DECIDED = 1e-9
"""Of a unit variance: less than this left means that a member follows from those before it."""


def checked_table(names: tuple[str, ...], matrix: ArrayLike) -> tuple[tuple[float, ...], ...]:
    """Return a table of correlations as numbers; raises StudyError for one that cannot be."""
    size = len(names)
    if len(set(names)) < size:
        raise StudyError("a factor cannot be correlated with itself")
    try:
        table = np.array(matrix, dtype=float)
    except (TypeError, ValueError):
        table = np.empty(0)
    if table.shape != (size, size) or not np.allclose(table, table.T):
        raise StudyError(f"a correlation of {size} factors needs a symmetric {size} x {size} table")
    if not np.allclose(np.diag(table), 1.0):
        raise StudyError("the diagonal of a correlation must be 1")
    if not np.linalg.eigvalsh(table).min() >= -_DECIDED * size:
        raise StudyError(f"the correlations of {', '.join(names)} contradict each other")
    return tuple(tuple(map(float, row)) for row in table)


@dataclass(frozen=True, slots=True)
class Correlation:
    """Correlation of the normal scores of named factors, for one kind.

    The matrix may be any square of numbers; a correlation of 1 or -1 makes two factors one.

    Raises StudyError for a table that cannot be one of correlations.

    >>> Correlation("knowledge", ("a", "b"), ((1.0, 0.8), (0.8, 1.0))).ids
    ('a', 'b')
    """

    kind: str
    ids: tuple[str, ...]
    matrix: tuple[tuple[float, ...], ...]

    def __post_init__(self) -> None:
        """Refuse a kind that there is not, and a table that cannot be one of correlations."""
        if self.kind not in KINDS:
            hint = did_you_mean(str(self.kind), KINDS)
            raise StudyError(f"there is no kind {self.kind}.{hint}")
        object.__setattr__(self, "ids", tuple(self.ids))
        object.__setattr__(self, "matrix", checked_table(self.ids, self.matrix))


def lower_root(covariance: FloatArray) -> FloatArray:
    """Return lower triangular L with L L' = covariance, which may be singular.

    A member that those before it decide gets a column of zeros.
    """
    size = len(covariance)
    lower = np.zeros((size, size))
    scale = max(float(np.diag(covariance).max(initial=0.0)), 1e-300)
    for place in range(size):
        before = lower[place, :place]
        left = covariance[place, place] - before @ before
        if left <= _DECIDED * scale:
            continue
        lower[place, place] = np.sqrt(left)
        below = covariance[place + 1 :, place] - lower[place + 1 :, :place] @ before
        lower[place + 1 :, place] = below / lower[place, place]
    return lower


def given_the_first(covariance: FloatArray, known: int) -> tuple[FloatArray, FloatArray]:
    """Return (weights, root): the others are weights @ the first `known` + root @ fresh normals.

    Source: conditional normal distribution, Anderson, An introduction to multivariate statistical
    analysis, 3rd ed. (2003), section 2.5.
    """
    cross = covariance[known:, :known]
    weights = cross @ np.linalg.pinv(covariance[:known, :known], hermitian=True)
    return weights, lower_root(covariance[known:, known:] - weights @ cross.T)
