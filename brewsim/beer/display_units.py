"""The units a brewer writes in: outcomes are shown in them, whatever the model computes in."""

from collections.abc import Callable, Iterable

from brewsim.beer.statements import Statements
from brewsim.quantities.catalogue import BY_QUANTITY, Quantity, outcome_of, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.english import lower
from brewsim.study.model.problem import Problem

_VOLUMES = {"hL", "US gal", "imp gal", "US bbl", "UK bbl"}


_STRAIGHT = {*_VOLUMES, "SRM", "g/L CO2"}
"""Units that are a number times the model's own."""


_COLOR = "beer_color_ebc"


def own_units(statements: Statements) -> dict[str, str]:
    """Return the unit of every outcome that is to be shown otherwise than the model computes it.

    Volumes as the recipe's volume is written; colours in SRM beside US volumes or malts given in
    °L or SRM; a target's outcome as its target is written.
    """
    found = {}
    volume = statements.volume.unit
    if volume in _VOLUMES:
        found = {q: volume for q in BY_QUANTITY if model_unit_of(q) == "L"}
    grist = (*statements.lines["malt"], *statements.lines["sugar"])
    stated = [line.said.get(f"{line.kind}_color_lovibond") for line in grist]
    colors = {color.unit for color in stated if color is not None}
    if "EBC" not in colors and (volume.startswith("US") or colors & {"°L", "SRM"}):
        found[_COLOR] = "SRM"
    for name, target in statements.targets.items():
        if target.unit in _STRAIGHT:
            found[quantity_of(name)] = target.unit
        elif target.unit == target.model_unit:
            found.pop(quantity_of(name), None)
    return found


def label_in(problem: Problem) -> Callable[[str], str]:
    """Return a function that gives the one label of a quantity: of its row, else of the graph."""

    def label(name: str) -> str:
        if name in BY_QUANTITY:
            return BY_QUANTITY[name].title
        return problem.graph.label(name)

    return label


def rows_of(problem: Problem, names: Iterable[str] = ()) -> dict[str, Quantity]:
    """Return the catalogue row of each quantity, in the units of the recipe's writer.

    Without names, of every outcome and target. A quantity without a row has the graph's label.
    """
    wanted = tuple(names) or (*problem.outcomes, *problem.targets)
    graph = problem.graph
    labels = {name: lower(graph.label(name)) if name in graph else "" for name in wanted}
    return {name: outcome_of(name, problem.units, label) for name, label in labels.items()}
