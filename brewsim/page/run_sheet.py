"""Run charts as a sheet of their own: one SVG, or one HTML page without scripts."""

import re
from collections.abc import Sequence
from html import escape

from brewsim.page.charts import svg
from brewsim.page.charts.run_chart import run_chart
from brewsim.page.figure import palette
from brewsim.wording.page_parts import HousePanel
from brewsim.wording.parts import Table

_COLUMNS, _WIDE, _HIGH, _HEAD, _TOP = 2, 360, 168, 22, 40
KEY = (
    "Shaded: nine in ten of this house. Dashed: control limits. Line: smoothed level. ◆ odd; "
    "coloured squares: a pattern."
)


def sheet_svg(title: str, panels: Sequence[HousePanel]) -> str:
    """Return the panels side by side as one SVG file, in the page's light colours."""
    rows = -(-len(panels) // _COLUMNS)
    wide, high = _COLUMNS * (_WIDE + 20), _TOP + rows * (_HIGH + _HEAD + 16) + 24
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" '
            'font-family="sans-serif" font-size="13">'
        ),
        f"<title>{escape(title)}</title>",
        '<rect width="100%" height="100%" style="fill:var(--paper)"/>',
        f'<text x="10" y="24" style="fill:var(--ink);font-weight:bold">{escape(title)}</text>',
    ]
    for place, panel in enumerate(panels):
        x = 10 + (place % _COLUMNS) * (_WIDE + 20)
        y = _TOP + (place // _COLUMNS) * (_HIGH + _HEAD + 16)
        head = escape(_head(panel))
        parts.append(f'<text x="{x}" y="{y + 14}" style="fill:var(--ink)">{head}</text>')
        size = f'<svg x="{x}" y="{y + _HEAD}" width="{_WIDE}" height="{_HIGH}"'
        parts.append(_still(panel, place).replace("<svg", size, 1))
    parts.append(f'<text x="10" y="{high - 10}" style="fill:var(--soft)">{escape(KEY)}</text>')
    colors = palette()
    return re.sub(r"var\((--[a-z]+)\)", lambda m: colors[m[1]], "".join(parts)) + "</svg>\n"


def sheet_html(
    title: str, panels: Sequence[HousePanel], sentences: Sequence[str], tables: Sequence[Table]
) -> str:
    """Return one page: the charts, what breaks which rule, the tables; no scripts, no network."""
    colors = ";".join(f"{name}:{color}" for name, color in palette().items())
    charts = "".join(
        f"<figure><figcaption>{escape(_head(panel))}</figcaption>{_still(panel, n)}</figure>"
        for n, panel in enumerate(panels)
    )
    told = "".join(f"<li>{escape(text)}</li>" for text in sentences)
    below = "".join(_table(one) for one in tables)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>:root{{{colors}}}{_STYLE}</style></head>"
        f"<body><h1>{escape(title)}</h1><main>{charts}</main><p>{escape(KEY)}</p>"
        f"<ul>{told}</ul>{below}</body></html>\n"
    )


_STYLE = (
    "body{font:1rem/1.45 system-ui,sans-serif;color:var(--ink);background:var(--paper);"
    "max-width:70rem;margin:1rem auto;padding:0 .8rem}"
    "main{display:grid;grid-template-columns:repeat(auto-fill,minmax(18rem,1fr));gap:.6rem 1rem}"
    "figure{margin:0}svg{width:100%;font-size:13px}li{margin:.3rem 0}"
    "table{border-collapse:collapse;margin:1rem 0;display:block;overflow-x:auto}"
    "th,td{text-align:right;padding:.2rem .5rem;border-bottom:1px solid var(--band)}"
    "th:first-child,td:first-child{text-align:left}caption{text-align:left;font-weight:bold}"
)


def _head(panel: HousePanel) -> str:
    return panel.label if panel.unit in ("", "SG") else f"{panel.label}, {panel.unit}"


def _still(panel: HousePanel, place: int) -> str:
    drawn = run_chart(panel)
    return svg.draw(drawn.figure, f"run-{place}", drawn.title, drawn.description)


def _table(one: Table) -> str:
    head = "".join(f"<th>{escape(cell)}</th>" for cell in one.header)
    rows = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in one.rows
    )
    return f"<table><caption>{escape(one.caption)}</caption><tr>{head}</tr>{rows}</table>"
