"""The page as text: whole, self-contained, escaped, written whole or not at all."""

import base64
import gzip
import hashlib
import itertools
import re
from dataclasses import fields, replace
from html import escape

import pytest

from brewsim.page.page import render, write_report
from brewsim.page.views import SECTIONS, view_of
from brewsim.wording.content import Content, Panel
from tests.small_page import SCRIPT

LIMIT, LIGHT = 3_000_000, 600_000
KEPT_OFF = re.compile(r"\b(will|posteriors?|p-values?|confidence interval|brand)\b", re.IGNORECASE)


def words_of(text):
    """The words a person reads: no scripts, styles or tags."""
    text = re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.DOTALL)
    return re.sub(r"<[^>]+>", " ", text)


@pytest.fixture(scope="session")
def text(page):
    return page.read_text(encoding="utf-8")


def test_all_sections_are_there_and_the_verdict_is_the_first(text):
    found = re.findall(r'<section id="(\w+)"', text)

    assert sorted(found) == sorted(key for key, _ in SECTIONS if key != "tasted")
    assert found[0] == "verdict"
    assert found[-1] == "more"


def test_a_section_without_content_is_left_out(made):
    plain = replace(made.content, sources_of=(), again=(), house=None, card=None, dials=None)

    found = re.findall(r'<section id="(\w+)"', render(plain))

    assert found == ["verdict", "more"]


def test_every_caution_stands_on_the_page(made, text):
    for one in made.content.dangers:
        assert escape(one.title, quote=False) in text


def test_the_page_is_small_enough_to_send(page):
    assert page.stat().st_size < LIMIT


def test_the_light_page_has_no_library_and_is_a_tenth_of_the_size(made):
    light = render(made.content, light=True)

    assert len(light.encode()) < LIGHT
    assert 'id="packed"' not in light
    assert "Explore" not in words_of(light)


def test_the_library_lies_packed_in_the_page_and_unpacks_to_what_the_policy_allows(text):
    data = re.search(r'id="packed">([^<]+)<', text)[1]
    library = gzip.decompress(base64.b64decode(data)).decode()
    digest = base64.b64encode(hashlib.sha256(library.encode()).digest()).decode()

    assert "plotly.js v" in library
    assert digest in re.search(r'Content-Security-Policy" content="([^"]+)"', text)[1]


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


def test_every_chart_has_its_words_and_those_in_sight_a_table(made, text):
    pictures = text.count('<svg class="chart"')
    view = view_of(made.content)
    shown = [*(s.chart for s in view.strips), *(s.chart for s in view.sources), *view.again]

    assert pictures >= 12
    assert text.count("</desc>") == pictures
    for one in shown:
        assert f"<caption>{one.table.caption}</caption>" in text


def test_visible_words_are_few(text):
    """Outside of folds a page has at most 1,600 words."""
    sight = text
    fold = re.compile(r"<details\b((?!<details).)*?</details>", re.DOTALL)
    while fold.search(sight):
        sight = fold.sub(" ", sight)
    sight = re.sub(r'<div class="paper".*?<header>', " ", sight, flags=re.DOTALL)

    assert 200 < len(words_of(sight).split()) <= 1_600


def test_what_was_set_is_told_apart_from_what_has_a_spread(made):
    view = view_of(made.content)

    assert [row.what for row in view.settings] == ["Mass of hop 1"]
    assert [row.what for row in view.stated] == ["Alpha of hop 1"]


def test_ids_are_unique(text):
    without_scripts = re.sub(r"<script\b.*?</script>", "", text, flags=re.DOTALL)
    ids = re.findall(r'\bid="([^"]+)"', without_scripts)

    assert len(ids) == len(set(ids))


def test_headings_never_skip_a_level(text):
    screen = re.sub(r'<div class="paper".*?<header>', "", text, flags=re.DOTALL)
    levels = [int(level) for level in re.findall(r"<h([1-6])\b", screen.split("<script>")[0])]

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
    pictures = made.content.screen.pictures
    look = replace(pictures.strips[0].look, label=SCRIPT)
    strips = (replace(pictures.strips[0], look=look, heading=SCRIPT),)
    content = replace(
        made.content,
        screen=replace(made.content.screen, pictures=replace(pictures, strips=strips)),
        drivers=(replace(made.content.drivers[0], label=SCRIPT),),
        sources_of=(replace(made.content.sources_of[0], label=SCRIPT),),
        kinds=(replace(made.content.kinds[0], look=look),),
        dials=replace(made.content.dials, strips=strips),
    )

    assert SCRIPT not in render(content)


def test_a_failed_write_leaves_the_old_page_and_no_trace(made, tmp_path, monkeypatch):
    path = tmp_path / "page.html"
    path.write_text("old")

    def fail(*_args):
        raise OSError("disk full")

    monkeypatch.setattr("brewsim.files.text_files.os.replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write_report(path, made.content)

    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


def test_the_smallest_content_still_makes_a_page():
    needed = {f.name for f in fields(Content)}
    assert {"title", "outcomes"} <= needed

    text = render(Content("Bare", "0", 1, 16, 8, ()))

    assert re.findall(r'<section id="(\w+)"', text) == ["more"]
