"""Pose a recipe: recipe text and priors become a Problem; nothing is guessed silently.

An input whose name has a prior becomes a factor (or, without spread, a fixed number) by itself;
only what a recipe says is code.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from brewsim.dims import FloatArray
from brewsim.distributions import families
from brewsim.distributions.base import Distribution
from brewsim.distributions.closed import Constant
from brewsim.errors import InputError, did_you_mean
from brewsim.graph.build import Graph
from brewsim.recipe.beer import beer_graph
from brewsim.recipe.conversion import plato_of
from brewsim.recipe.idle import without_idle
from brewsim.recipe.knobs import knobs_of
from brewsim.recipe.lists import Lists, Row, lists_of
from brewsim.recipe.outcomes import BY_QUANTITY, SIDE_FIGURES, quantity_of
from brewsim.recipe.plan import Plan, plan
from brewsim.recipe.priors import Ingredient, Prior, Priors, load_priors, unit_is_share
from brewsim.recipe.process import Statements, process_statements
from brewsim.recipe.schema import Recipe
from brewsim.recipe.showing import shown
from brewsim.recipe.spreads import apply
from brewsim.recipe.stated import Phrase, Stated
from brewsim.recipe.understood import Row as Understood
from brewsim.recipe.understood import kinds_in_words, spread_in_words
from brewsim.study.problem import Factor, Kinds, Problem, Target
from brewsim.units import unit_of

_OWN_FIGURE = Kinds(0.6, 0.0, 0.4)
"""A brewer's own spread of efficiency or attenuation: known once, and from brew to brew."""
_LISTS = {"malt": "malt", "sugar": "sugar", "hop_lot": "hop_lot", "precursor": "precursor"}
_PREFIXES = ("hop_lot_", "dry_hop_", "malt_", "sugar_", "precursor_", "hop_")
_HOP_FIELDS = {"mass": "hop_mass_g", "time": "hop_boil_time_min"}


@dataclass
class Posed:
    """A problem on its way, with a remark on every input for the page."""

    recipe: Recipe
    priors: Priors
    plan: Plan
    lists: Lists
    graph: Graph
    fixed: dict[str, FloatArray] = field(default_factory=dict)
    factors: list[Factor] = field(default_factory=list)
    rows: list[Understood] = field(default_factory=list)
    provenance: dict[str, str] = field(default_factory=dict)
    yeast: list[Ingredient] = field(default_factory=list)


def pose(recipe: Recipe, house: object | None = None, priors: Priors | None = None) -> Problem:
    """Return the Problem of a recipe.

    `house` is what the brewery has learned (see recipe/house.py). Raises InputError for what only
    shows against the priors: unknown ingredients, quantities that are not computed.
    """
    problem = posed(recipe, priors)[0]
    if house is not None:
        from brewsim.recipe.house import with_house  # noqa: PLC0415 - only where it is used

        return with_house(problem, house)
    return problem


def posed(recipe: Recipe, priors: Priors | None = None) -> tuple[Problem, list[Understood]]:
    """Return the problem and the rows of "I understood" and "I assumed"."""
    priors = priors or load_priors()
    faults = list(_unknown_ingredients(recipe, priors))
    work = Posed(recipe, priors, plan(recipe, priors), lists_of(recipe), _graph_of(recipe, faults))
    if faults:
        raise InputError(recipe.name, faults)
    work.yeast = _yeast_entries(recipe, priors)
    stated = process_statements(recipe, work.plan, priors)
    for quantity, given in work.graph.inputs.items():
        if quantity in work.lists.fixed:
            work.fixed[quantity] = work.lists.fixed[quantity]
            _say_setting(work, quantity)
        elif given.axes:
            _pose_list(work, quantity, given.axes[0])
        else:
            _pose_scalar(work, quantity, stated)
    return _finished(work), work.rows


