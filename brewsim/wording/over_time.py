"""What changed over a log, in words: a line for each quantity, with how sure it is."""

from collections.abc import Mapping

from brewsim.answers.over_time import Effect, NextReading, OverTime
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import percent
from brewsim.quantities.english import capital, listed
from brewsim.quantities.format import span, step, with_unit

_SEEN = 0.5
"""A change less likely than that is not told as one."""
_SURE = 0.99


def over_time_sentences(found: OverTime, look: Quantity) -> list[str]:
    """Return what changed in one quantity, then what the next batch will read, place by place."""
    told = [f"{look.label}, {found.batches} batches: {_drift(found.drift, look)}"]
    told += [_difference(one, look) for one in found.differences]
    return [" ".join(told), *(_following(one, look) for one in found.following)]


def _drift(one: Effect, look: Quantity) -> str:
    if one.chance < _SEEN:
        return f"no drift is seen over the log ({_ends(one, look)})."
    word = "rose" if one.middle > 0 else "fell"
    return f"it {word} over the log: {_by(one, look)}."


def _difference(one: Effect, look: Quantity) -> str:
    group, label, against = one.what
    if one.chance < _SEEN:
        return f"No difference is seen from {group} {against} to {label} ({_ends(one, look)})."
    side = "above" if one.middle > 0 else "below"
    return f"{capital(group)} {label} is {side} {against}: {_by(one, look)}."


def _by(one: Effect, look: Quantity) -> str:
    sure = min(one.chance, one.side)
    told = "more than 99 %" if sure > _SURE else percent(sure)
    return f"{with_unit(look, step(look, one.middle))} ({_ends(one, look)}, {told} sure)"


def _ends(one: Effect, look: Quantity) -> str:
    return f"{step(look, one.low)} to {step(look, one.high)}"


def _following(one: NextReading, look: Quantity) -> str:
    place = _place(one.labels)
    ends = span(look, one.low, one.high)
    return f"- the next batch{place} will read {with_unit(look, ends)}, nine in ten."


def _place(labels: Mapping[str, str]) -> str:
    told = [f"{group} {label}" for group, label in labels.items()]
    return f" ({listed(told)})" if told else ""
