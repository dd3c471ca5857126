"""The one reader of a measured value: its unit, what a refractometer shows, what can be at all."""

import math
from dataclasses import replace

from brewsim.constants import gravity_of
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.fields import refuse_one_sided
from brewsim.quantities.format import shown
from brewsim.quantities.gravity import gravity_of_beer, is_density, plato_of_wort, read_as_written
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Stated, rescaled

_SHOWN = "°Bx"
_WORTS = ("original_extract_plato", "preboil_extract_plato")


def read_value(quantity: str, written: object) -> tuple[str, Stated]:
    """Return what was measured and of what: a gravity in °P is of the extract, and back.

    Raises ValueError with the fault in words: it cannot be read, or it cannot be.
    """
    quantity, _ = read_as_written(quantity, written)
    return quantity, read_value_of(quantity, written)


def read_value_of(
    quantity: str,
    written: object,
    before_bx: float | None = None,
    *,
    bends_light: bool = True,
) -> Stated:
    """Return what was measured of this very quantity, in its own unit.

    °Bx is what a refractometer shows, unless the instrument is known and `bends_light` is not
    what it goes by: of wort it is its extract; of beer it needs `before_bx`, what the same
    instrument showed of the wort. Raises ValueError with the fault in words.
    """
    stated = read_phrase(written, model_unit_of(quantity) or "")
    refuse_one_sided(stated)
    if stated.unit == _SHOWN and bends_light and is_density(quantity):
        stated = _of_refractometer(quantity, stated, written, before_bx)
    refuse_impossible(quantity, stated.value, stated.text)
    return stated


def read_shown(written: object) -> float | None:
    """Return the °Bx of a text that gives them, else None."""
    stated = read_phrase(written, "°P")
    return stated.value if stated.unit == _SHOWN else None


def _of_refractometer(
    quantity: str, stated: Stated, written: object, before_bx: float | None
) -> Stated:
    seen = read_phrase(written, "°P").phrase
    if quantity in _WORTS:
        return replace(stated, phrase=rescaled(seen, plato_of_wort))
    if not quantity.startswith("final"):
        phrase = rescaled(seen, lambda bx: gravity_of(plato_of_wort(bx)))
        return replace(stated, phrase=phrase)
    if before_bx is None:
        raise ValueError(
            f"“{stated.text}”: alcohol bends light; write the gravity or °P instead. In a log of "
            "batches also give what the refractometer showed before fermentation: "
            'original_extract = "12.1 °Bx by refractometer"'
        )
    phrase = rescaled(seen, lambda bx: gravity_of_beer(before_bx, bx))
    return replace(stated, phrase=phrase)


def refuse_impossible(quantity: str, value: float, text: str) -> None:
    """Raise ValueError where a measured value (model units) cannot be; `text` is how it stood."""
    row, unit = outcome_of(quantity), model_unit_of(quantity) or ""
    low, high = row.limits
    if not low <= value <= high:
        ends = [shown(e, unit, twin=False) for e in (low, high) if math.isfinite(e)]
        span = f"between {ends[0]} and {ends[1]}" if len(ends) == 2 else f"above {ends[0]}"
        raise ValueError(f"“{text}” is impossible: {row.label} lies {span}")
