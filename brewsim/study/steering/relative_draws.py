"""The next brew beside tasted ones: paired draws of the same truth, each brew with its own scatter.

A tasted batch is seen with the latents of its own brew, the next brew without them; what lasts is
one posterior draw for both, so that nearly all ignorance cancels in their ratio.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from brewsim.dims import FloatArray
from brewsim.study.inference.panel import PEOPLE
from brewsim.study.inference.posterior import Learned
from brewsim.study.model.batch import Batch, latent_names
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, Settings
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.scatter import SCATTER

NEXT = "next"
_Made = tuple[tuple[str, str], ...]
_MOST_VARIANTS = 16


@dataclass(frozen=True)
class View:
    """Posterior draws under the names a problem asks for: latent -> (draws,), with replicates."""

    draws: Mapping[str, FloatArray]
    replicate: FloatArray


def own_view(learned: Learned, batch: Batch) -> View:
    """Return the draws as a tasted batch saw them, the scatter of its own brew included."""
    found = {}
    for factor in batch.problem.factors:
        there = latent_names(factor, NEXT)
        for kind, name in latent_names(factor, batch).items():
            if name in learned.draws:
                found[there[kind]] = learned.draws[name]
    return View(found, learned.replicate)


def next_view(learned: Learned, batch: Batch, problem: Problem) -> View:
    """Return the draws as a next brew sees them: what lasts, and the lots of a batch it shares.

    Both unnamed, or of the same name: the same bag.
    """
    lots = {factor.id: factor.lot for factor in batch.problem.factors}
    found = {}
    for factor in problem.factors:
        here, there = latent_names(factor, batch), latent_names(factor, NEXT)
        for kind, name in here.items():
            same = kind == "knowledge" or (kind == "lot" and lots.get(factor.id) == factor.lot)
            if same and name in learned.draws:
                found[there[kind]] = learned.draws[name]
    found |= {name: drawn for name, drawn in learned.draws.items() if name.endswith(SCATTER)}
    return View(found, learned.replicate)


class RelativeDraws:
    """Outcomes of tasted batches, of the same wort with knobs turned, and of the next brew.

    `start` is the tasted batch that the next brew is turned from, `problem` its problem with the
    knobs; `brews` is how many brews follow. Draws are (plan.draws,); one row is one truth.
    """

    def __init__(
        self,
        learned: Learned,
        tasted: Sequence[Batch],
        start: Batch,
        problem: Problem,
        outcomes: Sequence[str],
        plan: Plan,
        *,
        held: Sequence[str] | None = None,
        brews: int = 1,
    ) -> None:
        self.plan, self.problem = plan, problem
        self._wanted = tuple(outcomes)
        self._held = tuple(outcomes if held is None else held)
        self._own, self._lasting = own_view(learned, start), next_view(learned, start, problem)
        self._variants: dict[_Made, tuple[Problem, Problem]] = {(): self._pair({})}
        for choices in _choices(problem):
            self._variants[tuple(sorted(choices.items()))] = self._pair(choices)
        seen = {b.id: replace(b.problem, learned=own_view(learned, b)) for b in tasted}
        everything = [*seen.values(), *(p for pair in self._variants.values() for p in pair)]
        scatter = frozenset({"batch"})
        self._draws = CommonDraws(everything, plan, by_kind=True, fresh=scatter, brews=brews)
        asked = tuple(dict.fromkeys((*self._wanted, *self._held)))
        self.tasted = {name: Evaluator(p, self._draws, asked).at() for name, p in seen.items()}
        self._evaluators: dict[object, Evaluator] = {}
        chosen = self._draws.picked(self._variants[()][1])
        self._rng = np.random.default_rng(plan.seed)
        self._people: dict[str, FloatArray] = {}
        if chosen is not None:
            people = (name for name in learned.draws if name.endswith(PEOPLE))
            self._people = {name: learned.draws[name][chosen] for name in people}

    def _pair(self, choices: Mapping[str, str]) -> tuple[Problem, Problem]:
        """Return (same wort, next brew) with choices made.

        A factor that a choice redistributes is another one: nothing learned of the old follows it.
        """
        made = self.problem.set(choices)
        label = ", ".join(choices[name] for name in sorted(choices))
        old = {f.id: f.distribution for f in self.problem.factors}
        moved = {f.id for f in made.factors if f.distribution is not old[f.id]}
        factors = tuple(
            replace(f, id=f"{f.id} ({label})", lot="") if f.id in moved else f for f in made.factors
        )
        kept = tuple(c for c in made.correlations if moved.isdisjoint(c.ids))
        fresh = replace(made, factors=factors, correlations=kept)
        return replace(fresh, learned=self._own), replace(fresh, learned=self._lasting)

    def score(self, latent: str) -> FloatArray:
        """Return the scores of a person's latent, (draws,); as before where nothing was learned."""
        if latent not in self._people:
            self._people[latent] = self._rng.standard_normal(self.plan.draws)
        return self._people[latent]

    def same_wort(self, settings: Settings) -> dict[str, FloatArray]:
        """Return the held outcomes of the tasted brew with knobs turned."""
        return self._at(settings, self._held, brew=0)

    def next_brew(self, settings: Settings, brew: int = 1) -> dict[str, FloatArray]:
        """Return the wanted outcomes of the next brew with knobs turned; 2 is the one after."""
        return self._at(settings, self._wanted, brew=brew)

    def _at(
        self, settings: Settings, outcomes: Sequence[str], *, brew: int
    ) -> dict[str, FloatArray]:
        choices = {
            name: value
            for name, value in settings.items()
            if isinstance(value, str) and value != self.problem.knob(name).current
        }
        dials = {name: value for name, value in settings.items() if not isinstance(value, str)}
        variant = tuple(sorted(choices.items()))
        key = (variant, brew)
        if key not in self._evaluators:
            problem = self._variants[variant][min(brew, 1)]
            self._evaluators[key] = Evaluator(problem, self._draws, outcomes, again=brew)
        return self._evaluators[key].at(dials)


def _choices(problem: Problem) -> list[dict[str, str]]:
    """Return combinations of choices other than today's, at most so many of them."""
    choosers = [knob for knob in problem.knobs if knob.choices]
    rows = product(*([c.label for c in knob.choices] for knob in choosers))
    found = []
    for row in rows:
        pairs = zip(choosers, row, strict=True)
        changed = {k.id: label for k, label in pairs if label != (k.current or k.choices[0].label)}
        if changed:
            found.append(changed)
    found.sort(key=len)
    return found[:_MOST_VARIANTS]
