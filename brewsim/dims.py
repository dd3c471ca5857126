"""The shapes a quantity can have: one value per batch, per malt, per hop addition, per lot.

A value is a NumPy array whose last axis is the sample axis (length n, or 1 where every sample
agrees); a list (malt, hop, ...) is a leading axis. Nothing here knows what a beer is.
"""

from typing import Annotated, Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Range = tuple[float, float]
Scale = Literal["linear", "log", "log2"]
"""How an outcome is measured where its landing is judged."""


class Dims(NamedTuple):
    """Named axes of a quantity, outermost first; the sample axis is always last and implied."""

    axes: tuple[str, ...]


class Input(NamedTuple):
    """A quantity that is given, not computed: its axes and what it is, in words."""

    axes: tuple[str, ...]
    label: str


PerBatch = Annotated[FloatArray, Dims(())]
PerMalt = Annotated[FloatArray, Dims(("malt",))]
PerMashRest = Annotated[FloatArray, Dims(("mash_rest",))]
PerSugar = Annotated[FloatArray, Dims(("sugar",))]
PerHop = Annotated[FloatArray, Dims(("hop",))]
PerDryHop = Annotated[FloatArray, Dims(("dry_hop",))]
PerHopLot = Annotated[FloatArray, Dims(("hop_lot",))]
PerPrecursor = Annotated[FloatArray, Dims(("precursor",))]
HopIndex = Annotated[NDArray[np.intp], Dims(("hop",))]
DryHopIndex = Annotated[NDArray[np.intp], Dims(("dry_hop",))]


BELONGS_TO = {"hop": "hop_lot", "dry_hop": "hop_lot"}
"""A list on the left may pick its values from the list on the right."""


def pick(of_lot: FloatArray, index: NDArray[np.intp]) -> FloatArray:
    """Return the row of its lot for each addition.

    `of_lot` has shape (lot, n), `index` (addition,) or (addition, 1), the result (addition, n).

    Example:
        >>> pick(np.array([[0.05], [0.12]]), np.array([1, 0, 1])).ravel()
        array([0.12, 0.05, 0.12])
    """
    return of_lot[np.ravel(index).astype(np.intp)]


def axes_of(annotation: object) -> tuple[str, ...] | None:
    """Return the axes carried by an annotation, or None if it carries none."""
    for extra in get_args(annotation)[1:]:
        if isinstance(extra, Dims):
            return extra.axes
    return None
