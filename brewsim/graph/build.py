"""Wire formulas into a graph and refuse anything that does not fit."""

import inspect
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from graphlib import CycleError, TopologicalSorter
from types import ModuleType

from brewsim.dims import BELONGS_TO, FloatArray, Input, Range, axes_of
from brewsim.errors import WiringError, did_you_mean

Formula = Callable[..., FloatArray]


@dataclass(frozen=True, slots=True)
class Node:
    """One quantity: its formula, what the formula needs, its axes and the ranges it is valid in."""

    name: str
    formula: Formula
    needs: tuple[str, ...]
    axes: tuple[str, ...]
    valid: Mapping[str, Range] = field(default_factory=dict)

    @property
    def label(self) -> str:
        """First line of the formula's docstring, without the full stop."""
        return (inspect.getdoc(self.formula) or self.name).partition("\n")[0].rstrip(".")


@dataclass(frozen=True, slots=True)
class Graph:
    """Formulas in an order in which each one finds its needs already computed."""

    nodes: Mapping[str, Node]
    inputs: Mapping[str, Input]

    def downstream(self, changed: Iterable[str]) -> tuple[Node, ...]:
        """Return the nodes that depend on any changed name, in running order."""
        stale = set(changed)
        found = []
        for node in self.nodes.values():
            if node.name not in stale and not stale.isdisjoint(node.needs):
                stale.add(node.name)
                found.append(node)
        return tuple(found)

    def upstream(self, targets: Iterable[str]) -> frozenset[str]:
        """Return every name, node or input, that any target is computed from, targets included."""
        wanted = set(targets)
        for node in reversed(tuple(self.nodes.values())):
            if node.name in wanted:
                wanted.update(node.needs)
        return frozenset(wanted)

    def pruned(self, targets: Iterable[str]) -> "Graph":
        """Return the smallest graph that still computes the targets."""
        wanted = self.upstream(targets)
        return Graph(
            {name: node for name, node in self.nodes.items() if name in wanted},
            {name: given for name, given in self.inputs.items() if name in wanted},
        )

    def axes(self, name: str) -> tuple[str, ...]:
        """Return the list axes of a quantity, the sample axis left out."""
        return self.nodes[name].axes if name in self.nodes else self.inputs[name].axes

    def label(self, name: str) -> str:
        """Return what a quantity is, in words."""
        name = name if name in self else name.partition("__")[0]  # a formula with variants
        return self.nodes[name].label if name in self.nodes else self.inputs[name].label

    def __contains__(self, name: object) -> bool:
        """Tell whether a quantity of that name exists."""
        return name in self.nodes or name in self.inputs


def formulas_in(*modules: ModuleType) -> list[Formula]:
    """Return the public functions that the modules define themselves."""
    return [
        function
        for module in modules
        for name, function in vars(module).items()
        if inspect.isfunction(function)
        and function.__module__ == module.__name__
        and not name.startswith("_")
    ]


def inputs_in(*modules: ModuleType) -> dict[str, Input]:
    """Return the union of the modules' `INPUTS` tables; a name declared twice is refused."""
    found: dict[str, Input] = {}
    for module in modules:
        for name, given in getattr(module, "INPUTS", {}).items():
            if name in found:
                raise WiringError(f"{module.__name__}: input {name} is already declared elsewhere")
            found[name] = given
    return found


def ranges_in(*modules: ModuleType) -> dict[str, Mapping[str, Range]]:
    """Return the union of the modules' `VALID` tables: formula name to ranges of its quantities."""
    return {name: table for m in modules for name, table in getattr(m, "VALID", {}).items()}


def build_graph(
    formulas: Iterable[Formula],
    inputs: Mapping[str, Input],
    *,
    variants: Mapping[str, str] | None = None,
    given: Iterable[str] = (),
    valid: Mapping[str, Mapping[str, Range]] | None = None,
    scalar: bool = False,
) -> Graph:
    """Wire formulas by name.

    `inputs` lists every quantity that is given from the start; `variants` picks one formula of
    those that share a name before the double underscore; `given` turns computed quantities into
    inputs; `valid` holds, by formula name, the ranges outside which a draw is reported. With
    `scalar` a formula that does not state its dims is one value per sample, of such values.
    Raises WiringError for anything that does not fit.
    """
    nodes: dict[str, Node] = {}
    for formula in _chosen(formulas, variants or {}):
        node = _node(formula, (valid or {}).get(formula.__name__, {}), scalar=scalar)
        if node.name in nodes or node.name in inputs:
            raise WiringError(f"{_where(formula)}: {node.name} is already defined")
        nodes[node.name] = node
    known = dict(inputs)
    for name in given:
        if name not in nodes:
            hint = "" if name in inputs else did_you_mean(name, nodes)
            raise WiringError(f"{name} cannot be given: no formula computes it.{hint}")
        node = nodes.pop(name)
        known[name] = Input(node.axes, node.label)
    axes = {name: node.axes for name, node in nodes.items()}
    axes |= {name: given_input.axes for name, given_input in known.items()}
    for node in nodes.values():
        _check_needs(node, axes, scalar=scalar)
    return Graph({name: nodes[name] for name in _running_order(nodes)}, known)


