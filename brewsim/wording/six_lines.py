"""A report in six lines, the verdict first."""

from collections.abc import Sequence

from brewsim.quantities.chances import DOTS
from brewsim.quantities.format import printed
from brewsim.wording.content import Content
from brewsim.wording.page_parts import FirstScreen, Strip
from brewsim.wording.sentences import expectation, landing, target_words

_MOST_STRIPS = 4


def six_lines(content: Content) -> list[str]:
    """Return what the first screen of a page says, a line each."""
    screen = content.screen
    if screen is None:
        return []
    plan = content.forecast or screen
    first = f"{content.title}: {screen.verdict}"
    lines = [first]
    if content.tasted is not None:
        lines += [*(f"{a.title}. {a.text}" for a in screen.actions), *screen.why[:1]]
    else:
        lines += screen.why[:1] if content.forecast is not None else ()
        lines += [_landed(plan.pictures.strips), _turn(screen), _why(plan)]
    if screen.caution is not None and screen.caution.level != "stop":
        lines.append(screen.caution.short)
    return [line for line in lines if line]


def _landed(strips: Sequence[Strip]) -> str:
    aimed = [strip for strip in strips if strip.count is not None and strip.target is not None]
    if not aimed:
        return ""
    told = [f"{strip.look.label} {strip.count}" for strip in aimed[:_MOST_STRIPS]]
    worst = aimed[0]
    middle = printed(worst.look, worst.middle)
    wanted = target_words(worst.target, worst.look) if worst.target is not None else ""
    told[0] += f" (median {middle}, wanted {wanted})"
    return f"Of {DOTS}: {', '.join(told)}."


def _turn(screen: FirstScreen) -> str:
    if not screen.actions:
        return ""
    first = screen.actions[0]
    rest = [action.title for action in screen.actions[1:2]]
    also = f" {rest[0]}." if rest else ""
    return f"Do: {first.title}. {first.text}{also}"


def _why(plan: FirstScreen) -> str:
    return plan.why[0] if plan.why else ""


def all_lines(content: Content) -> list[str]:
    """Return what to expect of every outcome, and how many of the fifty land."""
    return [
        " ".join(part for part in (expectation(one), landing(one)) if part)
        for one in content.outcomes
    ]
