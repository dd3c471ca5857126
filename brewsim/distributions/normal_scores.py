"""Normal scores of many uniform points: the quantile of the standard normal by cubic pieces.

SciPy's `ndtri` takes half the time of a large run. The pieces here are cut by the leading bits of
the smaller tail, so they get narrower towards it and the right one is found without a search.
Values and slopes at their ends are `ndtri`'s own and its exact derivative; between them the
difference stays below 5e-12.
"""

import numpy as np
from scipy.special import ndtri

from brewsim.dims import FloatArray
from brewsim.distributions.score_table import cubics, read_cubics

LEAST = 2.0**-33
"""The smallest tail the pieces reach."""

_BITS = 8
_SHIFT = 52 - _BITS
_FIRST = (1023 - 33) << _BITS
_REST = (1 << _SHIFT) - 1
_ONE = 1023 << 52


def _pieces() -> FloatArray:
    ends = np.arange(_FIRST, ((1023 - 1) << _BITS) + 2, dtype=np.int64) << _SHIFT
    tails = ends.view(float)
    values, widths = ndtri(tails), np.diff(tails)
    slopes = np.sqrt(2 * np.pi) * np.exp(values**2 / 2)
    return cubics(values, slopes[:-1] * widths, slopes[1:] * widths)


_PIECES = _pieces()


def normal_scores(uniform: FloatArray) -> FloatArray:
    """Return the standard normal quantile of points from LEAST to 1 - LEAST; arrays of any shape.

    Outside of these ends the result means nothing.
    """
    tail = np.minimum(uniform, 1.0 - uniform)
    bits = tail.view(np.int64)
    piece = bits >> _SHIFT
    piece -= _FIRST
    within = (((bits & _REST) << _BITS) | _ONE).view(float)
    within -= 1.0
    return np.copysign(read_cubics(_PIECES, piece, within), uniform - 0.5)
