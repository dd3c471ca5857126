"""The studies behind specs: which are run for a recipe, and what they are run on."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import xarray as xr

from brewsim.answers.label_verdicts import EXTRACT, STRENGTH, PlaceRules, place_rules
from brewsim.answers.spec_question import Asked, as_judged, own_targets
from brewsim.beer.display_units import label_in
from brewsim.beer.requirements import Measured, Want
from brewsim.constants import WANTED_CHANCE
from brewsim.dims import FloatArray
from brewsim.priors.instruments import Instrument, instruments_for
from brewsim.priors.library import Priors
from brewsim.study.model.common_random_numbers import lands
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.model.targets import Target
from brewsim.study.model.targets import lands as is_inside
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.sweep import chance_and_error
from brewsim.study.sensitivity.variance_budget import Budget, variance_budget
from brewsim.study.tolerance.capability import SimulatedCapability, simulated_capability
from brewsim.study.tolerance.conformity import (
    Risks,
    acceptance_limits,
    conformance_probability,
    expected_conformance,
    simulated_risks,
)
from brewsim.study.tolerance.log_against_model import Observed, against_log
from brewsim.study.tolerance.specification import InARow, in_a_row
from brewsim.study.tolerance.tightening import Tightening, tighten
from brewsim.study.tolerance.value_of_information import (
    Measurement,
    Worths,
    decisions_along,
    exact_measurements,
    worth_of_measuring,
)

ON_THE_WAY = ("preboil_gravity_sg", "preboil_volume_l", "original_gravity_sg")
"""What can be read on the brew day, in time to do something about what comes after."""
SURE = 0.95
_BASES = {"log": math.e, "log2": 2.0}


@dataclass(frozen=True)
class Conformity:
    """One target, and one reading by one instrument held against it."""

    outcome: str
    target: Target
    instrument: Instrument
    uncertainty: float
    accepted: Target
    plain: Risks
    guarded: Risks


@dataclass(frozen=True)
class Verdict:
    """A measured value: its chance of conforming by itself, and with what was expected."""

    measured: Measured
    target: Target
    uncertainty: float
    alone: float
    together: float


@dataclass(frozen=True)
class SpecStudies:
    """Everything the spec panel says beyond the limits themselves.

    `aside` are the recipe's own targets in whose place others are wanted, `middles` what spreads
    are wanted around, `label` the strength on a label that was asked about, `within_reach` the
    factors somebody can turn or measure.
    """

    targets: Mapping[str, Target]
    wants: tuple[Want, ...] = ()
    aside: Mapping[str, Target] = field(default_factory=dict)
    middles: Mapping[str, float] = field(default_factory=dict)
    capability: Mapping[str, SimulatedCapability] = field(default_factory=dict)
    joint: tuple[float, float] | None = None
    conformity: tuple[Conformity, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    places: tuple[PlaceRules, ...] = ()
    label: float | None = None
    observed: tuple[Observed, ...] = ()
    batches: int = 0
    budget: Mapping[str, tuple[Budget, ...]] = field(default_factory=dict)
    tightened: Mapping[str, tuple[Tightening, ...]] = field(default_factory=dict)
    tightened_chance: float = WANTED_CHANCE
    within_reach: tuple[str, ...] = ()
    worths: Worths | None = None
    runs: Mapping[str, InARow] = field(default_factory=dict)
    folds: Mapping[str, float] = field(default_factory=dict)


def spec_studies(
    problem: Problem,
    priors: Priors,
    asked: Asked | None = None,
    *,
    draws: int = 65_536,
    seed: int = 1,
) -> SpecStudies:
    """Run what the spec panel needs; rare events are left out. Raises InputError, StudyError."""
    wish = as_judged(problem, asked or Asked())
    drawn = _drawn(problem, wish, draws, seed)
    middles = {w.quantity: float(np.nanmedian(drawn[w.quantity])) for w in wish.wants}
    targets = own_targets(problem, wish.wants) | {
        w.quantity: w.limits(middles[w.quantity]) for w in wish.wants
    }
    held = replace(without_events(problem), targets=targets)
    values = {name: drawn[name].to_numpy() for name in targets}
    plan = Plan(rows=drawn.sizes["draw"] // 8, seed=seed)
    scales = problem.scales
    return SpecStudies(
        targets=targets,
        wants=wish.wants,
        aside={n: t for n, t in problem.targets.items() if targets.get(n) != t},
        middles=middles,
        capability={
            n: simulated_capability(values[n], t, scale=scales.get(n, "linear"))
            for n, t in targets.items()
        },
        joint=chance_and_error(lands(values, held), plan) if targets else None,
        conformity=tuple(_conformity(priors, values, targets)),
        verdicts=tuple(_verdict(m, targets, drawn) for m in wish.measured),
        places=place_rules(drawn, wish.place, wish.label),
        label=wish.label,
        observed=against_log(held, wish.log, draws=16_384, seed=seed) if wish.log else (),
        batches=wish.batches,
        budget=variance_budget(held, list(targets), seed=seed) if targets else {},
        tightened=_tightened(held, wish, values, seed),
        within_reach=within_reach(held),
        tightened_chance=wish.chance,
        worths=worths_of(held, priors, seed),
        runs={n: in_a_row(held, n, targets[n], seed=seed) for n in _asked_for(wish, values, held)},
        folds={n: _BASES[s] for n, s in scales.items() if s != "linear"},
    )


def _drawn(problem: Problem, asked: Asked, draws: int, seed: int) -> xr.Dataset:
    extra = [w.quantity for w in asked.wants] + [m.quantity for m in asked.measured]
    keep = [n for n in (*extra, STRENGTH, EXTRACT) if n in problem.graph]
    return simulate(without_events(problem), draws=draws, seed=seed, keep=keep)


def _conformity(
    priors: Priors, values: Mapping[str, FloatArray], targets: Mapping[str, Target]
) -> list[Conformity]:
    found = []
    for name, target in targets.items():
        fitting = instruments_for(priors, name)
        y = values[name][np.isfinite(values[name])]
        if not fitting or not len(y):
            continue
        middle = float(np.median(y))
        best = min(fitting, key=lambda one: one.at(middle))
        uncertainty = best.at(middle)
        accepted = acceptance_limits(target, uncertainty, SURE)
        plain = simulated_risks(y, uncertainty, target, target)
        guarded = simulated_risks(y, uncertainty, target, accepted)
        found.append(Conformity(name, target, best, uncertainty, accepted, plain, guarded))
    return found


def _verdict(measured: Measured, targets: Mapping[str, Target], drawn: xr.Dataset) -> Verdict:
    target = targets.get(measured.quantity, Target())
    uncertainty = measured.instrument.at(measured.value)
    alone = conformance_probability(measured.value, uncertainty, target)
    values = drawn[measured.quantity].to_numpy()
    together = expected_conformance(values, measured.value, uncertainty, target)
    return Verdict(measured, target, uncertainty, alone, together)


def within_reach(problem: Problem) -> tuple[str, ...]:
    """Return the factors somebody can turn or measure; empty where the problem does not say."""
    return tuple(f.id for f in problem.factors if f.turnable or f.measurable)


def _tightened(
    problem: Problem, asked: Asked, values: Mapping[str, FloatArray], seed: int
) -> dict[str, tuple[Tightening, ...]]:
    """Ask what to tighten for every want, or else for the target that is met least often."""
    names = _asked_for(asked, values, problem)
    return {
        name: tighten(
            problem,
            name,
            chance=asked.chance,
            among=within_reach(problem),
            pairs=3,
            draws=8192,
            seed=seed,
        )
        for name in names
        if is_inside(values[name], problem.targets[name]).mean() < asked.chance
    }


def _asked_for(asked: Asked, values: Mapping[str, FloatArray], problem: Problem) -> list[str]:
    """Return the outcomes somebody wants something of, else the target that is met least often."""
    names = list(dict.fromkeys(w.quantity for w in asked.wants))
    if names or not values:
        return names
    met = {n: float(is_inside(y, problem.targets[n]).mean()) for n, y in values.items()}
    return [min(met, key=lambda n: met[n])]


def worths_of(problem: Problem, priors: Priors, seed: int) -> Worths:
    """Return what each measurement is worth, each knob being set by itself afterwards."""
    return worth_of_measuring(
        problem,
        measurements_of(problem, priors),
        decisions=decisions_along(problem, points=9) if problem.targets else (),
        draws=8192,
        seed=seed,
    )


def measurements_of(problem: Problem, priors: Priors) -> tuple[Measurement, ...]:
    """Return what could be measured: factors exactly, by an assay, and readings on the way."""
    exact: Sequence[Measurement] = exact_measurements(problem)
    assays = [
        Measurement(
            f"{m.label}, by {best.name}", m.quantity, m.factor, best.uncertainty, best.logged
        )
        for m in exact
        for best in instruments_for(priors, m.quantity)[:1]
    ]
    stated = {f.quantity for f in problem.factors}
    readings = [
        Measurement(f"{label_in(problem)(name)}, by {i.name}", name, "", i.uncertainty, i.logged)
        for name in ON_THE_WAY
        if name in problem.graph and name not in stated
        for i in instruments_for(priors, name)
        if i.name.startswith(("checked", "consumer", "volume"))
    ]
    return (*exact, *assays, *readings)
