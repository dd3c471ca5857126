"""The page on paper: the card alone, or the page after it."""

import shutil

import pytest

from tests.page.browsing import sheets_of

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed"),
]
LOGS = ("quillhaven-lager-six-batches.toml", "quillhaven-lager-batches.toml")
EMPTY = """() => [...document.querySelectorAll("main section")]
  .filter((e) => e.getClientRects().length)
  .filter((e) => !e.innerText.replace(e.querySelector("h2")?.innerText ?? "", "").trim())
  .map((e) => e.id)"""
SMALL = """() => [...document.querySelectorAll("main svg.chart text")]
  .filter((e) => e.getClientRects().length)
  .map((e) => parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a * 0.75)
  .filter((points) => points < 8)"""
A4_WIDTH = 718
"""Pixels between the margins of an A4 sheet."""


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_page_prints_the_card_alone_on_one_sheet(opened, page, paper):
    tab, _ = opened(page)

    assert sheets_of(tab, paper) == 1


def test_the_page_prints_after_its_card_with_the_folds_that_are_open(opened, page):
    tab, _ = opened(page)
    tab.evaluate("window.print = () => {}")
    tab.locator("#print-all").click()
    tab.emulate_media(media="print")

    assert tab.locator(".paper").is_visible()
    assert tab.locator("#verdict").is_visible()
    assert not tab.locator("#more").is_visible()
    assert sheets_of(tab, "A4") >= 2
    tab.emulate_media(media="screen")
    tab.locator("#more summary").first.click()
    tab.emulate_media(media="print")
    assert tab.locator("#more table").first.is_visible()


def test_in_print_the_stop_box_has_a_heavy_border_and_needs_no_colour(opened, page):
    tab, _ = opened(page)
    tab.evaluate("document.documentElement.classList.add('whole')")
    tab.emulate_media(media="print")
    box = tab.locator(".danger.stop")
    style = box.evaluate(
        "e => { const s = getComputedStyle(e);"
        " return [s.borderTopWidth, s.borderTopColor, s.backgroundColor]; }"
    )

    assert box.is_visible()
    assert style == ["4px", "rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    assert "STOP" in box.inner_text()


def test_live_charts_turn_back_into_still_ones_on_paper(opened, page):
    tab, _ = opened(page)
    tab.locator("#verdict .explore").click()
    tab.locator("#strip-0 .live svg.main-svg").first.wait_for(timeout=20_000)
    tab.evaluate("document.documentElement.classList.add('whole')")
    tab.emulate_media(media="print")

    assert tab.locator("#strip-0 .still svg").is_visible()
    assert not tab.locator("#strip-0 .live").is_visible()


@pytest.mark.usefixtures("learned_once")
@pytest.mark.parametrize(
    ("name", "log", "most"),
    [("lager", "", 3), ("bitter", "", 3), ("lager", LOGS[0], 4), ("lager", LOGS[1], 4)],
)
def test_a_whole_page_is_few_sheets_without_empty_heads_or_small_print(
    opened, shelf, name, log, most
):
    tab, _ = opened(shelf.report(name, log)[1])
    tab.evaluate("window.print = () => {}")
    tab.locator("#print-all").click()
    tab.set_viewport_size({"width": A4_WIDTH, "height": 1000})

    assert sheets_of(tab, "A4") <= most
    tab.emulate_media(media="print")
    assert tab.evaluate(EMPTY) == []
    assert tab.evaluate(SMALL) == []
