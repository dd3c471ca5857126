"""What a response surface is written in: products of one function for each dial."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from math import comb

import numpy as np
from numpy.polynomial import legendre

from brewsim.dims import FloatArray


@dataclass(frozen=True)
class Axis:
    """One dial of a basis, its place running from 0 to 1.

    Its functions are straight lines between the `nodes`, one for each node, and after them the
    Legendre polynomials from degree 0 up; without nodes the polynomials alone.
    """

    dial: int
    nodes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Basis:
    """Products over some dials: `terms` gives for each product a function of every axis.

    `exact_at_nodes` says that the surface is a table: right at the nodes and only there.
    """

    axes: tuple[Axis, ...]
    terms: tuple[tuple[int, ...], ...]
    exact_at_nodes: bool = False

    def at(self, places: FloatArray) -> FloatArray:
        """Return every product, (places, terms), at places (places, dials) between 0 and 1."""
        found = np.ones((len(places), len(self.terms)))
        for axis, column in zip(self.axes, np.array(self.terms).T, strict=True):
            found *= _functions(axis, places[:, axis.dial], int(column.max()) + 1)[:, column]
        return found


def _functions(axis: Axis, at: FloatArray, count: int) -> FloatArray:
    """Return the first functions of one axis, (places, count)."""
    lines = [np.interp(at, axis.nodes, row) for row in np.eye(len(axis.nodes))]
    degrees = max(1, count - len(lines))
    smooth = legendre.legvander(2 * at - 1, degrees - 1).T
    return np.stack([*lines, *smooth], axis=1)


def polynomials(dials: Sequence[int], order: int) -> Basis:
    """Return all products of polynomials of a total degree up to `order`."""
    return Basis(tuple(Axis(dial) for dial in dials), _degrees(len(dials), order))


def lines_and_polynomials(
    bent: Mapping[int, Sequence[float]], others: Sequence[int], along: int, order: int
) -> Basis:
    """Return straight lines along the bent dials, and smooth polynomials of all dials.

    Each combination of the bent dials' nodes goes with polynomials of the others up to degree
    `along`; all dials together have polynomials up to degree `order`.
    """
    axes = (*(Axis(d, tuple(at)) for d, at in bent.items()), *(Axis(other) for other in others))
    corners = product(*(range(len(at)) for at in bent.values()))
    lines = [(*at, *rest) for at in corners for rest in _degrees(len(others), along)]
    after = [len(axis.nodes) for axis in axes]
    smooth = [
        tuple(first + degree for first, degree in zip(after, degrees, strict=True))
        for degrees in _degrees(len(axes), order)
    ]
    return Basis(axes, (*lines, *smooth))


def grid(dials: Sequence[int], nodes: Sequence[Sequence[float]]) -> Basis:
    """Return a table over every combination of nodes: exact at them, straight between them."""
    axes = tuple(Axis(dial, tuple(at)) for dial, at in zip(dials, nodes, strict=True))
    return Basis(axes, tuple(product(*(range(len(at)) for at in nodes))), exact_at_nodes=True)


@cache
def _degrees(count: int, order: int) -> tuple[tuple[int, ...], ...]:
    """Return all degrees of so many dials that add up to `order` or less, in rising order."""
    if not count:
        return ((),)
    return tuple(
        (first, *rest) for first in range(order + 1) for rest in _degrees(count - 1, order - first)
    )


def terms_of(dials: int, order: int) -> int:
    """Return how many products of a total degree up to `order` there are."""
    return comb(dials + order, order)
