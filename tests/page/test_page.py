"""The page as text: whole, self-contained, escaped, written whole or not at all."""

import itertools
import re
from dataclasses import fields, replace

import pytest

from brewsim.page.page import render, write_report
from brewsim.page.views import SECTIONS, view_of
from brewsim.wording.content import Batches, Content, Panel
from tests.small_page import SCRIPT

LIMIT = 6_000_000
KEPT_OFF = re.compile(r"\b(will|posteriors?|p-values?|confidence interval|brand)\b", re.IGNORECASE)


def words_of(text):
    """The words a person reads: no scripts, styles or tags."""
    text = re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.DOTALL)
    return re.sub(r"<[^>]+>", " ", text)


@pytest.fixture(scope="session")
def text(page):
    return page.read_text(encoding="utf-8")


def test_all_ten_sections_are_there_in_their_order(text):
    found = re.findall(r'<section id="(\w+)"', text)

    assert found == [key for key, _ in SECTIONS]
    assert len(found) == 10


def test_a_section_without_content_is_left_out(made):
    plain = replace(
        made.content,
        knobs=(),
        knob_panel=Panel(),
        spec=Panel(),
        kinds=(),
        batches=Batches(),
        drivers=(),
        understood=(),
        assumed=(),
        warnings=(),
    )

    found = re.findall(r'<section id="(\w+)"', render(plain))

    assert found == ["danger", "expect", "dots", "method"]


def test_a_note_whose_section_is_missing_still_stands_on_the_page(made):
    plain = replace(made.content, knobs=(), knob_panel=Panel())

    notes = view_of(plain).notes["method"]

    assert "Grape product: sulphite and allergens" in [note.title for note in notes]


def test_the_page_is_small_enough_to_send(page):
    assert page.stat().st_size < LIMIT


def test_the_drawing_library_is_there_once(text):
    assert text.count("plotly.js v") == 1


def test_nothing_is_linked_from_elsewhere(text):
    without_scripts = re.sub(r"<script>.*?</script>", "", text, flags=re.DOTALL)
    links = re.findall(r'(?:src|href|action|data)="([^"#][^"]*)"', without_scripts)

    assert links == ["data:,"]
    assert "@import" not in without_scripts
    assert not re.search(r"url\((?!#)", without_scripts)


def test_the_policy_forbids_the_network(text):
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', text).group(1)

    assert policy.startswith("default-src &#39;none&#39;;")
    assert "unsafe-eval" not in policy
    assert "script-src &#39;sha256-" in policy
    assert "http" not in policy


def test_every_chart_has_its_table_and_its_words(text):
    pictures = text.count('<svg class="chart"')

    assert pictures >= 15
    assert text.count('<details class="twin">') == pictures
    assert text.count("</desc>") == pictures


def test_what_was_set_is_told_apart_from_what_has_a_spread(made):
    view = view_of(made.content)

    assert [row.what for row in view.settings] == ["Mass of hop 1"]
    assert [row.what for row in view.stated] == ["Alpha of hop 1"]


def test_ids_are_unique(text):
    without_scripts = re.sub(r"<script\b.*?</script>", "", text, flags=re.DOTALL)
    ids = re.findall(r'\bid="([^"]+)"', without_scripts)

    assert len(ids) == len(set(ids))


def test_headings_never_skip_a_level(text):
    levels = [int(level) for level in re.findall(r"<h([1-6])\b", text.split("<script>")[0])]

    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_no_word_that_is_kept_off_the_page_is_on_it(text):
    assert KEPT_OFF.findall(words_of(text)) == []


def test_the_same_content_gives_the_same_page(made, text):
    assert render(made.content) == text


def test_text_from_a_recipe_is_escaped_wherever_it_stands(hostile):
    content = replace(
        hostile.content,
        warnings=(SCRIPT,),
        knob_panel=Panel((SCRIPT,)),
        outside=(SCRIPT,),
        events=(SCRIPT,),
        sources=((SCRIPT, SCRIPT),),
    )

    text = render(content)

    assert SCRIPT not in text
    assert text.count("&lt;script&gt;alert(1)&lt;/script&gt;") >= 7


def test_labels_in_charts_are_escaped_in_picture_table_and_live_figure(made):
    first = made.content.outcomes[0]
    label = replace(first.look, label=SCRIPT)
    drivers = replace(made.content.drivers[0], label=SCRIPT)
    content = replace(
        made.content,
        outcomes=(replace(first, look=label),),
        drivers=(drivers,),
        kinds=(replace(made.content.kinds[0], look=label),),
    )

    assert SCRIPT not in render(content)


def test_a_failed_write_leaves_the_old_page_and_no_trace(made, tmp_path, monkeypatch):
    path = tmp_path / "page.html"
    path.write_text("old")

    def fail(*_args):
        raise OSError("disk full")

    monkeypatch.setattr("brewsim.page.page.os.replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write_report(path, made.content)

    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


def test_the_smallest_content_still_makes_a_page():
    needed = {f.name for f in fields(Content)}
    assert {"title", "outcomes"} <= needed

    text = render(Content("Bare", "0", 1, 16, 8, ()))

    assert re.findall(r'<section id="(\w+)"', text) == ["method"]
