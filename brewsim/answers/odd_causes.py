"""The plain causes of what is odd in a log, before anything is learned from it.

A slip of the pen, a fermentation that stalled, an instrument that reads otherwise from a day on, a
lot that is not what its label says, a drift, a tank: each has a pattern of its own over batches
and quantities. What no such cause explains is left to the model.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from brewsim.answers.log_table import LOT, LogTable
from brewsim.answers.run_charts import RunChart, run_charts
from brewsim.answers.single_reading import SingleReading, single_reading
from brewsim.logbook.brew import Batches
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import without_events
from brewsim.study.propagation.simulate import simulate
from brewsim.study.tolerance.changes import FEWEST, Change, changes
from brewsim.study.tolerance.log_against_model import against_log

Kind = Literal["slip", "instrument", "lot", "stall", "odd", "group", "step", "drift"]
KINDS: tuple[Kind, ...] = ("slip", "instrument", "lot", "stall", "odd", "group", "step", "drift")
"""In the order they are told: what is no beer's doing first."""
_STRANGE = 2.5
"""Standard deviations of lots beyond which a lot is not what its label says: assumption."""
_Z90 = 1.645
_FAR = 4.0
"""Standard deviations of a forecast beyond which a reading of a short log is odd: assumption."""
_FEW_DRAWS = 4096


@dataclass(frozen=True)
class OddCause:
    """One plain cause: what it is, the batches and quantities it reaches, and how much it moves.

    `ratio` says that `amount`, `low` and `high` are factors, else they are added (model units);
    the two ends hold it nine times in ten. `place` is an instrument, a lot or the value of a
    `tag`; `usual` is the factor or step that nine in ten lots differ by. `score` is in nats above
    chance.
    """

    kind: Kind
    quantities: tuple[str, ...]
    batches: tuple[str, ...]
    amount: float
    low: float
    high: float
    ratio: bool
    score: float
    place: str = ""
    tag: str = ""
    usual: float = math.nan
    reading: SingleReading | None = None


def odd_causes(
    problem: Problem,
    log: Batches,
    charts: Sequence[RunChart] | None = None,
    *,
    seed: int = 1,
) -> tuple[OddCause, ...]:
    """Return the plain causes of what is odd in a log, slips first.

    From eight batches on they rest on the log alone; of fewer, single readings are held against
    what the model foresees. `charts` are those of `run_charts` for the same log.
    """
    drawn = run_charts(problem, log, judged=False) if charts is None else charts
    table = LogTable(log, drawn)
    if len(table.ids) < FEWEST:
        return tuple(_of_few(problem, table, seed))
    found = changes(
        table.values,
        table.quantities,
        groups=table.groups(),
        together=table.together(),
        rounding=table.rounding(),
    )
    told = [one for change in found for one in _told(problem, table, change, found, seed)]
    return tuple(sorted(told, key=lambda one: (KINDS.index(one.kind), -one.score)))


def _of_few(problem: Problem, table: LogTable, seed: int) -> Iterator[OddCause]:
    """Yield the single readings of a short log that lie far from anything foreseen."""
    names = [name for name in table.quantities if name in problem.graph]
    if not names:
        return
    drawn = simulate(without_events(problem), draws=_FEW_DRAWS, seed=seed, keep=names)
    foreseen = {}
    for name in names:
        y = drawn[name].to_numpy()
        y = np.log(y[y > 0]) if table.ratio[table.where[name]] else y[np.isfinite(y)]
        foreseen[name] = float(np.median(y)), float(y.std()) or math.nan
    odd = [
        Change("one", (name,), (int(place),), far, far, far, abs(far) / spread)
        for name, (middle, spread) in foreseen.items()
        for place, far in enumerate(table.values[:, table.where[name]] - middle)
        if abs(far) > _FAR * spread
    ]
    for change in odd:
        (name,) = change.quantities
        read = single_reading(table, change, odd, foreseen[name][1])
        yield replace(_plain(table, change), kind=read.kind, reading=read)


def _plain(table: LogTable, change: Change) -> OddCause:
    """Return a change in model units, as nothing but odd."""
    ratio = table.ratio[table.where[change.quantities[0]]]
    amount, low, high = (
        math.exp(x) if ratio else x for x in (change.amount, change.low, change.high)
    )
    ids = tuple(table.ids[place] for place in change.places)
    return OddCause("odd", change.quantities, ids, amount, low, high, ratio, change.score)


def _told(
    problem: Problem, table: LogTable, change: Change, others: Sequence[Change], seed: int
) -> Iterator[OddCause]:
    plain = _plain(table, change)
    if len(change.quantities) > 1 and change.shape in ("one", "step"):
        yield replace(plain, kind="instrument", place=table.instrument(change.quantities[0]))
    elif change.shape == "one":
        read = single_reading(table, change, others)
        yield replace(plain, kind=read.kind, reading=read)
    elif change.group[0].startswith(LOT):
        yield from _of_lot(problem, table, change, plain, seed)
    else:
        tag, place = change.group
        yield replace(plain, kind=change.shape, tag=tag, place=place)


def _of_lot(
    problem: Problem, table: LogTable, change: Change, plain: OddCause, seed: int
) -> Iterator[OddCause]:
    """Yield a lot that differs from the others by more than lots do."""
    name = change.quantities[0]
    if name not in problem.graph:
        return
    values = table.charts[name].values
    (seen,) = against_log(problem, {name: values}, contents=(0.95,), draws=4096, seed=seed)
    usual = math.sqrt(max(0.0, seen.new_lots**2 - seen.same_lots**2))
    if plain.ratio and seen.scale == "linear":
        usual /= abs(float(np.median(values)))
    if abs(change.amount) > _STRANGE * usual:
        step = math.exp(_Z90 * usual) if plain.ratio else _Z90 * usual
        ingredient = change.group[0].removeprefix(LOT)
        lot = change.group[1].removeprefix(ingredient).strip()
        yield replace(plain, kind="lot", tag=ingredient, place=lot, usual=step)
