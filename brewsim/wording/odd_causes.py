"""The plain causes of what is odd in a log, a sentence each."""

from collections.abc import Sequence

from brewsim.answers.odd_causes import OddCause
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.english import capital, listed
from brewsim.quantities.format import number, reading, step, value, with_unit
from brewsim.wording.outcomes import Looks


def odd_cause_sentences(causes: Sequence[OddCause], looks: Looks) -> list[str]:
    """Return what is plainly odd in a log, what is no beer's doing first."""
    return [_sentence(one, looks) for one in causes]


def headline(one: OddCause, looks: Looks) -> str:
    """Return one plain cause in a line."""
    look, first = looks[one.quantities[0]], one.batches[0]
    if one.reading is not None:
        read = with_unit(look, reading(look, one.reading.value))
        if one.kind == "slip":
            return f"{first}: {look.label} {read}, or {one.reading.meant}?"
        usual = with_unit(look, value(look.finer(), one.reading.usual))
        stalled = " It stalled." if one.kind == "stall" else ""
        return f"{first}: {look.label} {read} where {usual} is usual.{stalled}"
    moved = _moved(one, look)
    when = first if len(one.batches) == 1 else f"From {first} on"
    return {
        "instrument": f"{when}: {one.place or 'the instrument'} reads {moved}.",
        "lot": f"Lot {one.place} of {one.tag}: {look.label} is {moved} the others'.",
        "group": f"{capital(one.tag)} {one.place}: {look.label} is {moved} than elsewhere.",
        "step": f"From {first} on, {look.label} is {moved}.",
    }.get(one.kind, f"{capital(look.label)} drifts: {moved} by now.")


def advised(one: OddCause, looks: Looks) -> tuple[str, str]:
    """Return what to do about a plain cause, and why."""
    first = one.batches[0]
    title = {
        "slip": f"Mend {first} in the log",
        "instrument": f"Check {one.place or 'the instrument'} in water",
        "lot": f"Look at the label of lot {one.place}",
        "stall": f"Look into the fermentation of {first}",
        "odd": f"Read {first} again",
        "group": f"Look at {one.tag} {one.place}",
    }.get(one.kind, "Look for what changed")
    return title, _sentence(one, looks)


def _moved(one: OddCause, look: Quantity) -> str:
    if one.ratio:
        return f"{number(one.amount, 2)} times"
    side = "higher" if one.amount > 0 else "lower"
    return f"{step(look, abs(one.amount)).lstrip('+−')} {side}"


def _sentence(one: OddCause, looks: Looks) -> str:
    look = looks[one.quantities[0]]
    names = listed([looks[name].label for name in one.quantities])
    first = one.batches[0]
    if one.reading is not None:
        return _single(one, look)
    if one.kind == "instrument":
        alone = len(one.batches) == 1
        when = f"{first}:" if alone else f"From {first} on,"
        why = "and nothing else is odd: the instrument, not the beer."
        return (
            f"{when} {names} by {one.place or 'the instrument'} read {_by(one, look)}, {why} "
            f"{'Was the sample warm?' if alone else 'Check it in water.'}"
        )
    if one.kind == "lot":
        usual = f"a factor {number(one.usual, 2)}" if one.ratio else step(look, one.usual)
        return (
            f"Lot {one.place} of {one.tag} ({_span(one.batches)}): {look.label} is "
            f"{_by(one, look)} against the other lots, where nine in ten lots lie within "
            f"{usual}: is it the lot on the label, and its figures?"
        )
    if one.kind == "drift":
        return f"{capital(look.label)} drifts: {_by(one, look)} from the first batch to the last."
    if one.kind == "step":
        return f"From {first} on, {look.label} is {_by(one, look)}: something changed that day."
    return f"{capital(one.tag)} {one.place}: {look.label} is {_by(one, look)} against the others."


def _span(batches: Sequence[str]) -> str:
    return batches[0] if len(batches) == 1 else f"{batches[0]} to {batches[-1]}"


def _by(one: OddCause, look: Quantity) -> str:
    """Return how much a cause moves a quantity, and the ends that hold it nine times in ten."""
    if one.ratio:
        amount, low, high = (number(x, 2) for x in (one.amount, one.low, one.high))
        return f"{amount} times as much (nine in ten: {low} to {high})"
    side = "higher" if one.amount > 0 else "lower"
    amount, *ends = (step(look, abs(x)).lstrip("+−") for x in (one.amount, one.low, one.high))
    low, high = sorted(ends)
    return f"{amount} {side} (nine in ten: {low} to {high})"


def _single(one: OddCause, look: Quantity) -> str:
    """Say what a batch's one odd reading is likeliest to be."""
    found = one.reading
    if found is None:
        return ""
    read = with_unit(look, reading(look, found.value))
    usual = with_unit(look, value(look.finer(), found.usual))
    start = f"{one.batches[0]}: {look.label} of {read} where {usual} is usual"
    slip = f"{found.meant} for {found.typed}?" if found.meant else ""
    sure = f"about {number(100 * found.chance, 0)} in 100"
    if one.kind == "slip":
        return f"{start}. {slip} A slip is the likeliest ({found.what}; {sure})."
    if one.kind == "stall":
        other = f" Else a slip: {slip}" if slip else ""
        return (
            f"{start}, and the wort as usual: the fermentation stalled, or was read before its "
            f"end ({sure}).{other}"
        )
    other = f" Or {slip}" if slip else ""
    return f"{start}, and nothing else of the batch is odd: read it again.{other}"
