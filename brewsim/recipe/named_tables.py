"""Tables whose keys are names: stated quantities, priors, targets."""

import math
import re
from collections.abc import Callable
from typing import Any, TypeVar

from pydantic_core import InitErrorDetails, PydanticCustomError, ValidationError

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.quantities.catalogue import OUTCOMES, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.fields import check_limits, quantity_reader
from brewsim.quantities.gravity import read_as_written
from brewsim.quantities.measured_value import refuse_impossible
from brewsim.quantities.statement import Stated, Written, line_of
from brewsim.recipe.wishes import Wish, read_wish


def read_given(written: object) -> dict[str, Stated]:
    """Read a table of stated quantities: name to phrase, the unit told by the name."""
    return _each(written, _given)


def _given(name: str, value: object) -> Stated:
    """Read one stated quantity and refuse what a log refuses as a measured value of it."""
    if isinstance(value, Stated):
        return value
    stated = quantity_reader(name)(value)
    try:
        refuse_impossible(name, stated.value, stated.text)
    except ValueError as error:  # the fault tells what was read by itself
        raise ValueError(str(error).removeprefix(f"“{stated.text}” ")) from None
    return stated


def read_targets(written: object) -> dict[str, Stated]:
    """Read a table of targets: name to a range or a one-sided limit."""
    return _each(written, _target)


def _target(name: str, value: object) -> Stated:
    if isinstance(value, Stated):
        return value
    unit = model_unit_of(quantity_of(name))
    if unit is None:
        known = did_you_mean(name, OUTCOMES) or f" There is: {', '.join(sorted(OUTCOMES))}."
        raise ValueError(f"there is no outcome called {name}.{known}")
    if unit == "doublings":
        value = _as_doublings(value)
    _, stated = read_as_written(quantity_of(name), value)
    kind = stated.phrase.kind
    if kind not in ("range90", "uniform", "at_most", "at_least"):
        raise ValueError("a target has limits; write 4.8 to 5.4 %, at most 30 IBU or at least 4 %")
    if unit == "fraction":
        check_limits(stated, 0, 1)
    return stated


_FOLD = re.compile(r"[x×]\s*(\d+(?:[.,]\d+)?)|(\d+(?:[.,]\d+)?)\s*[x×]", re.IGNORECASE)


def _as_doublings(value: object) -> object:
    """Return a text with folds, as the page writes them ("0.5x to 2x"), in doublings."""

    def logged(match: re.Match[str]) -> str:
        fold = float((match[1] or match[2]).replace(",", "."))
        if not fold > 0:
            raise ValueError(f"“{value}”: a fold is above 0; write 0.5x to 2x")
        return f"{math.log2(fold):.10g}"

    if not isinstance(value, str) or not _FOLD.search(value):
        return value
    return Written(_FOLD.sub(logged, value), line_of(value))


Value = TypeVar("Value")


def read_wishes(written: object) -> dict[str, Wish]:
    """Read a table of wishes or holds: of what, and against which tasted beer."""
    return _each(written, read_wish)


def read_limits(written: object) -> dict[str, Written]:
    """Read a table of limits of knobs: texts, which are read where the knobs are."""

    def text(_name: str, value: object) -> Written:
        if not isinstance(value, str):
            raise ValueError("write one text in quotes, such as at least 0.5 g/L")  # noqa: TRY004
        return value if isinstance(value, Written) else Written(value)

    return _each(written, text)


def _each(written: object, read: Callable[[str, object], Value]) -> dict[str, Value]:
    if not isinstance(written, dict):
        raise ValueError('write it as a table of name = "value" lines')  # noqa: TRY004 - a fault
    found: dict[str, Value] = {}
    faults: list[InitErrorDetails] = []
    for name, value in written.items():
        if name == LINE_KEY:
            continue
        try:
            found[name] = read(name, value)
        except ValueError as error:
            why: dict[str, Any] = {"why": str(error)}
            custom = PydanticCustomError("written", "{why}", why)
            faults.append(InitErrorDetails(type=custom, loc=(name,), input=value))
    if faults:
        raise ValidationError.from_exception_data("table", faults)
    return found


def read_given_by_name(written: object) -> dict[str, Stated]:
    """Read a table of stated quantities, each by its own name or by its outcome's plain one."""
    if not isinstance(written, dict):
        return read_given(written)
    renamed: dict[str, object] = {}
    for name, value in written.items():
        quantity = quantity_of(name)
        twice = quantity in renamed or (quantity != name and quantity in written)
        renamed[name if twice else quantity] = value
    return read_given(renamed)
