"""The prior of one row's quantity: the ingredient's own, its kind's, or that of every recipe."""

from dataclasses import replace

from brewsim.beer.rows import Row
from brewsim.distributions import constructors as families
from brewsim.priors.library import Prior, Priors

_INGREDIENTS = ("malt", "sugar", "hop_lot", "precursor")


def list_prior(quantity: str, axis: str, row: Row, priors: Priors) -> Prior | None:
    """Return the prior of a quantity of a row, or None where only the recipe can say it."""
    short = quantity.removeprefix(f"{axis}_")
    entry = priors.find(axis, row.name) if axis in _INGREDIENTS else None
    if entry is not None:
        own = priors.of(entry, short)
        if own is None and quantity == "malt_kilning_factor" and "kilning" in entry.tags:
            kiln = priors.find("kilning", entry.tags["kilning"])
            own = priors.of(kiln, quantity) if kiln is not None else None
        if own is not None:
            return own
    if quantity == "precursor_free_equivalent_share":
        return _counted_as(row, priors)
    if quantity == "hop_lot_package_factor":
        wrap = priors.scalar(f"package_{row.wrap or 'sealed'}_factor")
        if wrap is not None:
            return replace(wrap, quantity=quantity)
    return priors.scalar(quantity)


def _counted_as(row: Row, priors: Priors) -> Prior | None:
    """Return whether the content's own prior counts free-thiol equivalent instead of conjugate."""
    content = list_prior("precursor_content_ug_kg", "precursor", row, priors)
    usual = priors.scalar("precursor_free_equivalent_share")
    if content is None or usual is None or content.basis != "free-thiol equivalent":
        return usual
    return replace(usual, distribution=families.constant(1.0))
