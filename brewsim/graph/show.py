"""Print a graph for people, as an indented tree."""

from collections.abc import Callable, Iterator

from brewsim.graph.build import Graph

Remark = Callable[[str], str]


def as_tree(graph: Graph, target: str, remark: Remark = lambda _: "") -> str:
    """Return what `target` is computed from, indented one step per formula.

    `remark` adds text behind each name: a value, a unit, a source.
    """
    return "\n".join(_tree_lines(graph, target, 0, set(), remark))


def _tree_lines(
    graph: Graph, name: str, depth: int, seen: set[str], remark: Remark
) -> Iterator[str]:
    node = graph.nodes.get(name)
    mark = "" if node else "  (given)"
    again = name in seen and node is not None
    yield f"{'  ' * depth}{name}{mark}{'  (shown above)' if again else remark(name)}"
    if node and not again:
        seen.add(name)
        for need in node.needs:
            yield from _tree_lines(graph, need, depth + 1, seen, remark)
