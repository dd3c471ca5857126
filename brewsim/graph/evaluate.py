"""Run a graph: all of it, or only what a change reaches."""

from collections.abc import Iterable, Mapping

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.build import Graph, Node

Values = Mapping[str, FloatArray]


def evaluate(graph: Graph, inputs: Values) -> dict[str, FloatArray]:
    """Return the inputs and every quantity computed from them, all read-only."""
    return run(graph.nodes.values(), {name: _read_only(value) for name, value in inputs.items()})


def reevaluate(graph: Graph, baseline: Values, changed: Values) -> dict[str, FloatArray]:
    """Return the baseline with `changed` put in and only what depends on it recomputed."""
    return run(graph.downstream(changed), {**baseline, **changed})


def run(nodes: Iterable[Node], inputs: Values) -> dict[str, FloatArray]:
    """Run the nodes in the order given on top of the inputs; division by zero gives inf or nan."""
    values = dict(inputs)
    with np.errstate(all="ignore"):
        for node in nodes:
            needs = [values[need] for need in node.needs]
            result: object = node.formula(*needs)
            axes = len(node.axes) + 1
            if (
                not isinstance(result, np.ndarray)
                or result.ndim != axes
                or result.dtype.kind not in "fiub"
            ):
                raise ValueError(
                    f"{node.name}: a formula must return an array of numbers on {axes} axes, "
                    f"the sample axis last; it returned {_told(result)}"
                )
            size = result.shape[-1]
            if size != 1 and not any(need.shape[-1] == size for need in needs):
                sizes = [need.shape[-1] for need in needs]
                raise ValueError(
                    f"{node.name}: a formula must return one value per sample; it returned "
                    f"{size} for {max(sizes, default=1)}"
                )
            values[node.name] = _read_only(result)
    return values


def _read_only(value: FloatArray) -> FloatArray:
    """Return the same numbers, which no formula can then change for the next one."""
    view = value.view()
    view.setflags(write=False)
    return view


def _told(result: object) -> str:
    if not isinstance(result, np.ndarray):
        return f"a {type(result).__name__}"
    return f"{result.dtype} on {result.ndim}"
