"""The pages of the shipped recipes, whole: paper, phone, quiet, readable without scripts."""

import re
import shutil

import pytest

from tests.door import DEMOS
from tests.page.browsing import (
    SPARE,
    below_the_first_screen,
    covered_controls,
    empty_lines,
    open_all,
    phone_faults,
    sheets_of,
    unreadable_labels,
    wide,
)
from tests.page.test_page import LIMIT

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed"),
]


@pytest.fixture(scope="module", params=["lager", "bitter", "pale"])
def demo_page(request, shelf):
    return shelf.report(request.param)[1]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_demo_prints_its_card_on_one_sheet(opened, demo_page, paper):
    tab, _ = opened(demo_page)

    assert sheets_of(tab, paper) == 1


def test_the_card_is_set_in_eleven_points_or_more(opened, demo_page):
    tab, _ = opened(demo_page)
    tab.emulate_media(media="print")
    small = (
        "es => es.filter((e) => e.textContent.trim() && !e.children.length"
        " && parseFloat(getComputedStyle(e).fontSize) < 11 / 0.75 - 0.01)"
        ".map((e) => e.textContent)"
    )

    assert tab.locator(".paper .kettle *").evaluate_all(small) == []


@pytest.mark.parametrize(("width", "height"), [(390, 844), (1200, 800)])
def test_verdict_picture_action_and_caution_stand_on_the_first_screen(
    opened, demo_page, width, height
):
    tab, _ = opened(demo_page, viewport={"width": width, "height": height})

    assert below_the_first_screen(tab, height - SPARE) == {}


def test_a_demo_page_is_small_quiet_and_narrow(opened, demo_page):
    tab, heard = opened(demo_page, viewport=wide(320))
    open_all(tab)
    count = tab.locator("#count").inner_text()
    for dial in tab.locator("#turn input[type=range]").all():
        dial.fill(dial.get_attribute("max"))
    tab.wait_for_timeout(200)

    assert demo_page.stat().st_size < LIMIT
    assert heard == [f"request {demo_page.as_uri()}"]
    assert tab.evaluate("document.documentElement.scrollWidth") <= 320
    assert tab.locator("#count").inner_text() != count


def test_a_phone_meets_no_serious_fault_no_cut_table_no_file_syntax_and_one_denominator(
    opened, demo_page
):
    tab, _ = opened(demo_page, bypass_csp=True, viewport=wide(320))

    assert phone_faults(tab) == []


def test_the_picture_of_the_dials_covers_no_control(opened, demo_page):
    tab, _ = opened(demo_page)
    for width, height in ((900, 900), (390, 844), (320, 640), (1200, 800)):
        tab.set_viewport_size({"width": width, "height": height})

        assert [covered_controls(tab, order) for order in (1, -1)] == [[], []], width


def test_no_label_lies_on_another_or_leaves_its_drawing_and_no_line_is_empty(opened, demo_page):
    tab, _ = opened(demo_page)
    open_all(tab)
    for width in (320, 390, 768, 1200):
        tab.set_viewport_size(wide(width))

        assert unreadable_labels(tab) == [], width
    assert empty_lines(tab) == []


def test_no_picture_stands_alone_in_its_row(opened, demo_page):
    tab, _ = opened(demo_page, viewport=wide(1200))
    rows = (
        "es => es.map(e => Object.values(Object.groupBy([...e.children],"
        " c => Math.round(c.getBoundingClientRect().top))).map(r => r.length))"
    )

    for counts in tab.locator(".grid, .panels").evaluate_all(rows):
        assert counts[-1] > 1 or counts in ([1], [1, 1]), counts


def test_a_keyboard_is_at_the_first_dial_after_twenty_presses(opened, demo_page):
    tab, _ = opened(demo_page)
    for _ in range(20):
        tab.keyboard.press("Tab")
        if tab.evaluate("document.activeElement.closest('#turn .dial') !== null"):
            break

    assert tab.evaluate("document.activeElement.closest('#turn .dial') !== null")


def test_two_dials_turned_by_keyboard_stay_turned(opened, demo_page):
    tab, heard = opened(demo_page)
    dials = tab.locator("#turn input[type=range]")
    dials.first.focus()
    start = [dial.input_value() for dial in dials.all()]
    for key in ("ArrowRight", "ArrowRight", "Tab"):
        tab.keyboard.press(key)
    while not dials.nth(1).evaluate("e => e === document.activeElement"):
        tab.keyboard.press("Tab")
    tab.keyboard.press("End")
    tab.wait_for_timeout(100)
    turned = [str(int(start[0]) + 2), dials.nth(1).get_attribute("max"), *start[2:]]

    assert [dial.input_value() for dial in dials.all()] == turned
    assert turned != start
    assert re.match(r"Recipe \d+ of 50, now \d+ of 50 meet all", tab.locator("#count").inner_text())
    assert tab.locator("#turn .dial.changed").count() == 2
    while not tab.locator("#back").evaluate("e => e === document.activeElement"):
        tab.keyboard.press("Tab")
    assert [dial.input_value() for dial in dials.all()] == turned
    tab.keyboard.press("Enter")
    assert [dial.input_value() for dial in dials.all()] == start
    assert heard == [f"request {demo_page.as_uri()}"]


def test_no_cell_of_what_was_understood_is_a_word_wide(opened, demo_page):
    tab, _ = opened(demo_page, viewport=wide(390))
    open_all(tab)
    narrow = (
        "es => es.map(e => [e, e.getBoundingClientRect()])"
        ".filter(([, box]) => box.width < 100 && box.height > 50).map(([e]) => e.textContent)"
    )

    assert tab.locator(".inputs td").evaluate_all(narrow) == []


def test_show_turns_the_dials_to_what_was_advised(opened, demo_page):
    tab, _ = opened(demo_page)
    shows = tab.locator("#verdict .do", has=tab.locator(".show:visible")).all()
    if not shows:
        pytest.skip("nothing of this recipe's knobs is worth turning")
    for one in shows:
        now, before = re.search(r"(\d+) of 50 instead of (\d+)", one.inner_text()).groups()
        one.locator(".show").click()
        tab.wait_for_timeout(100)

        said = tab.locator("#count").inner_text()
        assert said.startswith(f"Recipe {before} of 50, now {now} of 50")


def test_without_scripts_every_section_of_a_demo_can_be_read(opened, demo_page):
    tab, _ = opened(demo_page, java_script_enabled=False)
    sections = tab.locator("main > section").all()

    assert len(sections) == 6
    assert all(section.is_visible() for section in sections)
    assert tab.locator(".still svg.chart").first.is_visible()
    assert not tab.locator("#play").is_visible()


def test_the_picture_in_the_readme_is_there_and_small(opened, demo_page):
    """Delete docs/page.png to have it taken anew."""
    picture = DEMOS.parent / "docs" / "page.png"
    if not picture.exists() and "lager" in str(demo_page):
        picture.parent.mkdir(exist_ok=True)
        tab, _ = opened(demo_page, viewport={"width": 1000, "height": 800}, color_scheme="light")
        tab.screenshot(path=str(picture))

    assert picture.stat().st_size < 200_000
    assert "docs/page.png" in (DEMOS.parent / "README.md").read_text(encoding="utf-8")
