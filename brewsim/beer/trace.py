"""A quantity explained: the tree of formulas behind it, with median values, units and sources."""

import inspect
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from brewsim.beer.display_units import label_in
from brewsim.dims import FloatArray
from brewsim.errors import InputError, did_you_mean
from brewsim.graph.show import as_tree
from brewsim.quantities.catalogue import BY_QUANTITY, quantity_of
from brewsim.quantities.format import bare, written_in
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import at_medians
from brewsim.units import unit_of

_MOST_ROWS = 4


@dataclass(frozen=True)
class Traced:
    """The tree as text, and the same as plain content."""

    tree: str
    content: dict[str, Any]


def traced(problem: Problem, name: str) -> Traced:
    """Return what a quantity is made of at the medians; raises InputError with near misses."""
    quantity = quantity_of(name)
    if quantity not in problem.graph:
        near = did_you_mean(quantity, [*problem.graph.nodes, *problem.graph.inputs])
        raise InputError("trace", [f"there is no quantity {name!r}.{near}"])
    graph = problem.graph.pruned([quantity])
    values = at_medians(problem, graph)

    def remark(node: str) -> str:
        told = f" = {_in_words(node, values[node], one=not graph.axes(node), units=problem.units)}"
        if node in graph.nodes:
            return f"{told}   [{source_of(graph.nodes[node].formula)}]"
        return f"{told}   [{problem.provenance.get(node, 'given')}]"

    tree = as_tree(graph, quantity, remark)
    content = {
        node: {
            "value": values[node].ravel().tolist(),
            "unit": unit_of(node) or "",
            "label": label_in(problem)(node),
            "needs": list(graph.nodes[node].needs) if node in graph.nodes else [],
            "source": source_of(graph.nodes[node].formula)
            if node in graph.nodes
            else problem.provenance.get(node, "given"),
        }
        for node in (*graph.inputs, *graph.nodes)
    }
    return Traced(tree, {"quantity": quantity, "nodes": content})


def _in_words(node: str, found: FloatArray, *, one: bool, units: Mapping[str, str]) -> str:
    """Return the model's numbers with their unit; before them an outcome as people read it."""
    numbers = [bare(x) for x in found.ravel()[:_MOST_ROWS].tolist()]
    more = ", …" if found.size > _MOST_ROWS else ""
    told = numbers[0] if one else f"[{', '.join(numbers)}{more}]"
    model = f"{told} {unit_of(node) or ''}".rstrip()
    if not one or node not in BY_QUANTITY:
        return model
    outcome = written_in(units)(node, float(found[0]))
    return model if outcome == model else f"{outcome} ({model} in the model)"


def source_of(formula: object) -> str:
    """Return the source line of a formula's docstring, folded to one line."""
    text = inspect.getdoc(formula) or ""
    found = re.search(r"^Source: (.+?)(?=\n\S|\n\n|\Z)", text, flags=re.MULTILINE | re.DOTALL)
    return " ".join(found[1].split()).rstrip(".") if found else "no source"


def equation_of(formula: object) -> str:
    """Return the equation of a formula's docstring, or nothing."""
    text = inspect.getdoc(formula) or ""
    found = re.search(r"\.\. math::(.+?)(?=\nSource:|\nValid:|\Z)", text, flags=re.DOTALL)
    return " ".join(found[1].split()) if found else ""
