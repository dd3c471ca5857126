"""The page in a browser: quiet, narrow, printed, without scripts, by keyboard."""

import re

import pytest

from brewsim.page.page import write_report
from brewsim.page.views import SECTIONS
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, lands
from brewsim.study.model.sampling import Plan, without_events
from tests.page.browsing import cut_tables, open_all, wide
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
    for button in tab.query_selector_all(".explore"):
        button.click()
    tab.locator(".live svg.main-svg").first.wait_for(timeout=20_000)

    assert [line for line in heard if not line.startswith("request blob:")] == [
        f"request {page.as_uri()}"
    ]


@pytest.mark.parametrize("width", [320, 768, 1600])
def test_the_page_never_scrolls_sideways(opened, page, width):
    tab, _ = opened(page, viewport=wide(width))
    open_all(tab)

    assert tab.evaluate("document.documentElement.scrollWidth") <= width


def test_without_scripts_all_but_the_dials_can_be_read(opened, page):
    tab, heard = opened(page, java_script_enabled=False)
    shown = [tab.locator(f"section#{key}").is_visible() for key, _ in SECTIONS if key != "tasted"]
    tab.locator("#verdict .twin summary").click()

    assert all(shown)
    assert tab.locator("#strip-0 svg.chart").is_visible()
    assert tab.locator("#verdict table").first.is_visible()
    assert not tab.locator("#verdict .explore").is_visible()
    assert not tab.locator("#play").is_visible()
    assert "need scripts" in tab.locator("#turn noscript").inner_text()
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
    names = ["inside", "plain", "outside", "target", "turn", "measure", "nobody", "stop", "soft"]
    names.append("card")
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
    for _ in range(40):
        tab.keyboard.press("Tab")
        reached.add(
            tab.evaluate(
                "(() => { const e = document.activeElement; return e.className || e.tagName; })()"
            )
        )

    assert {"skip", "A", "SUMMARY", "explore", "step", "INPUT"} <= reached


def test_a_screen_reader_meets_landmarks_the_danger_and_named_pictures(opened, page):
    tab, _ = opened(page)

    assert tab.get_by_role("banner").count() == 1
    assert tab.get_by_role("main").count() == 1
    assert tab.get_by_role("navigation", name="Sections").count() == 1
    assert tab.get_by_role("contentinfo").count() == 1
    assert tab.get_by_role("heading", name="STOP Bottles could burst").count() == 1
    assert tab.get_by_role("img", name="Bitterness: fifty batches").count() == 1
    assert tab.get_by_role("slider").count() == 2


def test_a_script_in_a_recipe_s_name_is_shown_as_text(opened, hostile, tmp_path):
    path = write_report(tmp_path / "page.html", hostile.content)
    tab, heard = opened(path)

    assert tab.locator("h1").inner_text() == SCRIPT
    assert heard == [f"request {path.as_uri()}"]


def test_dark_mode_changes_the_live_charts_too(opened, page):
    tab, _ = opened(page, color_scheme="light")
    tab.locator("#verdict .explore").click()
    point = tab.locator("#strip-0 .live .points path").first
    point.wait_for(timeout=20_000)
    fill = "e => getComputedStyle(e).fill + getComputedStyle(e).stroke"
    light = point.evaluate(fill)
    tab.emulate_media(color_scheme="dark")
    tab.wait_for_timeout(500)

    assert point.evaluate(fill) != light


def told(tab):
    return [one.inner_text() for one in tab.locator("#moving .over, #count").all()]


def test_two_dials_turned_stay_turned_and_come_back(opened, page):
    tab, heard = opened(page)
    before = told(tab)
    first, second = tab.locator("#turn input[type=range]").all()
    first.fill(first.get_attribute("max"))
    second.fill("0")
    tab.wait_for_timeout(100)

    assert first.input_value() == first.get_attribute("max")
    assert second.input_value() == "0"
    assert told(tab) != before
    assert "now" in tab.locator("#count").inner_text()
    tab.locator("#back").click()
    assert told(tab) == before
    assert heard == [f"request {page.as_uri()}"]


