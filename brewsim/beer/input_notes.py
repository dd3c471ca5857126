"""How an input was taken, in words: a row of the page and its provenance in the trace."""

import re
from dataclasses import dataclass

from brewsim.beer.assumptions import Row as Understood
from brewsim.beer.assumptions import kinds_in_words, spread_in_words
from brewsim.beer.rows import Row
from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant
from brewsim.graph.build import Graph
from brewsim.priors.library import Prior, Priors
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.format import default_unit, in_unit, in_words, shown
from brewsim.quantities.numerals import rounded
from brewsim.quantities.statement import Stated
from brewsim.study.model.factor import Kinds

_SAYS, _FOLLOWS = ", as the recipe says", ", as it follows from the recipe"
_MIDDLES = ("plain", "exactly")
_ONE = re.compile(
    r"\b(?:a|an|one) (?:hot-side hop addition|hop addition|hop lot|dry hop"
    r"|kettle sugar or extract|kettle sugar|sugar or extract|sugar|malt|precursor product"
    r"|precursor)\b"
)


@dataclass(frozen=True)
class Meant:
    """What one input is taken as: its distribution, kinds, the prior behind it, what was said."""

    distribution: Distribution
    kinds: Kinds
    prior: Prior | None = None
    said: Stated | None = None
    planned: bool = False


@dataclass(frozen=True)
class Note:
    """How an input was taken: its provenance, and its row of the page if that is any news."""

    provenance: str
    row: Understood | None = None


def label_of(graph: Graph, quantity: str, row: Row | None = None) -> str:
    """Return what an input is, in words; of a row, with the row's name in its place."""
    label = graph.label(quantity)
    label = label[:1].lower() + label[1:] if label[1:2].islower() or label[1:2] == " " else label
    if row is None:
        return label
    found = _ONE.search(label)
    if found is None:
        return f"{label}: {row.label}"
    rest = label[found.end() :]
    name = f"{row.label}," if "," in row.label and rest.startswith(" ") else row.label
    return f"{label[: found.start()]}{name}{rest}"


def note(quantity: str, label: str, meant: Meant, priors: Priors) -> Note:
    """Return how an input was taken, for the page and for the trace."""
    prior, distribution = meant.prior, meant.distribution
    constant = isinstance(distribution, Constant)
    spread = "no spread" if constant else _spread(quantity, meant)
    grade = prior.grade if prior is not None else ""
    source = priors.source_text(prior.source) if prior is not None and prior.source else ""
    if meant.said is not None:
        own = constant or meant.said.phrase.kind != "plain"
        grade, source = ("recipe", "") if own or not grade else (f"recipe; spread: {grade}", source)
    elif meant.planned:
        grade, source = "planned", "follows from the recipe at the medians"
    elif prior is None:
        grade = "recipe"
    exact = prior is None and not meant.planned
    value = said_value(quantity, distribution.median, exact=exact)
    if meant.said is not None:
        value = _quoted(meant.said)
    told = f"{value}, {spread}" + (f"; {grade}" if grade else "")
    told += f"; {source}" if source and source != grade else ""
    assumed = meant.said is None and (meant.planned or prior is not None)
    silent = meant.said is None and (meant.planned or prior is None)
    if constant and silent and distribution.median == 0.0:
        return Note(told)  # held at nothing because something else was said: no news to a brewer
    row = Understood(
        quantity=quantity,
        section=prior.group if prior is not None and prior.group else "recipe",
        what=label.replace(_SAYS, _FOLLOWS) if meant.planned else label,
        value=value,
        spread=spread,
        kinds="" if constant else kinds_in_words(meant.kinds),
        grade=grade,
        source=source,
        assumed=assumed,
    )
    return Note(told, row)


def _quoted(said: Stated) -> str:
    """Return what was typed, with the twin unit behind a single value."""
    twin = ""
    if said.phrase.kind in _MIDDLES and said.unit:
        _, bracket, rest = shown(said.value, said.model_unit, said.unit).partition(" (")
        twin = f" ({rest}" if bracket and "(" not in said.text else ""
    return f"“{said.text}”{twin}"


def _spread(quantity: str, meant: Meant) -> str:
    said, unit = meant.said, model_unit_of(quantity) or ""
    beside = any(word in quantity for word in ("_error", "_factor"))
    own = said if said is not None and not beside else None
    if own is not None and own.phrase.kind not in _MIDDLES:
        return in_words(own)
    symbol = default_unit(unit, float(meant.distribution.median))
    if own is not None and own.unit and own.model_unit == unit:
        symbol = own.unit
    return spread_in_words(meant.distribution, symbol, lambda x: in_unit(x, unit, symbol))


def said_value(quantity: str, value: float, *, exact: bool = True) -> str:
    """Return a number of a quantity with its unit and the twin unit; three figures or exactly."""
    unit = model_unit_of(quantity) or ""
    return shown(value if exact or unit == "SG" else rounded(value, 3), unit)
