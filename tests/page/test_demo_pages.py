"""The pages of the shipped recipes, whole: paper, phone, quiet, readable without scripts."""

import shutil

import pytest

from brewsim.beer.pose import posed
from brewsim.page.compose import studied
from brewsim.page.page import write_report
from brewsim.priors.library import load_priors
from brewsim.recipe.read import read_recipe
from tests.door import DEMOS
from tests.page.browsing import open_all, sheets_of, wide
from tests.page.test_page import LIMIT

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed"),
]


@pytest.fixture(scope="module", params=["lager", "bitter", "pale"])
def demo_page(request, tmp_path_factory):
    recipe = read_recipe(DEMOS / f"quillhaven-{request.param}.toml")
    priors = load_priors()
    problem, rows = posed(recipe, priors)
    content = studied(recipe, problem, rows, priors).content
    return write_report(tmp_path_factory.mktemp(request.param) / "page.html", content)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_demo_prints_on_six_sheets_at_most(opened, demo_page, paper):
    tab, _ = opened(demo_page)

    assert 3 <= sheets_of(tab, paper) <= 6


def test_in_print_no_chart_or_box_may_be_cut(opened, demo_page):
    tab, _ = opened(demo_page, viewport=wide(710))
    tab.emulate_media(media="print")
    cut = (
        "es => es.filter((e) => getComputedStyle(e).breakInside !== 'avoid'"
        " || e.getBoundingClientRect().height > 900)"
        ".map((e) => [e.id || e.className, e.getBoundingClientRect().height])"
    )

    assert tab.locator("figure.sheet, .danger").count() > 20
    assert tab.locator("figure.sheet:visible, .danger:visible").evaluate_all(cut) == []


def test_a_demo_page_is_small_quiet_narrow_and_moves_its_sentences(opened, demo_page):
    tab, heard = opened(demo_page, viewport=wide(320))
    open_all(tab)
    said = tab.locator("#try .tried p").first
    before = [p.text_content() for p in tab.locator("#try .tried p").all()]
    for dial in tab.locator("#try input[type=range]").all():
        dial.fill(dial.get_attribute("max"))
        dial.dispatch_event("input")

    assert demo_page.stat().st_size < LIMIT
    assert heard == [f"request {demo_page.as_uri()}"]
    assert tab.evaluate("document.documentElement.scrollWidth") <= 320
    assert said.is_visible()
    assert [p.text_content() for p in tab.locator("#try .tried p").all()] != before


def test_without_scripts_every_section_of_a_demo_can_be_read(opened, demo_page):
    tab, _ = opened(demo_page, java_script_enabled=False)
    sections = tab.locator("main > section").all()

    assert len(sections) >= 9
    assert all(section.is_visible() for section in sections)
    assert tab.locator(".still svg.chart").first.is_visible()
    assert not tab.locator("#try").is_visible()


ONLY_A_FEW = """
    nav, #danger { display: none !important; }
    #expect li:nth-of-type(n + 5), #dots .sheet:nth-of-type(n + 5) { display: none; }
"""
"""Leaves of each section what fits one screen."""


def test_the_picture_in_the_readme_is_there_and_small(opened, demo_page):
    """Delete docs/page.png to have it taken anew."""
    picture = DEMOS.parent / "docs" / "page.png"
    if not picture.exists() and "lager" in str(demo_page):
        picture.parent.mkdir(exist_ok=True)
        tab, _ = opened(demo_page, viewport={"width": 1000, "height": 1100}, color_scheme="light")
        tab.add_style_tag(content=ONLY_A_FEW)
        tab.screenshot(path=str(picture))

    assert picture.stat().st_size < 200_000
    assert "docs/page.png" in (DEMOS.parent / "README.md").read_text(encoding="utf-8")
