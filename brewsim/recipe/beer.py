"""The whole beer as one graph: every stage of the brew day, with the chosen variants."""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from importlib import import_module
from pkgutil import iter_modules

import brewsim.formulas as folder
from brewsim.dims import Input
from brewsim.graph.build import Graph, build_graph, formulas_in, inputs_in, ranges_in

STAGES = (
    "additions",
    "strike",
    "mash",
    "boil",
    "kettle_hops",
    "hop_stand",
    "isomerization",
    "bitterness",
    "dry_hop_bitterness",
    "usual_bitterness",
    "color",
    "hop_creep",
    "fermentation",
    "hop_aroma",
    "precursors",
    "late_hops",
    "thiol_sources",
    "free_thiols",
    "thiol_release",
    "thiols",
    "packaging",
    "strength",
    "glass",
)


def stage_modules() -> tuple[str, ...]:
    """Return the modules of `brewsim.formulas`, in brew-day order, any new one at the end."""
    found = {module.name for module in iter_modules(folder.__path__)}
    return tuple([s for s in STAGES if s in found] + sorted(found - set(STAGES)))


def beer_graph(variants: Mapping[str, str], given: Iterable[str] = ()) -> Graph:
    """Return the graph of the whole beer or raise WiringError."""
    return _graph(tuple(sorted(variants.items())), tuple(sorted(given)))


@lru_cache(maxsize=1)
def all_inputs() -> Mapping[str, Input]:
    """Return every input of the beer, whatever the variants."""
    return inputs_in(*[import_module(f"brewsim.formulas.{name}") for name in stage_modules()])


@lru_cache(maxsize=32)
def _graph(variants: tuple[tuple[str, str], ...], given: tuple[str, ...]) -> Graph:
    modules = [import_module(f"brewsim.formulas.{name}") for name in stage_modules()]
    return build_graph(
        formulas_in(*modules),
        inputs_in(*modules),
        variants=dict(variants),
        given=given,
        valid=ranges_in(*modules),
    )
