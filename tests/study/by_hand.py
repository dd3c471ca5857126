"""Small models whose answers are worked out by hand."""

import numpy as np

from brewsim.dims import Input, PerBatch, PerHop
from brewsim.distributions.constructors import lognormal, normal
from brewsim.graph.build import build_graph
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem

BREW = Kinds(0, 0, 1)


def total(a, b):
    return a + b


def hop_total_g(hop_mass_g: PerHop) -> PerBatch:
    """Mass of all hops."""
    return hop_mass_g.sum(axis=0)


def weighed(base):
    graph = build_graph([hop_total_g], {"hop_mass_g": Input(("hop",), "Mass")})
    factors = tuple(
        Factor(f"h{i}", "hop_mass_g", i, f"hop {i}", normal(20, i + 1.0), kinds)
        for i, kinds in enumerate((Kinds(), BREW, BREW))
    )
    fixed = {} if base is None else {"hop_mass_g": np.array(base)[:, None]}
    return Problem(graph, fixed, factors, ("hop_total_g",))


def felt(level, dose):
    return level * dose


def folds(dose):
    return Problem.of(
        [felt], {"level": lognormal(8.0, 0.5)}, fixed={"dose": dose}, scales={"felt": "log2"}
    )
