"""Where a target's spread comes from, and what a brewery's own batches do inside the forecast."""

import math
from collections.abc import Mapping, Sequence

from brewsim.answers.sources import SOURCES, Source, SpreadSources
from brewsim.quantities.chances import percent
from brewsim.quantities.english import capital
from brewsim.quantities.format import number, printed, times, with_unit
from brewsim.wording.content import KindShares, Outcome
from brewsim.wording.outcomes import Looks
from brewsim.wording.page_parts import AgainRow, SourceBar, SourceRow
from brewsim.wording.sentences import plain_input

_NAMES: dict[Source, str] = {
    "turn": "you turn it",
    "measure": "you can measure it",
    "lot": "new with a lot",
    "brew": "new every brew",
    "always": "the same in every brew, not known",
}
_TOGETHER = "inputs acting on one another"
_LEAST = 0.005


def source_bars(
    sources: Mapping[str, SpreadSources], order: Sequence[str], looks: Looks
) -> tuple[SourceBar, ...]:
    """Return one bar with its largest inputs for each outcome, in the order given."""
    return tuple(_bar(sources[name], looks[name].title) for name in order if name in sources)


def _bar(source: SpreadSources, label: str) -> SourceBar:
    parts: list[tuple[str, str, float]] = [(key, _NAMES[key], source.parts[key]) for key in SOURCES]
    if source.acting_together >= _LEAST:
        parts.append(("together", _TOGETHER, source.acting_together))
    shown_parts = tuple(part for part in parts if part[2] >= _LEAST)
    rows = tuple(
        SourceRow(capital(plain_input(row.label)), row.share, row.mark) for row in source.rows
    )
    rest = []
    if source.others:
        share = percent(source.others_share) if source.others_share >= _LEAST else "under 1 %"
        rest.append(f"{source.others} more, together {share}")
    if source.acting_together >= _LEAST:
        rest.append(f"{_TOGETHER} {percent(source.acting_together)}")
    told = ", ".join(f"{name} {percent(share)}" for _, name, share in shown_parts)
    return SourceBar(source.outcome, label, shown_parts, rows, tuple(rest), f"{label}: {told}.")


def again_rows(
    kinds: Sequence[KindShares], outcomes: Sequence[Outcome], order: Sequence[str]
) -> tuple[AgainRow, ...]:
    """Return the next batch's interval with a brewery's own scatter around the middle inside it."""
    by_name = {outcome.name: outcome for outcome in outcomes}
    by_kind = {kind.outcome: kind for kind in kinds}
    rows = []
    for name in order:
        kind, outcome = by_kind.get(name), by_name.get(name)
        if kind is None or outcome is None or kind.own_half is None:
            continue
        look = outcome.look
        own_low, own_high = _own_ends(outcome.middle, kind.own_half, kind.folds, look.fold)
        low, middle, high = (printed(look, v) for v in (outcome.low, outcome.middle, outcome.high))
        own = (
            f"× or ÷ {times(kind.own_half).rstrip('×')}"
            if kind.folds
            else f"± {with_unit(look, number(kind.own_half, None))}"
        )
        rows.append(
            AgainRow(
                look.title, look.unit, outcome.low, outcome.middle, outcome.high,
                own_low, own_high, (low, middle, with_unit(look, high)), own,
            )
        )  # fmt: skip
    return tuple(rows)


def _own_ends(middle: float, half: float, folds: bool, in_doublings: bool) -> tuple[float, float]:
    if not folds or in_doublings:
        return middle - half, middle + half
    return (middle * 2.0**-half, middle * 2.0**half) if middle > 0 else (math.nan, math.nan)
