"""Numbers and sentences a brewer reads: rounding rules, expectations, shares, ties."""

import math
from collections.abc import Sequence

from brewsim.wording.content import Bar, Limits, Look, Mark, Outcome

DOTS = 50
_NOTHING = 0.005
_MARKS: dict[Mark, str] = {
    "turn": "you can turn it",
    "measure": "you can measure it",
    "nobody": "nobody controls it",
}


def mark_words(mark: Mark | None) -> str:
    """Return the mark in words, or nothing."""
    return _MARKS[mark] if mark else ""


def reach_words(bar: Bar) -> str:
    """Say what can be done about an input, and how much of the spread that reaches."""
    if bar.mark != "measure" or bar.by_measuring is None:
        return mark_words(bar.mark)
    return f"{mark_words(bar.mark)}: takes away {percent(bar.within_reach)}"


def number(value: float, decimals: int | None) -> str:
    """Return a rounded number with a real minus sign; None means two significant figures."""
    if not math.isfinite(value):
        return "not known"
    if decimals is None:
        decimals = 0 if value == 0 else max(0, 1 - math.floor(math.log10(abs(value))))
        if abs(value) >= 100:
            value = float(f"{value:.2g}")
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def times(doublings: float) -> str:
    """Return doublings as so many times: 1 is 2×, −1 is 0.5×."""
    text = number(2.0**doublings, None)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text}×"


def finer(look: Look) -> Look:
    """Return the look with one more decimal."""
    decimals = None if look.decimals is None else look.decimals + 1
    return Look(look.label, look.unit, decimals, look.per_model, look.fold, look.verb)


def shown(value: float, look: Look) -> str:
    """Return a value of an outcome without its unit (a fold carries its ×)."""
    return times(value) if look.fold else number(value, look.decimals)


def with_unit(text: str, look: Look) -> str:
    """Put the unit behind a number, where there is one."""
    return f"{text} {look.unit}".strip() if not look.fold else text


def expectation(outcome: Outcome) -> str:
    """Say what to expect of the next batch: nine chances in ten, and the middle."""
    look = outcome.look
    low, high = shown(outcome.low, look), shown(outcome.high, look)
    if low == high:
        return f"Expect {_subject(look)} {with_unit(low, look)}, as good as certain."
    said = {"{low}": low, "{high}": high, "{middle}": shown(outcome.middle, look)}
    sentence = expectation_pattern(look)
    for gap, text in said.items():
        sentence = sentence.replace(gap, text)
    return sentence


def expectation_pattern(look: Look) -> str:
    """Return what is said of an outcome, with gaps {low}, {high} and {middle}."""
    span = f"between {{low}} and {with_unit('{high}', look)}"
    return f"Expect {_subject(look)} {span}, nine chances in ten; middle {{middle}}."


def _subject(look: Look) -> str:
    return f"the next batch to {look.verb}" if look.verb else f"{lower(look.label)}"


def lower(label: str) -> str:
    """Return a label as it stands inside a sentence: 3SH and IBU keep their capitals."""
    second = label[1:2]
    return label if second.isupper() or second.isdigit() else label[:1].lower() + label[1:]


def is_inside(value: float, target: Limits) -> bool:
    """Tell whether a value keeps to a target; a limit itself is inside."""
    above = target.lower is None or value >= target.lower
    return above and (target.upper is None or value <= target.upper)


def count_inside(outcome: Outcome) -> int | None:
    """Return how many of the 50 dots keep to the target, None without a target."""
    if outcome.target is None:
        return None
    return sum(is_inside(value, outcome.target) for value in outcome.dots)


def target_words(target: Limits, look: Look) -> str:
    """Return a target as words: '4.8 to 5.4', 'at least 4.8', 'at most 5.4'."""
    if target.lower is None and target.upper is None:
        return "anything"
    if target.lower is None:
        return f"at most {shown(target.upper or 0.0, look)}"
    if target.upper is None:
        return f"at least {shown(target.lower, look)}"
    return f"{shown(target.lower, look)} to {shown(target.upper, look)}"


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
    share = in_hundred(chance, error)
    return f"{all_of(targets)} targets in the same batch: {share}."


