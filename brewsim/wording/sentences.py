"""Sentences a brewer reads: expectations, landings, shares, ties."""

from collections.abc import Sequence

from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import DOTS, about_fifty, percent
from brewsim.quantities.english import all_of, capital, listed
from brewsim.quantities.format import number, printed, times, with_unit
from brewsim.wording.content import Bar, Mark, Outcome
from brewsim.wording.parts import Limits

_NOTHING = 0.005
_MARKS: dict[Mark, str] = {
    "turn": "you can turn it",
    "measure": "you can measure it",
    "nobody": "nobody controls it",
}


def plain_input(label: str) -> str:
    """Return an input's label without what only a model needs."""
    return label.removesuffix(", in standard deviations").removesuffix(", as if at 20 °C")


def of_fifty(chance: float) -> int:
    """Return a chance as so many batches of fifty."""
    return round(DOTS * chance)


def mark_words(mark: Mark | None) -> str:
    """Return the mark in words, or nothing."""
    return _MARKS[mark] if mark else ""


def reach_words(bar: Bar) -> str:
    """Say what can be done about an input, and how much of the spread that reaches."""
    if bar.mark != "measure" or bar.by_measuring is None:
        return mark_words(bar.mark)
    return f"{mark_words(bar.mark)}: takes away {percent(bar.within_reach)}"


def expectation(outcome: Outcome) -> str:
    """Say what to expect of the next batch: nine chances in ten, and the median."""
    look = outcome.look
    low, high = printed(look, outcome.low), printed(look, outcome.high)
    if low == high:
        return f"Expect {_subject(look)} {with_unit(look, low)}, as good as certain."
    said = {"{low}": low, "{high}": high, "{middle}": printed(look, outcome.middle)}
    sentence = expectation_pattern(look)
    for gap, text in said.items():
        sentence = sentence.replace(gap, text)
    return sentence


def expectation_pattern(look: Quantity) -> str:
    """Return the sentence on an outcome, with gaps {low}, {high} and {middle}."""
    span = f"between {{low}} and {with_unit(look, '{high}')}"
    return f"Expect {_subject(look)} {span}, nine chances in ten; median {{middle}}."


def _subject(look: Quantity) -> str:
    return f"the next batch to {look.verb}" if look.verb else look.label


def is_inside(value: float, target: Limits) -> bool:
    """Tell whether a value keeps to a target; a limit itself is inside."""
    above = target.lower is None or value >= target.lower
    return above and (target.upper is None or value <= target.upper)


def count_inside(outcome: Outcome) -> int | None:
    """Return how many of the 50 dots keep to the target, None without a target."""
    if outcome.target is None:
        return None
    return sum(is_inside(value, outcome.target) for value in outcome.dots)


def target_words(target: Limits, look: Quantity) -> str:
    """Return a target as words: '4.8 to 5.4', 'at least 4.8', 'at most 5.4'."""
    if target.lower is None and target.upper is None:
        return "anything"
    if target.lower is None:
        return f"at most {printed(look, target.upper or 0.0)}"
    if target.upper is None:
        return f"at least {printed(look, target.lower)}"
    return f"{printed(look, target.lower)} to {printed(look, target.upper)}"


def landing(outcome: Outcome) -> str:
    """Say how many of the 50 dots land in the target, or nothing without a target."""
    count = count_inside(outcome)
    if outcome.target is None or count is None:
        return ""
    wanted = target_words(outcome.target, outcome.look)
    one = "s" if count == 1 else ""
    inside = f"land{one} inside your" if wanted[0] != "a" else f"meet{one} your target of"
    dots = {0: "None", DOTS: "All"}.get(count, f"{count}")
    return f"{dots} of the {DOTS} dots {inside} {wanted}."


def joint(chance: float, error: float, targets: int) -> str:
    """Say the chance that all targets are met at once."""
    share = about_fifty(chance, error)
    return f"{all_of(targets)} targets in the same batch: {share}."


def share_words(bar: Bar) -> str:
    """Say an input's share with the interval the draws leave it."""
    if is_nothing(bar):
        return f"{bar.label} is not distinguishable from nothing"
    ends = (max(0.0, bar.alone_low), min(1.0, bar.alone_high))
    low, high = (number(100 * end, 0) for end in ends)
    between = f" ({low} to {high})" if low != high else ""
    reach = ""
    if bar.within_reach < 0.95 * bar.alone:
        reach = f"; measuring it can take away {percent(bar.within_reach)}"
    return f"{bar.label} decides about {percent(bar.alone)} of the spread{between}{reach}"


def is_nothing(bar: Bar) -> bool:
    """Tell whether the draws cannot distinguish an input's effect from none."""
    return bar.together_low <= _NOTHING


def leaders(bars: Sequence[Bar]) -> tuple[Bar, ...]:
    """Return the largest bar and those the draws cannot distinguish from it, largest first."""
    ordered = sorted(bars, key=lambda bar: -bar.together)
    if not ordered or is_nothing(ordered[0]):
        return ()
    return tuple(bar for bar in ordered if bar.together_high >= ordered[0].together_low)


def ranking(bars: Sequence[Bar]) -> tuple[str, ...]:
    """Say what leads, what ties, what comes next and how many are nothing."""
    ordered = sorted(bars, key=lambda bar: -bar.together)
    first = leaders(ordered)
    if not first:
        return ("No input stands out from nothing.",)
    sentences = [f"{capital(share_words(first[0]))}."]
    if len(first) > 1:
        sentences.append(
            f"The first {len(first)} are a tie: the draws cannot tell which is the largest."
        )
    rest = sorted(ordered[1:], key=lambda bar: -bar.alone)
    rest = [bar for bar in rest if bar.alone >= 0.05 and not is_nothing(bar)][:3]
    following = [f"{bar.label} {percent(bar.alone)}" for bar in rest]
    if following:
        sentences.append(f"Then {listed(following)}.")
    sentences += _mixed(ordered)
    none = sum(is_nothing(bar) for bar in ordered)
    if none:
        inputs = "input is" if none == 1 else "inputs are"
        sentences.append(f"{none} {inputs} not distinguishable from nothing.")
    return tuple(sentences)


def _mixed(bars: Sequence[Bar]) -> list[str]:
    beyond = 1.0 - sum(max(0.0, bar.alone) for bar in bars)
    if beyond < 0.1:
        return []
    return [f"About {percent(beyond)} comes only from inputs acting on one another."]


def kinds_words(label: str, knowledge: float, lot: float, batch: float) -> str:
    """Say how the spread of an outcome divides over the three kinds."""
    return (
        f"{label}: {percent(knowledge)} of the spread is one true value nobody has measured yet, "
        f"{percent(lot)} comes with a new lot, {percent(batch)} is drawn anew with every brew."
    )


def within(look: Quantity, half: float, *, folds: bool) -> str:
    """Return a half width as words: '± 0.21 % ABV', or 'a factor 2.1'."""
    if folds:
        return f"a factor {times(half).rstrip('×')}"
    return f"± {with_unit(look, number(half))}"
