"""Models from elsewhere as formulas: methods, partials, defaults, and functions of one number."""

import inspect
from collections.abc import Callable, Collection
from functools import partial, update_wrapper
from types import FunctionType
from typing import Any

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError

RESERVED = ("draw", "replicate", "event", "score", "factor", "outcome")
"""Names of axes, coordinates and columns of results: no outcome can have one."""


def one_by_one(function: Callable[..., float]) -> Callable[..., FloatArray]:
    """Return a formula that calls a function of plain numbers draw by draw.

    For models that cannot take arrays. Where the function raises an arithmetic or value error the
    draw has no value, and is counted (`not_finite` of `simulate`).

    >>> import math
    >>> def root(x):
    ...     return math.sqrt(x)
    >>> one_by_one(root)(np.array([4.0, -1.0])).tolist()
    [2.0, nan]
    """

    def looped(*arrays: FloatArray, **named: FloatArray) -> FloatArray:
        columns = np.broadcast_arrays(*map(np.atleast_1d, (*arrays, *named.values())))
        call = partial(_tried, function, len(arrays), tuple(named))
        return np.array([call(row) for row in zip(*columns, strict=True)])

    return update_wrapper(looped, function)


def _tried(
    function: Callable[..., float], places: int, names: tuple[str, ...], row: tuple[float, ...]
) -> float:
    numbers = tuple(map(float, row))
    try:
        return float(function(*numbers[:places], **dict(zip(names, numbers[places:], strict=True))))
    except (ArithmeticError, ValueError):
        return float("nan")


def as_formula(function: Callable[..., Any], provided: Collection[str]) -> Callable[..., Any]:
    """Return a plain formula for a function, method or partial.

    A parameter with a default that nothing provides keeps its default. Raises StudyError for what
    has no name or no names of parameters.
    """
    name = formula_name(function)
    try:
        parameters = inspect.signature(function).parameters.values()
    except (TypeError, ValueError):
        parameters = None
    if parameters is None or name is None or not name.isidentifier():
        raise StudyError(f"a formula is a function written with def, not {function!r}")
    if any(p.kind in (p.VAR_POSITIONAL, p.VAR_KEYWORD, p.POSITIONAL_ONLY) for p in parameters):
        raise StudyError(
            f"{name}: a formula is a function written with def that names its parameters, "
            "without * and /"
        )
    needs = [p.name for p in parameters if p.default is p.empty or p.name in provided]
    plain = isinstance(function, FunctionType) and len(needs) == len(parameters)
    if plain and all(
        p.default is p.empty and p.kind is p.POSITIONAL_OR_KEYWORD for p in parameters
    ):
        return function
    return _renamed(function, name, needs)


def formula_name(function: Any) -> str | None:  # noqa: ANN401 - anything that can be called
    """Return the name a formula gives to its result, None where it has none."""
    while isinstance(function, partial):
        function = function.func
    name = getattr(function, "__name__", None)
    return name if isinstance(name, str) else None


class _Renamed:
    """A callable under the names of its needs; it travels between processes if its model does."""

    def __init__(self, function: Callable[..., Any], name: str, needs: list[str]) -> None:
        self._function, self._needs = function, needs
        self.__name__ = name
        self.__doc__ = inspect.getdoc(function)
        one = inspect.Parameter.POSITIONAL_OR_KEYWORD
        self.__signature__ = inspect.Signature([inspect.Parameter(n, one) for n in needs])
        self.__annotations__: dict[str, Any] = {}

    def __call__(self, *values: FloatArray) -> Any:  # noqa: ANN401 - whatever the model returns
        return self._function(**dict(zip(self._needs, values, strict=True)))


def _renamed(function: Callable[..., Any], name: str, needs: list[str]) -> Callable[..., Any]:
    return _Renamed(function, name, needs)


def refuse_reserved(names: Collection[str]) -> None:
    """Raise StudyError for an outcome named as an axis or a column of results."""
    taken = sorted(set(names) & set(RESERVED))
    if taken:
        raise StudyError(
            f"{taken[0]} is a name of brewsim's own results ({', '.join(RESERVED)}): "
            "call the outcome otherwise"
        )
