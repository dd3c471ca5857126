"""The whole beer as one graph: every stage of the brew day, with the chosen variants."""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType

from brewsim import formulas
from brewsim.dims import Input
from brewsim.graph.build import Graph, build_graph, formulas_in, inputs_in, ranges_in

STAGES = (
    "hops.additions",
    "wort.strike",
    "wort.mash",
    "wort.mash_schedule",
    "wort.usual_lauter",
    "wort.sugars",
    "wort.boil",
    "wort.souring",
    "hops.kettle_hops",
    "hops.hop_stand",
    "hops.isomerization",
    "hops.kit_bitterness",
    "hops.bitterness",
    "hops.dry_hop_bitterness",
    "hops.reference_bitterness",
    "wort.color",
    "beer.hop_creep",
    "beer.fermentation",
    "hops.hop_aroma",
    "thiols.precursors",
    "thiols.thiol_adsorption",
    "thiols.glutathionylated_release",
    "thiols.usable_precursors",
    "thiols.hop_borne_thiols",
    "thiols.thiol_release",
    "thiols.hop_borne_esters",
    "thiols.thiols",
    "beer.packaging",
    "beer.strength",
    "beer.strongest_odor",
    "beer.sensory",
)


def stage_modules() -> tuple[str, ...]:
    """Return "room.stage" of every module of formulas, in brew-day order, new ones last."""
    found = {
        f"{room.name}.{module.name}"
        for room in iter_modules(formulas.__path__)
        for module in iter_modules([f"{formulas.__path__[0]}/{room.name}"])
    }
    return tuple([s for s in STAGES if s in found] + sorted(found - set(STAGES)))


def module_of(stage: str) -> ModuleType:
    """Return the module of a stage, "hops.additions" for example."""
    return import_module(f"brewsim.formulas.{stage}")


def beer_graph(variants: Mapping[str, str], given: Iterable[str] = ()) -> Graph:
    """Return the graph of the whole beer or raise WiringError."""
    return _graph(tuple(sorted(variants.items())), tuple(sorted(given)))


@lru_cache(maxsize=1)
def all_inputs() -> Mapping[str, Input]:
    """Return every input of the beer, whatever the variants."""
    return inputs_in(*[module_of(stage) for stage in stage_modules()])


@lru_cache(maxsize=32)
def _graph(variants: tuple[tuple[str, str], ...], given: tuple[str, ...]) -> Graph:
    modules = [module_of(stage) for stage in stage_modules()]
    return build_graph(
        formulas_in(*modules),
        inputs_in(*modules),
        variants=dict(variants),
        given=given,
        valid=ranges_in(*modules),
    )
