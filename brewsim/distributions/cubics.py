"""Cubic pieces from values and slopes at their ends (Hermite), and reading many of them at once."""

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray


def cubics(values: FloatArray, left: FloatArray, right: FloatArray) -> FloatArray:
    """Return the coefficients (pieces, 4), lowest power first, on 0 to 1 within each piece.

    `values` (pieces + 1,) stand at the ends, `left` and `right` (pieces,) are the slopes at the
    two ends of each piece, per piece.
    """
    rise = np.diff(values)
    cubic = [values[:-1], left, 3 * rise - 2 * left - right, left + right - 2 * rise]
    return np.stack(cubic, axis=-1)


def read_cubics(cubic: FloatArray, piece: NDArray[np.integer], within: FloatArray) -> FloatArray:
    """Return the values at places `within` (0 to 1) their pieces; both of any one shape.

    A piece's coefficients lie side by side, so that one reach into memory gets all four.
    """
    constant, linear, square, cube = np.moveaxis(cubic.take(piece, axis=0, mode="clip"), -1, 0)
    value: FloatArray = cube * within
    for coefficients in (square, linear):
        value += coefficients
        value *= within
    value += constant
    return value
