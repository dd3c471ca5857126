"""What tests do with an opened page."""

import re
import sys
from pathlib import Path

SPARE = 12
"""Pixels of a first screen that stay free, for who has another font."""


def wide(width):
    return {"width": width, "height": 900}


def open_all(tab):
    for details in tab.query_selector_all("details"):
        details.evaluate("e => { e.open = true; }")


def sheets_of(tab, paper):
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", tab.pdf(format=paper)))


AXE = Path(sys.prefix) / "node_modules" / "axe-core" / "axe.min.js"
_RUN = """async () => {
  const found = await axe.run(document, { resultTypes: ["violations"] });
  return found.violations.map((v) =>
    [v.impact, v.id, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160))]);
}"""


def serious_faults(tab):
    """What axe-core finds that is serious or worse; the tab's context has to bypass the policy."""
    if not tab.evaluate("typeof axe === 'object'"):
        tab.add_script_tag(path=str(AXE))
    return [one for one in tab.evaluate(_RUN) if one[0] in ("serious", "critical")]


def below_the_first_screen(tab, height):
    """Parts of the verdict that end below the first screen: verdict, picture, actions, caution."""
    ends = {
        part: [
            box["y"] + box["height"]
            for one in tab.locator(f"#verdict {part}").all()
            if (box := one.bounding_box())
        ]
        for part in (".saying", ".pic", ".do", ".warn")
    }
    return {part: found for part, found in ends.items() if not found or max(found) > height}


def cut_tables(tab):
    """Tables that are wider than what they stand in."""
    return tab.locator(".scroll, table.ba").evaluate_all(
        "es => es.filter(e => e.scrollWidth > e.clientWidth + 1)"
        ".map(e => e.ariaLabel || e.className)"
    )


SYNTAX = re.compile(r"\[\[|\[[a-z]+\]|\b[a-z]+(?:_[a-z]+)+\b|\w = \"|--[a-z]+")
"""What only a recipe's file or a command line holds."""
OTHER_COUNTS = re.compile(
    r"(?:in|of) 100\b|\b\d+ chances? in \d|\b1 in \d+\b(?!,)|\b1 batch in"
    r"|\bin \d+,\d{3},\d{3}|\bin \d{2,3},\d{3}|\bin [2-9],\d{3}"
)
"""Counts of anything but 50, and of 1,000 for dangers."""


def covered_controls(tab, order):
    """Controls under the dials' picture when one comes to them, down the page (1) or up it (-1)."""
    return tab.evaluate(_COVERED, order)


_COVERED = """order => {
  window.scrollTo(0, order > 0 ? 0 : document.body.scrollHeight);
  const controls = [...document.querySelectorAll("#turn :is(button, input, select)")];
  return (order > 0 ? controls : controls.reverse()).filter((e) => {
    e.scrollIntoView({ block: "nearest" });
    const box = e.getBoundingClientRect();
    return ![0.1, 0.9].every((share) =>
      e.contains(document.elementFromPoint(box.x + box.width / 2, box.y + share * box.height)));
  }).map((e) => e.id || e.ariaLabel);
}"""


def unreadable_labels(tab):
    """Labels of drawings that lie on another label or reach out of their drawing."""
    return tab.evaluate(_LABELS)


_LABELS = """() => [...document.querySelectorAll("svg.chart, #moving svg")].flatMap((svg) => {
  const sheet = svg.getBoundingClientRect();
  const boxes = [...svg.querySelectorAll("text")].filter((e) => e.textContent.trim())
    .map((e) => [e.textContent, e.getBoundingClientRect()]).filter(([, box]) => box.width);
  const out = boxes.filter(([, b]) => b.left < sheet.left - 1 || b.right > sheet.right + 1
    || b.top < sheet.top - 2 || b.bottom > sheet.bottom + 2);
  const apart = (a, b) => a.right <= b.left + 1 || b.right <= a.left + 1
    || a.bottom <= b.top + 0.2 * a.height || b.bottom <= a.top + 0.2 * a.height;
  const on = boxes.filter(([, a], i) => boxes.slice(0, i).some(([, b]) => !apart(a, b)));
  return [...out.map(([t]) => `out: ${t}`), ...on.map(([t]) => `on another: ${t}`)];
})"""


def empty_lines(tab):
    """Lines that are shown and hold nothing; those that wait for something to be pressed aside."""
    return tab.locator("main :is(p, li, h2, h3, h4, figcaption):visible").evaluate_all(
        "es => es.filter(e => !e.textContent.trim() && !e.matches('[role=status]'))"
        ".map(e => e.outerHTML)"
    )


def phone_faults(tab):
    """What is wrong with a page in the hand, everything opened, by any of four checks."""
    open_all(tab)
    told = tab.locator("main").inner_text()
    serious = serious_faults(tab) if AXE.exists() else []
    return [*cut_tables(tab), *SYNTAX.findall(told), *OTHER_COUNTS.findall(told), *serious]
