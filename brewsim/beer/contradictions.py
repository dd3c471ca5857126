"""Contradictions: statements that another line of the recipe overrides."""

from collections.abc import Iterator

from brewsim.beer.statements import Statements
from brewsim.graph.build import Graph


def overruled(
    statements: Statements, before: Graph, after: Graph, asked: list[str]
) -> Iterator[str]:
    """Yield a fault for every statement that something under [given] says otherwise.

    `before` and `after` are the graph without and with what is given; `asked` is everything that
    is shown. A step of the brew day may lose its effect to a stated outcome: it is what was done.
    Two figures may not.
    """
    given = statements.by("given")
    lost = before.upstream(asked) - after.upstream(asked)
    for quantity, said in sorted(statements.by("field", "planned", "given").items()):
        reached = [node for node in before.downstream([quantity]) if node.name in given]
        by = next((n.name for n in reached if quantity in given or n.needs == (quantity,)), None)
        if quantity in lost and by is not None:
            over = f"{by} (line {given[by].line}) overrules it; keep one"
            yield f"line {said.line}, {quantity}: {over}"