def _graph_of(recipe: Recipe, faults: list[str]) -> Graph:
    bottle = recipe.package.container == "bottle"
    variants = {
        "bitterness_ibu": recipe.model.bitterness,
        "mash_efficiency_fraction": recipe.brewhouse.lauter.replace(" ", "_"),
        "carbonation_vol": "bottle" if bottle else "keg",
        "alcohol_by_weight_fraction": recipe.model.alcohol,
    }
    plain = beer_graph(variants)
    given = [] if collects_by_volume(recipe) is False else ["preboil_volume_l"]
    for name, stated in recipe.given.items():
        quantity = _extract_of(name)
        if quantity not in plain:
            near = did_you_mean(quantity, [*plain.nodes, *plain.inputs])
            faults.append(f"line {stated.line}, given {name}: there is no such quantity.{near}")
        elif quantity in plain.nodes and plain.axes(quantity):
            faults.append(f"line {stated.line}, given {name}: it is a list; state it in its row")
        elif quantity in plain.nodes:
            given.append(quantity)
    return beer_graph(variants, given)


def collects_by_volume(recipe: Recipe) -> bool:
    """Whether the wort is run off to a planned volume mark, so that its volume is known.

    So it is unless the recipe states its water, or an efficiency is computed from the water.
    """
    water = recipe.water
    forward = water.mash is not None or water.sparge is not None
    stated = {_extract_of(name) for name in recipe.given}
    reads = "preboil_volume_l" in stated
    return recipe.brewhouse.lauter == "stated" and not forward and not reads


_EXTRACTS = {
    "original_gravity_sg": "original_extract_plato",
    "final_gravity_sg": "final_extract_plato",
    "preboil_gravity_sg": "preboil_extract_plato",
    "original_gravity": "original_extract_plato",
    "final_gravity": "final_extract_plato",
}


def _extract_of(name: str) -> str:
    """A stated gravity lands on the extract that the model computes with."""
    return _EXTRACTS.get(name, name)


def _unknown_ingredients(recipe: Recipe, priors: Priors) -> list[str]:
    faults = []
    for number, malt in enumerate(recipe.malt, start=1):
        if priors.find("malt", malt.name) is None and malt.extract is None:
            near = priors.hint("malt", malt.name) or " State extract and color yourself."
            faults.append(f"line {malt.line}, malt {number} name: no malt {malt.name!r}.{near}")
    for number, sugar in enumerate(recipe.sugar, start=1):
        if priors.find("sugar", sugar.name) is None and sugar.extract is None:
            near = priors.hint("sugar", sugar.name) or " State extract yourself."
            faults.append(f"line {sugar.line}, sugar {number} name: no {sugar.name!r}.{near}")
    for number, hop in enumerate(recipe.hop, start=1):
        if priors.find("hop_lot", hop.variety) is None and hop.alpha is None:
            near = priors.hint("hop_lot", hop.variety) or " State alpha yourself."
            faults.append(f"line {hop.line}, hop {number} variety: no {hop.variety!r}.{near}")
    for number, item in enumerate(recipe.precursor, start=1):
        if priors.find("precursor", item.name) is None and item.content is None:
            near = priors.hint("precursor", item.name) or " State content and basis yourself."
            faults.append(f"line {item.line}, precursor {number} name: no {item.name!r}.{near}")
    name = recipe.yeast.name
    if name and priors.find("yeast", name) is None and recipe.yeast.attenuation is None:
        near = priors.hint("yeast", name) or " State attenuation yourself."
        faults.append(f"line {recipe.yeast.line}, yeast name: no yeast {name!r}.{near}")
    return faults


DEFAULT_YEAST = "clean ale yeast"


def _yeast_entries(recipe: Recipe, priors: Priors) -> list[Ingredient]:
    """Return the tables a yeast's numbers come from: itself, its release class, its character."""
    entry = priors.find("yeast", recipe.yeast.name or DEFAULT_YEAST)
    entry = entry or priors.find("yeast", DEFAULT_YEAST)
    tags = entry.tags if entry is not None else {}
    release = recipe.yeast.thiol_release or tags.get("release", "ordinary")
    wanted = [
        priors.find("release", release),
        priors.find("character", tags.get("character", "ale")),
    ]
    return [item for item in (entry, *wanted) if item is not None]


def diastatic(recipe: Recipe, priors: Priors) -> str:
    """Return "yes", "no" or "unknown": what the recipe says, else the yeast's own table."""
    if recipe.yeast.diastatic is not None:
        return recipe.yeast.diastatic
    entry = priors.find("yeast", recipe.yeast.name or DEFAULT_YEAST)
    return entry.tags.get("diastatic", "no") if entry is not None else "unknown"


