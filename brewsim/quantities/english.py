"""Words around numbers: capitals, lists, counts."""

from collections.abc import Sequence


def lower(label: str) -> str:
    """Return a label as it stands inside a sentence: 3SH, IBU and pH keep their capitals."""
    second = label[1:2]
    return label if second.isupper() or second.isdigit() else label[:1].lower() + label[1:]


def capital(text: str) -> str:
    """Return a text as it stands at the head of a sentence."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]


def listed(names: Sequence[str]) -> str:
    """Join names with commas and a last 'and'."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def counted(number: int, what: str) -> str:
    """Return "1 batch" or "3 batches"."""
    plural = f"{what}es" if what.endswith("ch") else f"{what}s"
    return f"{number} {what if number == 1 else plural}"


def all_of(count: int) -> str:
    """Return 'Both' for two, else 'All 3'."""
    return "Both" if count == 2 else f"All {count}"
