"""A problem: formulas wired into a graph, what is fixed, what is uncertain, what is asked."""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from typing import Any, get_args

import numpy as np

from brewsim.dims import FloatArray, Input, Scale
from brewsim.distributions.base import Distribution
from brewsim.errors import StudyError, did_you_mean
from brewsim.graph.build import Graph, build_graph
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.foreign_model import as_formula, formula_name, refuse_reserved
from brewsim.study.model.html_table import html_table
from brewsim.study.model.knob import Knob, check_knob, setting_of
from brewsim.study.model.targets import Target
from brewsim.units import unit_of

SCALES: tuple[str, ...] = get_args(Scale)


@dataclass(frozen=True)
class Problem:
    """An uncertain model and what is asked of it; every study takes one.

    `graph` are the formulas, `fixed` numbers by quantity, in its unit, dims (row, 1) or (1,).

    >>> from brewsim import normal
    >>> def total(a, b):
    ...     return a + b
    >>> Problem.of([total], {"a": normal(1.0, 0.1), "b": normal(2.0, 0.1)})
    <Problem 'model': 1 outcomes, 2 factors, 0 knobs, 0 targets>
    """

    graph: Graph
    fixed: Mapping[str, FloatArray]
    factors: tuple[Factor, ...]
    outcomes: tuple[str, ...]
    knobs: tuple[Knob, ...] = ()
    targets: Mapping[str, Target] = field(default_factory=dict)
    scales: Mapping[str, Scale] = field(default_factory=dict)
    correlations: tuple[Correlation, ...] = ()
    provenance: Mapping[str, str] = field(default_factory=dict)
    row_labels: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    name: str = "model"
    learned: object | None = None
    units: Mapping[str, str] = field(default_factory=dict)
    """Units that quantities are shown in, where a person uses others than the model."""
    stated_units: Mapping[str, str] | None = None
    """The model's own units, where they are stated and not read from the endings of names."""

    def __post_init__(self) -> None:
        """Sort the factors by id, so that no order of lines can change a number; check names."""
        object.__setattr__(self, "factors", tuple(sorted(self.factors, key=lambda f: f.id)))
        _check(self)

    @staticmethod
    def of(
        formulas: Iterable[Callable[..., Any]],
        factors: Mapping[str, Distribution | tuple[Distribution, Kinds]],
        *,
        outcomes: Collection[str] = (),
        fixed: Mapping[str, float] | None = None,
        targets: Mapping[str, Target] | None = None,
        scales: Mapping[str, Scale] | None = None,
        correlations: Correlation | Iterable[Correlation] = (),
        knobs: tuple[Knob, ...] = (),
        units: Mapping[str, str] | None = None,
        groups: Mapping[str, str] | None = None,
        name: str = "model",
    ) -> "Problem":
        """Pose any model: formulas wired by parameter names, scalar factors, fixed numbers.

        Formulas are functions, methods or partials of arrays (`one_by_one` makes one of a function
        of plain numbers); without dims annotations they are taken as one value per sample, and a
        parameter with a default that nothing provides keeps it. `units` names the units of
        quantities, which are otherwise read from the endings of their names; `groups` gathers
        factors for `rank(by="group")`. Without `outcomes`, every formula is one. Raises StudyError
        or WiringError, also for a factor or a fixed number that no formula reads, no outcome names
        and nothing is correlated with.
        """
        formulas = list(formulas)
        provided = {*factors, *(fixed or {}), *(formula_name(f) or "" for f in formulas)}
        formulas = [as_formula(formula, provided) for formula in formulas]
        constants = {name: np.array([float(value)]) for name, value in (fixed or {}).items()}
        for twice in sorted(constants.keys() & factors.keys()):
            raise StudyError(f"{twice} is both uncertain and fixed; keep one")
        inputs = {name: Input((), name) for name in [*factors, *constants]}
        graph = build_graph(formulas, inputs, scalar=True)
        read = {need for node in graph.nodes.values() for need in node.needs}
        tied = (correlations,) if isinstance(correlations, Correlation) else correlations
        linked = {name for c in tied for name in getattr(c, "ids", ())}
        for unread in inputs.keys() - read - linked - {*outcomes, *(targets or {})}:
            raise StudyError(f"no formula reads {unread}.{did_you_mean(unread, read)}")
        rows = []
        for quantity, given in factors.items():
            distribution, kinds = given if isinstance(given, tuple) else (given, Kinds())
            if not isinstance(distribution, Distribution):
                raise StudyError(f"{quantity}: {given} is no distribution; numbers go to `fixed`")
            if not isinstance(kinds, Kinds):
                raise StudyError(f"{quantity}: its kinds are shares, Kinds(...), not {kinds!r}")
            group = (groups or {}).get(quantity, quantity)
            rows.append(Factor(quantity, quantity, None, quantity, distribution, kinds, group))
        for stranger in sorted((groups or {}).keys() - factors.keys()):
            hint = did_you_mean(stranger, factors)
            raise StudyError(f"groups: there is no factor {stranger}.{hint}")
        problem = Problem(
            graph=graph,
            fixed=constants,
            factors=tuple(rows),
            outcomes=tuple(outcomes) or tuple(graph.nodes),
            knobs=knobs,
            targets=targets or {},
            scales=scales or {},
            correlations=tuple(tied),
            name=name,
            stated_units=units,
        )
        problem.require(units or {})
        for knob in knobs:
            check_knob(knob, problem.fixed, [factor.id for factor in problem.factors])
        return problem

    def __repr__(self) -> str:
        """Return what it is and how much of it there is: the graph itself is long."""
        counts = (
            (len(self.outcomes), "outcomes"),
            (len(self.factors), "factors"),
            (len(self.knobs), "knobs"),
            (len(self.targets), "targets"),
        )
        return f"<Problem {self.name!r}: {', '.join(f'{n} {what}' for n, what in counts)}>"

    def _repr_html_(self) -> str:
        """Return a table for notebooks: outcomes with unit and target, then what is uncertain."""
        rows = [(name, self._target_text(name), unit_of(name) or "") for name in self.outcomes]
        asked = len(self.factors), len(self.knobs)
        caption = f"{self.name}: {asked[0]} uncertain inputs, {asked[1]} knobs"
        return html_table(caption, ("outcome", "target", "unit"), rows)

    def _target_text(self, name: str) -> str:
        if name not in self.targets:
            return ""
        low, high = self.targets[name].ends
        return f"{low:.6g} to {high:.6g}"

    def require(self, names: Iterable[str]) -> None:
        """Raise StudyError with a near miss for a quantity that the model does not have."""
        for name in names:
            if name not in self.graph:
                near = did_you_mean(name, [*self.graph.nodes, *self.graph.inputs])
                raise StudyError(f"there is no quantity {name}.{near}")

    def factor(self, identity: str) -> Factor:
        """Return the factor with that id; raises StudyError with a near miss."""
        for factor in self.factors:
            if factor.id == identity:
                return factor
        hint = did_you_mean(identity, [f.id for f in self.factors])
        raise StudyError(f"there is no factor {identity}.{hint}")

    def knob(self, identity: str) -> Knob:
        """Return the knob with that id; raises StudyError with a near miss."""
        for knob in self.knobs:
            if knob.id == identity:
                return knob
        known = [k.id for k in self.knobs]
        hint = did_you_mean(identity, known) or f" There is: {', '.join(known) or 'none'}."
        raise StudyError(f"there is no knob {identity}.{hint}")

    def fixed_at(self, quantity: str, row: int | None = None) -> float:
        """Return a fixed number: a list's row, or all there is."""
        array = np.asarray(self.fixed[quantity])
        return float((array if row is None else array[row]).ravel()[0])

    def set(self, settings: Mapping[str, float | str]) -> "Problem":
        """Return the problem with knobs (by id) at other settings: model units, or a choice."""
        fixed = dict(self.fixed)
        distributions: dict[str, Distribution] = {}
        knobs = list(self.knobs)
        for identity, value in settings.items():
            knob = self.knob(identity)
            if not knob.choices:
                array = np.array(fixed[knob.quantity], dtype=float)
                array[(knob.row if knob.row is not None else slice(None))] = setting_of(knob, value)
                fixed[knob.quantity] = array
                continue
            labels = [choice.label for choice in knob.choices]
            if value not in labels:
                raise StudyError(f"{identity} has no choice {value}; it has {', '.join(labels)}")
            choice = knob.choices[labels.index(str(value))]
            fixed.update(choice.fixed)
            distributions.update(choice.distributions)
            knobs[knobs.index(knob)] = replace(knob, current=choice.label)
        moved = copy(self)
        object.__setattr__(moved, "fixed", fixed)
        object.__setattr__(moved, "knobs", tuple(knobs))
        if distributions:
            factors = tuple(
                replace(f, distribution=distributions[f.id]) if f.id in distributions else f
                for f in self.factors
            )
            object.__setattr__(moved, "factors", factors)
        return moved


