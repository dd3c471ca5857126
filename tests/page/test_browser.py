"""The page in a browser: quiet, narrow, printed, without scripts, by keyboard."""

import json

import numpy as np
import pytest

from brewsim.page.page import write_report
from brewsim.page.views import SECTIONS
from tests.page.browsing import open_all, sheets_of, wide
from tests.small_page import SCRIPT

pytestmark = pytest.mark.slow

CONTRAST = """() => {
  const parse = (c) => c.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((v) => v / 255)
    .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ground = (e) => {
    for (; e; e = e.parentElement) {
      const c = parse(getComputedStyle(e).backgroundColor);
      if (c.length < 4 || c[3] > 0) return c;
    }
    return [255, 255, 255];
  };
  const low = [];
  const read = "p,li,h1,h2,h3,h4,td,th,summary,button,a,text,.level";
  for (const e of document.querySelectorAll(read)) {
    if (!e.getClientRects().length || e.matches(".skip")) continue;
    const style = getComputedStyle(e);
    const ink = parse(e.tagName === "text" ? style.fill : style.color);
    const [a, b] = [light(ink), light(ground(e))].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    if (ratio < 4.5) low.push(`${e.tagName} ${ratio.toFixed(2)} ${e.textContent.slice(0, 30)}`);
  }
  return low;
}"""


def test_the_page_asks_for_nothing_but_itself_and_complains_of_nothing(opened, page):
    tab, heard = opened(page)
    for button in tab.query_selector_all(".switch"):
        if button.is_visible():
            button.click()
    tab.wait_for_timeout(300)

    assert heard == [f"request {page.as_uri()}"]
    assert tab.locator(".live svg.main-svg").count() > 0


@pytest.mark.parametrize("width", [320, 768, 1600])
def test_the_page_never_scrolls_sideways(opened, page, width):
    tab, _ = opened(page, viewport=wide(width))
    open_all(tab)

    assert tab.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_page_prints_on_six_sheets_at_most(opened, page, paper):
    tab, _ = opened(page)

    assert 1 <= sheets_of(tab, paper) <= 6


def test_in_print_the_stop_box_has_a_heavy_border_and_needs_no_colour(opened, page):
    tab, _ = opened(page)
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
    tab.locator("#dots-0 .switch").click()
    tab.emulate_media(media="print")

    assert tab.locator("#dots-0 .still svg").is_visible()
    assert not tab.locator("#dots-0 .live").is_visible()