# scalars -----------------------------------------------------------------------------------------
def _pose_scalar(work: Posed, quantity: str, stated: Statements) -> None:
    prior = _scalar_prior(work, quantity)
    said = _said(work, quantity, stated)
    label = _sentence(work.graph.label(quantity))
    if isinstance(said, float):
        work.fixed[quantity] = np.array([said])
        _note(work, quantity, label, families.constant(said), None, prior, "planned", said_as="")
        return
    if isinstance(said, Distribution) and prior is not None:
        work.factors.append(_factor(quantity, None, "", label, prior, said))
        _note(work, quantity, label, said, prior.kinds, prior, "assumed", said_as="")
        return
    if isinstance(said, Stated):
        _pose_stated(work, quantity, label, said, prior)
        return
    if prior is None:
        raise InputError(
            work.recipe.name, [f"nothing says what {quantity} is; state it in [given]"]
        )
    if prior.is_constant:
        work.fixed[quantity] = np.array([prior.value])
    else:
        work.factors.append(_factor(quantity, None, "", label, prior, prior.distribution))
    _note(work, quantity, label, prior.distribution, prior.kinds, prior, "assumed", said_as="")


def _said(work: Posed, quantity: str, stated: Statements) -> Stated | float | Distribution | None:
    for name, value in work.recipe.given.items():
        if _extract_of(name) == quantity:
            return value
    if quantity in work.recipe.priors:
        return work.recipe.priors[quantity]
    return stated.get(quantity)


def _scalar_prior(work: Posed, quantity: str) -> Prior | None:
    for entry in work.yeast:
        prior = work.priors.of(entry, quantity)
        if prior is not None:
            return prior
    if quantity == "preboil_volume_l":
        mark = work.priors.scalar("water_measure_factor")
        return replace(mark, quantity=quantity) if mark is not None else None
    return work.priors.scalar(quantity)


def _pose_stated(work: Posed, quantity: str, label: str, said: Stated, prior: Prior | None) -> None:
    shape = prior.distribution if prior is not None and not prior.is_constant else None
    if quantity in ("strain_attenuation_fraction", "stated_mash_efficiency_fraction"):
        shape = shape if said.phrase.kind == "plain" else None
    distribution = _applied(said, shape, quantity)
    kinds = prior.kinds if prior is not None else Kinds()
    if quantity in ("strain_attenuation_fraction", "stated_mash_efficiency_fraction"):
        kinds = _OWN_FIGURE
    if isinstance(distribution, Constant):
        work.fixed[quantity] = np.array([distribution.median])
    else:
        base = prior or Prior(quantity, distribution, kinds, unit_of(quantity) or "", "", "")
        factor = _factor(quantity, None, "", label, base, distribution)
        work.factors.append(replace(factor, kinds=kinds))
    _note(work, quantity, label, distribution, kinds, prior, "recipe", said_as=said.text)


def _applied(said: Stated, prior: Distribution | None, quantity: str) -> Distribution:
    limits = (0.0, 1.0) if unit_is_share(quantity) else _limits(quantity)
    phrase = said.phrase
    if quantity.endswith("_plato") and said.model_unit == "SG":
        phrase = _in_plato(phrase)
    return apply(phrase, prior, limits)


def _in_plato(phrase: Phrase) -> Phrase:
    slope = (plato_of(phrase.middle + 0.001) - plato_of(phrase.middle - 0.001)) / 0.002
    return replace(
        phrase,
        middle=plato_of(phrase.middle),
        low=None if phrase.low is None else plato_of(phrase.low),
        high=None if phrase.high is None else plato_of(phrase.high),
        sd=None if phrase.sd is None else phrase.sd * slope,
        values=tuple(plato_of(v) for v in phrase.values),
    )


def _limits(quantity: str) -> tuple[float, float]:
    signed = quantity.endswith(("_c", "_unit", "_lead", "_plato")) or "error" in quantity
    return (-np.inf, np.inf) if signed else (0.0, np.inf)


