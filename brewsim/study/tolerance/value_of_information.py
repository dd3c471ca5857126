"""What to measure: how much narrower an outcome would be known, and what a decision would gain.

Only what holds before the brew can be measured away: a factor's knowledge and lot part, never its
batch scatter. A measurement of limited accuracy is simulated: the score it shows is mixed with an
error, so that its reliability r leaves sqrt(r) z + sqrt(1 - r) e.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, Settings, lands
from brewsim.study.model.factor import Factor
from brewsim.study.model.html_table import SHOWN, html_table
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan, without_events
from brewsim.study.propagation.figures import on_scale
from brewsim.study.propagation.sweep import current_setting, settings_along
from brewsim.study.sensitivity.given_data import ScoreFits

MEASURABLE_KINDS = frozenset({"knowledge", "lot"})
"""What varies from brew to brew cannot be measured away beforehand."""
LEAST_GAIN = 0.005
"""Below half a point in a hundred no gain means anything."""


@dataclass(frozen=True)
class Measurement:
    """One way to know something earlier: an exact factor, an assay of it, or a reading on the way.

    `quantity` is a factor's quantity, or a computed one that is read during the brew. The
    standard uncertainty `uncertainty` is in its unit, of its natural logarithm where `logged`;
    0 means exactly.

    >>> Measurement("alpha acids", "alpha_fraction", uncertainty=0.02, logged=True).factor
    ''
    """

    label: str
    quantity: str
    factor: str = ""
    uncertainty: float = 0.0
    logged: bool = False


@dataclass(frozen=True)
class Worth:
    """What one measurement is worth.

    By outcome: `explained`, the share of the variance it takes away, and `width`, the half width
    of the interval that is left on average (outcome's own scale). `reliability` is the share of
    the measured variance that is real. `gain` is how much the best chance of landing in every
    target would rise if the knobs were set after measuring; 0 for a reading on the way, which
    comes too late for them.
    """

    measurement: Measurement
    reliability: float
    explained: Mapping[str, float]
    width: Mapping[str, float]
    gain: float = 0.0


@dataclass(frozen=True)
class Worths:
    """All measurements tried, the half widths now, and the best chance a knob reaches now."""

    found: tuple[Worth, ...]
    width: Mapping[str, float]
    coverage: float
    chance_now: float = float("nan")
    best_chance: float = float("nan")
    best_setting: Settings = field(default_factory=dict)

    def _repr_html_(self) -> str:
        """Return a table for notebooks: what each measurement takes away, and what it gains."""
        names = list(self.width)
        ranked = sorted(self.found, key=lambda w: -max(w.explained.values(), default=0.0))
        rows = [
            (
                one.measurement.label,
                *(f"{one.explained[name]:.1%}" for name in names),
                f"{one.gain:+.3f}",
            )
            for one in ranked[:SHOWN]
        ]
        header = ("measurement", *(f"share of {name}" for name in names), "chance gained")
        return html_table("What measuring takes away", header, rows)

    def for_outcome(self, outcome: str, least: float = 0.01) -> tuple[Worth, ...]:
        """Return the measurements that take at least that share of the variance, best first."""
        kept = [w for w in self.found if w.explained[outcome] >= least]
        return tuple(sorted(kept, key=lambda w: -w.explained[outcome]))

    def for_decision(self) -> tuple[Worth, ...]:
        """Return the measurements that raise the best chance by half a point or more."""
        kept = [w for w in self.found if w.gain >= LEAST_GAIN]
        return tuple(sorted(kept, key=lambda w: -w.gain))


def exact_measurements(problem: Problem) -> tuple[Measurement, ...]:
    """Return exact knowledge of every factor that can be measured before the brew."""
    return tuple(
        Measurement(f.label, f.quantity, f.id)
        for f in problem.factors
        if f.measurable and _measurable_share(f) > 0 and not f.event
    )


def _measurable_share(factor: Factor) -> float:
    return sum(share for kind, share in factor.kinds.items() if kind in MEASURABLE_KINDS)


def decisions_along(problem: Problem, points: int = 17) -> tuple[dict[str, float | str], ...]:
    """Return what could be decided: today's settings first, then each knob alone along its range.

    Today's setting of every knob is one decision, not one per knob.
    """
    found: list[dict[str, float | str]] = [{}]
    for knob in problem.knobs:
        now = current_setting(problem, knob)
        found += [{knob.id: s} for s in settings_along(knob, points) if s != now]
    return tuple(found)


def worth_of_measuring(
    problem: Problem,
    measurements: Sequence[Measurement] | None = None,
    *,
    decisions: Sequence[Settings] = (),
    coverage: float = 0.9,
    draws: int = 16_384,
    seed: int = 1,
) -> Worths:
    """Return what each measurement is worth, on common draws; rare events are left out.

    Without `measurements`, exact knowledge of everything measurable. `decisions` are settings of
    knobs (see `decisions_along`); without them, or without targets, nothing is decided and every
    gain is 0. What a score without effect would seem to gain is taken off. Fits are polynomials
    of degree 6 in the rank of what was measured (Strong, Oakley & Brennan, Medical Decision
    Making 34, 2014, 311). Raises StudyError for unknown names.

    `coverage` is of the interval whose half width is told; `draws` of one `seed` are common to all.

    >>> from brewsim import Problem, normal
    >>> def total(a, b):
    ...     return a + b
    >>> factors = {"a": normal(1.0, 0.3), "b": normal(2.0, 0.4)}
    >>> problem = Problem.of([total], factors)
    >>> exactly = Measurement("b", "b", factor="b")
    >>> round(worth_of_measuring(problem, [exactly]).found[0].explained["total"], 2)
    0.64
    """
    usual = without_events(problem)
    asked = exact_measurements(usual) if measurements is None else tuple(measurements)
    outcomes = [n for n in usual.outcomes if not usual.graph.axes(n)]
    read = [m.quantity for m in asked if not m.factor]
    names = tuple(dict.fromkeys((*outcomes, *usual.targets, *read)))
    plan = Plan.of(draws, seed)
    common = CommonDraws([usual], plan, by_kind=True)
    evaluator = Evaluator(usual, common, names)
    base = evaluator.at()
    shown = _Shown(usual, common, base, seed)
    scores, reliabilities = _all_shown(shown, asked)
    landed = _landed(evaluator, usual, decisions)
    scale = usual.scales
    values = [on_scale(base[name], scale.get(name, "linear")) for name in outcomes]
    fitted = ScoreFits(values, landed, coverage, seed)
    kept, gains = fitted.of(scores)
    found = tuple(
        Worth(
            measurement,
            reliabilities[i],
            {name: kept[i][k][0] for k, name in enumerate(outcomes)},
            {name: kept[i][k][1] for k, name in enumerate(outcomes)},
            gains[i] if measurement.factor else 0.0,
        )
        for i, measurement in enumerate(asked)
    )
    now = dict(zip(outcomes, fitted.now, strict=True))
    if not len(landed):
        return Worths(found, now, coverage)
    means = landed.mean(axis=1)
    best = int(means.argmax())
    return Worths(found, now, coverage, float(means[0]), float(means[best]), decisions[best])


def _landed(evaluator: Evaluator, problem: Problem, decisions: Sequence[Settings]) -> FloatArray:
    if not problem.targets or not decisions:
        return np.empty((0, evaluator.size))
    return np.stack([lands(evaluator.at(settings), problem) for settings in decisions])


class _Shown:
    """What a measurement would show, as a score that rises with it."""

    def __init__(
        self, problem: Problem, common: CommonDraws, base: Mapping[str, FloatArray], seed: int
    ) -> None:
        self._problem, self._base, self._seed = problem, base, seed
        rows = common.factor_rows(problem)
        held = CommonDraws([problem], common.plan, by_kind=True, held=MEASURABLE_KINDS)
        rest = held.factor_rows(problem)
        self._parts = {
            f.id: full - kept for f, full, kept in zip(problem.factors, rows, rest, strict=True)
        }

    def of(self, place: int, measurement: Measurement) -> tuple[FloatArray, float]:
        """Return the score shown, (n,), and the measurement's reliability."""
        error = np.random.default_rng([self._seed, place]).standard_normal
        if not measurement.factor:
            values = self._base[measurement.quantity]
            values = np.log(values) if measurement.logged else values
            real = float(np.nanvar(values))
            noise = measurement.uncertainty**2
            return values + measurement.uncertainty * error(len(values)), real / (real + noise)
        factor = self._problem.factor(measurement.factor)
        part = self._parts[factor.id]
        spread = float(part.std())
        if spread == 0:
            return part, 0.0
        score_error = measurement.uncertainty / _slope(factor, logged=measurement.logged)
        return part + score_error * error(len(part)), spread**2 / (spread**2 + score_error**2)


def _slope(factor: Factor, *, logged: bool) -> float:
    """Return how much the value (or its logarithm) changes with one unit of its score."""
    ends = factor.distribution.from_score(np.array([-1.0, 1.0]))
    if logged:
        if ends[0] <= 0:
            raise StudyError(f"{factor.id}: a relative accuracy needs values above 0")
        ends = np.log(ends)
    return float(ends[1] - ends[0]) / 2


def _all_shown(shown: _Shown, asked: Sequence[Measurement]) -> tuple[FloatArray, list[float]]:
    found = [shown.of(place, measurement) for place, measurement in enumerate(asked)]
    scores = np.stack([score for score, _ in found]) if found else np.empty((0, 0))
    return scores, [reliability for _, reliability in found]