def all_of(count: int) -> str:
    """Return 'Both' for two, else 'All 3'."""
    return "Both" if count == 2 else f"All {count}"


_THOUSAND, _RARE = 1000, 0.001


def in_hundred(chance: float, error: float, wanted: float = 0.0) -> str:
    """Return a chance as so many in 100 with its sampling error, rare ones in 1,000.

    What hardly a draw tells of is bounded by its error, on one side.
    One that misses the wanted chance by less than the rounding is told as just under it.
    """
    if chance < wanted <= round(chance, 2):
        return f"just under {100 * wanted:.0f} chances in 100"
    if chance < _RARE:
        most = max(1, math.ceil(_THOUSAND * (chance + error) - 1e-9))
        return f"fewer than {most} chance{'' if most == 1 else 's'} in 1,000"
    if chance > 1 - _RARE:
        least = min(999, math.floor(_THOUSAND * (chance - error) + 1e-9))
        return f"more than {least} chances in 1,000"
    if chance < 0.02:
        return f"about {chance * 1000:.0f} in 1,000"
    spread = math.ceil(100 * error)
    tail = f", give or take {spread}" if spread > 1 else ""
    return f"about {chance * 100:.0f} chances in 100{tail}"


def percent(share: float) -> str:
    """Return a share of the spread as a whole percentage, never below zero."""
    return f"{max(0.0, share) * 100:.0f} %"


def share_words(bar: Bar) -> str:
    """Say an input's share with the interval the draws leave it."""
    if is_nothing(bar):
        return f"{bar.label} is not distinguishable from nothing"
    low, high = max(0.0, bar.alone_low) * 100, min(1.0, bar.alone_high) * 100
    between = f" ({low:.0f} to {high:.0f})" if f"{low:.0f}" != f"{high:.0f}" else ""
    reach = ""
    if bar.within_reach < 0.95 * bar.alone:
        reach = f"; measuring it can take away {percent(bar.within_reach)}"
    return f"{bar.label} decides about {percent(bar.alone)} of the spread{between}{reach}"


def is_nothing(bar: Bar) -> bool:
    """Tell whether the draws cannot tell an input's effect from none at all."""
    return bar.together_low <= _NOTHING


def leaders(bars: Sequence[Bar]) -> tuple[Bar, ...]:
    """Return the largest bar and those the draws cannot tell from it, largest first."""
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


def listed(names: Sequence[str]) -> str:
    """Join names with commas and a last 'and'."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def capital(text: str) -> str:
    """Return a text as it stands at the head of a sentence."""
    return text if text.startswith("pH") else text[:1].upper() + text[1:]


def kinds_words(label: str, knowledge: float, lot: float, batch: float) -> str:
    """Say how the spread of an outcome divides over the three kinds."""
    return (
        f"{label}: {percent(knowledge)} of the spread is one true value nobody has measured yet, "
        f"{percent(lot)} comes with a new lot, {percent(batch)} is drawn anew with every brew."
    )


def within(look: Look, half: float, *, folds: bool) -> str:
    """Return a half width as words: '± 0.21 % ABV', or 'a factor 2.1'."""
    if folds:
        return f"a factor {times(half).rstrip('×')}"
    return f"± {with_unit(number(half, None), look)}"


def span_words(low: float, high: float, unit: str = "") -> str:
    """Return a range rounded to two figures of its width, or of each end where it is in folds."""
    width = high - low
    if low > 0 and high > 3 * low:
        return f"{number(low, None)} to {number(high, None)} {unit}".strip()
    decimals = max(0, 1 - math.floor(math.log10(width))) if width > 0 else None
    return f"{number(low, decimals)} to {number(high, decimals)} {unit}".strip()
