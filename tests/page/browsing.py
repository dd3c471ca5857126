"""What tests do with an opened page."""

import re


def wide(width):
    return {"width": width, "height": 900}


def open_all(tab):
    for details in tab.query_selector_all("details"):
        details.evaluate("e => { e.open = true; }")


def sheets_of(tab, paper):
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", tab.pdf(format=paper)))
