"""Steer: knob settings that land in the targets, how little must move, and what is in the way.

Sample-average approximation on common scrambled draws (Kleywegt, Shapiro & Homem-de-Mello 2002,
SIAM J. Optim. 12, 479-502): a search on some draws finds the settings, and what is reported is
their chance on fresh draws.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy import optimize

from brewsim.constants import WANTED_CHANCE
from brewsim.dims import FloatArray
from brewsim.errors import StudyError
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator, lands
from brewsim.study.model.html_table import html_table
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.coverage import check_share
from brewsim.study.propagation.landing import Bracket, landing
from brewsim.study.propagation.sweep import chance_and_error, settings_along
from brewsim.study.steering.infeasibility import Obstacles, obstacles
from brewsim.study.steering.objective import Landscape
from brewsim.study.steering.search import best_settings, tuning, unmoved

_MARGIN = 0.01
_GRID = 33
_SEARCH_ROWS = 256
_CHECK_ROWS = 4096
_LIKELY_ROWS = 1024
_FRESH_SEED = 104_729
_A_BATCH = 1 / 50
_LEAST_STEP = 3e-3
"""Trust region, in shares of a knob's range, at which the search for the least change stops."""


@dataclass(frozen=True)
class Move:
    """Settings of some knobs (model units or a choice) and the chance they reach.

    `chance` is on fresh draws, for whatever is true; `searched` is what the search saw;
    `most_likely_truth` is the chance if everything unknown stood at its middle.
    """

    settings: Mapping[str, float | str]
    chance: float
    chance_error: float
    searched: float
    most_likely_truth: float
    change: float

    @property
    def optimism(self) -> float:
        """How much better the search thought it than the fresh draws say."""
        return self.searched - self.chance

    @property
    def doubtful(self) -> bool:
        """Whether the fresh draws, with their sampling error, hold a batch in 50 less."""
        return self.optimism - self.chance_error > _A_BATCH


@dataclass(frozen=True)
class SingleKnob:
    """One knob alone: the smallest move that reaches the wanted chance, or the best it can do.

    `bracket` is where the search saw the wanted chance, None where the fresh draws did not.
    """

    knob: str
    label: str
    reaches: bool
    move: Move
    bracket: Bracket | None


@dataclass(frozen=True)
class Steered:
    """Today's chance, what each knob can do alone, and the best and smallest combined moves."""

    wanted: float
    now: Move
    singles: tuple[SingleKnob, ...]
    best: Move
    smallest: Move | None
    obstacles: Obstacles
    remarks: tuple[str, ...] = field(default=())

    @property
    def doubts(self) -> tuple[str, ...]:
        """The remarks, where the search saw clearly more in its move than fresh draws do."""
        return self.remarks if (self.smallest or self.best).doubtful else ()

    @property
    def reaches(self) -> bool:
        """Whether any setting reaches the wanted chance."""
        return self.smallest is not None

    def _repr_html_(self) -> str:
        """Return a table for notebooks: the chance today, with each knob alone, with all."""
        moves = [("as it stands", self.now), *((one.label, one.move) for one in self.singles)]
        moves += [("all together", self.best)]
        rows = [(label, _settings(move), f"{move.chance:.3f}") for label, move in moves]
        told = "reaches" if self.reaches else "does not reach"
        caption = f"Steered: {told} a chance of {self.wanted:g}"
        return html_table(caption, ("knobs", "settings, model units", "chance"), rows)