def test_the_picture_holds_as_many_discs_as_are_told_wherever_the_dials_stand(opened, page):
    tab, _ = opened(page)
    for places in ((3, 10), (16, 2), (0, 16)):
        for dial, place in zip(tab.locator("#turn input[type=range]").all(), places, strict=True):
            dial.fill(str(place))
        tab.wait_for_timeout(100)
        joint = int(re.search(r"(\d+) of 50 meet", tab.locator("#count").inner_text())[1])
        for one in tab.locator("#moving .strip").all():
            said = int(one.locator(".over span").inner_text().split()[0])

            assert one.locator("circle, path[fill=none][stroke-width='1.6']").count() == 50
            assert one.locator("circle").count() == said
            assert one.locator("circle[fill='var(--inside)']").count() == joint


def test_a_dial_tells_what_the_model_computes(opened, page, made):
    """Settings that the fit has not seen, against the model itself on the same draws."""
    tab, _ = opened(page)
    dials = made.content.dials
    problem = without_events(made.problem)
    computed = Evaluator(problem, CommonDraws([problem], Plan(8, 128, 1)), list(problem.targets))
    start = float(lands(computed.at({}), problem).mean())
    for places in ((5, 9), (14, 4)):
        rows = [next(r for r in dials.rows if r.id == k.id) for k in problem.knobs]
        for dial, place in zip(tab.locator("#turn input[type=range]").all(), places, strict=True):
            dial.fill(str(place))
        tab.wait_for_timeout(100)
        settings = {
            k.id: r.places[place] * k.per_shown
            for k, r, place in zip(problem.knobs, rows, places, strict=True)
        }
        moved = float(lands(computed.at(settings), problem).mean())
        shown = int(re.search(r"(\d+) of 50 meet", tab.locator("#count").inner_text())[1])

        assert abs(shown - 50 * (dials.joint + moved - start)) <= 0.5 + 50 * 0.005


def test_buttons_step_a_dial_and_are_large_enough_for_wet_fingers(opened, page):
    tab, _ = opened(page, viewport=wide(390))
    dial = tab.locator("#turn input[type=range]").first
    before = int(dial.input_value())
    tab.locator("#turn .step").nth(1).click()

    assert int(dial.input_value()) == before + 1
    small = "es => es.filter(e => e.getBoundingClientRect().height < 48).map(e => e.outerHTML)"
    controls = tab.locator("button:visible, #turn input, #turn select")
    assert controls.evaluate_all(small) == []


def test_turned_dials_are_copied_as_lines_of_a_recipe(opened, page):
    tab, _ = opened(page)
    tab.locator("#turn .step").nth(1).click()
    tab.locator("#copy").click()
    tab.wait_for_timeout(100)

    assert re.search(r'\w+ = "[\d.]+ g/L"', tab.locator("#copied").inner_text())


def test_the_picture_stays_in_sight_while_the_last_dial_is_turned(opened, page):
    tab, _ = opened(page, viewport={"width": 390, "height": 844})
    tab.locator("#turn .dial").last.evaluate("e => e.scrollIntoView({ block: 'end' })")
    box = tab.locator("#moving").bounding_box()

    assert box["y"] >= 0
    assert box["y"] + box["height"] <= 844


def test_a_dial_moves_by_keyboard_and_tells_its_setting(opened, page):
    tab, _ = opened(page)
    dial = tab.locator("#turn input[type=range]").first
    before = dial.get_attribute("aria-valuetext")
    dial.focus()
    tab.keyboard.press("ArrowRight")
    tab.wait_for_timeout(100)

    assert before
    assert dial.get_attribute("aria-valuetext") != before
    assert tab.locator("#count").get_attribute("role") == "status"


def test_a_line_along_a_strip_counts_the_batches_below_it(opened, page):
    tab, _ = opened(page)
    box = tab.locator("#strip-0 svg").bounding_box()
    tab.mouse.move(box["x"] + 0.95 * box["width"], box["y"] + 10)

    words = tab.locator("#strip-0 svg text").last.text_content()
    assert re.fullmatch(r"(4\d|50) of 50 below", words)


def test_no_table_is_cut_on_a_narrow_phone(opened, page):
    tab, _ = opened(page, viewport=wide(320))
    open_all(tab)

    assert cut_tables(tab) == []