# lists -------------------------------------------------------------------------------------------
def _pose_list(work: Posed, quantity: str, axis: str) -> None:
    rows = work.lists.rows[axis]
    column = np.zeros((len(rows), 1))
    for place, row in enumerate(rows):
        distribution, kinds, prior, said = _row_distribution(work, quantity, axis, row)
        column[place, 0] = distribution.median
        label = f"{_sentence(work.graph.label(quantity))}: {row.label}"
        if not isinstance(distribution, Constant):
            base = prior or Prior(quantity, distribution, kinds, unit_of(quantity) or "", "", "")
            factor = _factor(quantity, place, _row_id(rows, place), label, base, distribution)
            work.factors.append(replace(factor, kinds=kinds, group=row.label, lot=_lot_of(row)))
        origin = "recipe" if said is not None else "assumed"
        said_as = said.text if said is not None else ""
        _note(work, quantity, label, distribution, kinds, prior, origin, said_as=said_as)
    work.fixed[quantity] = column


def _lot_of(row: Row) -> str:
    return f"{row.name} {row.lot}" if row.lot else ""


def _row_id(rows: list[Row], place: int) -> str:
    """Name a row by its ingredient; rows of one name are told apart by lot or order."""
    row = rows[place]
    same = [i for i, other in enumerate(rows) if other.label == row.label]
    alone = [other for other in rows if other.name == row.name]
    name = row.name if len(alone) == 1 else row.label
    return name if len(same) == 1 else f"{name} #{same.index(place) + 1}"


def _row_distribution(
    work: Posed, quantity: str, axis: str, row: Row
) -> tuple[Distribution, Kinds, Prior | None, Stated | None]:
    short = quantity.removeprefix(f"{axis}_")
    prior = _row_prior(work, quantity, axis, short, row)
    said = row.stated.get(short) or work.recipe.priors.get(quantity)
    if said is None:
        if prior is None:
            told = f"{row.label}: nothing says what {short} is; state it in the row"
            raise InputError(work.recipe.name, [told])
        return prior.distribution, prior.kinds, prior, None
    shape = prior.distribution if prior is not None and not prior.is_constant else None
    kinds = prior.kinds if prior is not None else Kinds()
    if quantity == "hop_lot_stated_alpha_fraction":
        pack = work.priors.scalar("alpha_pack_factor")
        if pack is not None:
            shape, kinds, prior = pack.distribution, pack.kinds, replace(pack, quantity=quantity)
    return _applied(said, shape, quantity), kinds, prior, said


def _row_prior(work: Posed, quantity: str, axis: str, short: str, row: Row) -> Prior | None:
    if axis in _LISTS:
        entry = work.priors.find(axis, row.name)
        if entry is not None:
            own = work.priors.of(entry, short)
            if own is not None:
                return own
            if quantity == "malt_kilning_factor" and "kilning" in entry.tags:
                kiln = work.priors.find("kilning", entry.tags["kilning"])
                own = work.priors.of(kiln, quantity) if kiln is not None else None
                if own is not None:
                    return own
    if quantity == "hop_lot_package_factor" and row.block is not None:
        wrap = getattr(row.block, "wrap", None) or "sealed"
        found = work.priors.scalar(f"package_{wrap}_factor")
        if found is not None:
            return replace(found, quantity=quantity)
    return work.priors.scalar(quantity)


def _factor(
    quantity: str,
    place: int | None,
    name: str,
    label: str,
    prior: Prior,
    distribution: Distribution,
) -> Factor:
    return Factor(
        id=f"{quantity} | {name}" if name else quantity,
        quantity=quantity,
        row=place,
        label=label,
        distribution=distribution,
        kinds=prior.kinds,
        group=prior.group or "other",
        event=quantity == "stall_share",
        measurable=prior.measurable,
    )


# words -------------------------------------------------------------------------------------------
def _sentence(label: str) -> str:
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def _model_unit(quantity: str) -> str:
    if quantity.endswith(("_fraction",)):
        return "fraction"
    return "SG" if quantity.endswith("_sg") else unit_of(quantity) or ""


def _said_value(quantity: str, value: float) -> str:
    unit = _model_unit(quantity)
    try:
        return shown(value, unit)
    except (ValueError, KeyError):
        return f"{value:.4g} {unit}".strip()


