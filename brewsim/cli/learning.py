"""What explain, learn and report share: a fit to a batch log, and words for it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal, NamedTuple

_NINE_IN_TEN = 1.6448536269514722


class Explained(NamedTuple):
    """A fit, the attributions asked for, and what the page and the terminal say of them."""

    learned: Any
    attributions: list[Any]
    content: Any
    sentences: tuple[str, ...]
    tables: tuple[Any, ...]


class Narrowed(NamedTuple):
    """One input before and after learning; `left` is the share of its spread that is left."""

    label: str
    before: str
    now: str
    left: str


def explained(
    recipe: Path,
    batches: Path,
    priors_file: Path | None,
    batch: str,
    against: Literal["house", "recipe"],
    seed: int,
    progress: Callable[[float, str], None],
) -> Explained:
    """Fit a log and explain its batches; raises InputError with every fault of the log."""
    from brewsim.errors import InputError
    from brewsim.recipe.batches import read_batches
    from brewsim.recipe.priors import load_priors
    from brewsim.report.build_batches import batches_of
    from brewsim.report.looks import look_of
    from brewsim.report.recipe_looks import recipe_looks
    from brewsim.study.attribution import attribute
    from brewsim.study.update import update

    log = read_batches(batches, recipe, load_priors(priors_file))
    known = [b.id for b in log.batches]
    if batch and batch not in known:
        raise InputError(str(batches), [f"no batch {batch!r}; there is {', '.join(known)}"])
    learned = update(log.batches[-1].problem, log.batches, seed=seed, progress=progress)
    wanted = [batch] if batch else known
    found = [one for name in wanted for one in attribute(learned, name, against=against, seed=seed)]
    read = {reading.quantity for b in log.batches for reading in b.readings}
    looks = recipe_looks(learned.problem)
    graph = learned.problem.graph
    looks |= {name: look_of(name, graph.label(name)) for name in read - looks.keys()}
    content = batches_of(learned, found, looks)
    sentences = (*log.remarks, *content.panel.sentences)
    return Explained(learned, found, content, sentences, content.panel.tables)


def narrowed(learned: Any) -> list[Narrowed]:  # noqa: ANN401 - a Learned
    """Return the inputs the batches taught most about, the most narrowed first."""
    import numpy as np

    from brewsim.study.measured import knowledge_latent

    rows = []
    for factor in learned.problem.factors:
        name = knowledge_latent(factor)
        if name not in learned.draws or factor.event:
            continue
        share = dict(factor.kinds.items())["knowledge"]
        left = learned.standard_deviation(name)
        before = np.sqrt(share) * np.array([-_NINE_IN_TEN, 0.0, _NINE_IN_TEN])
        after = np.sqrt(share) * np.quantile(learned.draws[name], [0.05, 0.5, 0.95])
        was, now = (_three(factor, scores) for scores in (before, after))
        rows.append((left, Narrowed(factor.label, was, now, f"{100 * left:.0f} %")))
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


def _three(factor: Any, scores: Any) -> str:  # noqa: ANN401 - a Factor and three scores
    from brewsim.recipe.outcomes import outcome_of

    row = outcome_of(factor.quantity)
    low, middle, high = factor.distribution.from_score(scores) * row.per_model
    return f"{middle:.3g} ({low:.3g} to {high:.3g}) {row.unit}".strip()
