"""A brew-day card read back from its file: the blanks to fill in, and the recipe it is of."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

from brewsim.errors import InputError
from brewsim.files.text_files import read_text


@dataclass(frozen=True, slots=True)
class CardBlank:
    """A blank of a card: the field of the log, the words around it, the unit of a plain number."""

    field: str
    words: str
    unit: str


@dataclass(frozen=True, slots=True)
class CardSheet:
    """A card as its file holds it; `recipe` is the text of the recipe."""

    title: str
    blanks: tuple[CardBlank, ...]
    recipe: str


def read_card(path: str | Path) -> CardSheet:
    """Return the card in a file that `brewsim card` wrote; raises InputError for any other file."""
    reader = _Reader()
    reader.feed(read_text(path))
    reader.close()
    if not reader.blanks or not reader.recipe.strip():
        told = "is no brew-day card; write one with brewsim card RECIPE"
        raise InputError(str(path), [told])
    blanks = tuple(CardBlank(*blank) for blank in reader.blanks)
    return CardSheet(" ".join(reader.title.split()), blanks, reader.recipe)


@dataclass
class _Reader(HTMLParser):
    """Gathers the first heading, each element with a field, and the recipe."""

    title: str = ""
    recipe: str = ""
    blanks: list[list[str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._step, self._inside = "", ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if given.get("data-field"):
            unit = given.get("data-unit") or ""
            self.blanks.append([str(given["data-field"]), self._step.strip(), unit])
            self._inside = "blank"
        elif tag == "h1" or given.get("id") == "recipe":
            self._inside = "title" if tag == "h1" else "recipe"
        elif tag == "th" and given.get("scope") == "row":
            self._step, self._inside = "", "step"

    def handle_endtag(self, tag: str) -> None:
        if tag in ("div", "h1", "template", "th"):
            self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside == "title":
            self.title += data
        elif self._inside == "recipe":
            self.recipe += data
        elif self._inside == "step":
            self._step += data
        elif self._inside == "blank" and data.strip():
            self.blanks[-1][1] += f", {data.strip()}"
