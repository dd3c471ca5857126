"""The readings of a log in time: each quantity's run chart, what breaks its rules, capability.

A batch that was brewed otherwise than the recipe is put where the recipe would have had it: its
reading times what the model makes of the recipe over what it makes of that batch, both at their
medians. What a whole brewery's model has wrong cancels in that ratio.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from brewsim.dims import FloatArray, Scale
from brewsim.logbook.brew import Batches
from brewsim.quantities.dimensions import model_unit_of
from brewsim.study.model.batch import Batch
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import at_medians, without_events
from brewsim.study.model.targets import Target
from brewsim.study.propagation.simulate import simulate
from brewsim.study.tolerance.capability import (
    MeasuredCapability,
    SimulatedCapability,
    measured_capability,
    simulated_capability,
)
from brewsim.study.tolerance.control_chart import (
    FEWEST,
    ControlChart,
    control_chart,
    within_subgroups,
)
from brewsim.study.tolerance.run_rules import (
    WESTERN_ELECTRIC,
    Rule,
    Signal,
    chart_signals,
)

DAY = "day"
_SHIFTED = ("SG", "°P", "°C", "pH")
"""Units of gravities, and without a zero of their own: what changes is added, not multiplied."""
_MOVED = 1e-6


@dataclass(frozen=True)
class RunChart:
    """One read quantity over the batches in the order of their days, model units.

    `measured` are means of each batch's readings, `values` the same as the recipe would have had
    them: times `factor`, plus `shift`. `chart` is on the outcome's scale and None where there are
    too few values, or all are the same. `within` is the spread inside `subgroups`. `band`, (n, 2),
    holds nine in ten readings of such a batch in this house, where a log was learned from.
    """

    quantity: str
    scale: Scale
    batches: tuple[str, ...]
    dates: tuple[str, ...]
    measured: FloatArray
    factor: FloatArray
    shift: FloatArray
    chart: ControlChart | None
    signals: tuple[Signal, ...]
    subgroups: str
    within: float
    target: Target | None = None
    capability: MeasuredCapability | None = None
    model: SimulatedCapability | None = None
    band: FloatArray | None = None

    @property
    def scaled(self) -> bool:
        """Whether the quantity has a zero of its own, so that changes of it are factors."""
        return model_unit_of(self.quantity) not in _SHIFTED

    @property
    def values(self) -> FloatArray:
        """The readings as the recipe would have had them, (n,)."""
        return self.measured * self.factor + self.shift

    @property
    def moved(self) -> tuple[str, ...]:
        """The batches that were brewed otherwise, and are shown as the recipe would have them."""
        far = np.abs(self.values - self.measured) > _MOVED * np.abs(self.measured)
        return tuple(b for b, other in zip(self.batches, far, strict=True) if other)

    def back(self, on_chart: float) -> float:
        """Return a place on the chart in model units."""
        return on_chart if self.scale == "linear" else math.exp(on_chart)

    @property
    def limits(self) -> tuple[float, float, float]:
        """Lower control limit, centre line and upper control limit, model units; nan without."""
        if self.chart is None:
            return math.nan, math.nan, math.nan
        drawn = self.chart
        return self.back(drawn.lower), self.back(drawn.centre), self.back(drawn.upper)


def run_charts(
    problem: Problem,
    log: Batches,
    *,
    rules: Sequence[Rule] = WESTERN_ELECTRIC,
    by: str = "",
    judged: bool = True,
    draws: int = 16_384,
    seed: int = 1,
) -> tuple[RunChart, ...]:
    """Return the chart of every quantity that a log reads, the recipe's outcomes first.

    `by` names a tag whose batches are a subgroup (or "day"); without it two batches in a row are
    one, as the moving range has them. Capability is left out where nothing is `judged`. Counts of
    tasters and readings of single rows are left out.
    """
    tags = {entry.id: {DAY: entry.date, **entry.tags} for entry in log.entries}
    found = [
        _chart(problem, name, rows, (rules, by), tags)
        for name, rows in _read(log.batches, problem).items()
    ]
    return tuple(_judged(problem, found, draws, seed) if judged else found)


def _read(batches: Sequence[Batch], problem: Problem) -> dict[str, list[tuple[Batch, float]]]:
    rows: dict[str, list[tuple[Batch, float]]] = {}
    for batch in batches:
        values: dict[str, list[float]] = {}
        for reading in batch.readings:
            if reading.known is None and not reading.trials and reading.row is None:
                values.setdefault(reading.quantity, []).append(float(reading.value))
        for name, one in values.items():
            rows.setdefault(name, []).append((batch, float(np.mean(one))))
    order = {name: place for place, name in enumerate(problem.outcomes)}
    return dict(sorted(rows.items(), key=lambda item: order.get(item[0], len(order))))


def _chart(
    problem: Problem,
    quantity: str,
    rows: Sequence[tuple[Batch, float]],
    asked: tuple[Sequence[Rule], str],
    tags: Mapping[str, Mapping[str, str]],
) -> RunChart:
    rules, by = asked
    measured = np.array([value for _, value in rows])
    factor, shift = _to_the_recipe(problem, quantity, rows)
    values = measured * factor + shift
    scale = problem.scales.get(quantity, "linear")
    work = values if scale == "linear" else np.log(values)
    able = len(work) >= FEWEST and float(np.ptp(work)) > 0
    drawn = control_chart(work) if able else None
    inside = _inside(work, [tags[batch.id].get(by, "") for batch, _ in rows]) if by else math.nan
    if drawn is not None and not by:
        inside = drawn.sigma
    return RunChart(
        quantity,
        scale,
        tuple(batch.id for batch, _ in rows),
        tuple(tags[batch.id][DAY] for batch, _ in rows),
        measured,
        factor,
        shift,
        drawn,
        () if drawn is None else tuple(chart_signals(drawn, rules)),
        by,
        inside,
    )


def _inside(work: FloatArray, names: Sequence[str]) -> float:
    """Return the spread inside subgroups of a name; batches without one belong to none."""
    known = [place for place, name in enumerate(names) if name]
    places = {name: n for n, name in enumerate(dict.fromkeys(names))}
    return within_subgroups(work[known], np.array([places[names[k]] for k in known], dtype=int))


def _to_the_recipe(
    problem: Problem, quantity: str, rows: Sequence[tuple[Batch, float]]
) -> tuple[FloatArray, FloatArray]:
    """Return what each reading is multiplied by, and what is added to it."""
    planned: dict[int, float] = {}
    first = problem if quantity in problem.graph else rows[0][0].problem
    usual = _planned(first, quantity)
    factor, shift = np.ones(len(rows)), np.zeros(len(rows))
    for place, (batch, _) in enumerate(rows):
        key = id(batch.problem)
        if key not in planned:
            planned[key] = _planned(batch.problem, quantity)
        plan = planned[key]
        if model_unit_of(quantity) in _SHIFTED or not min(plan, usual) > 0:
            shift[place] = usual - plan
        else:
            factor[place] = usual / plan
    return factor, shift


def _planned(problem: Problem, quantity: str) -> float:
    return float(at_medians(problem, problem.graph.pruned([quantity]))[quantity].ravel()[0])


def _judged(
    problem: Problem, charts: Sequence[RunChart], draws: int, seed: int
) -> Iterator[RunChart]:
    """Yield charts with the capability of those that have a target, beside the model's."""
    aimed = {c.quantity for c in charts if c.quantity in problem.targets and c.chart is not None}
    drawn = simulate(without_events(problem), draws=draws, seed=seed) if aimed else None
    for one in charts:
        if drawn is None or one.quantity not in aimed:
            yield one
            continue
        target = problem.targets[one.quantity]
        per = math.log(2) if one.scale == "log2" else 1.0
        yield replace(
            one,
            target=target,
            capability=measured_capability(one.values, target, one.within / per, scale=one.scale),
            model=simulated_capability(drawn[one.quantity].to_numpy(), target, scale=one.scale),
        )


def days_of(charts: Sequence[RunChart]) -> tuple[str, str] | None:
    """Return the first and the last day of all charts, None where no batch has one."""
    days = sorted(day for one in charts for day in one.dates if day)
    return (days[0], days[-1]) if days else None
