"""A problem: formulas wired into a graph, what is fixed, what is uncertain, what is asked."""

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from numbers import Real
from types import FunctionType
from typing import Annotated, get_args, get_type_hints

import numpy as np

from brewsim.dims import Dims, FloatArray, Input, Scale, axes_of
from brewsim.distributions.base import Distribution
from brewsim.errors import StudyError, did_you_mean
from brewsim.graph.build import Graph, build_graph

KINDS = ("knowledge", "lot", "batch")
SCALES: tuple[str, ...] = get_args(Scale)


@dataclass(frozen=True, slots=True)
class Kinds:
    """Shares of a factor's normal score: one true value, a new lot, every brew; they sum to 1."""

    knowledge: float = 1.0
    lot: float = 0.0
    batch: float = 0.0

    def __post_init__(self) -> None:
        """Refuse shares that are negative or do not sum to 1."""
        shares = (self.knowledge, self.lot, self.batch)
        if not (min(shares) >= 0 and abs(sum(shares) - 1) <= 1e-9):
            raise StudyError(f"kind shares must be positive and sum to 1, not {shares}")

    def items(self) -> tuple[tuple[str, float], ...]:
        """Return (kind, share) for the kinds with a share above zero."""
        pairs = zip(KINDS, (self.knowledge, self.lot, self.batch), strict=True)
        return tuple((kind, share) for kind, share in pairs if share > 0)


@dataclass(frozen=True, slots=True)
class Factor:
    """One uncertain row of a quantity.

    `id` names it across recipes (quantity and ingredient, never a row number); `lot` is the lot
    whose latent it shares, if any; an `event` is a rare 0/1 happening that is reported apart;
    `turnable` and `measurable` say what a person can do about it.
    """

    id: str
    quantity: str
    row: int | None
    label: str
    distribution: Distribution
    kinds: Kinds = Kinds()
    group: str = ""
    lot: str = ""
    event: bool = False
    turnable: bool = False
    measurable: bool = False


@dataclass(frozen=True, slots=True)
class Choice:
    """One option of a categorical knob: what it fixes and which factors it redistributes."""

    label: str
    fixed: Mapping[str, FloatArray] = field(default_factory=dict)
    distributions: Mapping[str, Distribution] = field(default_factory=dict)


_PLACES = 1.3
_MOST_DECIMALS = 4
_SLIGHT = 1e-6


def _decimals(value: float) -> int:
    """Return the decimals with which a number is written in full."""
    exact = (n for n in range(_MOST_DECIMALS) if abs(round(value, n) - value) < _SLIGHT)
    return next(exact, _MOST_DECIMALS)


@dataclass(frozen=True, slots=True)
class Knob:
    """What a person can set: a row of a fixed quantity between low and high, or a choice.

    low, high and step are in model units. `per_shown` is model units per shown unit (0.001 when
    grams are shown and kilograms modelled), `zero` the model's value that is shown as 0 (-17.8
    when °F are shown and °C modelled). `today` is where it stood when it was posed, None if it
    does not matter. `note` is what a person who moves it has to know, in a sentence.
    """

    id: str
    label: str
    quantity: str = ""
    row: int | None = None
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    unit: str = ""
    per_shown: float = 1.0
    zero: float = 0.0
    choices: tuple[Choice, ...] = ()
    current: str = ""
    today: float | None = None
    note: str = ""

    @property
    def decimals(self) -> int:
        """How many decimals a shown setting needs: for its steps, or for some sixty places.

        One more where that tells today's setting in full.
        """
        usual = self._usual_decimals()
        exact = 0 if self.today is None else _decimals(self.as_shown(self.today))
        return min(usual + (exact == usual + 1), _MOST_DECIMALS)

    def _usual_decimals(self) -> int:
        span = (self.high - self.low) / self.per_shown
        free = math.ceil(_PLACES - math.log10(span)) if span > 0 else 2
        if self.step <= 0:
            return min(max(free, 0), _MOST_DECIMALS)
        stepped = (self.step / self.per_shown, self.as_shown(self.low))
        return min(max(free, 0, *map(_decimals, stepped)), _MOST_DECIMALS)

    def as_shown(self, value: float) -> float:
        """Return a setting in the unit it is shown in."""
        return (value - self.zero) / self.per_shown


@dataclass(frozen=True, slots=True)
class Target:
    """Limits an outcome should keep to; None where there is no limit on that side."""

    lower: float | None = None
    upper: float | None = None

    def __post_init__(self) -> None:
        """Refuse limits that are no numbers or that nothing can lie between."""
        for limit in (self.lower, self.upper):
            if not isinstance(limit, Real | None):
                raise StudyError(f"limits of a target are numbers or None, not {limit!r}")
        low, high = self.ends
        if not low <= high:
            raise StudyError(
                f"a target runs from its lower to its upper limit, not {low} to {high}"
            )

    @property
    def ends(self) -> tuple[float, float]:
        """Both limits, infinite where there is none."""
        low = -math.inf if self.lower is None else self.lower
        return low, math.inf if self.upper is None else self.upper


