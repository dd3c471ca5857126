"""Tables of a page that stand beside no chart."""

from collections.abc import Sequence

from brewsim.quantities.chances import percent
from brewsim.quantities.english import capital
from brewsim.quantities.format import printed, unit_word
from brewsim.wording import sentences as words
from brewsim.wording.content import Bar, Outcome
from brewsim.wording.parts import Table

LEAST_SHARE = 0.01


def outcome_table(outcomes: Sequence[Outcome]) -> Table | None:
    """Return what to expect of every outcome, a row each; None without outcomes."""
    if not outcomes:
        return None
    rows = []
    for one in outcomes:
        look = one.look
        count = words.count_inside(one)
        wanted = "" if one.target is None else words.target_words(one.target, look)
        landed = "" if count is None or one.chance is None else f"{round(50 * one.chance)} of 50"
        rows.append(
            (
                look.title + (f", {unit_word(look)}" if unit_word(look) else ""),
                printed(look, one.low),
                printed(look, one.middle),
                printed(look, one.high),
                f"{wanted}: {landed}" if wanted else "",
            )
        )
    header = ("outcome", "from", "median", "to", "target")
    return Table("The next batch, nine in ten between from and to", header, tuple(rows))


def driver_table(label: str, bars: Sequence[Bar]) -> Table:
    """Return the inputs that make at least 1 % of a spread, and how many make less."""
    ordered = sorted(bars, key=lambda bar: -bar.together)
    kept = [bar for bar in ordered if max(bar.alone, bar.together) >= LEAST_SHARE]
    rows = [
        (
            capital(bar.label),
            percent(bar.alone),
            f"{percent(bar.alone_low)} to {percent(bar.alone_high)}",
            percent(bar.together),
            words.reach_words(bar),
        )
        for bar in kept
    ]
    if len(kept) < len(ordered):
        rows.append((f"{len(ordered) - len(kept)} more, each under 1 %", "", "", "", ""))
    header = ("input", "alone", "sampling range", "with others", "what you can do")
    return Table(f"What drives {label.lower()}", header, tuple(rows))
