"""Rows of malts, sugars, hops, lots and precursors: what each input of a row is taken as."""

from dataclasses import replace

import numpy as np

from brewsim.beer.assignments import (
    NONE,
    Meant,
    Posed,
    applied,
    factor_of,
    label_of,
    note,
    shape_of,
)
from brewsim.beer.rows import Row
from brewsim.distributions import constructors as families
from brewsim.distributions.closed_form import Constant
from brewsim.errors import InputError
from brewsim.priors.library import Prior
from brewsim.study.model.factor import Kinds

_INGREDIENTS = ("malt", "sugar", "hop_lot", "precursor")


def pose_list(work: Posed, quantity: str, axis: str) -> None:
    """Take every row of a list input as fixed or as a factor, and note it."""
    rows = work.lists.rows[axis]
    column = np.zeros((len(rows), 1))
    if not rows:
        work.provenance[quantity] = NONE
    for place, row in enumerate(rows):
        meant = _meant(work, quantity, axis, row)
        column[place, 0] = meant.distribution.median
        label = label_of(work, quantity, row)
        if not isinstance(meant.distribution, Constant):
            identity = f"{quantity} | {_row_id(rows, place)}"
            factor = factor_of(quantity, label, meant, row)
            work.factors.append(replace(factor, id=identity, row=place))
        note(work, quantity, label, meant)
    work.fixed[quantity] = column


def _row_id(rows: list[Row], place: int) -> str:
    """Name a row by its ingredient; rows of one name are told apart by lot or order."""
    row = rows[place]
    same = [i for i, other in enumerate(rows) if other.label == row.label]
    alone = [other for other in rows if other.name == row.name]
    name = row.name if len(alone) == 1 else row.label
    return name if len(same) == 1 else f"{name} #{same.index(place) + 1}"


def _meant(work: Posed, quantity: str, axis: str, row: Row) -> Meant:
    short = quantity.removeprefix(f"{axis}_")
    prior = _row_prior(work, quantity, axis, short, row)
    said = row.stated.get(short) or work.recipe.priors.get(quantity)
    if said is None:
        if prior is None:
            told = f"{row.label}: nothing says what {short} is; state it in the row"
            raise InputError(work.recipe.name, [told])
        return Meant(prior.distribution, prior.kinds, prior)
    pack = work.priors.scalar("alpha_pack_factor")
    if quantity == "hop_lot_stated_alpha_fraction" and pack is not None:
        prior = replace(pack, quantity=quantity)
    kinds = prior.kinds if prior is not None else Kinds()
    return Meant(applied(said, shape_of(prior), quantity), kinds, prior, said)


def _row_prior(work: Posed, quantity: str, axis: str, short: str, row: Row) -> Prior | None:
    entry = work.priors.find(axis, row.name) if axis in _INGREDIENTS else None
    if entry is not None:
        own = work.priors.of(entry, short)
        if own is None and quantity == "malt_kilning_factor" and "kilning" in entry.tags:
            kiln = work.priors.find("kilning", entry.tags["kilning"])
            own = work.priors.of(kiln, quantity) if kiln is not None else None
        if own is not None:
            return own
    if quantity == "precursor_free_equivalent_share":
        return _counted_as(work, row)
    if quantity == "hop_lot_package_factor":
        wrap = work.priors.scalar(f"package_{row.wrap or 'sealed'}_factor")
        if wrap is not None:
            return replace(wrap, quantity=quantity)
    return work.priors.scalar(quantity)


def _counted_as(work: Posed, row: Row) -> Prior | None:
    """Return whether the content's own prior counts free-thiol equivalent instead of conjugate."""
    content = _row_prior(work, "precursor_content_ug_kg", "precursor", "content_ug_kg", row)
    usual = work.priors.scalar("precursor_free_equivalent_share")
    if content is None or usual is None or content.basis != "free-thiol equivalent":
        return usual
    return replace(usual, distribution=families.constant(1.0))
