"""Read the knobs of a recipe: "hop 1 mass" = "0 to 40 g in steps of 5 g"."""

import re
from collections.abc import Mapping, Sequence

from brewsim.errors import did_you_mean
from brewsim.quantities.conversion import Unit, scale_of
from brewsim.quantities.dimensions import kind_of
from brewsim.quantities.fields import check_limits
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Stated, Written, line_of
from brewsim.recipe.keys import Key, turnable
from brewsim.recipe.knob_ranges import ROWS, KnobRange, place_of

_STEPS = re.compile(r"\s*,?\s*\bin\s+steps?\s+of\s+(.+)$", re.IGNORECASE)


def read_knob(identity: str, written: object, rows: Mapping[str, Sequence[str]]) -> KnobRange:
    """Read one knob; `rows` is the names of the recipe's rows by kind.

    Raises ValueError with the fault in words.
    """
    kind, row, name = _place(identity, rows)
    keys = turnable()[kind, name]
    if keys[0].picks is not None:
        return _choice(identity, row, keys[0], written)
    limits = [key.measures for key in keys if key.measures is not None]
    unit = limits[0].unit
    text = str(written)
    if isinstance(written, list):
        raise ValueError("a number is turned in a range; write 0 to 4 g/L")  # noqa: TRY004 - a fault
    steps = _STEPS.search(text)
    span = Written(text[: steps.start()] if steps else text, line_of(written))
    stated = read_phrase(span, unit)
    phrase = stated.phrase
    if phrase.kind not in ("range90", "uniform") or phrase.low is None or phrase.high is None:
        raise ValueError("a knob has two ends; write 0 to 4 g/L, or 0 to 40 g in steps of 5 g")
    low, high = min(one.low for one in limits), max(one.high for one in limits)
    check_limits(stated, low, high)
    step = _step(steps[1], stated, phrase.high - phrase.low) if steps else 0.0
    per_shown, zero = scale_of(Unit(stated.unit, kind_of(unit)), unit)
    return KnobRange(
        id=identity,
        kind=kind,
        row=row,
        field=name,
        low=phrase.low,
        high=phrase.high,
        step=step,
        unit=stated.unit,
        model_unit=unit,
        per_shown=per_shown,
        zero=zero,
        text=text,
        line=line_of(written),
    )


def _step(text: str, stated: Stated, width: float) -> float:
    difference = "Δ°C" if stated.model_unit == "°C" else stated.model_unit
    step = read_phrase(text, difference).value
    if not 0 < step <= width:
        raise ValueError(f"a step is above 0 and at most the range, not {text}")
    return step


def _choice(identity: str, row: int | None, key: Key, written: object) -> KnobRange:
    allowed = key.words
    if not isinstance(written, list) or len(written) < 2:
        told = ", ".join(f'"{word}"' for word in allowed[:2])
        raise ValueError(f"is a choice; write two or more of its words: [{told}]")
    words = [str(word).strip().lower() for word in written]
    for word in words:
        if word not in allowed:
            hint = did_you_mean(word, allowed)
            raise ValueError(f"“{word}” is not a choice; there is {', '.join(allowed)}.{hint}")
    if len(set(words)) < len(words):
        raise ValueError("names one choice twice")
    line = line_of(written[0])
    text = ", ".join(words)
    return KnobRange(identity, key.block, row, key.name, choices=tuple(words), text=text, line=line)


def _place(identity: str, rows: Mapping[str, Sequence[str]]) -> tuple[str, int | None, str]:
    """Return (kind, row, field) of a knob's id: "hop 1 mass", "yeast thiol_release", "boil"."""
    words = identity.split()
    known = turnable()
    kinds = sorted({kind for kind, _ in known if kind})
    if len(words) == 1 and ("", words[0]) in known:
        return "", None, words[0]
    if len(words) < 2 or words[0] not in kinds:
        near = did_you_mean(words[0] if words else "", [*kinds, *(f for k, f in known if not k)])
        raise ValueError(f"is no knob; write hop 1 mass, yeast thiol_release or boil.{near}")
    kind, name = words[0], words[-1]
    fields = sorted(f for k, f in known if k == kind)
    if (kind, name) not in known:
        near = did_you_mean(name, fields)
        raise ValueError(
            f"“{name}” of a {kind} cannot be turned; there is {', '.join(fields)}.{near}"
        )
    if kind not in ROWS:
        if len(words) > 2:
            raise ValueError(f"there is one {kind} only; write {kind} {name}")
        return kind, None, name
    return kind, place_of(kind, " ".join(words[1:-1]), rows.get(kind, ())), name
