"""A dry-hopped beer in bottles, from the recipe through the street door to eye, ear and paper."""

import re
import shutil
from pathlib import Path

import pytest

from tests.door import brewsim
from tests.texts import BOTTLE, KEG, beer, hop

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed"),
]
AIM = '[targets]\nalcohol = "4.5 to 5.5 %"\n\n[knobs]\n"mash" = "63 to 69 °C"\n'


def dry_hopped(package):
    """A beer with 7.5 g/L of dry hops in 20 L."""
    return beer(hop(), hop("dry hop 3 days at 18 °C", "150 g"), package=package) + AIM


def reported(text, folder):
    (folder / "beer.toml").write_text(text, encoding="utf-8")
    done = brewsim("report", "beer.toml", "--draws", "1024", folder=folder)

    assert done.code == 0, done.err
    return done.out, Path(folder) / "beer.html"


@pytest.fixture(scope="module")
def bottled(tmp_path_factory):
    return reported(dry_hopped(BOTTLE), tmp_path_factory.mktemp("bottle"))


def test_the_terminal_stops_the_reader_first_with_a_count_in_1000(bottled):
    told, _ = bottled
    first = " ".join(told.split(".  ")[0].split())

    assert told.startswith("STOP: Bottles could burst.")
    assert re.search(r"rating of 3\.0 volumes of CO₂: \d+ in 1,000", first)
    assert "Dry hops carry enzymes" in first
    assert "forced-ferment test" in first


def test_the_box_is_the_first_thing_on_the_page_and_says_the_same_count(bottled, opened):
    told, path = bottled
    count = re.search(r"(\d+) in 1,000", " ".join(told.split()))[1]
    tab, _ = opened(path)
    box = tab.locator("main .danger").first

    assert int(count) >= 1
    assert box.evaluate("e => e.classList.contains('stop')")
    assert f"{count} in 1,000" in box.inner_text()
    assert box.bounding_box()["y"] < tab.locator(".saying").bounding_box()["y"]


def test_a_screen_reader_meets_the_stop_by_name_before_any_figure(bottled, opened):
    tab, _ = opened(bottled[1])
    heads = [e.inner_text() for e in tab.locator("main h2, main h3").all()[:2]]

    assert tab.get_by_role("heading", name="STOP Bottles could burst").count() == 1
    assert heads[0] == "STOP Bottles could burst"


def test_on_black_and_white_paper_the_box_keeps_its_frame_word_and_first_place(bottled, opened):
    tab, _ = opened(bottled[1])
    tab.evaluate("document.documentElement.classList.add('whole')")
    tab.emulate_media(media="print", forced_colors="none")
    box = tab.locator(".danger.stop")
    look = box.evaluate(
        "e => { const s = getComputedStyle(e); return [s.borderTopStyle, s.borderTopColor,"
        " s.backgroundColor, s.color]; }"
    )

    assert look == ["double", "rgb(0, 0, 0)", "rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    assert box.bounding_box()["y"] < tab.locator(".saying").bounding_box()["y"]


def test_the_same_beer_in_a_keg_has_a_note_instead(tmp_path, opened):
    told, path = reported(dry_hopped(KEG), tmp_path)
    tab, _ = opened(path)

    assert "STOP" not in told
    assert tab.locator(".danger.stop").count() == 0
    assert "restart fermentation" in tab.locator("#verdict .warn.note").inner_text()
