"""No serious fault that axe-core finds, by day, by night, on a phone, on paper, all opened."""

import sys

import pytest

from tests.page.browsing import AXE, open_all, serious_faults, wide

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        not AXE.exists(),
        reason=f"axe-core is missing: npm install --prefix {sys.prefix} axe-core",
    ),
]


@pytest.mark.parametrize(
    ("scheme", "width"), [("light", 1200), ("dark", 1200), ("light", 390), ("dark", 320)]
)
def test_axe_finds_nothing_serious(opened, page, scheme, width):
    tab, _ = opened(page, bypass_csp=True, color_scheme=scheme, viewport=wide(width))
    open_all(tab)
    tab.locator("#verdict .explore").click()
    tab.locator("#strip-0 .live svg.main-svg").first.wait_for(timeout=20_000)

    assert serious_faults(tab) == []


def test_axe_finds_nothing_serious_on_paper(opened, page):
    tab, _ = opened(page, bypass_csp=True)
    tab.emulate_media(media="print")

    assert serious_faults(tab) == []
    tab.evaluate("document.documentElement.classList.add('whole')")
    assert serious_faults(tab) == []


def test_axe_would_find_a_fault_if_there_were_one(opened, page):
    tab, _ = opened(page, bypass_csp=True)
    tab.evaluate("document.getElementById('dial-0').removeAttribute('id')")

    assert serious_faults(tab)
