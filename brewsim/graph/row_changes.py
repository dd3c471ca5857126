"""Run formulas again after some rows of a list changed: only those rows, where that is enough.

One hop of two hundred is one row of two hundred in every formula of hops, and one part of every
sum over them. A formula whose form is not known (row_forms.py), or that also takes what changed
as a whole, runs whole.
"""

from collections.abc import Iterable, Mapping, MutableMapping, MutableSet
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.graph.build import Graph, Node
from brewsim.graph.row_forms import RowForm, row_form

Rows = NDArray[np.intp]

LONG_LIST = 16
"""Rows from which on a list's rows run by themselves; a shorter list costs as much whole."""

_WORTH = 4
"""Rows run by themselves if they are at most one in so many."""


@dataclass(frozen=True)
class RowsOf:
    """New values of some rows of a list: `rows` (k,), sorted, and `values` (k, n)."""

    rows: Rows
    values: FloatArray


class RowRuns:
    """Runs nodes of a graph again on top of `base`, every value of one evaluation.

    `asked` are the lists that are wanted as a result; others are not filled in.
    `formula_rows` counts the rows of lists that formulas were run on.
    """

    def __init__(
        self, graph: Graph, base: Mapping[str, FloatArray], asked: frozenset[str] = frozenset()
    ) -> None:
        self.graph, self.base, self.asked = graph, base, asked
        self.formula_rows = 0
        self._long = any(v.ndim > 1 and len(v) >= LONG_LIST for v in base.values())

    def again(
        self, nodes: Iterable[Node], whole: Mapping[str, FloatArray], rows: Mapping[str, RowsOf]
    ) -> dict[str, FloatArray]:
        """Return `base` with the changes and what follows from them.

        `whole` are quantities with all their values, `rows` lists of which only some rows are
        new, `nodes` what depends on either, in running order. Division by zero gives inf or nan.
        """
        values, parts, changed = {**self.base, **whole}, dict(rows), set(whole)
        for node in nodes:
            some = not parts.keys().isdisjoint(node.needs)
            if changed.isdisjoint(node.needs):
                form = row_form(self.graph, node) if some else None
                if not some or (form and self._by_rows(node, form, values, parts, changed)):
                    continue
            self._fill(parts.keys() & node.needs, values, parts)
            self._whole(node, values, parts, changed)
        self._fill(parts.keys() & self.asked, values, parts)
        return values

    def _fill(
        self,
        names: Iterable[str],
        values: MutableMapping[str, FloatArray],
        parts: Mapping[str, RowsOf],
    ) -> None:
        """Put new rows into the lists that are wanted whole, once each."""
        for name in names:
            if values[name] is self.base[name]:
                values[name] = self._filled(name, parts[name])

    def _whole(
        self,
        node: Node,
        values: MutableMapping[str, FloatArray],
        parts: MutableMapping[str, RowsOf],
        changed: MutableSet[str],
    ) -> None:
        """Run a node on all rows, and note which of its own came out other than before."""
        needs = [values[need] for need in node.needs]
        self.formula_rows += max(len(need) if need.ndim > 1 else 1 for need in needs)
        found = node.formula(*needs)
        moved = self._moved(node.name, found)
        if moved is None:
            values[node.name] = found
            changed.add(node.name)
        elif moved.size:
            parts[node.name] = RowsOf(moved, found[moved])

    def _moved(self, name: str, found: FloatArray) -> Rows | None:
        """Return the rows of a result that differ from the base, None where it counts as whole.

        What a change does not reach in the end (hops that no charge crowds out, dry hops of a beer
        without any) need not run on.
        """
        before = self.base[name]
        if not self._long or np.ndim(found) != before.ndim:
            return None
        if before.ndim == 1:
            return np.empty(0, dtype=np.intp) if np.array_equal(found, before) else None
        rows = np.flatnonzero((found != before).any(axis=1))
        return rows if rows.size * _WORTH <= len(before) else None

    def _filled(self, name: str, part: RowsOf) -> FloatArray:
        old = self.base[name]
        size = max(old.shape[-1], part.values.shape[-1])
        new = np.array(np.broadcast_to(old, (len(old), size)))
        new[part.rows] = part.values
        return new

    def _by_rows(
        self,
        node: Node,
        form: RowForm,
        values: MutableMapping[str, FloatArray],
        parts: MutableMapping[str, RowsOf],
        changed: MutableSet[str],
    ) -> bool:
        """Run a node on the rows that changed; False where it has to run whole."""
        if not form.index.isdisjoint(parts):
            return False
        index = next((np.ravel(self.base[name]).astype(np.intp) for name in form.index), None)
        rows = self._reached(node, form, index, parts)
        if rows is None:
            return False
        if not rows.size:
            return True
        lots, places = (
            (rows, rows) if index is None else np.unique(index[rows], return_inverse=True)
        )
        old, new = [], []
        for need in node.needs:
            own, pair = self.graph.axes(need), (self.base[need], self.base[need])
            if need in form.index:
                pair = (places.astype(float),) * 2  # as indices stand in a base
            elif own:
                pair = self._taken(need, rows if own == (form.axis,) else lots, parts)
            old.append(pair[0])
            new.append(pair[1])
        self.formula_rows += rows.size
        if form.form == "each":
            parts[node.name] = RowsOf(rows, node.formula(*new))
            return True
        moved = self.base[node.name] + (node.formula(*new) - node.formula(*old))
        if not np.isfinite(moved).all():
            return False  # infinite parts of a sum cannot be exchanged
        values[node.name] = moved
        changed.add(node.name)
        return True

    def _reached(
        self, node: Node, form: RowForm, index: Rows | None, parts: Mapping[str, RowsOf]
    ) -> Rows | None:
        """Return the rows of the formula's list that change, None where too many do."""
        reached, length = [np.empty(0, dtype=np.intp)], 0
        for need in node.needs:
            own = self.graph.axes(need) == (form.axis,)
            length = max(length, len(self.base[need]) if own else 0)
            if need in parts:
                rows = parts[need].rows
                if not own and index is None:
                    return None
                reached.append(
                    rows if own or index is None else np.flatnonzero(np.isin(index, rows))
                )
        found = np.unique(np.concatenate(reached))
        return found if found.size * _WORTH <= length else None

    def _taken(
        self, need: str, rows: Rows, parts: Mapping[str, RowsOf]
    ) -> tuple[FloatArray, FloatArray]:
        """Return some rows of a list as they were and as they are."""
        before = self.base[need][rows]
        if need not in parts:
            return before, before
        part = parts[need]
        if np.array_equal(part.rows, rows):
            return before, part.values
        size = max(before.shape[-1], part.values.shape[-1])
        after = np.array(np.broadcast_to(before, (len(rows), size)))
        kept = np.isin(part.rows, rows)
        after[np.searchsorted(rows, part.rows[kept])] = np.broadcast_to(
            part.values, (len(part.rows), size)
        )[kept]
        return before, after
