"""What a recipe says and something else in it overrules: two lines for one number."""

from collections.abc import Iterator, Mapping

from brewsim.beer.unknown_names import EXTRACTS, given_blocks
from brewsim.graph.build import Graph
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Recipe


def given_twice(recipe: Recipe) -> Iterator[str]:
    """Yield a fault where [given] states one quantity twice, as a gravity and as its extract."""
    seen: dict[str, tuple[str, Stated]] = {}
    for block in given_blocks(recipe):
        for name, stated in block.given.items():
            quantity = EXTRACTS.get(name, name)
            if quantity in seen:
                other, before = seen[quantity]
                yield (
                    f"line {stated.line}, given {name}: {other} (line {before.line}) says the "
                    "same; keep one"
                )
            seen[quantity] = (name, stated)


def overruled(
    lines: Mapping[str, object],
    given: Mapping[str, Stated],
    before: Graph,
    after: Graph,
    asked: list[str],
) -> Iterator[str]:
    """Yield a fault for every statement that something under [given] says otherwise.

    `lines` is what other lines of the recipe state, by quantity; `before` and `after` are the
    graph without and with what is given; `asked` is everything that is shown. A step of the brew
    day may lose its effect to a stated outcome: it is what was done. Two figures may not.
    """
    stated = {quantity: said for quantity, said in lines.items() if isinstance(said, Stated)}
    for quantity in sorted(stated.keys() & given.keys()):
        yield (
            f"line {given[quantity].line}, given {quantity}: line {stated[quantity].line} says "
            "the same; keep one"
        )
    lost = before.upstream(asked) - after.upstream(asked)
    for quantity, said in sorted((stated | dict(given)).items()):
        reached = [node for node in before.downstream([quantity]) if node.name in given]
        by = next((n.name for n in reached if quantity in given or n.needs == (quantity,)), None)
        if quantity in lost and by is not None:
            over = f"{by} (line {given[by].line}) overrules it; keep one"
            yield f"line {said.line}, {quantity}: {over}"
