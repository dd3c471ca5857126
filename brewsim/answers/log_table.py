"""A log as a table of numbers: batches by quantities, on the scale a change of each is told on."""

import math
from collections.abc import Sequence

import numpy as np

from brewsim.answers.run_charts import RunChart
from brewsim.dims import FloatArray
from brewsim.logbook.brew import Batches
from brewsim.logbook.readings import named_quantity

LOT = "lot of "
"""Before an ingredient's name: the tag that holds its lot."""


class LogTable:
    """Every charted quantity over all batches of a log, in the order of their days.

    `plain` is (batches, quantities) in model units, as the recipe would have had them, nan where
    nothing was read; `values` are logarithms of it where `ratio` says that a quantity has a zero
    of its own.
    """

    def __init__(self, log: Batches, charts: Sequence[RunChart]) -> None:
        self.log = log
        self.entries = {entry.id: entry for entry in log.entries}
        self.ids = [entry.id for entry in log.entries]
        self.charts = {one.quantity: one for one in charts}
        self.quantities = list(self.charts)
        self.where = {name: column for column, name in enumerate(self.quantities)}
        rows = {batch: place for place, batch in enumerate(self.ids)}
        self.plain = np.full((len(self.ids), len(self.quantities)), np.nan)
        for column, one in enumerate(charts):
            self.plain[[rows[b] for b in one.batches], column] = one.values
        self.ratio = [one.scaled and bool((one.values > 0).all()) for one in charts]
        self.values = self.plain.copy()
        for column, logged in enumerate(self.ratio):
            if logged:
                self.values[:, column] = np.log(self.plain[:, column])

    def rounding(self) -> FloatArray:
        """Return the smallest step between values of each quantity, on its own scale."""
        steps = []
        for column, logged in enumerate(self.ratio):
            y = np.unique(np.round(self.plain[np.isfinite(self.plain[:, column]), column], 9))
            step = float(np.diff(y).min()) if len(y) > 1 else 0.0
            steps.append(step / float(np.median(y)) if logged else step)
        return np.array(steps)

    def groups(self) -> dict[str, list[str]]:
        """Return each tag's value, and each ingredient's lot, for every batch."""
        tags = dict.fromkeys(name for entry in self.log.entries for name in entry.tags)
        found = {name: [self.entries[i].tags.get(name, "") for i in self.ids] for name in tags}
        by_id = {batch.id: batch for batch in self.log.batches}
        lots = [
            {f.id.partition(" | ")[2]: f.lot for f in by_id[i].problem.factors if f.lot}
            for i in self.ids
        ]
        for name in dict.fromkeys(name for one in lots for name in one if name):
            found[LOT + name] = [one.get(name, "") for one in lots]
        return found

    def together(self) -> list[list[str]]:
        """Return quantities that one instrument reads with one error, in one unit."""
        by: dict[str, dict[str, None]] = {}
        for batch in self.log.batches:
            for one in batch.readings:
                if one.instrument and one.scale == "linear" and one.quantity in self.charts:
                    by.setdefault(one.instrument, {})[one.quantity] = None
        return [list(names) for names in by.values() if len(names) > 1]

    def instrument(self, quantity: str) -> str:
        """Return the instrument that reads a quantity."""
        readings = (r for batch in self.log.batches for r in batch.readings)
        named = (r.instrument.partition(", ")[0] for r in readings if r.quantity == quantity)
        return next(named, "")

    def written(self, batch: str, quantity: str) -> str:
        """Return the text of a batch's one reading of a quantity; "" where there are several."""
        graph = next(b.problem.graph for b in self.log.batches if b.id == batch)
        texts = []
        for name, written in self.entries[batch].readings.items():
            if quantity in (name, named_quantity(name, graph)):
                texts += [str(text) for text in written]
        return texts[0].partition(" by ")[0].strip() if len(texts) == 1 else ""

    def on_scale(self, batch: str, quantity: str, value: float) -> float:
        """Return a reading of a batch where `values` would have it; nan where it has none."""
        one, column = self.charts[quantity], self.where[quantity]
        at = one.batches.index(batch)
        moved = value * float(one.factor[at]) + float(one.shift[at])
        if not self.ratio[column]:
            return moved
        return math.log(moved) if moved > 0 else math.nan
