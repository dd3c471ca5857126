"""Pose a recipe: recipe text and priors become a Problem; nothing is guessed silently.

An input whose name has a prior becomes a factor (or, without spread, a fixed number) by itself;
only what a recipe says is code.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from brewsim.beer.assignments import Meant, Posed, applied, fix, label_of, say_setting, shape_of
from brewsim.beer.assumptions import Row as Understood
from brewsim.beer.contradictions import given_twice, overruled
from brewsim.beer.display_units import own_units
from brewsim.beer.hop_lots import faults_of_hops
from brewsim.beer.hop_rows import lists_of
from brewsim.beer.inactive_factors import without_idle
from brewsim.beer.knobs import knobs_of
from brewsim.beer.list_assignments import pose_list
from brewsim.beer.process_settings import process_statements
from brewsim.beer.unknown_names import all_given, asked_of, unknown_ingredients, unknown_quantities
from brewsim.beer.volume_checks import faults_of_water
from brewsim.beer.volume_plan import collects_by_volume, plan
from brewsim.beer_graph import beer_graph
from brewsim.constants import gravity_of
from brewsim.distributions import constructors as families
from brewsim.distributions.base import Distribution
from brewsim.errors import InputError
from brewsim.graph.build import Graph
from brewsim.graph.evaluate import evaluate
from brewsim.priors.library import Ingredient, Prior, Priors, load_priors
from brewsim.quantities.catalogue import BY_QUANTITY, SIDE_FIGURES, TWINS, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.statement import Stated
from brewsim.recipe.schema import Recipe
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target

_OWN_FIGURE = Kinds(0.6, 0.0, 0.4)
"""A brewer's own spread of efficiency or attenuation: known once, and from brew to brew."""


_OWN_FIGURES = ("strain_attenuation_fraction", "stated_mash_efficiency_fraction")


DEFAULT_YEAST = "clean ale yeast"


_PRIMING = "priming_sugar_g_l"


_BOTTLES_ONLY = ("bottle_rating", "priming_")


_UNREAD = ("hop_lot_storage_index", "hop_lot_index_known_share")
"""Read only where a storage index is stated."""


def posed(recipe: Recipe, priors: Priors | None = None) -> tuple[Problem, list[Understood]]:
    """Return the problem and the rows of "I understood" and "I assumed"."""
    priors = priors or load_priors()
    plain = beer_graph(_variants(recipe))
    faults = [*unknown_ingredients(recipe, priors), *unknown_quantities(recipe, plain)]
    faults += [*faults_of_hops(recipe), *faults_of_water(recipe, priors), *given_twice(recipe)]
    if faults:
        raise InputError(recipe.name, faults)
    given = all_given(recipe)
    work = Posed(
        recipe, priors, plan(recipe, priors), lists_of(recipe), _graph(recipe, plain, given), given
    )
    work.yeast = _yeast_entries(recipe, priors)
    work.stated = process_statements(recipe, work.plan, priors) | work.lists.stated
    before = _graph(recipe, plain, {})
    asked = [q for q in (*asked_of(recipe), *SIDE_FIGURES) if q in plain]
    if faults := list(overruled(work.stated, given, before, work.graph, asked)):
        raise InputError(recipe.name, faults)
    for quantity, declared in sorted(work.graph.inputs.items(), key=lambda i: i[0] == _PRIMING):
        if quantity in work.lists.fixed:
            work.fixed[quantity] = work.lists.fixed[quantity]
            say_setting(work, quantity)
        elif declared.axes:
            pose_list(work, quantity, declared.axes[0])
        else:
            fix(work, quantity, label_of(work, quantity), _meant(work, quantity))
    return _finished(work), work.rows


def _variants(recipe: Recipe) -> dict[str, str]:
    return {
        "bitterness_ibu": recipe.model.bitterness,
        "mash_efficiency_fraction": recipe.brewhouse.lauter.replace(" ", "_"),
        "carbonation_vol": recipe.package.container,
        "alcohol_by_weight_fraction": recipe.model.alcohol,
    }


def _graph(recipe: Recipe, plain: Graph, given: dict[str, Stated]) -> Graph:
    """Return the beer with the stated quantities, and a planned volume, as inputs."""
    inputs = {quantity for quantity in given if quantity in plain.nodes}
    if collects_by_volume(recipe):
        inputs.add("preboil_volume_l")
    return beer_graph(_variants(recipe), inputs)


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


# scalars -----------------------------------------------------------------------------------------
def _meant(work: Posed, quantity: str) -> Meant:
    prior = _scalar_prior(work, quantity)
    stated = work.given.get(quantity) or work.recipe.priors.get(quantity)
    said = stated or work.stated.get(quantity)
    if quantity == _PRIMING and isinstance(said, float) and work.recipe.package.carbonation:
        said = _planned_priming(work, said)
    if isinstance(said, float):
        return Meant(families.constant(said), Kinds(), prior, planned=True)
    if isinstance(said, Prior):
        return Meant(said.distribution, said.kinds, said)
    if isinstance(said, Stated):
        return _stated(quantity, said, prior)
    if prior is None:
        fault = f"nothing says what {quantity} is; state it in [given]"
        raise InputError(work.recipe.name, [fault])
    if isinstance(said, Distribution):
        return Meant(said, prior.kinds, prior, planned=quantity == "preboil_volume_l")
    return Meant(prior.distribution, prior.kinds, prior)


