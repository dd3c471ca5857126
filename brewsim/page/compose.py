"""The whole page of a recipe: which studies it takes, and what the recipe adds to them."""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from typing import ParamSpec, TypeVar

import numpy as np
import xarray as xr

from brewsim.answers.spec_question import Asked
from brewsim.answers.specification import SpecStudies, spec_studies
from brewsim.beer.assumptions import Row
from brewsim.beer.display_units import label_in, rows_of
from brewsim.beer.statements import Basis, resolve
from brewsim.beer.unknown_names import near_misses
from brewsim.constants import WANTED_CHANCE
from brewsim.dims import FloatArray
from brewsim.priors.library import Priors
from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import percent
from brewsim.quantities.format import value
from brewsim.recipe.schema import Recipe
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress
from brewsim.study.propagation.figures import MOST_BAD
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise
from brewsim.study.propagation.sweep import turn_all
from brewsim.study.propagation.variance_by_kind import spread_by_kind
from brewsim.study.sensitivity.factor_groups import By
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.steering.steering import steer
from brewsim.study.tolerance.specification import specify
from brewsim.wording.cautions import dangers
from brewsim.wording.content import Batches, Content, Panel
from brewsim.wording.facts import facts_of, numbered_rows
from brewsim.wording.knobs import knob_curves, steered_panel
from brewsim.wording.lead import STRONGEST, lead_reading
from brewsim.wording.outcomes import Extras, content_of
from brewsim.wording.specification.specification import spec_panel
from brewsim.wording.what_if import what_if

P = ParamSpec("P")
R = TypeVar("R")
_SIDE = ("tinseth_ibu", "rager_ibu", "garetz_ibu", "rating_excess_vol", STRONGEST)


@dataclass(frozen=True)
class Studied:
    """A finished page and the summary its headline sentences come from."""

    content: Content
    draws: xr.Dataset
    summary: xr.Dataset


def studied(
    recipe: Recipe,
    problem: Problem,
    rows: Sequence[Row],
    priors: Priors,
    *,
    draws: int | str = 16_384,
    seed: int = 1,
    chance: float = WANTED_CHANCE,
    batches: Batches | None = None,
    executor: Executor | None = None,
    progress: Progress = lambda _done, _text: None,
) -> Studied:
    """Run every study the page shows and gather its content.

    With an `executor` two of the longer studies run beside the others; no figure changes.
    """
    aside = bool(problem.targets and problem.knobs)
    steered = _begun(executor, steer, problem, chance=chance, seed=seed) if aside else None
    asked = Asked(chance=chance)
    judged = _begun(executor, spec_studies, problem, priors, asked, draws=16_384, seed=seed)
    keep = [name for name in _SIDE if name in problem.graph]
    progress(0.0, "simulating")
    drawn = simulate(problem, draws=draws, seed=seed, keep=keep)  # type: ignore[arg-type]
    summary = summarise(drawn[[n for n in drawn.data_vars if n not in keep]])
    progress(0.2, "ranking what drives it")
    bases: dict[By, int] = {"factor": 2048, "group": 1024, "kind": 1024}
    ranked = [rank(problem, base=base, seed=seed, by=by) for by, base in bases.items()]
    progress(0.45, "own scatter")
    spread = spread_by_kind(problem, seed=seed)
    looks = rows_of(problem)
    progress(0.55, "knobs")
    turned = turn_all(problem, draws=2048, seed=seed)
    progress(0.65, "limits")
    specified = specify(problem, draws=16_384, seed=seed)
    progress(0.85, "where the knobs land")
    joint = summary.attrs.get("joint_in_target")
    panel = Panel()
    if steered is not None:
        today = (float(joint), float(summary.attrs["joint_in_target_error"])) if joint else None
        panel = steered_panel(problem, steered(), looks, today)
    studies = judged()
    understood, assumed, sources = numbered_rows(rows)
    misread = near_misses(Basis(resolve(recipe), priors))
    extras = Extras(
        dangers=dangers(facts_of(recipe, problem, priors, drawn)),
        knobs=knob_curves(problem, turned, looks, chance),
        knob_panel=panel,
        spec=spec_panel(problem, specified, looks, studies=studies),
        batches=batches or Batches(panel=Panel()),
        understood=understood,
        assumed=assumed,
        warnings=(*recipe.remarks, *misread, *formula_spread(drawn), *lead_reading(drawn)),
        sources=sources,
        looks=looks,
    )
    content = content_of(
        drawn,
        summary,
        by_factor=ranked[0],
        by_group=ranked[1],
        by_kind=ranked[2],
        removable=_removable(studies),
        spread=spread,
        extras=extras,
        label=label_in(problem),
    )
    tried = what_if(problem, turned, content.outcomes, content.joint_chance)
    return Studied(replace(content, what_if=tried), drawn, summary)


def _begun(
    executor: Executor | None, study: Callable[P, R], *given: P.args, **named: P.kwargs
) -> Callable[[], R]:
    """Begin a study where there is somebody to run it; returns what waits for its result."""
    if executor is None:
        return partial(study, *given, **named)
    return executor.submit(study, *given, **named).result


def _removable(studies: SpecStudies) -> dict[str, Mapping[str, float]]:
    """Return what exact knowledge of each factor's lasting and lot part takes away."""
    found = studies.worths.found if studies.worths else ()
    return {
        worth.measurement.factor: worth.explained
        for worth in found
        if worth.measurement.factor and worth.measurement.uncertainty == 0
    }


def formula_spread(drawn: xr.Dataset) -> list[str]:
    """Say what the usual bitterness formulas would promise for this recipe."""
    names = {"tinseth_ibu": "Tinseth's", "rager_ibu": "Rager's", "garetz_ibu": "Garetz's"}
    told = [
        f"{words} {_median(name, drawn[name].to_numpy())}"
        for name, words in names.items()
        if name in drawn
    ]
    if not told:
        return []
    here = _median("bitterness_ibu", drawn["bitterness_ibu"].to_numpy())
    sentence = f"Formulas disagree: for this recipe {', '.join(told)} IBU, against {here} here."
    return [f"{sentence} Garetz's is a stand-in curve from memory."]


def _median(quantity: str, values: FloatArray) -> str:
    """Return the median of the draws that have a value, and say where some have none."""
    known = values[np.isfinite(values)]
    if not known.size:
        return "no"
    without = 1 - known.size / values.size
    told = value(outcome_of(quantity), float(np.median(known)))
    return f"{told} (no value in {percent(without)} of the draws)" if without > MOST_BAD else told
