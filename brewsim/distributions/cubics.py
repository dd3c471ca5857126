"""Cubic pieces from values and slopes at their ends (Hermite), and reading many of them at once."""

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray


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