def _check(problem: Problem) -> None:
    _check_asked(problem)
    ids = [factor.id for factor in problem.factors]
    doubled = sorted(i for i, count in Counter(ids).items() if count > 1)
    if doubled:
        raise StudyError(f"factor ids must be unique; doubled: {', '.join(doubled)}")
    for factor in problem.factors:
        if factor.quantity not in problem.graph.inputs:
            hint = did_you_mean(factor.quantity, problem.graph.inputs)
            raise StudyError(f"factor {factor.id}: no input called {factor.quantity}.{hint}")
    provided = {f.quantity for f in problem.factors} | set(problem.fixed)
    missing = sorted(set(problem.graph.inputs) - provided)
    if missing:
        raise StudyError(f"nothing provides: {', '.join(missing)}")
    _check_correlations(problem)


def _check_correlations(problem: Problem) -> None:
    """Refuse a correlation of what is no factor, an event, or not uncertain in that kind."""
    taken: set[tuple[str, str]] = set()
    for correlation in problem.correlations:
        if not isinstance(correlation, Correlation):
            raise StudyError(f"a correlation is Correlation(kind, ids, matrix), not {correlation}")
        for identity in correlation.ids:
            factor = problem.factor(identity)
            if factor.event:
                raise StudyError(f"{identity} is an event; events are not correlated")
            if correlation.kind not in dict(factor.kinds.items()):
                raise StudyError(f"{identity} has no share of kind {correlation.kind} to correlate")
            if (correlation.kind, identity) in taken:
                raise StudyError(f"a factor is in two {correlation.kind} correlations: state one")
            taken.add((correlation.kind, identity))


def _check_asked(problem: Problem) -> None:
    """Refuse what is asked of no quantity, or in no known way."""
    refuse_reserved({*problem.outcomes, *problem.targets})
    problem.require((*problem.outcomes, *problem.targets, *problem.scales))
    for name, target in problem.targets.items():
        if not isinstance(target, Target):
            raise StudyError(f"{name}: a target is Target(lower, upper), not {target!r}")
    for name, scale in problem.scales.items():
        if scale not in SCALES:
            raise StudyError(f"{name}: a scale is one of {', '.join(SCALES)}, not {scale!r}")
