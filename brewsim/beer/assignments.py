"""Assignments: what each input of the beer is taken as, from the statements and the priors."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from brewsim.beer.assumptions import Row as Understood
from brewsim.beer.input_notes import Meant, Note, label_of, note
from brewsim.beer.list_priors import list_prior
from brewsim.beer.rows import Lists, Row
from brewsim.beer.spreads import apply, moved
from brewsim.beer.statements import About, Basis
from brewsim.constants import plato_of
from brewsim.dims import FloatArray
from brewsim.distributions import constructors as families
from brewsim.distributions.base import Distribution
from brewsim.distributions.closed_form import Constant
from brewsim.errors import DistributionError, InputError
from brewsim.graph.build import Graph
from brewsim.priors.library import Ingredient, Prior, Priors
from brewsim.priors.prior_table import unit_is_share
from brewsim.quantities.statement import Stated, rescaled
from brewsim.study.model.factor import Factor, Kinds

DEFAULT_YEAST = "clean ale yeast"
_OWN_FIGURE = Kinds(0.6, 0.0, 0.4)
"""A brewer's own spread of efficiency or attenuation: known once, and from brew to brew."""
_OWN_FIGURES = {
    "strain_attenuation_fraction": "stated_attenuation_fraction",
    "stated_mash_efficiency_fraction": "stated_mash_efficiency_fraction",
}
"""A brewer's own figure, and the prior of the spread it has where none is stated."""
_VOLUME = "preboil_volume_l"
_ALPHA = "hop_lot_stated_alpha_fraction"
_NONE = "none in this recipe"
_AMOUNTS = ("_mass_kg", "_mass_g", "_dose_g_l")


@dataclass(frozen=True)
class Sources:
    """All that an input is assigned from; `yeast` are the tables a yeast's numbers come from."""

    basis: Basis
    graph: Graph
    lists: Lists
    yeast: tuple[Ingredient, ...]


@dataclass(frozen=True)
class Assignment:
    """One input as it is taken: what is fixed of it, its factors, and what to say of it.

    `fixed` is None for a number that is a factor; a list has its medians there, its factors over
    them.
    """

    quantity: str
    fixed: FloatArray | None = None
    factors: tuple[Factor, ...] = ()
    notes: tuple[Note, ...] = ()
    provenance: str = ""

    @property
    def rows(self) -> tuple[Understood, ...]:
        """The rows of the page that tell of it."""
        return tuple(one.row for one in self.notes if one.row is not None)

    @property
    def origin(self) -> str:
        """Where it comes from, each row's in turn."""
        return self.provenance or " / ".join(one.provenance for one in self.notes)


def assign(quantity: str, sources: Sources) -> Assignment:
    """Return what an input is taken as; raises InputError where nothing says what it is."""
    if quantity in sources.lists.fixed:
        return _setting(quantity, sources)
    axes = sources.graph.inputs[quantity].axes
    if axes:
        return _list(quantity, axes[0], sources)
    meant = _meant(quantity, sources)
    label = label_of(sources.graph, quantity)
    notes = (note(quantity, label, meant, sources.basis.priors),)
    if isinstance(meant.distribution, Constant):
        return Assignment(quantity, np.array([meant.distribution.median]), notes=notes)
    return Assignment(quantity, None, (_factor(quantity, label, meant),), notes)


def medians(assignments: Iterable[Assignment]) -> Mapping[str, FloatArray]:
    """Return every input assigned, at its median."""
    values: dict[str, FloatArray] = {}
    for one in assignments:
        if one.fixed is not None:
            values[one.quantity] = one.fixed
        else:
            values[one.quantity] = np.array([one.factors[0].distribution.median])
    return values


def _setting(quantity: str, sources: Sources) -> Assignment:
    """Say what a setting of the recipe is fixed at; shares and indices are bookkeeping."""
    fixed = sources.lists.fixed[quantity]
    if quantity.endswith(("_share", "_of_hop", "_of_dry_hop")):
        return Assignment(quantity, fixed, provenance="recipe")
    rows = sources.lists.rows[sources.graph.inputs[quantity].axes[0]]
    notes = []
    for row, value in zip(rows, fixed.ravel(), strict=True):
        said = row.amount if quantity.endswith(_AMOUNTS) else None
        meant = Meant(families.constant(float(value)), Kinds(), said=said)
        if value or quantity != "hop_boil_time_min":
            label = label_of(sources.graph, quantity, row)
            notes.append(note(quantity, label, meant, sources.basis.priors))
    return Assignment(quantity, fixed, notes=tuple(notes), provenance="" if rows else _NONE)


