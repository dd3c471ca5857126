"""Tables of normal scores, read by cubics."""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray
from scipy import special

from brewsim.dims import FloatArray

CELLS = 2048


REACH = 8.3


TOLERANCE = 5e-9
"""Largest error of a cell, in standard deviations."""


_FINER = 16


_MOST_FINER = 4 * CELLS


_DEEPEST = 3


_WORTH_CUTTING = 3e-5


_CHECKED_AT = (0.25, 0.5)


_NUDGE = 0.0123


_MOST_STEPS = 200


_CLOSE = 1e-13


_NARROW = 1e-15


ScoreMap = Callable[[FloatArray], FloatArray]


ScoreSlope = Callable[[FloatArray, FloatArray], FloatArray]


class ScoreTable:
    """A fast copy of an exact score map between two scores.

    `exact` takes and returns (n,) arrays; `unit` is the standard deviation errors are measured in;
    `limits` are values never to be passed; `slope` gives the map's derivative at scores and their
    values (without it, differences do); `span` and `cells` say where and how finely.
    """

    def __init__(
        self,
        exact: ScoreMap,
        unit: float = 1.0,
        limits: tuple[float, float] = (-np.inf, np.inf),
        slope: ScoreSlope | None = None,
        span: tuple[float, float] = (-REACH, REACH),
        cells: int = CELLS,
        depth: int = 0,
    ) -> None:
        self._exact, self._limits, self._cells = exact, limits, cells
        knots = np.linspace(*span, cells + 1)
        cubic, sound = _cubics(exact, slope, knots, TOLERANCE * unit)
        cubic[:, ~sound] = np.nan
        self._cubic = np.pad(cubic, ((0, 0), (1, 1)), constant_values=np.nan)
        self._per_cell = cells / (span[1] - span[0])
        self._start = 1 - span[0] * self._per_cell
        self._finer = [
            (low, high, ScoreTable(exact, unit, limits, slope, (low, high), count, depth + 1))
            for low, high, count in _worth_cutting(knots, sound)
            if depth < _DEEPEST
        ]

    def read(self, score: FloatArray) -> FloatArray:
        """Return the values at scores of any shape."""
        flat = score.reshape(-1)
        place = flat * self._per_cell
        place += self._start
        np.fmax(place, 0.0, out=place)
        np.fmin(place, self._cells + 1.0, out=place)
        cell = place.astype(np.intp)
        place -= cell
        value = read_cubics(self._cubic, cell, place)
        np.clip(value, *self._limits, out=value)
        unsound = np.isnan(value)
        if unsound.any():
            value[unsound] = self._elsewhere(flat[unsound])
        return value.reshape(score.shape)

    def _elsewhere(self, score: FloatArray) -> FloatArray:
        value, left = np.empty(score.shape), np.ones(score.shape, dtype=bool)
        for low, high, table in self._finer:
            inside = left & (score >= low) & (score <= high)
            if inside.any():
                value[inside] = table.read(score[inside])
                left &= ~inside
        if left.any():
            value[left] = self._exact(score[left])
        return value


def _cubics(
    exact: ScoreMap, slope: ScoreSlope | None, knots: FloatArray, tolerance: float
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return the four coefficients of every cell and whether the cell is accurate."""
    step = float(knots[1] - knots[0])
    nudge = _NUDGE * step
    with np.errstate(all="ignore"):
        x = exact(knots)
        if slope is None:
            rise = (exact(knots + nudge) - exact(knots - nudge)) / (2 * _NUDGE)
        else:
            rise = step * slope(knots, x)
        cubic = cubics(x, rise[:-1], rise[1:])
        sound = np.ones(cubic.shape[1], dtype=bool)
        for part in _CHECKED_AT:
            guess = ((cubic[3] * part + cubic[2]) * part + cubic[1]) * part + cubic[0]
            sound &= np.abs(guess - exact(knots[:-1] + part * step)) <= tolerance
    return cubic, sound


def _worth_cutting(
    knots: FloatArray, sound: NDArray[np.bool_]
) -> Iterator[tuple[float, float, int]]:
    """Return ends and number of finer cells for every run of inaccurate cells often met."""
    edges = np.flatnonzero(np.diff(np.concatenate([[True], sound, [True]])))
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        low, high = float(knots[first]), float(knots[after])
        if abs(special.ndtr(-low) - special.ndtr(-high)) > _WORTH_CUTTING:
            yield low, high, min(_FINER * int(after - first), _MOST_FINER)


def close_in(
    score_of: ScoreMap, wanted: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    """Return where an increasing function of (n,) values passes the wanted scores.

    False position with the Illinois weights, every third step a halving, so that steps and
    plateaus cannot stall it; values already found leave the search. `low` and `high` enclose.
    """
    found = np.array(high)
    open_ = np.flatnonzero(low < high)
    low, high, wanted = low[open_], high[open_], wanted[open_]
    narrow = _NARROW * (high - low)
    under, over = score_of(low) - wanted, score_of(high) - wanted
    for step in range(_MOST_STEPS):
        if not len(open_):
            break
        with np.errstate(all="ignore"):
            share = under / (under - over)
        share = np.where((share > 0) & (share < 1) & (step % 3 != 2), share, 0.5)
        middle = low + share * (high - low)
        miss = score_of(middle) - wanted
        short = miss < 0
        over = np.where(short, over / 2, miss)
        under = np.where(short, miss, under / 2)
        low, high = np.where(short, middle, low), np.where(short, high, middle)
        found[open_] = np.where(np.abs(miss) < _CLOSE, middle, high)
        left = (np.abs(miss) >= _CLOSE) & (high - low > narrow)
        open_, low, high = open_[left], low[left], high[left]
        wanted, under, over, narrow = wanted[left], under[left], over[left], narrow[left]
    return found


def cubics(values: FloatArray, left: FloatArray, right: FloatArray) -> FloatArray:
    """Return the coefficients (4, pieces), lowest power first, on 0 to 1 within each piece.

    `values` (pieces + 1,) stand at the ends, `left` and `right` (pieces,) are the slopes at the
    two ends of each piece, per piece.
    """
    rise = np.diff(values)
    return np.stack([values[:-1], left, 3 * rise - 2 * left - right, left + right - 2 * rise])


def read_cubics(cubic: FloatArray, piece: NDArray[np.intp], within: FloatArray) -> FloatArray:
    """Return the values at places `within` (0 to 1) their pieces; both of any one shape."""
    constant, linear, square, cube = cubic
    value = cube.take(piece, mode="clip")
    for coefficients in (square, linear, constant):
        value *= within
        value += coefficients.take(piece, mode="clip")
    return value
