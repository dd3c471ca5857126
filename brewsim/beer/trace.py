"""A quantity explained: the tree of formulas behind it, with median values, units and sources."""

import inspect
import re
from dataclasses import dataclass
from typing import Any

from brewsim.dims import FloatArray
from brewsim.errors import InputError, did_you_mean
from brewsim.graph.show import as_tree
from brewsim.quantities.catalogue import quantity_of
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
        shown = _listed(values[node]) if graph.axes(node) else f"{values[node][0]:.4g}"
        told = f" = {shown} {unit_of(node) or ''}".rstrip()
        if node in graph.nodes:
            return f"{told}   [{source_of(graph.nodes[node].formula)}]"
        return f"{told}   [{problem.provenance.get(node, 'given')}]"

    tree = as_tree(graph, quantity, remark)
    content = {
        node: {
            "value": values[node].ravel().tolist(),
            "unit": unit_of(node) or "",
            "label": graph.label(node),
            "needs": list(graph.nodes[node].needs) if node in graph.nodes else [],
            "source": source_of(graph.nodes[node].formula)
            if node in graph.nodes
            else problem.provenance.get(node, "given"),
        }
        for node in (*graph.inputs, *graph.nodes)
    }
    return Traced(tree, {"quantity": quantity, "nodes": content})


def _listed(value: FloatArray) -> str:
    numbers = [f"{x:.4g}" for x in value.ravel()[:_MOST_ROWS]]
    more = ", …" if value.size > _MOST_ROWS else ""
    return f"[{', '.join(numbers)}{more}]"


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
