"""How a formula treats the rows of a list: each by itself, added up, or in some other way.

A formula is called once with stand-ins for its arrays that only know how rows may be combined.
Whatever they do not know is refused, so that a form found here holds for all values.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np

from brewsim.dims import BELONGS_TO
from brewsim.graph.build import Graph, Node

Form = Literal["each", "added"]
_ADDITIVE = {np.add, np.subtract}
_SCALING = {np.multiply: (0, 1), np.divide: (0,), np.true_divide: (0,)}


@dataclass(frozen=True)
class RowForm:
    """A result's row is made of the same row of its needs, or rows' parts are added up.

    `axis` is the list it runs over, `index` the needs that pick rows of the list it belongs to.
    """

    form: Form
    axis: str
    index: frozenset[str]


class _NotByRowsError(Exception):
    """The formula does what no stand-in knows."""


@dataclass(frozen=True, eq=False)
class _StandIn(np.lib.mixins.NDArrayOperatorsMixin):
    """An array known by what it is: one value ("batch"), a list's rows, or a sum over them."""

    what: Literal["batch", "rows", "sum"]
    axis: str = ""
    name: str = ""
    as_index: bool = False
    used: frozenset[str] = frozenset()

    def __array_ufunc__(self, ufunc: Any, method: str, *given: Any, **named: Any) -> "_StandIn":  # noqa: ANN401 - NumPy's own protocol
        if method != "__call__" or named or ufunc.nout != 1 or ufunc.signature is not None:
            raise _NotByRowsError
        return _combined(ufunc, given)

    def __array_function__(
        self,
        function: Any,  # noqa: ANN401 - NumPy's own protocol
        _types: Any,  # noqa: ANN401
        given: Any,  # noqa: ANN401
        named: Mapping[str, Any],
    ) -> "_StandIn":
        if function is np.ravel and given == (self,) and not named:
            return self.ravel()
        if function is np.sum and given == (self,) and dict(named) == {"axis": 0}:
            return self.sum(axis=0)
        if function in (np.where, np.clip) and not named:
            return _combined(function, given)
        if function in (np.ones_like, np.zeros_like) and given == (self,) and not named:
            return _combined(function, given)
        raise _NotByRowsError

    def __array__(self, *_given: object, **_named: object) -> Any:  # noqa: ANN401
        raise _NotByRowsError

    def __bool__(self) -> bool:
        raise _NotByRowsError

    def __len__(self) -> int:
        raise _NotByRowsError

    def __iter__(self) -> Any:  # noqa: ANN401
        raise _NotByRowsError

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401
        raise _NotByRowsError

    def ravel(self) -> "_StandIn":
        if self.what != "rows" or not self.name:
            raise _NotByRowsError
        return _StandIn("rows", self.axis, self.name, as_index=True)

    def astype(self, kind: object) -> "_StandIn":
        if not self.as_index or kind is not np.intp:
            raise _NotByRowsError
        return self

    def sum(self, axis: int | None = None) -> "_StandIn":
        if self.what != "rows" or self.as_index or axis != 0:
            raise _NotByRowsError
        return _StandIn("sum", self.axis, used=self.used)

    def __getitem__(self, key: object) -> "_StandIn":
        if not isinstance(key, _StandIn) or not key.as_index or self.what != "rows":
            raise _NotByRowsError
        if self.as_index or BELONGS_TO.get(key.axis) != self.axis:
            raise _NotByRowsError
        return _StandIn("rows", key.axis, used=self.used | {key.name})


def _combined(function: Callable[..., Any], given: tuple[object, ...]) -> _StandIn:
    """Return what a function of each element makes of stand-ins and plain numbers."""
    parts = [one for one in given if isinstance(one, _StandIn)]
    others = [one for one in given if not isinstance(one, _StandIn)]
    arrays = any(isinstance(one, np.ndarray | list | tuple) for one in others)
    if arrays or any(part.as_index for part in parts):
        raise _NotByRowsError
    used = frozenset[str]().union(*(part.used for part in parts))
    kinds = {part.what for part in parts}
    axes = {part.axis for part in parts if part.what != "batch"}
    if len(axes) > 1 or {"rows", "sum"} <= kinds:
        raise _NotByRowsError
    if "sum" in kinds and not _stays_a_sum(function, given):
        raise _NotByRowsError
    what = next((kind for kind in ("sum", "rows") if kind in kinds), "batch")
    return _StandIn(what, next(iter(axes), ""), used=used)  # type: ignore[arg-type]


def _stays_a_sum(function: Callable[..., Any], given: tuple[object, ...]) -> bool:
    if function in _ADDITIVE or function is np.negative:
        return True
    sums = tuple(
        place for place, one in enumerate(given) if isinstance(one, _StandIn) and one.what == "sum"
    )
    return len(sums) == 1 and sums[0] in _SCALING.get(function, ())  # type: ignore[call-overload]


@lru_cache(maxsize=1024)
def _form(
    formula: Callable[..., Any], names: tuple[str, ...], axes: tuple[tuple[str, ...], ...]
) -> RowForm | None:
    given = [
        _StandIn("rows", own[0], name) if own else _StandIn("batch")
        for name, own in zip(names, axes, strict=True)
    ]
    try:
        found = formula(*given)
    except Exception:  # noqa: BLE001 - whatever stops a stand-in, the formula is then run whole
        return None
    if not isinstance(found, _StandIn) or found.what == "batch" or found.as_index:
        return None
    return RowForm("each" if found.what == "rows" else "added", found.axis, found.used)


def row_form(graph: Graph, node: Node) -> RowForm | None:
    """Return how a node's formula treats the rows of a list, or None if no such form is known."""
    axes = tuple(graph.axes(need) for need in node.needs)
    if not any(axes) or any(len(own) > 1 for own in axes) or len(node.axes) > 1:
        return None
    found = _form(node.formula, node.needs, axes)
    if found is None or len(found.index) > 1:
        return None
    return found if node.axes == ((found.axis,) if found.form == "each" else ()) else None
