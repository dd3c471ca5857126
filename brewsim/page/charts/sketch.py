"""A figure as the drawing library writes it, kept as plain dictionaries.

Building the library's own objects checks every property of every mark: seconds for one page. The
tests check that it takes every figure of ours; the page only has to write them.
"""

import json
from collections.abc import Mapping
from html import escape
from typing import Any

_TEXTS = frozenset({"text", "name", "ticktext"})
_HOLDERS = frozenset(
    {"marker", "line", "pattern", "fillpattern", "error_x", "title", "font", "margin"}
    | {"xaxis", "yaxis"}
)


class Part(dict[str, Any]):
    """A part of a figure; what is not set reads as None, or as an empty part."""

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - any property
        """Return a property; parts of a part are there even when nothing in them is set."""
        return self.get(name, Part() if name in _HOLDERS else None)

    def merge(self, given: Mapping[str, Any]) -> None:
        """Set properties; a dictionary goes into the part of that name."""
        for name, value in given.items():
            if isinstance(value, Mapping):
                part = self.get(name)
                if not isinstance(part, Part):
                    part = self[name] = Part()
                part.merge(value)
            else:
                self[name] = value


class Sketch:
    """Traces and a layout, written as the drawing library reads them."""

    def __init__(self) -> None:
        self.data: list[Part] = []
        self.layout = Part(annotations=[])

    def add_scatter(self, **given: Any) -> None:  # noqa: ANN401 - properties of a trace
        """Add a trace of points and lines."""
        self._add("scatter", given)

    def add_bar(self, **given: Any) -> None:  # noqa: ANN401 - properties of a trace
        """Add a trace of bars."""
        self._add("bar", given)

    def _add(self, kind: str, given: Mapping[str, Any]) -> None:
        trace = Part(type=kind)
        trace.merge(given)
        self.data.append(trace)

    def add_annotation(self, **given: Any) -> None:  # noqa: ANN401 - properties of a note
        """Add words at a place."""
        note = Part()
        note.merge(given)
        self.layout["annotations"].append(note)

    def update_layout(self, **given: Any) -> None:  # noqa: ANN401 - properties of the layout
        """Set properties of the layout."""
        self.layout.merge(given)

    def update_xaxes(self, **given: Any) -> None:  # noqa: ANN401 - properties of an axis
        """Set properties of the x axis."""
        self.layout.merge({"xaxis": given})

    def update_yaxes(self, **given: Any) -> None:  # noqa: ANN401 - properties of an axis
        """Set properties of the y axis."""
        self.layout.merge({"yaxis": given})

    def to_json(self) -> str:
        """Return the figure as compact JSON."""
        return json.dumps(self.to_plotly(), ensure_ascii=False, separators=(",", ":"))

    def to_plotly(self) -> dict[str, Any]:
        """Return traces and layout as the drawing library reads them.

        The library takes a little markup in its texts; a text of ours has none, so its signs are
        escaped: a name with a tag in it must not become a link.
        """
        return {
            "data": [_escaped(trace) for trace in self.data],
            "layout": _escaped(self.layout),
        }


def _escaped(part: Any, name: str = "") -> Any:  # noqa: ANN401 - any property
    """Return a part of a figure with the signs of markup escaped in every text."""
    if isinstance(part, Mapping):
        return {key: _escaped(value, key) for key, value in part.items()}
    if isinstance(part, list):
        return [_escaped(value, name) for value in part]
    if isinstance(part, str) and name in _TEXTS:
        return escape(part, quote=False).replace("\n", "<br>")
    return part
