"""Pose a recipe: recipe text and priors become a Problem; nothing is guessed silently.

An input whose name has a prior becomes a factor (or, without spread, a fixed number) by itself;
only what a recipe says is code.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from brewsim.beer.assignments import DEFAULT_YEAST, Assignment, Sources, assign, medians
from brewsim.beer.assumptions import Row as Understood
from brewsim.beer.contradictions import overruled
from brewsim.beer.display_units import own_units
from brewsim.beer.hop_lots import faults_of_hops
from brewsim.beer.hop_rows import lists_of
from brewsim.beer.inactive_factors import without_idle
from brewsim.beer.knobs_offered import offered
from brewsim.beer.knobs_stated import noted, stated_knobs
from brewsim.beer.process_settings import CARBONATION, picked, planned_of, with_usual_lauter
from brewsim.beer.rows import Lists
from brewsim.beer.statements import Basis, Statements, resolve
from brewsim.beer.unknown_names import asked_of, unknown_ingredients, unknown_quantities
from brewsim.beer.volume_checks import faults_of_water
from brewsim.beer.volume_plan import plan
from brewsim.beer_graph import beer_graph
from brewsim.errors import InputError
from brewsim.graph.build import Graph
from brewsim.graph.evaluate import evaluate
from brewsim.priors.library import Ingredient, Priors, load_priors
from brewsim.quantities.catalogue import BY_QUANTITY, SIDE_FIGURES, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.gravity import as_gravity, in_unit, pair_of
from brewsim.recipe.schema import Recipe
from brewsim.study.model.factor import Factor
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target

_PRIMING = "priming_sugar_g_l"
_BOTTLES_ONLY = ("bottle_rating", "priming_")
_UNREAD = (
    "hop_lot_storage_index",
    "hop_lot_index_known_share",
    "souring_",
    "sugar_bitterness_ibu",
    "decoction_",
)
"""Read only where a storage index, souring, a hopped extract or a decoction is stated."""


def posed(recipe: Recipe, priors: Priors | None = None) -> tuple[Problem, list[Understood]]:
    """Return the problem and the rows of "I understood" and "I assumed"."""
    statements = resolve(recipe)
    basis = Basis(statements, priors or load_priors())
    return posed_basis(with_usual_lauter(basis))


def posed_basis(basis: Basis) -> tuple[Problem, list[Understood]]:
    """Return the problem of what a recipe states; raises InputError with all its faults."""
    basis = picked(basis)
    statements = basis.statements
    plain, planned = beer_graph(statements.variants), plan(basis)
    faults = [*unknown_ingredients(basis), *unknown_quantities(statements, plain)]
    faults += [*statements.contradictions, *faults_of_hops(statements.lines["hop"])]
    faults += faults_of_water(basis, planned)
    if faults:
        raise InputError(statements.name, faults)
    lists = lists_of(statements)
    settled = statements.planned(planned_of(basis, planned) | dict(lists.stated))
    volume = {"preboil_volume_l"} if planned.by_volume else set()
    given = {quantity for quantity in statements.by("given") if quantity in plain.nodes}
    graph = beer_graph(statements.variants, given | volume)
    before = beer_graph(statements.variants, volume)
    asked = [q for q in (*asked_of(statements), *SIDE_FIGURES) if q in plain]
    if faults := [*settled.contradictions, *overruled(settled, before, graph, asked)]:
        raise InputError(statements.name, faults)
    sources = Sources(Basis(settled, basis.priors), graph, lists, _yeast_entries(basis))
    return _finished(_assignments(sources), sources)


def _yeast_entries(basis: Basis) -> tuple[Ingredient, ...]:
    """Return the tables a yeast's numbers come from: itself, its release class, its character."""
    statements, priors = basis.statements, basis.priors
    entry = priors.find("yeast", statements.word("yeast", "name") or DEFAULT_YEAST)
    entry = entry or priors.find("yeast", DEFAULT_YEAST)
    tags = entry.tags if entry is not None else {}
    release = statements.word("yeast", "thiol_release") or tags.get("release", "ordinary")
    wanted = (
        entry,
        priors.find("release", release),
        priors.find("character", tags.get("character", "ale")),
    )
    return tuple(item for item in wanted if item is not None)


# the problem -------------------------------------------------------------------------------------
def _assignments(sources: Sources) -> list[Assignment]:
    """Return every input assigned; the priming sugar last, for it follows from all the others."""
    inputs = [quantity for quantity in sources.graph.inputs if quantity != _PRIMING]
    found = [assign(quantity, sources) for quantity in inputs]
    if _PRIMING in sources.graph.inputs:
        found.append(assign(_PRIMING, _primed(sources, found)))
    return found


