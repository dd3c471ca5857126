"""Score maps read from a table: cubic Hermite in z, exact outside the tabulated range."""

from collections.abc import Callable

import numpy as np

from brewsim.dims import FloatArray

CELLS = 2048
REACH = 8.3

Exact = Callable[[FloatArray], FloatArray]

_TABLES: dict[str, "ScoreTable"] = {}


class ScoreTable:
    """x(z) on equal cells of |z| <= 8.3 as cubics; the exact map beyond."""

    def __init__(self, exact: Exact) -> None:
        self._exact = exact
        knots = np.linspace(-REACH, REACH, CELLS + 1)
        step = knots[1] - knots[0]
        x = exact(knots)
        fine = step * 1e-2
        slope = (
            (
                8 * (exact(knots + fine) - exact(knots - fine))
                - (exact(knots + 2 * fine) - exact(knots - 2 * fine))
            )
            / (12 * fine)
            * step
        )
        rise = np.diff(x)
        left, right = slope[:-1], slope[1:]
        self._coefficients = np.ascontiguousarray(
            np.stack([x[:-1], left, 3 * rise - 2 * left - right, left + right - 2 * rise])
        )
        self._per_cell = 1 / step

    def read(self, score: FloatArray) -> FloatArray:
        """Return x for scores of any shape."""
        place = (score + REACH) * self._per_cell
        with np.errstate(invalid="ignore"):
            cell = np.clip(place.astype(np.intp), 0, CELLS - 1)
        part = place - cell
        c = self._coefficients
        x = c[0][cell] + part * (c[1][cell] + part * (c[2][cell] + part * c[3][cell]))
        if score.size and (score.min() < -REACH or score.max() > REACH):
            far = np.abs(score) > REACH
            x = np.where(far, self._exact(score), x)
        return x


def score_table(fingerprint: str, exact: Exact) -> ScoreTable:
    """Return the table of a score map, made once per fingerprint."""
    if fingerprint not in _TABLES:
        _TABLES[fingerprint] = ScoreTable(exact)
    return _TABLES[fingerprint]
