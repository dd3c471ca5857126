"""What to brew after a tasted batch: the wish, what is held, and the settings chosen."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from brewsim.answers.what_teaches import what_teaches
from brewsim.beer.knob_limits import kept_present, limited, stopped
from brewsim.beer.levers import unlisted_knobs
from brewsim.beer.thiol_sources import thiol_sources
from brewsim.errors import InputError
from brewsim.logbook.brew import Batches
from brewsim.logbook.learning import learned_from
from brewsim.logbook.tasting_entries import STRENGTHS
from brewsim.logbook.wished import AMOUNTS, Aims, aims_of, question_problem
from brewsim.priors.library import Priors
from brewsim.priors.panel import panel_of
from brewsim.recipe.schema import Recipe
from brewsim.recipe.wishes import Wish
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.sensory_answers import Word
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import Progress
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target
from brewsim.study.steering.aims import Fold, JustRight
from brewsim.study.steering.origin import Origin, origin
from brewsim.study.steering.relative_steering import (
    Ends,
    Question,
    RelativeSteering,
    search_from,
    steer_from,
)
from brewsim.study.steering.worth_next import Lesson

ABOUT = (*AMOUNTS.values(), "alcohol_by_volume_fraction", "beer_color_ebc")
"""Outcomes that every answer reports beside what is wished and held."""
_WORD_ROWS = 256


@dataclass(frozen=True)
class NextBeer:
    """The answer to a wish: what was asked, what was learned, the moves.

    `knobs` are those that could move; the question's problem has the other levers of the recipe
    beside them. `stopped` are knobs that the chosen move takes as low as a source of aroma may go;
    `lessons` say what the next brew can teach.
    """

    aims: Aims
    learned: Learned
    question: Question
    knobs: tuple[Knob, ...]
    steering: RelativeSteering
    log: Batches
    still_too_much: "JustRightFolds | None" = None
    origin: Origin | None = None
    lessons: tuple[Lesson, ...] = ()
    stopped: tuple[str, ...] = ()


@dataclass(frozen=True)
class JustRightFolds:
    """At which fold of the tasted batch each taster would say just right.

    `too_much` is the share of tasters and draws to whom the middle of the wished fold is more.
    """

    just_right: Mapping[str, Ends]
    too_much: float


def just_right_folds(question: Question, aims: Aims, seed: int = 1) -> JustRightFolds | None:
    """Return what the words say of a wished fold of thiols; None where it is no such wish."""
    wish = aims.wishes.get("thiols")
    words = tuple(a for a in aims.start.answers if isinstance(a, Word) and a.attribute == "thiols")
    if not isinstance(wish, Fold) or not words or not np.isfinite(wish.high - wish.low):
        return None
    land = question.draws(Plan(rows=_WORD_ROWS, seed=seed))
    amount = land.tasted[aims.start.id][AMOUNTS["thiols"]]
    wished = np.log2(1 + amount * 2 ** ((wish.low + wish.high) / 2))
    found, above = {}, []
    for taster in dict.fromkeys(word.taster for word in words):
        judge = JustRight(STRENGTHS["thiols"], "thiols", (taster,), words[0].panel)
        ideal, half = judge.ideal(taster, land.score)
        with np.errstate(all="ignore"):
            share = np.maximum(np.exp2(ideal) - 1, 0.0) / amount
        known = share[np.isfinite(share)]
        found[taster or "them"] = Ends(*(float(v) for v in np.quantile(known, [0.05, 0.5, 0.95])))
        above.append(float(np.mean(wished > ideal + half)))
    return JustRightFolds(found, float(np.mean(above)))


def next_beer(
    recipe: Recipe,
    problem: Problem,
    log: Batches,
    priors: Priors,
    *,
    wishes: Sequence[Wish] = (),
    knobs: Sequence[str] | None = None,
    seed: int = 1,
    time_limit_s: float = 10.0,
    teach: bool = True,
    progress: Progress | None = None,
) -> NextBeer:
    """Learn from a log with tasted batches and steer from the one that the wish is about.

    Args:
        recipe: as read; its wish, hold and limits are used.
        problem: posed from it.
        log: with the tasted batch.
        priors: of the panel.
        wishes: in place of the recipe's.
        knobs: ids of those that may move; all without.
        seed: of the draws.
        time_limit_s: of the learning; see `update`.
        teach: whether to ask what the next brew can teach, too.
        progress: told how far it is.

    Raises
    ------
        InputError: with every fault of the wish, the holds and the limits.
    """
    tell = progress or (lambda _share, _text: None)
    asked = {wish.name: wish for wish in wishes} or recipe.wish
    aims = aims_of(asked, recipe.hold, problem, log, priors)
    start = question_problem(aims, problem, log)
    narrowed, faults = limited(start, recipe.limits)
    if faults:
        raise InputError(recipe.name, [text for _, text in faults])
    for name in knobs or ():
        start.knob(name)
    moving = [k for k in narrowed if knobs is None or k.id in knobs]
    kept = tuple(kept_present(recipe, start, moving, recipe.limits))
    learned = learned_from(
        problem,
        log.batches,
        seed=seed,
        time_limit_s=time_limit_s,
        progress=lambda share, text: tell(0.7 * share, text),
    )
    others = tuple(_other_levers(recipe, aims, problem, start))
    question = Question(
        learned,
        aims.tasted,
        aims.start,
        replace(start, knobs=(*start.knobs, *others)),
        tuple(aims.wishes.values()),
        tuple(aims.holds.values()),
        tuple(name for name in ABOUT if name in start.graph),
    )
    tell(0.75, "looking for settings")
    found = search_from(question, kept, seed=seed)
    above = start.graph.upstream(question.wanted)
    tried = kept_present(recipe, start, [k for k in others if k.quantity in above], recipe.limits)
    steering = steer_from(question, found, () if knobs else tuple(tried), seed=seed)
    low = stopped(recipe, start, steering.chosen.settings)
    tell(0.9, "what the words say")
    words = just_right_folds(question, aims, seed)
    sources = thiol_sources(aims.start.problem)
    came = origin(learned, aims.start, AMOUNTS["thiols"], sources, seed=seed) if sources else None
    tell(0.95, "what the next brew can teach")
    people = next(e.tasted.tasters for e in log.entries if e.id == aims.start.id)
    lessons = (
        ()
        if not teach
        else what_teaches(
            recipe,
            question,
            aims,
            found,
            panel_of(priors),
            chosen=steering.chosen.settings,
            tasters=people,
            seed=seed,
        )
    )
    return NextBeer(aims, learned, question, kept, steering, log, words, came, lessons, low)


def _other_levers(recipe: Recipe, aims: Aims, posed: Problem, start: Problem) -> Iterator[Knob]:
    """Yield levers that the recipe names no knob for and that move what is wished or held.

    None where the batch was brewed with other lines than the recipe has.
    """
    if posed.row_labels != start.row_labels:
        return
    about = (*aims.wishes.values(), *aims.holds.values())
    targets = {name: Target() for aim in about for name in aim.outcomes}
    yield from unlisted_knobs(recipe, replace(start, targets=targets))
