"""A problem on its way: its factors and fixed numbers, each with a remark for the page."""

import re
from dataclasses import dataclass, field

import numpy as np

from brewsim.beer.assumptions import Row as Understood
from brewsim.beer.assumptions import kinds_in_words, spread_in_words
from brewsim.beer.process_settings import Statements
from brewsim.beer.rows import Lists, Row
from brewsim.beer.spreads import apply
from brewsim.beer.volume_plan import Plan
from brewsim.constants import plato_of
from brewsim.dims import FloatArray
from brewsim.distributions import constructors as families
from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant
from brewsim.errors import DistributionError, InputError
from brewsim.graph.build import Graph
from brewsim.priors.library import Ingredient, Prior, Priors
from brewsim.priors.prior_table import unit_is_share
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.format import default_unit, in_unit, in_words, shown
from brewsim.quantities.statement import Stated, rescaled
from brewsim.recipe.schema import Recipe
from brewsim.study.model.factor import Factor, Kinds


@dataclass
class Posed:
    """What is known so far of a recipe's problem."""

    recipe: Recipe
    priors: Priors
    plan: Plan
    lists: Lists
    graph: Graph
    given: dict[str, Stated] = field(default_factory=dict)
    stated: Statements = field(default_factory=dict)
    fixed: dict[str, FloatArray] = field(default_factory=dict)
    factors: list[Factor] = field(default_factory=list)
    rows: list[Understood] = field(default_factory=list)
    provenance: dict[str, str] = field(default_factory=dict)
    yeast: list[Ingredient] = field(default_factory=list)

    def medians(self) -> dict[str, FloatArray]:
        """Return every input posed so far at its median."""
        values = {name: array.copy() for name, array in self.fixed.items()}
        for factor in self.factors:
            if factor.row is None:
                values[factor.quantity] = np.array([factor.distribution.median])
            else:
                values[factor.quantity][factor.row, 0] = factor.distribution.median
        return values


@dataclass(frozen=True)
class Meant:
    """What one input is taken as: its distribution, kinds, the prior behind it, what was said."""

    distribution: Distribution
    kinds: Kinds
    prior: Prior | None = None
    said: Stated | None = None
    planned: bool = False


def applied(said: Stated, prior: Distribution | None, quantity: str) -> Distribution:
    """Return the distribution a statement means for a quantity, inside what is possible."""
    limits = (0.0, 1.0) if unit_is_share(quantity) else _limits(quantity)
    phrase = said.phrase
    if quantity.endswith("_plato") and said.model_unit == "SG":
        phrase = rescaled(phrase, plato_of)
    try:
        return apply(phrase, prior, limits)
    except (DistributionError, ValueError) as error:
        raise InputError(f"line {said.line}", [f"{quantity}: “{said.text}”: {error}"]) from error


def _limits(quantity: str) -> tuple[float, float]:
    signed = quantity.endswith(("_c", "_unit", "_lead", "_plato")) or "error" in quantity
    return (-np.inf, np.inf) if signed else (0.0, np.inf)


def shape_of(prior: Prior | None) -> Distribution | None:
    """Return the spread a prior puts around a plain value, or None where it has none."""
    return prior.distribution if prior is not None and not prior.is_constant else None


def factor_of(quantity: str, label: str, meant: Meant, row: Row | None = None) -> Factor:
    """Return the factor of an input; its row's place and id are put in by the caller."""
    prior = meant.prior
    return Factor(
        id=quantity,
        quantity=quantity,
        row=None,
        label=label,
        distribution=meant.distribution,
        kinds=meant.kinds,
        group=row.label
        if row is not None
        else (prior.group if prior is not None else "") or "other",
        lot=f"{row.name} {row.lot}" if row is not None and row.lot else "",
        event=quantity == "stall_share",
        measurable=prior.measurable if prior is not None else False,
    )


NONE = "none in this recipe"
_SAYS, _FOLLOWS = ", as the recipe says", ", as it follows from the recipe"
_AMOUNTS = ("_mass_kg", "_mass_g", "_dose_g_l")


# words -------------------------------------------------------------------------------------------
_ONE = re.compile(
    r"\b(?:a|an|one) (?:hot-side hop addition|hop addition|hop lot|dry hop|kettle sugar|sugar|malt"
    r"|precursor product|precursor)\b"
)


def label_of(work: Posed, quantity: str, row: Row | None = None) -> str:
    """Return what an input is, in words; of a row, with the row's name in its place."""
    label = work.graph.label(quantity)
    label = label[:1].lower() + label[1:] if label[1:2].islower() or label[1:2] == " " else label
    if row is None:
        return label
    found = _ONE.search(label)
    if found is None:
        return f"{label}: {row.label}"
    rest = label[found.end() :]
    name = f"{row.label}," if "," in row.label and rest.startswith(" ") else row.label
    return f"{label[: found.start()]}{name}{rest}"


def note(work: Posed, quantity: str, label: str, meant: Meant) -> None:
    """Write down how an input was taken, for the page and for the trace."""
    prior, distribution = meant.prior, meant.distribution
    constant = isinstance(distribution, Constant)
    spread = "no spread" if constant else _spread(quantity, meant)
    grade = prior.grade if prior is not None else ""
    source = work.priors.source_text(prior.source) if prior is not None and prior.source else ""
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
    before = work.provenance.get(quantity)
    work.provenance[quantity] = f"{before} / {told}" if before else told
    assumed = meant.said is None and (meant.planned or prior is not None)
    silent = meant.said is None and (meant.planned or prior is None)
    if constant and silent and distribution.median == 0.0:
        return  # held at nothing because something else was said: no news to a brewer
    work.rows.append(
        Understood(
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
    )


_MIDDLES = ("plain", "exactly")


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
    return shown(value if exact or unit == "SG" else float(f"{value:.3g}"), unit)


def fix(work: Posed, quantity: str, label: str, meant: Meant) -> None:
    """Take a scalar input as fixed or as a factor, and note it."""
    if isinstance(meant.distribution, Constant):
        work.fixed[quantity] = np.array([meant.distribution.median])
    else:
        work.factors.append(factor_of(quantity, label, meant))
    note(work, quantity, label, meant)


def say_setting(work: Posed, quantity: str) -> None:
    """Say what a setting of the recipe is fixed at; shares and indices are bookkeeping."""
    if quantity.endswith(("_share", "_of_hop", "_of_dry_hop")):
        work.provenance[quantity] = "recipe"
        return
    axes = work.graph.inputs[quantity].axes
    rows = work.lists.rows[axes[0]] if axes else [None]
    if not rows:
        work.provenance[quantity] = NONE
    for row, value in zip(rows, work.fixed[quantity].ravel(), strict=True):
        said = row.amount if row is not None and quantity.endswith(_AMOUNTS) else None
        meant = Meant(families.constant(float(value)), Kinds(), said=said)
        if value or quantity != "hop_boil_time_min":
            note(work, quantity, label_of(work, quantity, row), meant)
