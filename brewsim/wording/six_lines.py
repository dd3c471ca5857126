"""A report in six lines, the verdict first, in as few rows of a terminal as they need."""

from collections.abc import Sequence
from textwrap import wrap

from brewsim.quantities.chances import DOTS
from brewsim.quantities.english import capital
from brewsim.quantities.format import printed, with_unit
from brewsim.wording.content import Content
from brewsim.wording.page_parts import FirstScreen, Strip
from brewsim.wording.sentences import expectation, landing, target_words

_MOST_STRIPS = 4
_WIDTH, _ROWS, _ALL_ROWS = 80, 2, 7
"""Columns of a terminal, rows of one line, and rows of all but the last line, which has one."""

Forms = list[str]
"""The same line, from the fullest to the shortest."""


def six_lines(content: Content) -> list[str]:
    """Return what the first screen of a page says, a line each, but for the name of the page."""
    screen = content.screen
    if screen is None:
        return []
    lines = [_verdict(content.title, screen)]
    if content.tasted is not None:
        lines += [*_moves(screen), _first_sentence(screen.why)]
    elif content.forecast is not None:
        lines += [_after(screen, content.forecast), _do(screen)]
    else:
        lines += [_landed(screen.pictures.strips), _do(screen), _why(screen)]
    if screen.caution is not None and screen.caution.level != "stop":
        lines.append([screen.caution.short])
    return _fitted([forms for forms in lines if any(forms)])


def _fitted(lines: list[Forms]) -> list[str]:
    """Return each line in its fullest form that leaves room for the others."""
    told = [next((f for f in forms if _rows(f) <= _ROWS), forms[-1]) for forms in lines]
    for place, forms in reversed(list(enumerate(lines))):
        if sum(map(_rows, told)) <= _ALL_ROWS:
            break
        fewer = (f for f in forms if _rows(f) < _rows(told[place]))
        told[place] = next(fewer, told[place])
    return told


def _rows(text: str) -> int:
    return len(wrap(text, _WIDTH, break_on_hyphens=False))


def _verdict(title: str, screen: FirstScreen) -> Forms:
    return [f"{title}: {screen.brief or screen.verdict}"]


def _landed(strips: Sequence[Strip], before: str = "") -> Forms:
    aimed = [strip for strip in strips if strip.count is not None and strip.target is not None]
    if not aimed:
        return [before.strip()]
    worst, *rest = aimed[:_MOST_STRIPS]
    others = "".join(f", {strip.look.label} {strip.count}" for strip in rest)
    middle = printed(worst.look, worst.middle)
    wanted = target_words(worst.target, worst.look) if worst.target is not None else ""
    first = f"{before}{capital(worst.look.label)} {worst.count} of {DOTS}"
    return [
        f"{first} (median {middle}, wanted {with_unit(worst.look, wanted)}){others}.",
        f"{first} (median {with_unit(worst.look, middle)}){others}.",
        f"{first}{others}.",
    ]


def _after(screen: FirstScreen, plan: FirstScreen) -> Forms:
    """Say what the next batch is expected to be after a log."""
    return _landed(plan.pictures.strips, f"{screen.why[0]} " if screen.why else "")


def _do(screen: FirstScreen) -> Forms:
    if not screen.actions:
        return [""]
    first, *rest = screen.actions
    also = f" {rest[0].brief or rest[0].title}." if rest else ""
    brief = first.brief or first.title
    return [f"Do: {first.title}. {first.text}{also}", f"Do: {brief}.{also}", f"Do: {brief}."]


def _why(screen: FirstScreen) -> Forms:
    return [*screen.why[:1], *screen.reasons]


def _moves(screen: FirstScreen) -> list[Forms]:
    return [
        [f"{action.title}. {action.text}", f"{action.brief or action.title}."]
        for action in screen.actions
    ]


def _first_sentence(why: Sequence[str]) -> Forms:
    return [why[0], f"{why[0].partition('. ')[0].removesuffix('.')}."] if why else [""]


def all_lines(content: Content) -> list[str]:
    """Return what to expect of every outcome, and how many of the fifty land."""
    return [
        " ".join(part for part in (expectation(one), landing(one)) if part)
        for one in content.outcomes
    ]
