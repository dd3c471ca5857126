"""Brewed batches: what was expected of them, what was measured, and why."""

from collections.abc import Sequence

from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.quantities.english import capital
from brewsim.quantities.format import reading, step, unit_word, with_unit
from brewsim.study.inference.attribution import Attribution
from brewsim.study.inference.experimental_design import Spread
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Reading
from brewsim.study.model.problem import Problem
from brewsim.wording.content import Batches, BatchPoint, Panel
from brewsim.wording.explanation import KIND_TITLES, against_house, differs, pair_sentences
from brewsim.wording.outcomes import Looks
from brewsim.wording.parts import Table


def batches_of(
    learned: Learned,
    explained: Sequence[Attribution],
    looks: Looks,
    scatter: Sequence[Spread] = (),
) -> Batches:
    """Return expected against measured for every reading, and each batch's causes.

    `scatter` is what the batches are expected to scatter by.
    """
    readings = [(batch, read) for batch in learned.batches for read in batch.readings]
    points = []
    for (batch, read), seen in zip(readings, learned.surprises, strict=True):
        if read.quantity not in looks or read.trials or read.known is not None:
            continue
        look = looks[read.quantity]
        points.append(
            BatchPoint(
                batch=batch.id,
                outcome=read.quantity,
                look=look,
                scale=_scale(learned.problem, read),
                low=seen.low * look.per_model,
                middle=seen.expected * look.per_model,
                high=seen.high * look.per_model,
                measured=seen.value * look.per_model,
            )
        )
    sentences = [why for one in explained for why in _sentences(one, looks, one.chance(scatter))]
    tables = tuple(_cause_table(one, looks) for one in explained if differs(one, _look(one, looks)))
    return Batches(tuple(points), Panel((*sentences, *learned.remarks), tables))


def _scale(problem: Problem, read: Reading) -> str:
    return problem.scales.get(read.quantity, "linear")


def _sentences(one: Attribution, looks: Looks, chance: float | None) -> list[str]:
    row = _look(one, looks)
    measured = with_unit(row, reading(row, one.reached))
    told = against_house(one, row, chance)
    return [f"{one.batch}, {row.label}: {measured}. {told}", *pair_sentences(one)]


def _look(one: Attribution, looks: Looks) -> Quantity:
    return looks.get(one.outcome) or outcome_of(one.outcome)


def _told(amount: float, look: Quantity) -> bool:
    return step(look, amount).strip("+−0.") not in ("", "1×", "×")


def _cause_table(one: Attribution, looks: Looks) -> Table:
    look = _look(one, looks)
    shares = [s for s in one.own if _told(s.low, look) or _told(s.high, look)]
    shares = sorted(shares, key=lambda share: -abs(share.estimate))[:8]
    rows = tuple(
        (
            capital(share.label),
            KIND_TITLES[share.kind],
            step(look, share.estimate),
            f"{step(look, share.low)} to {step(look, share.high)}",
        )
        for share in shares
    )
    unit = f", {unit_word(look)}" if unit_word(look) else ""
    title = f"{one.batch}: why {look.label} came out as it did{unit}"
    return Table(title, ("cause", "kind", "share", "nine in ten"), rows)
