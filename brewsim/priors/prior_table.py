"""A prior as a table: what it must hold, and the distribution it states."""

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

from brewsim.distributions import constructors as families
from brewsim.distributions.base import Distribution
from brewsim.errors import BrewsimError, did_you_mean
from brewsim.study.model.factor import Kinds
from brewsim.units import unit_of

GRADES = ("published", "secondary", "common practice", "from memory", "assumption")
NO_SOURCE = ("common practice, no source", "from memory", "assumption")
GRAPE_BASES = ("conjugate", "free-thiol equivalent")
_ENDS = np.array([-3.5, 3.5])
_NEEDED = ("family", "unit", "kinds", "grade", "source")

_FAMILIES: dict[str, tuple[Callable[..., Distribution], tuple[str, ...]]] = {
    "normal": (families.normal, ("mean", "sd")),
    "lognormal": (families.lognormal, ("median", "log_sd")),
    "uniform": (families.uniform, ("low", "high")),
    "triangular": (families.triangular, ("low", "mode", "high")),
    "gamma": (families.gamma, ("shape", "scale")),
    "student_t": (families.student_t, ("location", "scale", "degrees")),
    "arcsine": (families.arcsine, ("low", "high")),
    "half_normal": (families.half_normal, ("sd",)),
    "bernoulli": (families.bernoulli, ("probability",)),
    "discrete": (families.discrete, ("values", "probabilities")),
    "constant": (families.constant, ("value",)),
}

_TEXTS = {"family", "unit", "grade", "source", "note", "group", "basis"}
_BOUNDS = ("lower", "upper")
_LISTED = ("values", "probabilities")
_PARAMETERS = {"a", "b", "gsd", *_BOUNDS} | {n for _, names in _FAMILIES.values() for n in names}
_MOST = 1e15


def to_distribution(table: Mapping[str, Any]) -> Distribution:
    """Return the distribution a prior table states; raises DistributionError or KeyError."""
    family = table["family"]
    if family == "beta":
        if "a" in table:
            made: Distribution = families.beta(table["a"], table["b"])
        else:
            made = families.beta_from_moments(table["mean"], table["sd"])
    elif family == "lognormal" and "gsd" in table:
        made = families.lognormal(table["median"], math.log(table["gsd"]))
    else:
        constructor, names = _FAMILIES[family]
        made = constructor(*[table[name] for name in names])
    if "lower" in table or "upper" in table:
        made = families.truncated(made, table.get("lower", -math.inf), table.get("upper", math.inf))
    return made


def faults_of(
    kind: str, quantity: str, table: Mapping[str, Any], sources: Mapping[str, Any]
) -> Iterator[str]:
    """Yield everything wrong with a prior table, in words that say what to write."""
    missing = [key for key in _NEEDED if key not in table]
    if missing:
        yield f"{', '.join(missing)} missing; a prior needs {', '.join(_NEEDED)}"
        return
    badly = list(_badly_written(table))
    if badly:
        yield from badly
        return
    if table["grade"] not in GRADES:
        yield f"grade {table['grade']!r} is none of {', '.join(GRADES)}"
    if table["source"] not in sources and table["source"] not in NO_SOURCE:
        near = did_you_mean(table["source"], sources)
        yield f"source {table['source']!r} is not in sources.toml.{near}"
    unit = unit_of(quantity)
    if unit is not None and kind != "instrument" and table["unit"] != unit:
        yield f'unit {table["unit"]!r} does not fit the name {quantity}; write unit = "{unit}"'
    bound = kind == "precursor" and quantity == "content_ug_kg"
    if bound and table.get("basis") not in GRAPE_BASES:
        yield f"basis missing: write {' or '.join(GRAPE_BASES)}"
    yield from _distribution_faults(quantity, table, named=unit is not None)


def _badly_written(table: Mapping[str, Any]) -> Iterator[str]:
    """Yield keys that nothing reads, and values of the wrong type or beyond all numbers."""
    for key, value in table.items():
        items = value if key in _LISTED and isinstance(value, list) else [value]
        if key in _TEXTS:
            if not isinstance(value, str):
                yield f'{key}: write it as text in quotes: {key} = "..."'
        elif key == "kinds":
            if not isinstance(value, dict) or not all(map(_is_number, value.values())):
                yield "kinds: write shares: kinds = { knowledge = 0.7, batch = 0.3 }"
        elif key == "measurable":
            if not isinstance(value, bool):
                yield "measurable: write true or false"
        elif key not in _PARAMETERS:
            yield f"{key}: is no key of a prior.{did_you_mean(key, _PARAMETERS | _TEXTS)}"
        elif not all(map(_is_number, items)) and not (key in _BOUNDS and _is_infinite(value)):
            yield f"{key}: {value!r} is no number, or too large to be meant"


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= _MOST


def _is_infinite(value: object) -> bool:
    return isinstance(value, float) and math.isinf(value)


def _distribution_faults(quantity: str, table: Mapping[str, Any], *, named: bool) -> Iterator[str]:
    try:
        Kinds(**{"knowledge": 0.0, **table["kinds"]})
        made = to_distribution(table)
    except KeyError as error:
        yield f"family {table['family']!r}: {error.args[0]} missing or no such family"
        return
    except (BrewsimError, TypeError, ValueError) as error:
        yield str(error)
        return
    with np.errstate(over="ignore"):  # said below, in words
        low, high = made.from_score(_ENDS)
    if not (_is_number(float(low)) and _is_number(float(high))):
        yield f"runs from {low:.3g} to {high:.3g}, which is too far to be meant"
        return
    if unit_is_share(quantity) and not (low >= -1 and high <= 1.0 + 1e-9):
        yield f"a share runs from 0 to 1, this one from {low:.3g} to {high:.3g}: add lower or upper"
    if named and _never_negative(quantity) and low < 0:
        yield f"{quantity} cannot be negative, this one starts at {low:.3g}: add lower = 0"


def unit_is_share(quantity: str) -> bool:
    """Whether the quantity is a share between 0 and 1 (or an error of one)."""
    free = any(word in quantity for word in ("error", "slope", "stability"))
    return quantity.endswith(("_fraction", "_share")) and not free


def _never_negative(quantity: str) -> bool:
    return not any(word in quantity for word in ("error", "slope", "attenuation_")) and (
        not quantity.endswith(("_c", "_unit", "_per_ph", "_per_c"))
    )