def test_without_scripts_every_section_chart_and_table_can_be_read(opened, page):
    tab, heard = opened(page, java_script_enabled=False)
    shown = [tab.locator(f"section#{key}").is_visible() for key, _ in SECTIONS]
    tab.locator("#dots-1 summary").click()

    assert all(shown)
    assert tab.locator("#dots-1 svg.chart").is_visible()
    assert tab.locator("#dots-1 table").is_visible()
    assert not tab.locator("#dots-1 .switch").is_visible()
    assert [line for line in heard if line.startswith("request")] == [f"request {page.as_uri()}"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_stands_out_from_its_ground(opened, page, scheme):
    """At least 4.5 to 1: WCAG 2.2, success criterion 1.4.3."""
    tab, _ = opened(page, color_scheme=scheme, viewport=wide(1200))
    open_all(tab)

    assert tab.evaluate(CONTRAST) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_chart_marks_stand_out_from_the_card(opened, page, scheme):
    """At least 3 to 1: WCAG 2.2, success criterion 1.4.11."""
    tab, _ = opened(page, color_scheme=scheme)
    names = ["inside", "outside", "target", "turn", "measure", "nobody", "stop", "soft", "card"]
    read = (
        "names => names.map((n) => "
        "getComputedStyle(document.documentElement).getPropertyValue(`--${n}`).trim())"
    )
    colors = dict(zip(names, tab.evaluate(read, names), strict=True))

    assert all(ratio(colors[n], colors["card"]) >= 3 for n in names if n != "card")


def ratio(one, other):
    """Contrast of two colours '#rrggbb' or '#rgb' as WCAG 2.2 defines it."""
    light = []
    for given in (one, other):
        code = given if len(given) == 7 else "#" + "".join(2 * digit for digit in given[1:])
        parts = [int(code[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        light.append(0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2])
    return (max(light) + 0.05) / (min(light) + 0.05)


def test_a_keyboard_reaches_the_page_its_tables_and_its_charts(opened, page):
    tab, _ = opened(page)
    reached = set()
    for _ in range(60):
        tab.keyboard.press("Tab")
        reached.add(
            tab.evaluate(
                "(() => { const e = document.activeElement; return e.className || e.tagName; })()"
            )
        )

    assert {"skip", "A", "SUMMARY", "switch"} <= reached


def test_a_screen_reader_meets_landmarks_the_danger_and_named_pictures(opened, page):
    tab, _ = opened(page)

    assert tab.get_by_role("banner").count() == 1
    assert tab.get_by_role("main").count() == 1
    assert tab.get_by_role("navigation", name="Sections").count() == 1
    assert tab.get_by_role("contentinfo").count() == 1
    assert tab.get_by_role("heading", name="STOP Bottles could burst").count() == 1
    assert tab.get_by_role("img", name="Bitterness: 50 equally likely batches").count() == 1


def test_a_script_in_a_recipe_s_name_is_shown_as_text(opened, hostile, tmp_path):
    path = write_report(tmp_path / "page.html", hostile.content)
    tab, heard = opened(path)

    assert tab.locator("h1").inner_text() == SCRIPT
    assert heard == [f"request {path.as_uri()}"]


def test_dark_mode_changes_the_live_charts_too(opened, page):
    tab, _ = opened(page, color_scheme="light")
    tab.locator("#dots-0 .switch").click()
    point = tab.locator("#dots-0 .live .points path").first
    fill = "e => getComputedStyle(e).fill"
    light = point.evaluate(fill)
    tab.emulate_media(color_scheme="dark")
    tab.wait_for_timeout(500)

    assert point.evaluate(fill) != light


def test_a_knob_turned_on_the_page_moves_sentences_dots_and_chance_and_comes_back(opened, page):
    tab, heard = opened(page)
    told = {p.inner_text().strip() for p in tab.locator("#expect .expect p").all()}
    said = "#try .tried p"
    before = [" ".join(p.text_content().split()) for p in tab.locator(said).all()]
    chance = tab.locator("#try-joint").inner_text()
    dots = tab.locator("#try .tried svg").first.inner_html()
    dial = tab.locator("#try input[type=range]").first
    dial.fill(dial.get_attribute("max"))
    moved = [" ".join(p.text_content().split()) for p in tab.locator(said).all()]

    assert set(before) <= told
    assert moved != before
    assert tab.locator("#try-joint").inner_text() != chance
    assert tab.locator("#try .tried svg circle, #try .tried svg path").count() > 50
    tab.locator("#try-back").click()
    assert [" ".join(p.text_content().split()) for p in tab.locator(said).all()] == before
    assert tab.locator("#try .tried svg").first.inner_html() == dots
    assert heard == [f"request {page.as_uri()}"]


def test_no_word_under_the_dots_is_cut_at_the_edge(opened, page, tmp_path):
    """Folds from just below a quarter: the word 0.25× stands at the very edge."""
    start = '<script type="application/json">'
    text = page.read_text(encoding="utf-8")
    begin = text.index(start, text.index('id="try"')) + len(start)
    before, (data, end, after) = text[:begin], text[begin:].partition("</script>")
    tried = json.loads(data)
    dots = np.linspace(-1.83, 3.0, 50).tolist()
    for outcome in tried["outcomes"]:
        outcome.update(fold=True, logged=False, dots=dots)
    for knob in tried["knobs"]:
        knob["moved"] = {}
    edge = tmp_path / "edge.html"
    edge.write_text(before + json.dumps(tried) + end + after, encoding="utf-8")
    tab, _ = opened(edge, viewport=wide(1200))
    words = tab.locator("#try .tried svg").first.locator("text")
    left = words.evaluate_all("es => es.map((e) => e.getBBox().x)")

    assert words.all_text_contents()[0] == "0.25×"
    assert min(left) >= 0


def test_a_dial_moves_by_keyboard_and_tells_its_setting(opened, page):
    tab, _ = opened(page)
    dial = tab.locator("#try input[type=range]").first
    before = dial.get_attribute("aria-valuetext")
    dial.focus()
    tab.keyboard.press("ArrowRight")

    assert before
    assert dial.get_attribute("aria-valuetext") != before


def test_turning_on_the_page_is_hidden_without_scripts_and_on_paper(opened, page):
    without, _ = opened(page, java_script_enabled=False)
    printed, _ = opened(page)
    printed.emulate_media(media="print")

    assert not without.locator("#try").is_visible()
    assert not printed.locator("#try").is_visible()
    assert printed.locator("#try").count() == 1
