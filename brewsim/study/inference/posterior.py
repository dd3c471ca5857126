"""What was learned: posterior draws of latents, how well they are known, and what surprised."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.study.inference.predictive_check import Surprise
from brewsim.study.model.batch import Batch
from brewsim.study.model.html_table import SHOWN, html_table
from brewsim.study.model.problem import Problem


@dataclass(frozen=True, repr=False)
class Learned:
    """What the readings leave of the uncertainty.

    `draws` maps a latent's name (see `batch.py`) to its values in `len(replicate)` draws;
    `moments` gives its mean and standard deviation over the whole run; `replicate` says which
    independent group of chains each draw came from. `precision` is the sampling error (one
    standard error) of a typical posterior mean and `worst` the 95 % half width of the worst known
    one, both in posterior standard deviations. `memory` is the correlation of the chains' last
    states with their first kept ones, at the worst latent: near 1, they are still where the search
    put them.
    """

    problem: Problem
    batches: tuple[Batch, ...]
    draws: Mapping[str, FloatArray]
    moments: Mapping[str, tuple[float, float]]
    replicate: FloatArray
    precision: float
    worst: float
    drift: float
    memory: float
    seconds: float
    trusted: bool
    remarks: tuple[str, ...]
    surprises: tuple[Surprise, ...] = field(default=())

    def mean(self, latent: str) -> float:
        """Posterior mean of a latent's normal score; 0 when no reading reaches it."""
        return self.moments.get(latent, (0.0, 1.0))[0]

    def standard_deviation(self, latent: str) -> float:
        """Posterior standard deviation of a latent's normal score; 1 when not reached."""
        return self.moments.get(latent, (0.0, 1.0))[1]

    def __repr__(self) -> str:
        """Return how much was learned from what, and how well."""
        known = "trusted" if self.trusted else "not to be trusted"
        return (
            f"<Learned from {len(self.batches)} batches: {len(self.draws)} latents, "
            f"{len(self.replicate)} draws, precision {self.precision:.3f}, {known}>"
        )

    def _repr_html_(self) -> str:
        """Return a table for notebooks: the latents of which most was learned, as scores."""
        ranked = sorted(self.moments, key=self.standard_deviation)[:SHOWN]
        rows = [(n, f"{self.mean(n):+.2f}", f"{self.standard_deviation(n):.2f}") for n in ranked]
        header = ("latent, in normal scores", "mean (0 before)", "sd (1 before)")
        return html_table(repr(self).strip("<>"), header, rows)

    def to_xarray(self) -> xr.DataTree:
        """Return the draws as ArviZ lays them out: group `posterior`, dims (chain, draw).

        A chain is a group of chains that never meets another. Variables are `score` over latents,
        and, under the factor's id, the value of what every batch shares. Group `observed_data`
        holds the readings' values over `reading`.
        """
        groups = np.unique(self.replicate)
        order = np.argsort(self.replicate, kind="stable")
        size = len(self.replicate) // len(groups)

        def by_chain(values: FloatArray) -> FloatArray:
            return values[order][: len(groups) * size].reshape(len(groups), size)

        names = sorted(self.draws)
        scores = np.stack([by_chain(self.draws[name]) for name in names], axis=-1)
        values = {
            factor.id: (("chain", "draw"), by_chain(factor.distribution.from_score(drawn)))
            for factor in self.problem.factors
            if factor.kinds.knowledge == 1.0
            and (drawn := self.draws.get(f"{factor.id} @knowledge")) is not None
        }
        posterior = xr.Dataset(
            {"score": (("chain", "draw", "latent"), scores), **values},
            coords={"chain": groups, "draw": np.arange(size), "latent": names},
            attrs={"precision": self.precision, "trusted": int(self.trusted)},
        )
        read = [
            (f"{b.id}: {r.label or r.quantity}", r.value) for b in self.batches for r in b.readings
        ]
        observed = xr.Dataset(
            {"value": ("reading", [value for _, value in read])},
            coords={"reading": [name for name, _ in read]},
        )
        return xr.DataTree.from_dict({"posterior": posterior, "observed_data": observed})