def _stated(quantity: str, said: Stated, prior: Prior | None) -> Meant:
    shape = shape_of(prior)
    kinds = prior.kinds if prior is not None and shape is not None else Kinds()
    if quantity in _OWN_FIGURES:
        kinds = _OWN_FIGURE
        shape = shape if said.phrase.kind == "plain" else None
    return Meant(applied(said, shape, quantity), kinds, prior, said)


def _scalar_prior(work: Posed, quantity: str) -> Prior | None:
    for entry in work.yeast:
        prior = work.priors.of(entry, quantity)
        if prior is not None:
            return prior
    if quantity == "preboil_volume_l":
        mark = work.priors.scalar("water_measure_factor")
        return replace(mark, quantity=quantity) if mark is not None else None
    return work.priors.scalar(quantity) or _of_default_yeast(work.priors, quantity)


def _of_default_yeast(priors: Priors, quantity: str) -> Prior | None:
    """Return the default yeast's number of what an own yeast does not say."""
    entry = priors.find("yeast", DEFAULT_YEAST)
    return priors.of(entry, quantity) if entry is not None else None


def _planned_priming(work: Posed, guess: float) -> float:
    """Return the priming sugar with which the median bottle has the carbonation wanted, g/L."""
    wanted = work.recipe.package.carbonation
    if wanted is None or "carbonation_vol" not in work.graph.nodes:
        return guess
    graph = work.graph.pruned(["carbonation_vol"])

    def reached(dose: float) -> float:
        values = evaluate(graph, work.medians() | {_PRIMING: np.array([dose])})
        return float(values["carbonation_vol"][0])

    low, high = 0.0, max(2 * guess, 5.0)
    for _ in range(4):  # nearly a straight line: four secants reach 1e-9
        below, above = reached(low), reached(high)
        if above == below:
            break
        low, high = high, high + (wanted.value - above) * (high - low) / (above - below)
    return max(high, 0.0)


# the problem -------------------------------------------------------------------------------------
def _finished(work: Posed) -> Problem:
    recipe = work.recipe
    targets = _targets(work)
    outcomes = [q for q, row in BY_QUANTITY.items() if row.default and q in work.graph]
    outcomes += [q for q in targets if q not in outcomes]
    problem = Problem(
        graph=work.graph,
        fixed=work.fixed,
        factors=tuple(work.factors),
        outcomes=tuple(outcomes),
        targets=targets,
        scales={q: row.scale for q, row in BY_QUANTITY.items() if q in work.graph},
        provenance=work.provenance,
        row_labels={axis: tuple(r.label for r in rows) for axis, rows in work.lists.rows.items()},
        name=recipe.name,
        units=own_units(recipe),
    )
    knobs = knobs_of(recipe, work.lists, work.priors, problem, work.yeast)
    problem = without_idle(
        replace(problem, knobs=knobs), [q for q in SIDE_FIGURES if q in work.graph]
    )
    work.rows[:] = _worth_showing(work, problem)
    turnable = {i for knob in knobs for choice in knob.choices for i in choice.distributions}
    factors = tuple(
        replace(f, turnable=f.id in turnable or _is_set(f, knobs)) for f in problem.factors
    )
    return replace(problem, factors=factors)


def _worth_showing(work: Posed, problem: Problem) -> list[Understood]:
    """Return the rows that are read by something asked for and belong to no idle factor."""
    asked = [*problem.outcomes, *problem.targets, *[q for q in SIDE_FIGURES if q in work.graph]]
    read = work.graph.upstream(asked)
    idle = {(f.quantity, f.label) for f in work.factors}
    idle -= {(f.quantity, f.label) for f in problem.factors}
    bottled = work.recipe.package.container != "keg"
    return [
        row
        for row in work.rows
        if row.quantity in read
        and (row.quantity, row.what) not in idle
        and not (row.quantity.endswith("_share") and row.spread == "no spread")
        and not (row.assumed and row.quantity.startswith(_UNREAD))
        and (bottled or not row.quantity.startswith(_BOTTLES_ONLY))
    ]


def _is_set(factor: Factor, knobs: tuple[Knob, ...]) -> bool:
    return any((k.quantity, k.row) == (factor.quantity, factor.row) for k in knobs)


def _targets(work: Posed) -> dict[str, Target]:
    targets, faults = {}, []
    for name, stated in work.recipe.targets.items():
        phrase, quantity = stated.phrase, quantity_of(name)
        if model_unit_of(quantity) != stated.model_unit:
            quantity = TWINS[quantity]  # a gravity aimed at in °P
        if quantity not in work.graph:
            faults.append(f"line {stated.line}, target {name}: there is no quantity {quantity}")
        elif work.graph.axes(quantity):
            faults.append(f"line {stated.line}, target {name}: it is a list, not one number")
        elif quantity in targets:
            faults.append(f"line {stated.line}, target {name}: has a target already; keep one")
        targets[quantity] = Target(
            phrase.low if phrase.kind != "at_most" else None,
            phrase.high if phrase.kind != "at_least" else None,
        )
    wort, beer = (
        _as_gravity(targets, name) for name in ("original_gravity_sg", "final_gravity_sg")
    )
    if wort.ends[1] <= beer.ends[0]:
        faults.append(
            "targets: a beer cannot be denser than its wort; are the two gravities swapped?"
        )
    if faults:
        raise InputError(work.recipe.name, faults)
    return targets


def _as_gravity(targets: Mapping[str, Target], name: str) -> Target:
    """Return the target of a gravity, also where its extract is aimed at; open if neither is."""
    if TWINS[name] not in targets:
        return targets.get(name, Target())
    extract = targets[TWINS[name]]
    return Target(
        *(None if end is None else gravity_of(end) for end in (extract.lower, extract.upper))
    )