@dataclass(frozen=True, slots=True)
class Correlation:
    """Correlation of the normal scores of named factors, for one kind."""

    kind: str
    ids: tuple[str, ...]
    matrix: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class Problem:
    """An uncertain model and what is asked of it; every study takes one."""

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

    def __post_init__(self) -> None:
        """Sort the factors by id, so that no order of lines can change a number; check names."""
        object.__setattr__(self, "factors", tuple(sorted(self.factors, key=lambda f: f.id)))
        _check(self)

    @staticmethod
    def of(
        formulas: Iterable[Callable[..., FloatArray]],
        factors: Mapping[str, Distribution | tuple[Distribution, Kinds]],
        *,
        outcomes: Collection[str] = (),
        fixed: Mapping[str, float] | None = None,
        targets: Mapping[str, Target] | None = None,
        scales: Mapping[str, Scale] | None = None,
        correlations: tuple[Correlation, ...] = (),
        knobs: tuple[Knob, ...] = (),
        name: str = "model",
    ) -> "Problem":
        """Pose any model: formulas wired by parameter names, scalar factors, fixed numbers.

        Plain functions without dims annotations are taken as one value per sample. Without
        `outcomes`, every formula is one. Raises StudyError or WiringError, also for a factor or a
        fixed number that no formula reads, no outcome names and nothing is correlated with.
        """
        formulas = [_as_formula(formula) for formula in formulas]
        constants = {name: np.array([float(value)]) for name, value in (fixed or {}).items()}
        for twice in sorted(constants.keys() & factors.keys()):
            raise StudyError(f"{twice} is both uncertain and fixed; keep one")
        inputs = {name: Input((), name) for name in [*factors, *constants]}
        graph = build_graph(formulas, inputs)
        read = {need for node in graph.nodes.values() for need in node.needs}
        linked = {name for correlation in correlations for name in correlation.ids}
        for unread in inputs.keys() - read - linked - {*outcomes, *(targets or {})}:
            raise StudyError(f"no formula reads {unread}.{did_you_mean(unread, read)}")
        rows = []
        for quantity, given in factors.items():
            distribution, kinds = given if isinstance(given, tuple) else (given, Kinds())
            if not isinstance(distribution, Distribution):
                raise StudyError(f"{quantity}: {given} is no distribution; numbers go to `fixed`")
            if not isinstance(kinds, Kinds):
                raise StudyError(f"{quantity}: its kinds are shares, Kinds(...), not {kinds!r}")
            rows.append(Factor(quantity, quantity, None, quantity, distribution, kinds, quantity))
        problem = Problem(
            graph=graph,
            fixed=constants,
            factors=tuple(rows),
            outcomes=tuple(outcomes) or tuple(graph.nodes),
            knobs=knobs,
            targets=targets or {},
            scales=scales or {},
            correlations=correlations,
            name=name,
        )
        for knob in knobs:
            _check_knob(problem, knob)
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
                array[(knob.row if knob.row is not None else slice(None))] = _number(knob, value)
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


def _number(knob: Knob, value: float | str) -> float:
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise StudyError(f"{knob.id} takes a number, not {value}")
    if number < 0 <= knob.low:
        raise StudyError(f"{knob.id} cannot be below 0; it is turned from {knob.low:g}")
    return number


def _as_formula(function: Callable[..., FloatArray]) -> Callable[..., FloatArray]:
    if not isinstance(function, FunctionType):
        raise StudyError(f"a formula is a function written with def, not {function!r}")
    hints = get_type_hints(function, include_extras=True)
    if axes_of(hints.get("return")) is not None:
        return function
    per_batch = Annotated[FloatArray, Dims(())]
    code = function.__code__
    names = code.co_varnames[: code.co_argcount]
    function.__annotations__ = dict.fromkeys(names, per_batch) | {"return": per_batch}
    return function


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


def _check_asked(problem: Problem) -> None:
    """Refuse what is asked of no quantity, or in no known way."""
    problem.require((*problem.outcomes, *problem.targets, *problem.scales))
    for name, target in problem.targets.items():
        if not isinstance(target, Target):
            raise StudyError(f"{name}: a target is Target(lower, upper), not {target!r}")
    for name, scale in problem.scales.items():
        if scale not in SCALES:
            raise StudyError(f"{name}: a scale is one of {', '.join(SCALES)}, not {scale!r}")


def _check_knob(problem: Problem, knob: Knob) -> None:
    """Refuse a knob that turns nothing, or that has nowhere to go."""
    if knob.choices:
        names = {name for choice in knob.choices for name in choice.fixed}
        ids = {identity for choice in knob.choices for identity in choice.distributions}
        for name in sorted(names - set(problem.fixed)):
            raise StudyError(f"knob {knob.id}: no fixed number is called {name}")
        for identity in sorted(ids - {factor.id for factor in problem.factors}):
            raise StudyError(f"knob {knob.id}: no factor is called {identity}")
        return
    if knob.quantity not in problem.fixed:
        hint = did_you_mean(knob.quantity, problem.fixed)
        raise StudyError(f"knob {knob.id}: no fixed number is called {knob.quantity!r}.{hint}")
    rows = len(np.atleast_1d(problem.fixed[knob.quantity]))
    if knob.row is not None and not 0 <= knob.row < rows:
        raise StudyError(f"knob {knob.id}: {knob.quantity} has no row {knob.row}")
    if not (math.isfinite(knob.low) and knob.low <= knob.high):
        raise StudyError(f"knob {knob.id} is turned from {knob.low} to {knob.high}: no such range")
    if not knob.step >= 0:
        raise StudyError(f"knob {knob.id}: its steps cannot be {knob.step}")
