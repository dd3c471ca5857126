"""Moving about the page: where one is, and into the live charts and back."""

import pytest

pytestmark = pytest.mark.slow


def marked(tab):
    return tab.locator("nav a[aria-current=location]").evaluate_all("es => es.map(e => e.hash)")


def test_the_links_stay_in_sight_and_mark_where_one_is(opened, page):
    tab, _ = opened(page, viewport={"width": 1200, "height": 800})

    assert marked(tab) == []
    for link in tab.locator("nav a").all():
        link.click()
        tab.wait_for_timeout(100)
        there = link.get_attribute("href")
        head = tab.locator(f"{there} h2").first.bounding_box()
        nav = tab.locator("nav").bounding_box()

        assert marked(tab) == [there]
        assert nav["y"] == 0
        assert head["y"] >= nav["height"]
    tab.evaluate("window.scrollTo(0, 0)")
    tab.wait_for_timeout(100)
    assert marked(tab) == []


def test_the_links_stand_in_the_order_of_the_page(opened, page):
    tab, _ = opened(page)
    links = tab.locator("nav a").evaluate_all("es => es.map(e => e.hash.slice(1))")
    sections = tab.locator("main > section").evaluate_all("es => es.map(e => e.id)")

    assert ["verdict", *links] == sections


def test_on_a_phone_the_links_take_no_room_from_what_is_read(opened, page):
    tab, _ = opened(page, viewport={"width": 390, "height": 844})
    tab.locator("#more").scroll_into_view_if_needed()

    assert tab.locator("nav").bounding_box()["y"] < 0


def test_a_pressed_explore_says_what_can_be_done_and_leads_back(opened, page):
    tab, _ = opened(page)
    button = tab.locator("#verdict .explore")
    hint = tab.locator("#verdict .hint")

    assert button.inner_text().startswith("Explore")
    assert hint.inner_text() == ""
    button.click()
    tab.locator("#strip-0 .live svg.main-svg").first.wait_for(timeout=20_000)
    assert button.inner_text().startswith("Back to the drawing")
    assert "tap" in hint.inner_text()
    button.click()
    assert tab.locator("#strip-0 .still svg").is_visible()
    assert button.inner_text().startswith("Explore")
    assert hint.inner_text() == ""


def test_one_tap_on_a_live_mark_shows_its_values(opened, page):
    tab, _ = opened(page, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    tab.locator("#verdict .explore").tap()
    mark = tab.locator("#strip-0 .live .points path").nth(5)
    mark.wait_for(timeout=20_000)
    tab.wait_for_timeout(200)
    mark.scroll_into_view_if_needed()
    box = mark.bounding_box()
    tab.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)

    shown = tab.locator("#strip-0 .live .hovertext")
    shown.first.wait_for(timeout=5_000)
    assert "batch" in shown.first.text_content()
