"""Scales: which outcomes are drawn on a log axis."""

from brewsim.quantities.catalogue import Quantity


def is_logged(scale: str, look: Quantity, smallest: float) -> bool:
    """Tell whether an outcome is drawn on a log axis: felt in folds, and all of it positive."""
    return scale in ("log", "log2") and not look.fold and smallest > 0
