"""Run a graph: all of it, or only what a change reaches."""

from collections.abc import Iterable, Mapping

import numpy as np

from brewsim.dims import FloatArray
from brewsim.graph.build import Graph, Node

Values = Mapping[str, FloatArray]


def evaluate(graph: Graph, inputs: Values) -> dict[str, FloatArray]:
    """Return the inputs and every quantity computed from them; results are read-only."""
    return run(graph.nodes.values(), inputs)


def reevaluate(graph: Graph, baseline: Values, changed: Values) -> dict[str, FloatArray]:
    """Return the baseline with `changed` put in and only what depends on it recomputed."""
    return run(graph.downstream(changed), {**baseline, **changed})


def run(nodes: Iterable[Node], inputs: Values) -> dict[str, FloatArray]:
    """Run the nodes in the order given on top of the inputs; division by zero gives inf or nan."""
    values = dict(inputs)
    with np.errstate(all="ignore"):
        for node in nodes:
            result = node.formula(*[values[need] for need in node.needs])
            if result.ndim != len(node.axes) + 1:
                raise ValueError(
                    f"{node.name}: a formula must return {len(node.axes) + 1} axes, "
                    f"the sample axis last; it returned {result.ndim}"
                )
            view = result.view()
            view.flags.writeable = False
            values[node.name] = view
    return values