def _primed(sources: Sources, others: Sequence[Assignment]) -> Sources:
    """Return the sources with the priming sugar that carbonates the median bottle as wanted."""
    statements = sources.basis.statements
    wanted, planned = statements.stated(CARBONATION), statements.said.get(_PRIMING)
    if wanted is None or planned is None or not isinstance(planned.said, float):
        return sources
    if "carbonation_vol" not in sources.graph.nodes:
        return sources
    graph, usual = sources.graph.pruned(["carbonation_vol"]), medians(others)

    def reached(dose: float) -> float:
        values = evaluate(graph, {**usual, _PRIMING: np.array([dose])})
        return float(values["carbonation_vol"][0])

    low, high = 0.0, max(2 * planned.said, 5.0)
    for _ in range(4):  # nearly a straight line: four secants reach 1e-9
        below, above = reached(low), reached(high)
        if above == below:
            break
        low, high = high, high + (wanted.value - above) * (high - low) / (above - below)
    primed = statements.planned({_PRIMING: max(high, 0.0)})
    return replace(sources, basis=replace(sources.basis, statements=primed))


def _finished(
    assignments: Sequence[Assignment], sources: Sources
) -> tuple[Problem, list[Understood]]:
    """Return the problem that the assignments make, without what changes nothing in it."""
    statements, graph = sources.basis.statements, sources.graph
    targets = _targets(statements, graph)
    outcomes = [q for q, row in BY_QUANTITY.items() if row.role == "page" and q in graph]
    outcomes += [q for q in targets if q not in outcomes]
    problem = Problem(
        graph=graph,
        fixed={one.quantity: one.fixed for one in assignments if one.fixed is not None},
        factors=tuple(factor for one in assignments for factor in one.factors),
        outcomes=tuple(outcomes),
        targets=targets,
        scales={q: row.scale for q, row in BY_QUANTITY.items() if q in graph},
        provenance={one.quantity: one.origin for one in assignments if one.origin},
        row_labels=_row_labels(sources.lists),
        name=statements.name,
        units=own_units(statements),
    )
    release = sources.yeast[0].tags.get("release", "ordinary") if sources.yeast else "ordinary"
    knobs = (
        stated_knobs(statements, sources.lists, sources.basis.priors, problem, release)
        if statements.knobs
        else tuple(offered(statements, sources.lists, problem))
    )
    knobs = noted(knobs, statements, problem)
    side = [q for q in SIDE_FIGURES if q in graph]
    whole = problem
    problem = without_idle(replace(problem, knobs=knobs), side)
    bottled = statements.word("package", "container") != "keg"
    rows = _worth_showing(assignments, whole.factors, problem, bottled=bottled)
    turnable = {i for knob in knobs for choice in knob.choices for i in choice.distributions}
    factors = tuple(
        replace(f, turnable=f.id in turnable or _is_set(f, knobs)) for f in problem.factors
    )
    return replace(problem, factors=factors), rows


def _row_labels(lists: Lists) -> dict[str, tuple[str, ...]]:
    return {axis: tuple(row.label for row in rows) for axis, rows in lists.rows.items()}


def _worth_showing(
    assignments: Sequence[Assignment],
    factors: Sequence[Factor],
    problem: Problem,
    *,
    bottled: bool,
) -> list[Understood]:
    """Return the rows that are read by something asked for and belong to no idle factor."""
    side = [q for q in SIDE_FIGURES if q in problem.graph]
    read = problem.graph.upstream([*problem.outcomes, *problem.targets, *side])
    idle = {(f.quantity, f.label) for f in factors}
    idle -= {(f.quantity, f.label) for f in problem.factors}
    return [
        row
        for one in assignments
        for row in one.rows
        if row.quantity in read
        and (row.quantity, row.what) not in idle
        and not (row.quantity.endswith("_share") and row.spread == "no spread")
        and not (row.assumed and row.quantity.startswith(_UNREAD))
        and (bottled or not row.quantity.startswith(_BOTTLES_ONLY))
    ]


def _is_set(factor: Factor, knobs: tuple[Knob, ...]) -> bool:
    return any((k.quantity, k.row) == (factor.quantity, factor.row) for k in knobs)


def _targets(statements: Statements, graph: Graph) -> dict[str, Target]:
    targets, faults = {}, []
    for name, stated in statements.targets.items():
        phrase, quantity = stated.phrase, quantity_of(name)
        if model_unit_of(quantity) != stated.model_unit:
            quantity = in_unit(quantity, stated.model_unit)  # a gravity aimed at in °P
        if quantity not in graph:
            faults.append(f"line {stated.line}, target {name}: there is no quantity {quantity}")
        elif graph.axes(quantity):
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
        raise InputError(statements.name, faults)
    return targets


def _as_gravity(targets: Mapping[str, Target], name: str) -> Target:
    """Return the target of a gravity, also where its extract is aimed at; open if neither is."""
    one = next((one for one in reversed(pair_of(name)) if one in targets), name)
    target = targets.get(one, Target())
    return Target(
        *(None if end is None else as_gravity(one, end) for end in (target.lower, target.upper))
    )
