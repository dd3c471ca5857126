"""Choices between whole problems: another yeast, another formula, another vessel.

Each option is a problem of its own, so that it may need other formulas or other factors; what the
options share is drawn once.
"""

from collections.abc import Mapping, Sequence

import numpy as np
import xarray as xr

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.sweep import along, column

_SAME = 1e-9
"""Options closer than this many standard deviations are the same."""


def options_of(problem: Problem, knob: Knob) -> dict[str, Problem]:
    """Return the problem with each choice of a knob made; empty for a knob that is a dial."""
    return {choice.label: problem.set({knob.id: choice.label}) for choice in knob.choices}


def turn_between(
    options: Mapping[str, Problem],
    *,
    current: str,
    label: str,
    draws: int = 4096,
    seed: int = 1,
    coverage: float = 0.9,
) -> xr.Dataset:
    """Judge whole problems side by side on common draws, laid out as `turn` lays out a choice.

    The targets are those of the first option. Raises StudyError when they share no outcome.
    """
    plan, names = Plan.of(draws, seed), _shared(options)
    common = CommonDraws(list(options.values()), plan, by_kind=True)
    values = {label: Evaluator(p, common, names).at() for label, p in options.items()}
    columns = [
        column(problem, values[label], plan, coverage, values[current])
        for label, problem in options.items()
    ]
    about = {"knob": label, "label": label, "unit": "", "current": current}
    found = along(list(options), names, columns, about)
    return found.assign(per_tenth=(("outcome",), np.full(len(names), np.nan)))


def choice_shares(
    options: Mapping[str, Problem], *, draws: int = 8192, seed: int = 1
) -> xr.Dataset:
    """Return what share of each outcome's variance a choice makes if every option is as likely.

    Dims (outcome,): `first_order` Var(E[y | choice]) / Var(y) and `total_order`
    E[Var(y | all else)] / Var(y), each with `_low` and `_high` (95 % t interval over the
    replicates); on the outcome's own scale. Source: Saltelli et al., Comput. Phys. Commun. 181
    (2010) 259 (both indices of a discrete input, here summed over its options exactly).
    """
    plan, names = Plan.of(draws, seed), _shared(options)
    common = CommonDraws(list(options.values()), plan, by_kind=True)
    tables = [Evaluator(p, common, names).at() for p in options.values()]
    first_problem = next(iter(options.values()))
    found = {
        name: _shares(
            np.stack([table[name] for table in tables]), plan, first_problem.scales.get(name)
        )
        for name in names
    }
    keys = [f"{order}_order{end}" for order in ("first", "total") for end in ("", "_low", "_high")]
    return xr.Dataset(
        {key: (("outcome",), [found[n][i] for n in names]) for i, key in enumerate(keys)},
        coords={"outcome": list(names)},
        attrs={"options": list(options), "draws": plan.draws, "seed": seed},
    )


def _shared(options: Mapping[str, Problem]) -> tuple[str, ...]:
    if len(options) < 2:
        raise StudyError("a choice needs at least two options")
    first, *rest = options.values()
    wanted = dict.fromkeys((*first.outcomes, *first.targets))
    names = tuple(name for name in wanted if all(name in p.graph for p in rest))
    if not names:
        raise StudyError("the options have no outcome in common")
    return names


def _shares(values: FloatArray, plan: Plan, scale: str | None) -> Sequence[float]:
    with np.errstate(all="ignore"):
        y = np.log2(values) if scale not in (None, "linear") else values
    y = y.reshape(len(values), plan.replicates, plan.rows)
    bad = np.logical_or.reduce(~np.isfinite(y))
    y = np.where(bad, np.nan, y)
    if np.logical_and.reduce(bad, axis=1).any():
        return (np.nan,) * 6
    variance = np.nanvar(y, axis=(0, 2))
    safe = np.where(variance > 0, variance, 1.0)
    y = np.where(np.ptp(y, axis=0) > _SAME * np.sqrt(safe)[:, None], y, y[:1])
    apart = y - y[:1]  # from the first option, so that equal options differ by exactly nothing
    first = np.nanmean(apart, axis=2).var(axis=0) / safe
    total = np.nanmean(apart.var(axis=0), axis=1) / safe
    found: list[float] = []
    for share in (first, total):
        half = float(half_width(share))
        found += [float(share.mean()), float(share.mean()) - half, float(share.mean()) + half]
    return found
