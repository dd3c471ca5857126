"""Scrambled Sobol' points, bit for bit those of SciPy, without importing its statistics.

`scipy.stats` costs half a second to import, and its points come in rows that a study has to turn
into columns. The direction numbers are read from SciPy's own file.
"""

from functools import cache
from pathlib import Path

import numpy as np
import scipy
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.errors import StudyError

_BITS = 30
_STEP = 2.0**-_BITS
_LOW = 256
_ROUND_UP = 512
_FILE = Path(scipy.__file__).with_name("stats") / "_sobol_direction_numbers.npz"

Words = NDArray[np.uint32]


class SobolSequence:
    """A Sobol' sequence with a random linear scramble and a digital shift.

    The scramble is Matousek's (J. Complexity 14, 1998), the direction numbers are those of Joe &
    Kuo (SIAM J. Sci. Comput. 30, 2008). The same `rng` gives the points that
    `scipy.stats.qmc.Sobol` gives.

    Example:
        >>> SobolSequence(2, np.random.default_rng(1)).random(4).shape
        (4, 2)
    """

    def __init__(self, dimension: int, rng: np.random.Generator) -> None:
        (rng,) = rng.spawn(1)
        bits = 1 << np.arange(_BITS, dtype=np.uint32)
        drawn = rng.integers(2, size=(dimension, _BITS), dtype=np.uint32)
        lower = rng.integers(2, size=(dimension, _BITS, _BITS), dtype=np.uint32)
        self._shift = (drawn * bits).sum(axis=1, dtype=np.uint32)
        self._directions = _scrambled(directions(dimension), lower)
        self._next = 0

    def fast_forward(self, rows: int) -> None:
        """Leave out the next rows."""
        self._next += rows

    def columns(self, rows: int) -> "Columns":
        """Return the next rows, coordinate by coordinate."""
        if self._next + rows > 1 << _BITS:
            raise StudyError(f"a sequence has 2**{_BITS} points, not more")
        found = Columns(self._directions, self._shift, self._next, rows)
        self._next += rows
        return found

    def random(self, rows: int) -> FloatArray:
        """Return the next rows, (rows, dimension), multiples of 2**-30 from 0 to below 1."""
        found = self.columns(rows)
        points = np.empty((rows, len(self._shift)))
        for coordinate in range(len(self._shift)):
            points[:, coordinate] = found[coordinate]
        return points


class Columns:
    """Rows of a sequence, of which a coordinate is made when it is asked for.

    Point i is the exclusive or of the direction numbers at the ones of i's Gray code. The code of
    a sum of disjoint bits is that of its parts, so two small tables make all points.
    """

    def __init__(self, words: Words, shift: Words, start: int, rows: int) -> None:
        low = min(_LOW, 1 << max(rows - 1, 1).bit_length())
        first, last = start // low, -(-(start + rows) // low)
        self._low = _at(words, np.arange(low))
        self._high = _at(words, np.arange(first, last) * low) ^ shift[:, None]
        self._part = slice(start - first * low, start - first * low + rows)

    def __getitem__(self, coordinate: int) -> FloatArray:
        """Return one coordinate of all rows, (rows,)."""
        table = self._high[coordinate][:, None] ^ self._low[coordinate]
        return np.multiply(table.reshape(-1)[self._part], _STEP, dtype=np.float64)


def _at(words: Words, places: NDArray[np.int64]) -> Words:
    """Return the exclusive or of direction numbers at the Gray code of each place."""
    code = (places ^ (places >> 1)).astype(np.uint32)
    found = np.zeros((len(words), len(places)), dtype=np.uint32)
    for bit in range(int(code.max(initial=0)).bit_length()):
        found ^= words[:, bit, None] * ((code >> np.uint32(bit)) & np.uint32(1))
    return found


def _scrambled(words: Words, lower: Words) -> Words:
    """Return direction numbers times lower triangular matrices of bits with ones on the diagonal.

    Rows and columns of a matrix run from the highest bit down; whole numbers up to 30 are exact
    in single precision.
    """
    falling = np.arange(_BITS - 1, -1, -1, dtype=np.uint32)
    matrix = np.tril(lower).astype(np.float32)
    matrix[:, np.arange(_BITS), np.arange(_BITS)] = 1.0
    digits = ((words[:, None, :] >> falling[:, None]) & np.uint32(1)).astype(np.float32)
    mixed = (matrix @ digits).astype(np.uint32) & np.uint32(1)
    return np.bitwise_or.reduce(mixed << falling[:, None], axis=1)


def directions(dimension: int) -> Words:
    """Return the direction numbers of the first coordinates, (dimension, 30)."""
    rows = -(-dimension // _ROUND_UP) * _ROUND_UP
    return _directions(rows)[:dimension]


@cache
def _directions(rows: int) -> Words:
    polynomials, starts = _numbers()
    if rows - _ROUND_UP >= len(polynomials):
        raise StudyError(f"at most {len(polynomials)} coordinates can be drawn at once")
    polynomials, starts = polynomials[:rows], starts[:rows]
    words = np.ones((len(polynomials), _BITS), dtype=np.uint32)
    degrees = np.array([int(one).bit_length() - 1 for one in polynomials])
    for degree in np.unique(degrees[1:]):
        own = np.flatnonzero(degrees == degree)
        own = own[own > 0]
        words[own] = _recurrence(polynomials[own], starts[own], int(degree))
    return words << np.arange(_BITS - 1, -1, -1, dtype=np.uint32)


def _recurrence(polynomials: Words, starts: Words, degree: int) -> Words:
    """Return the numbers that follow the first `degree`, by primitive polynomials of that degree.

    Source: Bratley & Fox, ACM Trans. Math. Softw. 14, 1988.
    """
    words = np.zeros((len(polynomials), _BITS), dtype=np.uint32)
    words[:, :degree] = starts[:, :degree]
    for place in range(degree, _BITS):
        new = words[:, place - degree].copy()
        for k in range(degree):
            has = (polynomials >> np.uint32(degree - 1 - k)) & np.uint32(1)
            new ^= has * (words[:, place - k - 1] << np.uint32(k + 1))
        words[:, place] = new
    return words


@cache
def _numbers() -> tuple[Words, Words]:
    with np.load(_FILE) as kept:
        return kept["poly"].astype(np.uint32), kept["vinit"].astype(np.uint32)


class Borrowed:
    """SciPy's own sequence behind the same calls, where its file is not where it was."""

    def __init__(self, dimension: int, rng: np.random.Generator) -> None:
        from scipy.stats import qmc  # noqa: PLC0415 - slow to import

        self._engine = qmc.Sobol(dimension, scramble=True, rng=rng)

    def fast_forward(self, rows: int) -> None:
        """Leave out the next rows."""
        self._engine.fast_forward(rows)

    def columns(self, rows: int) -> FloatArray:
        """Return the next rows, coordinate by coordinate."""
        return self.random(rows).T

    def random(self, rows: int) -> FloatArray:
        """Return the next rows, (rows, dimension)."""
        return np.asarray(self._engine.random(rows), dtype=np.float64)


def sobol_sequence(dimension: int, rng: np.random.Generator) -> "SobolSequence | Borrowed":
    """Return a scrambled sequence."""
    made = SobolSequence if _FILE.is_file() else Borrowed
    return made(dimension, rng)
