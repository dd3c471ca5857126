"""Notes under the figures: rare events, draws outside a formula's range, the method."""

import json
import math
from collections.abc import Callable, Mapping, Sequence

import xarray as xr

from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.quantities.chances import DOTS, about_fifty, fiftieths, in_draws
from brewsim.quantities.english import capital, lower
from brewsim.quantities.format import value, with_unit

Label = Callable[[str], str]


def events_of(draws: xr.Dataset, summary: xr.Dataset) -> tuple[str, ...]:
    """Say the chance of rare events, which every interval on the page leaves out."""
    labels = json.loads(draws.attrs.get("events", "[]"))
    chance = known(summary.attrs.get("event_chance"))
    if not labels or not chance:
        return ()
    named = " or ".join(_happening(label) for label in labels)
    share = about_fifty(chance, known(summary.attrs.get("event_chance_error")) or 0.0)
    sentence = f"Apart from all figures on this page: {named}, {share} brews."
    joint = known(summary.attrs.get("joint_in_target"))
    less = known(summary.attrs.get("joint_in_target_with_events"))
    if joint is not None and less is not None:
        sentence += (
            f" With it counted, the count that meets all targets goes from "
            f"{fiftieths(joint, 0)} to {fiftieths(less, 0)} of {DOTS}."
        )
    return (sentence,)


def _happening(label: str) -> str:
    """Return "fermentation stalls" of an input labelled "1 when fermentation stalls, else 0"."""
    return lower(label.removeprefix("1 when ").removesuffix(", else 0"))


def outside_of(draws: xr.Dataset, label: Label | None = None) -> tuple[str, ...]:
    """Say how many draws lay outside the range in which a formula is valid.

    `label` gives a quantity's words; without it the name itself is printed.
    """
    told = label or _plain
    sentences = []
    for note in json.loads(draws.attrs.get("outside", "[]")):
        quantity, formula = (told(str(note[key])) for key in ("quantity", "formula"))
        row = outcome_of(str(note["quantity"]))
        share = capital(in_draws(note["count"] / note["draws"]))
        same = note["quantity"] == note["formula"].partition("__")[0]
        whose = "its formula" if same else f"the formula of “{lower(formula)}”"
        sentences.append(
            f"{share}, {lower(quantity)} lay {_outside(row, note['low'], note['high'], whose)}."
        )
    for note in json.loads(draws.attrs.get("not_finite", "[]")):
        quantity = told(str(note["quantity"]))
        had = f"{note['count']} of {note['draws']} draws"
        sentences.append(f"{capital(quantity)} had no value in {had}.")
    return tuple(dict.fromkeys(sentences))


def ranking_doubts(
    ranked: xr.Dataset, wanted: Sequence[str], units: Mapping[str, str]
) -> tuple[str, ...]:
    """Say which shares of these outcomes are rough, and in how many draws one had no value."""
    rows = int(ranked.attrs["base"]) * int(ranked.attrs["replicates"])
    told = []
    for note in json.loads(ranked.attrs.get("notes", "[]")):
        name, _, what = str(note).partition(": ")
        if name in wanted:
            told.append(f"{capital(outcome_of(name, units).label)}: {what}.")
        elif name not in ranked["outcome"].to_numpy():
            told.append(f"{capital(note)}.")
    for name, count in json.loads(ranked.attrs.get("left_out", "{}")).items():
        if name in wanted:
            label = capital(outcome_of(name, units).label)
            told.append(f"{label} had no value in {count:,} of {rows:,} draws: they are left out.")
    return tuple(told)


def _outside(row: Quantity, low: float, high: float, formula: str) -> str:
    """Return which values lie outside the range (model units) in which a formula is valid."""
    least, most = (with_unit(row, value(row, end)) for end in (low, high))
    if math.isinf(high):
        return f"below {least}, from where on {formula} is valid"
    if math.isinf(low):
        return f"above {most}, up to where {formula} is valid"
    return f"outside {value(row, low)} to {most}, where {formula} is valid"


def _plain(name: str) -> str:
    return name.replace("__", ", ").replace("_", " ")


def method_of(draws: xr.Dataset, ranked: xr.Dataset | None) -> tuple[str, ...]:
    """Say how the figures came about, in plain words."""
    replicates = draws.attrs["replicates"]
    sentences = [
        (
            f"{draws.attrs['draws']:,} batches were simulated through published formulas: every "
            "uncertain input was drawn from its spread, all together, and each batch followed from "
            f"the grain to the glass. The draws are {replicates} independent sets of well-spread "
            "(scrambled Sobol') points; how far the sets differ is the sampling error."
        ),
        (
            "An interval holds the middle 90 % of the simulated batches, nine chances in ten for "
            "the next batch. It is not what your own batches scatter by, because part of the "
            "spread is the same in every brew of yours."
        ),
        (
            "Every spread has kinds: what is the same in every brew but not known, what comes new "
            "with a lot of an ingredient, and what is new every brew. Learning and measuring act "
            "on the first, choosing lots on the second, care on the third."
        ),
    ]
    if ranked is not None:
        runs = int(ranked.attrs["base"]) * int(ranked.attrs["replicates"])
        sentences.append(
            f"What drives an outcome is told by shares of its variance ({runs:,} base batches; "
            "first and total order after Saltelli et al. 2010 and Jansen 1999). Outcomes that are "
            "felt in folds are judged in doublings."
        )
    return tuple(sentences)


def known(value: float | None) -> float | None:
    """Return a number that is there and finite, else None."""
    return None if value is None or not math.isfinite(value) else float(value)
