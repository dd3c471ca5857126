"""What only shows against priors and formulas: unknown ingredients, quantities nobody computes."""

from collections.abc import Iterator

from brewsim.beer.lines import LIST_OF, Line
from brewsim.beer.statements import Basis, Statements
from brewsim.errors import did_you_mean
from brewsim.graph.build import Graph
from brewsim.quantities.catalogue import BY_QUANTITY, quantity_of

IN_GLOSSARY = " `brewsim glossary` lists all there are."
_AMOUNTS = ("_mass_kg", "_dose_g_l")
_STATE = {
    "malt": ("extract and color", "malt_extract_dry_fraction", "malt_color_lovibond"),
    "sugar": ("extract, moisture and fermentability", "sugar_extract_fraction"),
    "hop": ("alpha", "hop_lot_stated_alpha_fraction"),
    "precursor": ("content and basis", "precursor_content_ug_kg"),
}
"""Kind of line -> what to state of one that no prior knows, and by which quantities it is known."""
_NONE_SUCH = {
    "malt": "name: no malt is called “{}”.",
    "sugar": "name: no sugar is “{}”.",
    "hop": "variety: no hop is “{}”.",
    "precursor": "name: nothing is “{}”.",
}


def asked_of(statements: Statements) -> set[str]:
    """Return the quantities that a recipe is asked for: the usual outcomes and its targets."""
    usual = {quantity for quantity, row in BY_QUANTITY.items() if row.role == "page"}
    return usual | {quantity_of(name) for name in statements.targets}


def unknown_ingredients(basis: Basis) -> Iterator[str]:
    """Yield a fault for every ingredient that no prior knows and whose numbers are not stated."""
    for kind, lines in basis.statements.lines.items():
        state, *known_by = _STATE[kind]
        for line in lines:
            same = [one for one in lines if kind == "hop" and one.name == line.name] or [line]
            stated = any(set(known_by) <= set(one.said) for one in same)
            if basis.priors.find(LIST_OF[kind], line.name) is None and not stated:
                none = _NONE_SUCH[kind].format(line.name)
                near = _or(basis.priors.hint(LIST_OF[kind], line.name), state)
                yield f"line {line.line}, {kind} {line.number + 1} {none}{near}"
    yeast = basis.statements.word("yeast", "name")
    known = basis.statements.stated("strain_attenuation_fraction") is not None
    if yeast and basis.priors.find("yeast", yeast) is None and not known:
        near = _or(basis.priors.hint("yeast", yeast), "attenuation")
        where = f"line {basis.statements.line_of['yeast']}, yeast name"
        yield f"{where}: no yeast is called “{yeast}”.{near}"


def near_misses(basis: Basis) -> Iterator[str]:
    """Yield a remark for every name that nearly is a known one, where stated numbers carry it.

    Such a line is read, but what it does not state is taken from no variety: a slip of one letter
    would otherwise pass in silence.
    """
    for kind, lines in basis.statements.lines.items():
        first = {line.name: line for line in reversed(lines)}
        for line in sorted(first.values(), key=lambda line: line.number):
            if basis.priors.find(LIST_OF[kind], line.name) is None:
                near = basis.priors.hint(LIST_OF[kind], line.name)
                if near:
                    yield _near(f"line {line.line}, {kind} {line.number + 1}", line.name, near)
    yeast = basis.statements.word("yeast", "name")
    if yeast and basis.priors.find("yeast", yeast) is None:
        near = basis.priors.hint("yeast", yeast)
        if near:
            yield _near(f"line {basis.statements.line_of['yeast']}, yeast", yeast, near)


def _near(where: str, name: str, near: str) -> str:
    return (
        f"{where}: “{name}” is not known; its stated numbers are used, all its others are those of"
        f" no one variety.{near}"
    )


def _or(hint: str, fields: str) -> str:
    return f"{hint} Or state its {fields} yourself." if hint else f" State its {fields} yourself."


def unknown_quantities(statements: Statements, plain: Graph) -> Iterator[str]:
    """Yield a fault for every stated quantity that the beer does not have, or not there."""
    asked = asked_of(statements)
    for quantity, stated in statements.by("given").items():
        where = f"line {stated.line}, given {quantity}"
        if quantity not in plain:
            near = did_you_mean(quantity, [*plain.nodes, *plain.inputs])
            yield f"{where}: there is no such quantity.{near or IN_GLOSSARY}"
        elif plain.axes(quantity):
            yield f"{where}: it is one of a list; state it in its row (given = {{ ... }})"
        elif quantity not in asked and _is_aside(quantity, plain):
            needs = " or ".join(plain.nodes[quantity].needs)
            yield f"{where}: nothing else is computed from it; state what it comes from: {needs}"
    for quantity, stated in statements.by("priors").items():
        if quantity not in plain.inputs:
            near = did_you_mean(quantity, plain.inputs)
            why = "is computed; state it in [given]" if quantity in plain.nodes else "is no input"
            yield f"line {stated.line}, priors {quantity}: it {why}.{near}"
    for kind, lines in statements.lines.items():
        known = _row_names(plain, LIST_OF[kind])
        for line in lines:
            yield from _unknown_in_row(line, known)


def _is_aside(quantity: str, plain: Graph) -> bool:
    """Whether a computed quantity is a figure beside the beer: stating it would change nothing."""
    return quantity in plain.nodes and not plain.downstream([quantity])


def _row_names(plain: Graph, axis: str) -> list[str]:
    inputs = [name for name, given in plain.inputs.items() if given.axes == (axis,)]
    return [name.removeprefix(f"{axis}_") for name in inputs if not name.endswith(_AMOUNTS)]


def _unknown_in_row(line: Line, known: list[str]) -> Iterator[str]:
    prefix = f"{LIST_OF[line.kind]}_"
    for quantity, stated in line.said.items():
        name = quantity.removeprefix(prefix)
        if quantity.startswith(prefix) and name not in known:
            near = did_you_mean(name, known) or f" There is: {', '.join(known)}."
            where = f"{line.kind} {line.number + 1} given {name}"
            yield f"line {stated.line}, {where}: no such quantity of it.{near}"