def steer(
    problem: Problem,
    *,
    knobs: Sequence[str] | None = None,
    chance: float = WANTED_CHANCE,
    floors: Mapping[str, float] | None = None,
    seed: int = 1,
    progress: Progress | None = None,
) -> Steered:
    """Find knob settings whose joint chance of meeting all targets reaches `chance`.

    Every reported chance comes from 2^15 fresh draws; `searched` is what the search itself saw, so
    their difference is the search's optimism. `floors` are least middles of quantities, above 0:
    no setting below one is advised, because a target can be met by making next to nothing of what
    it compares. Raises StudyError without targets or knobs, or for a
    chance that is none.

    `knobs` are ids of those that may move, all of them without; settings are in model units. `seed`
    and `progress` as in `simulate`. Example: `steer(problem, chance=0.6).best.settings`.

    >>> import numpy as np
    >>> from brewsim import Knob, Problem, Target, normal
    >>> def total(level, dose):
    ...     return level + dose
    >>> problem = Problem.of(
    ...     [total],
    ...     {"level": normal(1.0, 0.2)},
    ...     fixed={"dose": 0.0},
    ...     targets={"total": Target(2.5, 3.5)},
    ...     knobs=(Knob("dose", "dose", "dose", low=0.0, high=4.0),),
    ... )
    >>> steer(problem, chance=0.9).reaches
    True
    """
    check_share("the wanted chance", chance)
    if not problem.targets:
        raise StudyError("nothing to steer for: the recipe has no targets")
    named = None if knobs is None else dict.fromkeys(knobs)
    chosen = [problem.knob(k) for k in named] if named is not None else list(problem.knobs)
    if not chosen:
        raise StudyError("nothing to steer with: the recipe has no knobs")
    tell = progress or (lambda _done, _text: None)
    search = _Search(problem, chosen, chance, seed, tell, floors or {})
    singles = search.singles()
    best = search.checked(best_settings(search.land, seed, search.progress))
    best = search.or_a_single(best, singles)
    smallest = search.smallest(best, singles) if best.chance >= chance else None
    search.progress(0.95, "what stands in the way")
    found = obstacles(search.land)
    remarks = (_fresh_remark(smallest or best),)
    return Steered(chance, search.checked({}), singles, best, smallest, found, remarks)


def _settings(move: Move) -> str:
    return ", ".join(
        f"{knob} {value if isinstance(value, str) else f'{value:.4g}'}"
        for knob, value in move.settings.items()
    )


def _fresh_remark(move: Move) -> str:
    gap = 50 * move.optimism
    word = "more" if gap >= 0 else "less"
    told = f"{abs(gap):.1f} of 50 {word}" if abs(gap) >= 0.05 else "the same"
    return (
        f"Checked on fresh draws (sampling error {50 * move.chance_error:.1f} of 50): the search"
        f" itself saw {told}. If everything unknown stood at its most likely value,"
        f" {50 * move.most_likely_truth:.0f} of 50 would land."
    )


