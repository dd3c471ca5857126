"""Brewed batches: what was expected of them, what was measured, and why."""

from collections.abc import Sequence

from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.quantities.chances import odds
from brewsim.quantities.english import capital, lower
from brewsim.quantities.format import reading, step, unit_word, value, with_unit
from brewsim.study.inference.attribution import Attribution
from brewsim.study.inference.experimental_design import Spread
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Reading
from brewsim.study.model.problem import Problem
from brewsim.wording.content import Batches, BatchPoint, Panel
from brewsim.wording.outcomes import Looks
from brewsim.wording.parts import Table

_KINDS = {"lot": "this lot", "batch": "this brew", "measurement": "the reading"}


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
    sentences = [
        why for one in explained for why in attribution_sentences(one, looks, one.chance(scatter))
    ]
    tables = tuple(_cause_table(one, looks) for one in explained if _differs(one, looks))
    return Batches(tuple(points), Panel((*sentences, *learned.remarks), tables))


def _scale(problem: Problem, read: Reading) -> str:
    return problem.scales.get(read.quantity, "linear")


def attribution_sentences(one: Attribution, looks: Looks, chance: float | None = None) -> list[str]:
    """Say how a batch differs from an ordinary one, what explains most of that, and what cannot.

    `chance` is that of an ordinary batch to be as far out. What shows as equal is not explained.
    """
    look = _look(one, looks)
    ordinary, reached = value(look, one.ordinary), reading(look, one.reached)
    start = f"{one.batch}, {look.label}"
    if not _differs(one, looks):
        return [f"{start}: {with_unit(look, reached)}, as an ordinary batch of this house."]
    told = "" if chance is None else f" {odds(chance)}"
    span = with_unit(look, f"{reached} instead of the {ordinary}")
    labels = {share.factor: share.label for share in one.shares}
    return [
        f"{start}: {span} of an ordinary batch of this house.{told}{_most(one, look)}",
        *(
            f"{capital(labels.get(a, a))} and {lower(labels.get(b, b))} cannot be told apart by "
            "these readings."
            for a, b, _ in one.inseparable
        ),
    ]


def _look(one: Attribution, looks: Looks) -> Quantity:
    return looks.get(one.outcome) or outcome_of(one.outcome)


def _differs(one: Attribution, looks: Looks) -> bool:
    """Tell whether the reading shows as another than that of an ordinary batch."""
    look = _look(one, looks)
    ordinary, reached = (value(look, v) for v in (one.ordinary, one.reached))
    return ordinary != reached


def _most(one: Attribution, look: Quantity) -> str:
    """Return the largest of the batch's own causes in a sentence, nothing where there is none."""
    largest = max(one.own, key=lambda share: abs(share.estimate), default=None)
    if largest is None or not largest.estimate:
        return ""
    most = one.step != 0 and largest.estimate / one.step > 0.5
    part = "most of it" if most else "the largest part"
    return (
        f" {capital(largest.label)}: {part}, {step(look, largest.estimate)} "
        f"({step(look, largest.low)} to {step(look, largest.high)})."
    )


def _told(amount: float, look: Quantity) -> bool:
    return step(look, amount).strip("+−0.") not in ("", "1×", "×")


def _cause_table(one: Attribution, looks: Looks) -> Table:
    look = _look(one, looks)
    shares = [s for s in one.own if _told(s.low, look) or _told(s.high, look)]
    shares = sorted(shares, key=lambda share: -abs(share.estimate))[:8]
    rows = tuple(
        (
            capital(share.label),
            _KINDS.get(share.kind, share.kind),
            step(look, share.estimate),
            f"{step(look, share.low)} to {step(look, share.high)}",
        )
        for share in shares
    )
    unit = f", {unit_word(look)}" if unit_word(look) else ""
    title = f"{one.batch}: why {look.label} came out as it did{unit}"
    return Table(title, ("cause", "kind", "share", "nine in ten"), rows)
