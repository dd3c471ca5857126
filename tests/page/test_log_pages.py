"""Pages with a log: the odd reading first, or the wish about the beer that was tasted."""

import re
import shutil

import pytest

from tests.page.browsing import (
    SPARE,
    below_the_first_screen,
    empty_lines,
    open_all,
    phone_faults,
    unreadable_labels,
    wide,
)

pytestmark = [
    pytest.mark.slow,
    pytest.mark.usefixtures("learned_once"),
    pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed"),
]


@pytest.fixture(scope="module")
def logged(shelf):
    return shelf.report("lager", "quillhaven-lager-six-batches.toml")


@pytest.fixture(scope="module")
def tasted(shelf):
    return shelf.report("lager", "quillhaven-lager-batches.toml")


@pytest.mark.slow(14)
@pytest.mark.parametrize("kind", ["logged", "tasted"])
@pytest.mark.parametrize(("width", "height"), [(390, 844), (1200, 800)])
def test_verdict_picture_action_and_caution_stand_on_the_first_screen(
    request, opened, kind, width, height
):
    _, path = request.getfixturevalue(kind)
    tab, heard = opened(path, viewport={"width": width, "height": height})

    assert below_the_first_screen(tab, height - SPARE) == {}
    assert heard == [f"request {path.as_uri()}"]


def test_the_page_shows_every_batch_of_the_log(logged):
    text = logged[1].read_text(encoding="utf-8")

    assert all(f"Q{number}" in text for number in range(1, 7))


@pytest.mark.parametrize("kind", ["logged", "tasted"])
def test_a_page_with_a_log_has_few_visible_words(request, opened, kind):
    tab, _ = opened(request.getfixturevalue(kind)[1], viewport=wide(390))

    assert len(tab.locator("main").inner_text().split()) <= 1_600


@pytest.mark.parametrize("kind", ["logged", "tasted"])
def test_a_phone_meets_no_serious_fault_no_cut_table_no_file_syntax_and_one_denominator(
    request, opened, kind
):
    tab, _ = opened(request.getfixturevalue(kind)[1], bypass_csp=True, viewport=wide(320))

    assert phone_faults(tab) == []


def test_the_odd_reading_comes_first_and_only_odd_ones_have_colour(logged, opened):
    told, path = logged
    tab, _ = opened(path)

    assert "Q4: final gravity 1.0135 where this house makes 1.009" in " ".join(told.split())
    assert tab.locator(".saying").inner_text().startswith("Q4: final gravity")
    assert tab.locator("#verdict .do h3").first.inner_text() == "Read Q4 again"
    heads = [e.inner_text() for e in tab.locator("#batches h3").all()]
    odd = [m.groups() for h in heads if (m := re.match(r"(Q\d): ([a-z ]+?) [\d.]", h))]
    assert odd[0] == ("Q4", "final gravity")
    assert len(odd) < 6


def test_the_page_forecasts_after_its_log_and_shows_what_was_before(logged, opened):
    """Six readings of bitterness narrow the next one to less than two thirds."""
    tab, _ = opened(logged[1])
    cells = tab.locator(".ba tr", has_text="Bitterness").locator("td").all_inner_texts()
    before, after = (
        [int(n) for n in re.findall(r"\d+", cell.partition("IBU")[0])[:2]] for cell in cells
    )

    assert after[1] - after[0] < 0.67 * (before[1] - before[0])
    counts = [int(re.search(r"(\d+) of 50", cell)[1]) for cell in cells]
    assert counts[1] > counts[0]
    strip = tab.locator("#batches .strip", has_text="Bitterness").last
    assert f"{counts[1]} of 50" in strip.inner_text()


def test_a_wish_about_a_tasted_batch_is_answered_first(tasted, opened):
    told, path = tasted
    tab, _ = opened(path)
    verdict = tab.locator(".saying").inner_text()

    assert re.match(r"Thiols half of G1: \d+ of 50 next brews get there with \d knobs", verdict)
    assert verdict in " ".join(told.split())
    assert tab.locator("#moves svg.chart").is_visible()
    assert tab.locator("#verdict .do h3").first.inner_text().startswith("Turn ")
    assert "From G1, with thiols half of G1 wished for" in tab.locator("#tasted").inner_text()


def test_the_dials_of_a_tasted_page_count_what_is_wished(tasted, opened):
    """Show turns them to the advised move, and the count there is the one that is told."""
    tab, _ = opened(tasted[1])
    count = tab.locator("#count")

    now = re.match(r"(\d+) of 50 are as you wish, the rest held", count.inner_text())
    for place, do in enumerate(tab.locator("#verdict .do").all()):
        told = re.search(r"Of 50: (\d+)", do.inner_text())
        tab.locator(".show:visible").nth(place).click()
        tab.wait_for_timeout(100)
        said = f"G1 {now[1]} of 50, now {told[1]} of 50 are as you wish"
        assert count.inner_text().startswith(said)
    assert (
        tab.locator("#moving .strip").first.inner_text().startswith("Thiols against G1, next brew")
    )
    assert tab.locator("#back").inner_text() == "Back to G1"


def test_what_the_tasted_batch_itself_has_exactly_is_drawn_in_one_place(tasted, opened):
    """Held in the same wort, with nothing turned: what the surfaces are off is no spread."""
    tab, _ = opened(tasted[1])
    places = "es => [...new Set(es.map(e => Math.round(e.getAttribute('cx'))))]"

    for name in ("Hops against G1", "Bitterness against G1"):
        strip = tab.locator("#moving .strip", has_text=name)
        assert len(strip.locator("circle").evaluate_all(places)) == 1, name
        assert "0000" not in strip.inner_text()
    assert len(tab.locator("#moving .strip").first.locator("circle").evaluate_all(places)) > 1


@pytest.mark.parametrize("kind", ["logged", "tasted"])
def test_no_label_lies_on_another_or_leaves_its_drawing_and_no_line_is_empty(request, opened, kind):
    tab, _ = opened(request.getfixturevalue(kind)[1])
    open_all(tab)
    for width in (320, 390, 768, 1200):
        tab.set_viewport_size(wide(width))

        assert unreadable_labels(tab) == [], width
    assert empty_lines(tab) == []


def test_the_links_of_a_page_with_a_tasted_beer_stand_in_its_order(opened, tasted):
    tab, _ = opened(tasted[1])
    links = tab.locator("nav a").evaluate_all("es => es.map(e => e.hash.slice(1))")

    assert ["verdict", *links] == tab.locator("main > section").evaluate_all(
        "es => es.map(e => e.id)"
    )
