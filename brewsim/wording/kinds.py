"""The audit of kinds as a page: why shares of the inputs return, and how batches scatter."""

import math
from collections.abc import Iterator, Mapping, Sequence

from brewsim.answers.kinds import KindRow, Scatter
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import percent
from brewsim.quantities.format import number, spread, with_unit

_INTRO = (
    "What is not known of a brew is split by what returns. **Knowledge** is one true value that "
    "nobody knows: it is the same in every brew. **Lot** changes with a new sack or pack. "
    "**Batch** is drawn again every brew. Shares are of the variance of the normal score."
)
_SCATTER = (
    "Half the interval of nine in ten of one brewery's own batches, with new lots in every brew "
    "and with the same ones; where an outcome is felt in folds, as a factor either way."
)


def kinds_document(
    rows: Sequence[KindRow],
    before: Mapping[str, Mapping[str, Mapping[str, float]]],
    now: Mapping[str, Sequence[Scatter]],
) -> str:
    """Return the generated page of the documentation, in Markdown."""
    lines = ["# What returns in the next brew", "", "Written by `python -m tests.kinds --write`."]
    lines += ["", _INTRO, "", "## From brew to brew", "", _SCATTER, ""]
    lines += ["| recipe | outcome | new lots: before the audit | now | same lots: before | now |"]
    lines += ["|---|---|---|---|---|---|"]
    lines += list(_scatter_rows(before, now))
    lines += ["", "## Why each share returns", ""]
    lines += ["| input | knowledge | lot | batch | why |", "|---|---|---|---|---|"]
    lines += list(_kind_rows(rows))
    return "\n".join([*lines, ""])


def _scatter_rows(
    before: Mapping[str, Mapping[str, Mapping[str, float]]], now: Mapping[str, Sequence[Scatter]]
) -> Iterator[str]:
    for recipe, found in now.items():
        for one in found:
            sizes = []
            for lots, size in (("new lots", one.new_lots), ("same lots", one.same_lots)):
                old = before.get(recipe, {}).get(lots, {}).get(one.quantity, math.nan)
                sizes += [_told(one.quantity, old), _told(one.quantity, size)]
            yield f"| {' | '.join([recipe, outcome_of(one.quantity).label, *sizes])} |"


def _told(quantity: str, scatter: float) -> str:
    """Return a scatter in its shown unit, two figures; a factor where it is in doublings."""
    look = outcome_of(quantity)
    if math.isnan(scatter):
        return "–"
    if look.fold or look.scale == "log2":
        return f"× or ÷ {number(2**scatter)}"
    return f"± {with_unit(look, spread(look, scatter))}"


def _kind_rows(rows: Sequence[KindRow]) -> Iterator[str]:
    for row in rows:
        for split in row.splits:
            shares = (split.knowledge, split.lot, split.batch)
            told = " | ".join(percent(share) if share else "" for share in shares)
            yield f"| {row.label or row.quantity} | {told} | {row.reason} |"
