"""Values, steps and chances of batches in words."""

from brewsim.recipe.numbers import significant
from brewsim.recipe.outcomes import Outcome


def value(row: Outcome, number: float) -> str:
    """Return a value in its shown unit, rounded as that outcome is."""
    shown = number * row.per_model
    return significant(shown, 3) if row.decimals is None else f"{shown:.{row.decimals}f}"


def changed(row: Outcome, number: float) -> str:
    """Return a signed step, to one digit more than the value."""
    shown = number * row.per_model
    text = significant(shown, 2) if row.decimals is None else f"{shown:.{row.decimals + 1}f}"
    if float(text) == 0:
        return "0"
    return f"−{text[1:]}" if text.startswith("-") else f"+{text}"


def amount(row: Outcome, number: float) -> str:
    """Return a spread, to one digit more than the value."""
    shown = number * row.per_model
    return significant(shown, 2) if row.decimals is None else f"{shown:.{row.decimals + 1}f}"


def with_unit(row: Outcome, text: str) -> str:
    """Return a number with its unit; a gravity has none."""
    return text if row.unit in ("", "SG") else f"{text} {row.unit}"


def lower(label: str) -> str:
    """Return a label inside a sentence."""
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def odds(chance: float) -> str:
    """Return how odd a reading so far out is."""
    if chance > 0.3:
        return "That is as expected."
    if chance > 0.1:
        return f"That is a little out: 1 batch in {round(1 / chance)} is further out."
    if chance > 0.01:
        return f"That is unusual: 1 batch in {round(1 / chance)} is further out."
    if chance > 0.001:
        return f"That is rare: 1 batch in {round(1 / chance, -1 if chance < 0.02 else 0):.0f}."
    return "That is hardly possible: fewer than 1 batch in 1,000. Check the reading first."
