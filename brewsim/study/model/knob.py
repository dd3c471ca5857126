"""Knobs: what a person can set, along a range or among choices."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.distributions.base import Distribution
from brewsim.errors import StudyError, did_you_mean


@dataclass(frozen=True, slots=True)
class Choice:
    """One option of a categorical knob: what it fixes and which factors it redistributes.

    >>> Choice("warm", fixed={"temperature_c": np.array([22.0])}).label
    'warm'
    """

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
    does not matter. `note` is what a person who moves it has to know, in a sentence; `beside` the
    table and the line of a recipe that go with a moved setting.

    >>> dose = Knob("dose", "dose", "dose_kg", high=0.08, unit="g", per_shown=0.001)
    >>> dose.as_shown(0.03)
    30.0
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
    beside: tuple[str, str] = ("", "")

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


def setting_of(knob: Knob, value: float | str) -> float:
    """Return a setting as a number the knob can stand at; raises StudyError."""
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise StudyError(f"{knob.id} takes a number, not {value}")
    if number < 0 <= knob.low:
        raise StudyError(f"{knob.id} cannot be below 0; it is turned from {knob.low:g}")
    return number


def check_knob(knob: Knob, fixed: Mapping[str, FloatArray], ids: Collection[str]) -> None:
    """Refuse a knob that turns nothing, or that has nowhere to go.

    `fixed` are the fixed numbers of its problem, `ids` those of its factors. Raises StudyError.
    """
    if knob.choices:
        names = {name for choice in knob.choices for name in choice.fixed}
        moved = {identity for choice in knob.choices for identity in choice.distributions}
        for name in sorted(names - set(fixed)):
            raise StudyError(f"knob {knob.id}: no fixed number is called {name}")
        for identity in sorted(moved - set(ids)):
            raise StudyError(f"knob {knob.id}: no factor is called {identity}")
        return
    if knob.quantity not in fixed:
        hint = did_you_mean(knob.quantity, fixed)
        raise StudyError(f"knob {knob.id}: no fixed number is called {knob.quantity!r}.{hint}")
    rows = len(np.atleast_1d(fixed[knob.quantity]))
    if knob.row is not None and not 0 <= knob.row < rows:
        raise StudyError(f"knob {knob.id}: {knob.quantity} has no row {knob.row}")
    if not (math.isfinite(knob.low) and knob.low <= knob.high):
        raise StudyError(f"knob {knob.id} is turned from {knob.low} to {knob.high}: no such range")
    if not knob.step >= 0:
        raise StudyError(f"knob {knob.id}: its steps cannot be {knob.step}")