def _chosen(formulas: Iterable[Formula], variants: Mapping[str, str]) -> list[Formula]:
    by_name: dict[str, list[Formula]] = {}
    for formula in formulas:
        by_name.setdefault(formula.__name__.partition("__")[0], []).append(formula)
    for name in variants:
        if name not in by_name:
            raise WiringError(
                f"no formula has variants called {name}.{did_you_mean(name, by_name)}"
            )
    chosen = []
    for name, candidates in by_name.items():
        plain = [f for f in candidates if "__" not in f.__name__]
        if len(plain) > 1:
            raise WiringError(f"{_where(plain[1])}: {name} is already defined")
        if len(plain) == len(candidates):
            chosen += plain
            continue
        names = [f.__name__.partition("__")[2] for f in candidates]
        if name not in variants:
            raise WiringError(f"{name} has variants ({', '.join(names)}): pick one")
        if variants[name] not in names:
            hint = did_you_mean(variants[name], names)
            raise WiringError(f"{name} has no variant {variants[name]}; it has {names}.{hint}")
        chosen.append(candidates[names.index(variants[name])])
    return chosen


@lru_cache(maxsize=1024)
def _stated_axes(formula: Formula, *, scalar: bool) -> Mapping[str, tuple[str, ...] | None]:
    """Return the declared axes of each parameter, then of the result."""
    signature = inspect.signature(formula)
    if any(
        p.default is not p.empty or p.kind is not p.POSITIONAL_OR_KEYWORD
        for p in signature.parameters.values()
    ):
        raise WiringError(f"{_where(formula)}: a formula takes plain parameters without defaults")
    try:
        hints = inspect.get_annotations(formula, eval_str=True)
    except NameError as error:
        if not scalar:
            raise WiringError(f"{_where(formula)}: {error}") from None
        hints = {}
    if scalar and axes_of(hints.get("return")) is None:
        return dict.fromkeys((*signature.parameters, "return"), ())
    return {name: axes_of(hints.get(name)) for name in (*signature.parameters, "return")}


def _node(formula: Formula, valid: Mapping[str, Range], *, scalar: bool) -> Node:
    stated = _stated_axes(formula, scalar=scalar)
    needs, axes = tuple(stated)[:-1], stated["return"]
    if axes is None:
        raise WiringError(f"{_where(formula)}: say what the result is per (PerBatch, PerHop, ...)")
    name = formula.__name__.partition("__")[0]
    strangers = [q for q in valid if q != name and q not in needs]
    if strangers:
        raise WiringError(f"{_where(formula)}: VALID names {strangers[0]}, which is not its need")
    return Node(name, formula, needs, axes, valid)


def _check_needs(node: Node, known: Mapping[str, tuple[str, ...]], *, scalar: bool) -> None:
    axes = _stated_axes(node.formula, scalar=scalar)
    for need in node.needs:
        if need not in known:
            raise WiringError(
                f"{_where(node.formula)}: {node.name} needs {need}, which no formula gives "
                f"and no recipe or prior provides.{did_you_mean(need, known)}"
            )
        if axes[need] != known[need]:
            raise WiringError(
                f"{_where(node.formula)}: {node.name} takes {need} per {_per(axes[need])}, "
                f"but it is per {_per(known[need])}"
            )
    lists = {axis for need in node.needs for axis in known[need]}
    reach = {axis for own in node.axes for axis in (own, BELONGS_TO.get(own, own))}
    if len(lists) > 1 and not lists <= reach:
        raise WiringError(
            f"{_where(node.formula)}: {node.name} mixes {' and '.join(sorted(lists))}; "
            f"sum one of them in a formula of its own first"
        )


def _per(axes: tuple[str, ...] | None) -> str:
    if axes is None:
        return "(nothing stated)"
    return " and ".join(axes) or "batch"


def _running_order(nodes: Mapping[str, Node]) -> list[str]:
    sorter = TopologicalSorter(
        {node.name: sorted(need for need in node.needs if need in nodes) for node in nodes.values()}
    )
    try:
        return list(sorter.static_order())
    except CycleError as error:
        loop = " <- ".join(error.args[1])
        raise WiringError(f"these quantities need each other: {loop}") from None


def _where(formula: Formula) -> str:
    code = getattr(inspect.unwrap(formula), "__code__", None)
    if code is None:
        return formula.__name__
    return f"{code.co_filename}:{code.co_firstlineno}"