def _list(quantity: str, axis: str, sources: Sources) -> Assignment:
    """Take every row of a list as fixed or as a factor."""
    rows = sources.lists.rows[axis]
    column = np.zeros((len(rows), 1))
    factors, notes = [], []
    for place, row in enumerate(rows):
        meant = _meant_of_row(quantity, axis, row, sources)
        column[place, 0] = meant.distribution.median
        label = label_of(sources.graph, quantity, row)
        if not isinstance(meant.distribution, Constant):
            identity = f"{quantity} | {_row_id(rows, place)}"
            factor = _factor(quantity, label, meant, row)
            factors.append(replace(factor, id=identity, row=place))
        notes.append(note(quantity, label, meant, sources.basis.priors))
    told = "" if rows else _NONE
    return Assignment(quantity, column, tuple(factors), tuple(notes), told)


def _row_id(rows: tuple[Row, ...], place: int) -> str:
    """Name a row by its ingredient; rows of one name are told apart by lot or order."""
    row = rows[place]
    same = [i for i, other in enumerate(rows) if other.label == row.label]
    alone = [other for other in rows if other.name == row.name]
    name = row.name if len(alone) == 1 else row.label
    return name if len(same) == 1 else f"{name} #{same.index(place) + 1}"


def _meant_of_row(quantity: str, axis: str, row: Row, sources: Sources) -> Meant:
    prior = list_prior(quantity, axis, row, sources.basis.priors)
    said = row.stated.get(quantity) or sources.basis.statements.stated(quantity)
    if said is None:
        if prior is None:
            short = quantity.removeprefix(f"{axis}_")
            told = f"{row.label}: nothing says what {short} is; state it in the row"
            raise InputError(sources.basis.statements.name, [told])
        return Meant(prior.distribution, prior.kinds, prior)
    pack = sources.basis.priors.scalar("alpha_pack_factor")
    if quantity == _ALPHA and pack is not None:
        prior = replace(pack, quantity=quantity)
    kinds = prior.kinds if prior is not None else Kinds()
    return Meant(applied(said, shape_of(prior), quantity), kinds, prior, said)


def _meant(quantity: str, sources: Sources) -> Meant:
    prior = _scalar_prior(quantity, sources)
    found = sources.basis.statements.said.get(quantity)
    said = found.said if found is not None else None
    if isinstance(said, float):
        return Meant(families.constant(said), Kinds(), prior, planned=True)
    if isinstance(said, Prior):
        return Meant(said.distribution, said.kinds, said)
    if isinstance(said, Stated):
        return _stated(quantity, said, prior, sources.basis.priors)
    if prior is None:
        fault = f"nothing says what {quantity} is; state it in [given]"
        raise InputError(sources.basis.statements.name, [fault])
    if isinstance(said, About):
        return Meant(moved(prior.distribution, said.value), prior.kinds, prior, planned=True)
    if isinstance(said, Distribution):
        return Meant(said, prior.kinds, prior)
    return Meant(prior.distribution, prior.kinds, prior)


def _stated(quantity: str, said: Stated, prior: Prior | None, priors: Priors) -> Meant:
    shape = shape_of(prior)
    kinds = prior.kinds if prior is not None and shape is not None else Kinds()
    if quantity in _OWN_FIGURES:
        kinds, prior = _OWN_FIGURE, priors.scalar(_OWN_FIGURES[quantity])
        shape = shape_of(prior) if said.phrase.kind == "plain" else None
    return Meant(applied(said, shape, quantity), kinds, prior, said)


def _scalar_prior(quantity: str, sources: Sources) -> Prior | None:
    priors = sources.basis.priors
    for entry in sources.yeast:
        prior = priors.of(entry, quantity)
        if prior is not None:
            return prior
    if quantity == _VOLUME:
        mark = priors.scalar("water_measure_factor")
        return replace(mark, quantity=quantity) if mark is not None else None
    usual = priors.find("yeast", DEFAULT_YEAST)
    of_usual = priors.of(usual, quantity) if usual is not None else None
    return priors.scalar(quantity) or of_usual


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


def _factor(quantity: str, label: str, meant: Meant, row: Row | None = None) -> Factor:
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
