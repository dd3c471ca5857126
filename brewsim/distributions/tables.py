"""Score maps read from a table: cubic Hermite on equal cells of the normal score.

A cell is used only where it was checked to be accurate when the table was made; in every other
cell, and beyond the table, the exact map is asked. Steps and kinks therefore stay exact.
"""

from collections.abc import Callable

import numpy as np
from scipy import special

from brewsim.dims import FloatArray

CELLS = 2048
MOST_CELLS = 16 * CELLS
REACH = 8.3
TOLERANCE = 5e-9
"""Largest error of a cell, in standard deviations."""

_SLOW_SHARE = 2e-3
_CHECKED_AT = (0.25, 0.5)
_NUDGE = 1e-4

ScoreMap = Callable[[FloatArray], FloatArray]


class ScoreTable:
    """A fast copy of an exact score map on |z| <= 8.3.

    `exact` takes and returns (n,) arrays; `unit` is the standard deviation errors are measured in;
    `limits` are values never to be passed. Cells are halved until the exact map is needed for less
    than 2 in 1,000 draws, or there are 32,768 of them.
    """

    def __init__(
        self,
        exact: ScoreMap,
        unit: float = 1.0,
        limits: tuple[float, float] = (-np.inf, np.inf),
    ) -> None:
        self._exact = exact
        self._limits = limits
        cells = CELLS
        while True:
            knots = np.linspace(-REACH, REACH, cells + 1)
            cubic, sound = _cubics(exact, knots, TOLERANCE * unit)
            slow = float(np.diff(special.ndtr(knots))[~sound].sum())
            if slow < _SLOW_SHARE or cells == MOST_CELLS:
                break
            cells *= 2
        self.cells = cells
        self.slow_share = slow
        cubic[:, ~sound] = np.nan
        self._cubic = np.pad(cubic, ((0, 0), (1, 1)), constant_values=np.nan)
        self._per_cell = cells / (2 * REACH)
        self._start = REACH * self._per_cell + 1

    def read(self, score: FloatArray) -> FloatArray:
        """Return the values at scores of any shape."""
        flat = score.reshape(-1)
        place = flat * self._per_cell
        place += self._start
        np.fmax(place, 0.0, out=place)
        np.fmin(place, self.cells + 1.0, out=place)
        cell = place.astype(np.intp)
        place -= cell
        constant, linear, square, cube = self._cubic
        value = cube.take(cell)
        for coefficients in (square, linear, constant):
            value *= place
            value += coefficients.take(cell)
        np.clip(value, *self._limits, out=value)
        unsound = np.isnan(value)
        if unsound.any():
            value[unsound] = self._exact(flat[unsound])
        return value.reshape(score.shape)


def _cubics(
    exact: ScoreMap, knots: FloatArray, tolerance: float
) -> tuple[FloatArray, np.ndarray[tuple[int, ...], np.dtype[np.bool_]]]:
    """Return the four coefficients of every cell and whether the cell is accurate."""
    step = float(knots[1] - knots[0])
    with np.errstate(all="ignore"):
        x = exact(knots)
        slope = (exact(knots + _NUDGE) - exact(knots - _NUDGE)) * (step / (2 * _NUDGE))
        rise, left, right = np.diff(x), slope[:-1], slope[1:]
        cubic = np.stack([x[:-1], left, 3 * rise - 2 * left - right, left + right - 2 * rise])
        sound = np.ones(len(rise), dtype=bool)
        for part in _CHECKED_AT:
            guess = ((cubic[3] * part + cubic[2]) * part + cubic[1]) * part + cubic[0]
            sound &= np.abs(guess - exact(knots[:-1] + part * step)) <= tolerance
    return cubic, sound
