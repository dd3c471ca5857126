"""All dials at once: each outcome's response surface per draw, small enough to be carried along.

Every draw has its own surface over all dials, fitted on the outcome's natural scale, because
masses act on it nearly in a straight line and a logarithm would bend them. A ratio of two
outcomes is computed from the surfaces of its two sides. The coefficients of all draws are written
as a few common shapes and one whole number for each draw and shape. The error of the whole chain
is measured on fresh settings; an outcome that misses the wanted error gets a table of computed
settings instead, and is right only there.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.study.model.knob import Knob
from brewsim.study.steering.surface_basis import Basis

DRAWS_PER_REPLICATE = 128
MOST_SD = 0.02
"""Error at the 95 % quantile, in standard deviations of the outcome, that is not seen."""
MOST_POINTS = 0.005
"""Error of the chance of all targets at its worst."""
FRESH = 64


@dataclass(frozen=True)
class Ratio:
    """An outcome that is log2((1 + top)/(1 + bottom)) of two others."""

    top: str
    bottom: str

    def of(self, top: FloatArray, bottom: FloatArray) -> FloatArray:
        """Return the ratio in doublings; a side below 0 counts as 0."""
        over, under = np.maximum(top, 0.0), np.maximum(bottom, 0.0)
        return np.asarray(np.log2((1.0 + over) / (1.0 + under)))


@dataclass(frozen=True)
class Dial:
    """A knob as it can be turned on the page: places 0 and 1 are `low` and `high`."""

    knob: Knob
    low: float
    high: float
    now: float

    def setting(self, place: float) -> float:
        """Return the setting, model units, at a place between 0 and 1."""
        return self.low + place * (self.high - self.low)

    @property
    def place(self) -> float:
        """Where the dial stands today, between 0 and 1."""
        return (self.now - self.low) / (self.high - self.low)


@dataclass(frozen=True)
class Surface:
    """One outcome over all dials: coefficient (term, draw) = mean + shapes @ scores.

    Terms of every combination of `choices` follow one another. `scores` are whole numbers that
    fit 16 bits.
    """

    basis: Basis
    choices: tuple[str, ...]
    mean: FloatArray
    shapes: FloatArray
    scores: NDArray[np.int16]

    def at(self, places: FloatArray, block: int = 0) -> FloatArray:
        """Return the outcome, (places, draws), at places (places, dials) of one combination."""
        size = len(self.basis.terms)
        part = slice(block * size, (block + 1) * size)
        products = self.basis.at(places)
        return np.asarray(
            (products @ self.mean[part])[:, None]
            + (products @ self.shapes[part]) @ self.scores.astype(float)
        )


@dataclass(frozen=True)
class SurfaceError:
    """Errors on fresh settings in standard deviations of the outcome on its axis."""

    median: float
    most: float
    worst: float

    @property
    def met(self) -> bool:
        """Whether the error at the 95 % quantile is as small as wanted."""
        return self.most <= MOST_SD


@dataclass(frozen=True)
class Surfaces:
    """Every outcome's surface, what ratios are made of, and the errors that were measured.

    `today` holds each outcome's values at the recipe's own settings, (draws,). `points` are the
    errors of the chance of all targets: median, 95 % and worst. `snapped` are outcomes that are
    right only at computed settings.
    """

    dials: tuple[Dial, ...]
    choosers: tuple[Knob, ...]
    surfaces: Mapping[str, Surface]
    ratios: Mapping[str, Ratio]
    today: Mapping[str, FloatArray]
    errors: Mapping[str, SurfaceError]
    points: tuple[float, float, float] = (0.0, 0.0, 0.0)
    settings_checked: int = 0
    snapped: tuple[str, ...] = ()

    def stops(self, dial: int) -> tuple[float, ...]:
        """Return the only places a dial may stop at, empty where it may stop anywhere."""
        tables = [s.basis for s in self.surfaces.values() if s.basis.exact_at_nodes]
        along = [set(a.nodes) for basis in tables for a in basis.axes if a.dial == dial]
        return tuple(sorted(set.intersection(*along))) if along else ()

    def values(self, settings: Mapping[str, float | str]) -> dict[str, FloatArray]:
        """Return every outcome, (draws,), at settings by knob; the others stand as today."""
        places = np.array(
            [
                [
                    (float(settings.get(d.knob.id, d.now)) - d.low) / (d.high - d.low)
                    for d in self.dials
                ]
            ]
        )
        chosen = {
            k.id: [c.label for c in k.choices].index(
                str(settings.get(k.id, k.current or k.choices[0].label))
            )
            for k in self.choosers
        }
        sizes = {k.id: len(k.choices) for k in self.choosers}
        made = {}
        for name, surface in self.surfaces.items():
            block = 0
            for key in surface.choices:
                block = block * sizes[key] + chosen[key]
            made[name] = surface.at(places, block)[0]
        for name, ratio in self.ratios.items():
            made[name] = ratio.of(made[ratio.top], made[ratio.bottom])
        return made
