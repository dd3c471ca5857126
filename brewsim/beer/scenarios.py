"""Choices that make another problem: another yeast, another hop, another bitterness formula."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from graphlib import TopologicalSorter

from brewsim.beer.pose import posed
from brewsim.dims import FloatArray
from brewsim.errors import InputError
from brewsim.graph.build import Graph, Node
from brewsim.priors.library import Priors
from brewsim.recipe.edits import swapped
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem
from brewsim.study.steering.scenario_comparison import options_of

FORMULA = "bitterness formula"
_MODELS = ("kinetic", "empirical")
_USUAL = {"Tinseth": "tinseth_ibu", "Rager": "rager_ibu", "Garetz": "garetz_ibu"}
_HOP = re.compile(r"hop (\d+) variety")


def is_alternative(what: str) -> bool:
    """Whether a choice needs a problem posed for each of its options."""
    return what in (FORMULA, "yeast name") or _HOP.fullmatch(what) is not None


def alternatives(
    recipe: Recipe, what: str, options: Sequence[str], priors: Priors
) -> dict[str, Problem]:
    """Return option -> problem, the recipe as it stands first.

    `what` is "yeast name", "hop 2 variety" or "bitterness formula" (which needs no options).
    Another yeast or hop comes with its own priors: what the recipe states of the old one
    (attenuation, release, alpha acid, lot, age) is not carried over. Raises InputError.
    """
    if what == FORMULA:
        return _formulas(recipe, priors)
    current, swap = _swap(recipe, what)
    if not options:
        raise InputError(recipe.name, [f"{what}: name what to choose from with --choice"])
    others = [option for option in options if option.lower() != current.lower()]
    found = {current: posed(recipe, priors)[0]}
    return found | {option: posed(swap[option], priors)[0] for option in others}


class _Swap(dict[str, Recipe]):
    """Recipes with another ingredient, made when asked for."""

    def __init__(self, recipe: Recipe, hop: int | None) -> None:
        super().__init__()
        self._recipe, self._hop = recipe, hop

    def __missing__(self, option: str) -> Recipe:
        recipe = self._recipe
        if self._hop is None:
            yeast = swapped(recipe.yeast, name=option)
            return recipe.model_copy(update={"yeast": yeast, "knobs": {}})
        hops = list(recipe.hop)
        hops[self._hop] = swapped(hops[self._hop], variety=option)
        return recipe.model_copy(update={"hop": tuple(hops), "knobs": {}})


def _swap(recipe: Recipe, what: str) -> tuple[str, _Swap]:
    match = _HOP.fullmatch(what)
    if match is None:
        return recipe.yeast.name or "yeast not named", _Swap(recipe, None)
    number = int(match[1])
    if not 1 <= number <= len(recipe.hop):
        raise InputError(recipe.name, [f"{what}: the recipe has {len(recipe.hop)} hop lines"])
    return recipe.hop[number - 1].variety, _Swap(recipe, number - 1)


def _formulas(recipe: Recipe, priors: Priors) -> dict[str, Problem]:
    """Return the beer with each bitterness formula; usual ones are put in brewsim's place."""
    own: str = recipe.model.bitterness
    found = {own: posed(recipe, priors)[0]}
    for name in _MODELS:
        if name != own:
            model = recipe.model.model_copy(update={"bitterness": name})
            found[name] = posed(recipe.model_copy(update={"model": model}), priors)[0]
    return found | usual_formulas(found[own])


def choices_of(problem: Problem) -> dict[str, dict[str, Problem]]:
    """Return the choices a ranking can show: choice -> option -> problem, today's first.

    They are the knobs that are choices, and the bitterness formula.
    """
    found = {
        f"{knob.label} ({', '.join(choice.label for choice in knob.choices)})": options_of(
            problem, knob
        )
        for knob in problem.knobs
        if len(knob.choices) > 1
    }
    usual = usual_formulas(problem)
    if usual:
        found[f"{FORMULA} (brewsim, {', '.join(usual)})"] = {"brewsim": problem} | usual
    return found


def usual_formulas(problem: Problem) -> dict[str, Problem]:
    """Return the problem with each of the usual formulas in place of its own bitterness.

    Everything computed from the bitterness follows.
    """
    return {
        name: replace(problem, graph=_standing_in(problem.graph, "bitterness_ibu", quantity))
        for name, quantity in _USUAL.items()
        if quantity in problem.graph
    }


def _standing_in(graph: Graph, quantity: str, other: str) -> Graph:
    """Return the graph in which one quantity is taken from another."""

    def taken(value: FloatArray) -> FloatArray:
        return value.copy()

    taken.__doc__ = graph.nodes[quantity].label
    stand_in = Node(quantity, taken, (other,), graph.nodes[quantity].axes)
    nodes: Mapping[str, Node] = {**graph.nodes, quantity: stand_in}
    order = TopologicalSorter({n.name: [x for x in n.needs if x in nodes] for n in nodes.values()})
    return Graph({name: nodes[name] for name in order.static_order()}, graph.inputs)
