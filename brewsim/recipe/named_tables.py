"""Tables whose keys are names: stated quantities, priors, targets."""

from collections.abc import Callable
from typing import Any

from pydantic_core import InitErrorDetails, PydanticCustomError, ValidationError

from brewsim.errors import did_you_mean
from brewsim.files.toml_lines import LINE_KEY
from brewsim.quantities.catalogue import OUTCOMES, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.fields import check_limits, quantity_reader
from brewsim.quantities.gravity import read_as_written
from brewsim.quantities.statement import Stated


def read_given(written: object) -> dict[str, Stated]:
    """Read a table of stated quantities: name to phrase, the unit told by the name."""
    return _each(written, lambda name, value: quantity_reader(name)(value))


def read_targets(written: object) -> dict[str, Stated]:
    """Read a table of targets: name to a range or a one-sided limit."""
    return _each(written, _target)


def _target(name: str, value: object) -> Stated:
    unit = model_unit_of(quantity_of(name))
    if unit is None:
        known = did_you_mean(name, OUTCOMES) or f" There is: {', '.join(sorted(OUTCOMES))}."
        raise ValueError(f"there is no outcome called {name}.{known}")
    _, stated = read_as_written(quantity_of(name), value)
    kind = stated.phrase.kind
    if kind not in ("range90", "uniform", "at_most", "at_least"):
        raise ValueError("a target has limits; write 4.8 to 5.4 %, at most 30 IBU or at least 4 %")
    if unit == "fraction":
        check_limits(stated, 0, 1)
    return stated


def _each(written: object, read: Callable[[str, object], Stated]) -> dict[str, Stated]:
    if not isinstance(written, dict):
        raise ValueError('write it as a table of name = "value" lines')  # noqa: TRY004 - a fault
    found: dict[str, Stated] = {}
    faults: list[InitErrorDetails] = []
    for name, value in written.items():
        if name == LINE_KEY:
            continue
        try:
            found[name] = value if isinstance(value, Stated) else read(name, value)
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
