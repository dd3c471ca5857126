"""No serious fault that axe-core finds, by day, by night, on a phone, everything opened."""

import sys
from pathlib import Path

import pytest

from tests.page.browsing import open_all, wide

AXE = Path(sys.prefix) / "node_modules" / "axe-core" / "axe.min.js"
RUN = """async () => {
  const found = await axe.run(document, { resultTypes: ["violations"] });
  return found.violations.map((v) =>
    [v.impact, v.id, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160))]);
}"""

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        not AXE.exists(),
        reason=f"axe-core is missing: npm install --prefix {sys.prefix} axe-core",
    ),
]


@pytest.mark.parametrize(("scheme", "width"), [("light", 1200), ("dark", 1200), ("light", 320)])
def test_axe_finds_nothing_serious(opened, page, scheme, width):
    tab, _ = opened(page, bypass_csp=True, color_scheme=scheme, viewport=wide(width))
    open_all(tab)
    tab.locator("#verdict .explore").click()
    tab.locator("#strip-0 .live svg.main-svg").first.wait_for(timeout=20_000)
    tab.add_script_tag(path=str(AXE))

    found = tab.evaluate(RUN)

    assert [one for one in found if one[0] in ("serious", "critical")] == []


def test_axe_would_find_a_fault_if_there_were_one(opened, page):
    tab, _ = opened(page, bypass_csp=True)
    tab.evaluate("document.getElementById('dial-0').removeAttribute('id')")
    tab.add_script_tag(path=str(AXE))

    assert any(one[0] in ("serious", "critical") for one in tab.evaluate(RUN))