class _Search:
    """Shared state of one steering: the landscape, and fresh draws to check on."""

    def __init__(
        self,
        problem: Problem,
        knobs: list[Knob],
        wanted: float,
        seed: int,
        progress: Progress,
        floors: Mapping[str, float],
    ) -> None:
        self.problem, self.wanted, self.progress, self.seed = problem, wanted, progress, seed
        self.land = Landscape(problem, knobs, Plan(rows=_SEARCH_ROWS, seed=seed), floors)
        self._plan = Plan(rows=_CHECK_ROWS, seed=seed + _FRESH_SEED)
        outcomes = self.land.outcomes
        self._check = Evaluator(problem, CommonDraws([problem], self._plan), outcomes)
        likely = CommonDraws(
            [problem], replace(self._plan, rows=_LIKELY_ROWS), held=frozenset({"knowledge"})
        )
        self._likely = Evaluator(problem, likely, outcomes)

    def checked(self, settings: Mapping[str, float | str]) -> Move:
        """Judge settings on fresh draws, for whatever is true and for the most likely truth."""
        landed = lands(self._check.at(settings), self.problem)
        chance, error = chance_and_error(landed, self._plan)
        likely = float(lands(self._likely.at(settings), self.problem).mean())
        searched = self.land.look(settings).chance
        change = self.land.distance(settings)
        return Move(dict(settings), chance, error, searched, likely, change)

    # one knob ------------------------------------------------------------------------------
    def singles(self) -> tuple[SingleKnob, ...]:
        """Return what each knob can do alone, the most promising first."""
        found = []
        for count, knob in enumerate(self.land.knobs):
            self.progress(0.3 * count / len(self.land.knobs), f"{knob.label} alone")
            found.append(self._single(knob))
        return tuple(sorted(found, key=lambda s: (not s.reaches, -s.move.chance)))

    def _single(self, knob: Knob) -> SingleKnob:
        where, now = settings_along(knob, _GRID), self.land.now[knob.id]
        if now not in where:
            where = [*where, now] if knob.choices else sorted([*where, now])
        self.land.look_each({knob.id: setting} for setting in where)
        chances = np.array([self.land.look({knob.id: setting}).chance for setting in where])
        good = [i for i in range(len(where)) if chances[i] >= self.wanted + _MARGIN]
        distances = [self.land.distance({knob.id: setting}) for setting in where]
        pick = min(range(len(where)), key=lambda i: (-chances[i], distances[i]))
        if good:
            pick = min(good, key=lambda i: (distances[i], -chances[i]))
        move = self.checked({knob.id: where[pick]})
        reaches = move.chance >= self.wanted
        span = landing(knob, where, chances, self.wanted) if reaches else None
        return SingleKnob(knob.id, knob.label, reaches, move, span)

    def or_a_single(self, best: Move, singles: Sequence[SingleKnob]) -> Move:
        """Return the best move, or one of a single knob where fresh draws like that better."""
        better = max((single.move for single in singles), key=lambda move: move.chance)
        if better.chance <= best.chance:
            return best
        return replace(better, settings={**self.land.now, **better.settings})

    # as little as possible -----------------------------------------------------------------
    def smallest(self, best: Move, singles: Sequence[SingleKnob]) -> Move | None:
        """Return the least movement whose chance stays at or above the wanted one."""
        candidates = [best, *(s.move for s in singles if s.reaches)]
        choice = {k.id: str(best.settings[k.id]) for k in self.land.choosers}
        stay = {k.id: str(self.land.now[k.id]) for k in self.land.choosers}
        self.progress(0.85, "the smallest change that suffices")
        for option in (stay, choice) if stay != choice else (choice,):
            move = self._least(best, option)
            if move is not None:
                candidates.append(move)
        good = [m for m in candidates if m.chance >= self.wanted]
        return min(good, key=lambda m: (round(m.change, 6), -m.chance)) if good else None

    def _least(self, best: Move, choice: dict[str, str]) -> Move | None:
        if not self.land.dials:
            return self.checked(choice)
        today, start = self.land.place({}), self.land.place(best.settings)
        result = optimize.minimize(
            lambda spot: float(np.abs(spot - today).sum()),
            start,
            method="COBYQA",
            bounds=[(0.0, 1.0)] * len(start),
            constraints=[
                optimize.NonlinearConstraint(lambda spot: self._spare(spot, choice), 0.0, np.inf)
            ],
            options=tuning(len(start), _LEAST_STEP),
        )
        for step in np.linspace(0.0, 1.0, 11):
            spot = (1 - step) * np.asarray(result.x) + step * start
            settings = self.land.settings(spot, choice, snapped=True)
            if self._suffices(settings):
                return self.checked(unmoved(self.land, settings, self._suffices))
        return None

    def _suffices(self, settings: Mapping[str, float | str]) -> bool:
        return self.land.look(settings).chance >= self.wanted + _MARGIN

    def _spare(self, spot: FloatArray, choice: dict[str, str]) -> float:
        """Chance above the wanted one, with a trace of the smooth one so that it has a slope."""
        settings = self.land.settings(spot, choice, snapped=False)
        chance = self.land.look(settings).chance + 1e-3 * self.land.smooth(settings)
        return chance - self.wanted - _MARGIN
