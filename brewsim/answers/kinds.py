"""Why shares of the inputs return in the next brew, and how a brewery's own batches scatter."""

from collections.abc import Iterator
from dataclasses import dataclass

from brewsim.beer_graph import all_inputs
from brewsim.priors.library import Priors, whole_name
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.variance_by_kind import spread_by_kind

_NO_INPUT = ("instrument", "tasting")
"""Kinds of tables that hold no input of a beer."""


@dataclass(frozen=True)
class KindRow:
    """One uncertain input: its label, the splits its priors have, and why."""

    quantity: str
    label: str
    splits: tuple[Kinds, ...]
    reason: str


def kind_rows(priors: Priors) -> list[KindRow]:
    """Return every input that has a spread, with the splits of its priors, by name."""
    splits: dict[str, dict[Kinds, None]] = {}
    for quantity, kinds in _splits(priors):
        splits.setdefault(quantity, {})[kinds] = None
    labels = {name: given.label for name, given in all_inputs().items()}
    return [
        KindRow(name, labels.get(name, ""), tuple(splits[name]), priors.reason("", name))
        for name in sorted(splits)
    ]


def _splits(priors: Priors) -> Iterator[tuple[str, Kinds]]:
    for kind, _, quantity, table in priors.tables():
        if kind not in _NO_INPUT and table["family"] != "constant":
            yield whole_name(kind, quantity), Kinds(**{"knowledge": 0.0, **table["kinds"]})


@dataclass(frozen=True)
class Scatter:
    """How one brewery's own batches scatter in one outcome: half of the interval of nine in ten.

    Both are on the outcome's own scale: doublings where it is felt in folds. `new_lots` takes
    new lots in every brew, `same_lots` keeps them.
    """

    quantity: str
    new_lots: float
    same_lots: float


def own_scatter(problem: Problem, seed: int = 1) -> list[Scatter]:
    """Return how the batches of a brewery scatter, outcome by outcome."""
    new, same = (
        spread_by_kind(problem, knowledge=128, batches=128, seed=seed, same_lots=kept)["scatter"]
        for kept in (False, True)
    )
    names = map(str, new["outcome"].to_numpy())
    return [
        Scatter(name, float(new.sel(outcome=name)), float(same.sel(outcome=name))) for name in names
    ]
