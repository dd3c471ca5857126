"""A small table for notebooks: every text in it is escaped."""

from collections.abc import Iterable, Sequence
from html import escape

SHOWN = 12
"""Rows of a list that a notebook shows."""


def html_table(caption: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table as HTML, the caption above, the first column a heading of its row."""
    head = "".join(f"<th scope='col'>{escape(cell)}</th>" for cell in header)
    body = "".join(
        f"<tr><th scope='row'>{escape(first)}</th>"
        + "".join(f"<td>{escape(cell)}</td>" for cell in others)
        + "</tr>"
        for first, *others in rows
    )
    return (
        f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{body}</tbody></table>"
    )
