"""A report in the terminal: six lines in eight rows, the verdict first."""

import re
from dataclasses import replace
from textwrap import wrap

import pytest

from brewsim.wording.page_parts import Action
from brewsim.wording.parts import Danger
from brewsim.wording.six_lines import six_lines

LONG = " ".join(["word"] * 25)
"""A text of two rows."""


def rows(lines):
    return [len(wrap(line, 80, break_on_hyphens=False)) for line in lines]


def changed(made, **parts):
    return replace(made.content, screen=replace(made.content.screen, **parts))


@pytest.mark.slow
@pytest.mark.usefixtures("learned_once")
@pytest.mark.parametrize(
    ("name", "log"),
    [
        ("lager", ""),
        ("bitter", ""),
        ("pale", ""),
        ("lager", "quillhaven-lager-batches.toml"),
        ("lager", "quillhaven-lager-six-batches.toml"),
    ],
)
def test_a_report_of_a_demo_is_at_most_eight_rows_with_the_verdict_first(shelf, name, log):
    told, _ = shelf.report(name, log)
    rows_told = told.splitlines()
    last = next(place for place, row in enumerate(rows_told) if row.startswith("/"))  # a path
    above = rows_told[:last]
    said = " ".join(above)

    assert above[0].startswith(f"Quillhaven {name}: ")
    assert len(above) <= 7
    assert max(map(len, above)) <= 80
    assert re.search(r"\d+ of 50 meet all|\d+ of 50 next brews", said)
    assert "\nDo: " in told or "\nTurn " in told
    assert ("\nWhy: " in told) == (not log)
    assert "for the kettle: brewsim card" in " ".join(rows_told[last:])


def test_each_line_is_as_full_as_there_is_room(made):
    full = Action("Turn", LONG, brief="turn: 9 of 50")

    roomy = six_lines(changed(made, brief="likely.", actions=(full,), why=("Why: x. Y.",)))
    tight = six_lines(
        changed(
            made, brief=LONG, actions=(full,), why=(LONG,), reasons=(LONG, "Why: in short."),
            caution=Danger("caution", "", "", "", short=LONG),
        )
    )  # fmt: skip

    assert roomy[0] == f"{made.content.title}: likely."
    assert f"Do: Turn. {LONG}" in roomy
    assert "Why: x. Y." in roomy
    assert "Why: in short." in tight
    assert tight[-1] == LONG
    assert max(rows(tight)) <= 2
    assert sum(rows(tight)) <= 7


def test_a_line_that_has_no_short_form_stays_whole(made):
    caution = Danger("caution", "", "", "", short=f"{LONG} {LONG}")

    assert six_lines(changed(made, caution=caution))[-1] == caution.short


def test_what_stops_is_no_line_of_the_six(made):
    stop = Danger("stop", "", "", "", short="Stop.")

    assert "Stop." not in six_lines(changed(made, caution=stop))
    assert six_lines(replace(made.content, screen=None)) == []