def _note(
    work: Posed,
    quantity: str,
    label: str,
    distribution: Distribution,
    kinds: Kinds | None,
    prior: Prior | None,
    origin: str,
    *,
    said_as: str,
) -> None:
    percent = quantity.endswith("_fraction")
    unit = "%" if percent else unit_of(quantity) or ""
    spread = spread_in_words(distribution, unit, (lambda x: 100 * x) if percent else float)
    if isinstance(distribution, Constant):
        spread = "no spread"
    source = work.priors.source_text(prior.source) if prior is not None and prior.source else ""
    grade = prior.grade if prior is not None else ""
    if origin == "recipe":
        grade = f"recipe; spread: {grade}" if grade and spread != "no spread" else "recipe"
    elif origin == "planned":
        grade, source = "planned", "follows from the recipe's volume at the medians"
    value = f"“{said_as}”" if said_as else _said_value(quantity, distribution.median)
    constant = isinstance(distribution, Constant)
    words = kinds_in_words(kinds) if kinds is not None and not constant else ""
    work.rows.append(
        Understood(
            quantity=quantity,
            section=(prior.group if prior is not None and prior.group else "recipe"),
            what=label,
            value=value,
            spread=spread,
            kinds=words,
            grade=grade,
            source=source,
            assumed=origin == "assumed",
        )
    )
    told = f"{value}, {spread}" + (f"; {grade}" if grade else "")
    told += f"; {source}" if source and source != grade else ""
    work.provenance[quantity] = (
        f"{work.provenance[quantity]} / {told}" if quantity in work.provenance else told
    )


def _say_setting(work: Posed, quantity: str) -> None:
    """Say what a list or planned setting is fixed at; shares and indices are bookkeeping."""
    if quantity.endswith(("_share", "_of_hop", "_of_dry_hop")):
        work.provenance[quantity] = "recipe"
        return
    axes = work.graph.inputs[quantity].axes
    values = work.fixed[quantity].ravel()
    rows = work.lists.rows[axes[0]] if axes else [None]
    for row, value in zip(rows, values, strict=True):
        label = _sentence(work.graph.label(quantity))
        label = f"{label}: {row.label}" if row is not None else label
        constant = families.constant(float(value))
        _note(work, quantity, label, constant, None, None, "recipe", said_as="")


# the problem -------------------------------------------------------------------------------------
def _finished(work: Posed) -> Problem:
    recipe = work.recipe
    targets: dict[str, Target] = {}
    for name, stated in recipe.targets.items():
        phrase = stated.phrase
        quantity = quantity_of(name)
        if quantity not in work.graph:
            raise InputError(recipe.name, [f"target {name}: there is no quantity {quantity}"])
        targets[quantity] = Target(
            phrase.low if phrase.kind != "at_most" else None,
            phrase.high if phrase.kind != "at_least" else None,
        )
    outcomes = [q for q, row in BY_QUANTITY.items() if row.default and q in work.graph]
    outcomes += [q for q in targets if q not in outcomes]
    problem = Problem(
        graph=work.graph,
        fixed=work.fixed,
        factors=tuple(work.factors),
        outcomes=tuple(outcomes),
        targets=targets,
        scales={q: row.scale for q, row in BY_QUANTITY.items()},
        provenance=work.provenance,
        row_labels={axis: tuple(r.label for r in rows) for axis, rows in work.lists.rows.items()},
        name=recipe.name,
    )
    knobs = knobs_of(recipe, work.lists, work.priors, problem, work.yeast)
    problem = without_idle(
        replace(problem, knobs=knobs), [q for q in SIDE_FIGURES if q in work.graph]
    )
    used = {(f.quantity, f.label) for f in problem.factors}
    idle = {(f.quantity, f.label) for f in work.factors} - used
    work.rows[:] = [row for row in work.rows if (row.quantity, row.what) not in idle]
    turned = {(k.quantity, k.row) for k in knobs}
    factors = tuple(
        replace(f, turnable=(f.quantity, f.row) in turned or _is_turned(f, knobs))
        for f in problem.factors
    )
    return replace(problem, knobs=knobs, factors=factors)


def _is_turned(factor: Factor, knobs: tuple[object, ...]) -> bool:
    """A factor that a choice redistributes is in the brewer's hands."""
    return any(
        factor.id in choice.distributions
        for knob in knobs
        for choice in getattr(knob, "choices", ())
    )
