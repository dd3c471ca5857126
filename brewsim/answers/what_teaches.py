"""What to brew and to ask next in order to learn, out of a recipe's own sources of aroma."""

from collections.abc import Iterator, Sequence

from brewsim.beer.knob_limits import aroma_sources, bittering_knob
from brewsim.logbook.split_wort import may_differ
from brewsim.logbook.tasting_entries import HIDDEN_BY, STRENGTHS
from brewsim.logbook.wished import AMOUNTS, Aims
from brewsim.recipe.schema import Recipe
from brewsim.study.inference.panel import Panel
from brewsim.study.model.common_random_numbers import Settings
from brewsim.study.model.knob import Knob
from brewsim.study.propagation.sweep import current_setting
from brewsim.study.steering.fewest_knobs import FewestKnobs
from brewsim.study.steering.relative_steering import Question
from brewsim.study.steering.worth_next import Lesson, Lessons, Sitting, Trial, balanced

_PANEL = ("", "", "")
"""Three people who are not named taste where the log names nobody."""


def what_teaches(
    recipe: Recipe,
    question: Question,
    aims: Aims,
    found: FewestKnobs,
    panel: Panel,
    *,
    chosen: Settings,
    tasters: Sequence[str] = (),
    seed: int = 1,
) -> tuple[Lesson, ...]:
    """Return what tasting the batch there is, the next brew or two parts of it is worth.

    The next brew is tried as it was, as `chosen`, and without each source of aroma, its bitterness
    made up for by a bittering hop; `tasters` are those who had words for the batch. Empty where the
    wish is about nothing that people taste.
    """
    attribute = next((name for name in aims.wishes if name in STRENGTHS), None)
    if attribute is None:
        return ()
    people = tuple(tasters) or _PANEL
    hidden = HIDDEN_BY.get(attribute)
    sitting = Sitting(attribute, STRENGTHS[attribute], panel, people, hidden)
    lessons = Lessons(question, found, sitting, seed=seed)
    trials = _trials(recipe, question, attribute, chosen, seed)
    return (
        lessons.of_the_batch(),
        *(lesson for trial in trials for lesson in lessons.of_a_brew(trial)),
    )


def _trials(
    recipe: Recipe, question: Question, attribute: str, chosen: Settings, seed: int
) -> Iterator[Trial]:
    usual: list[Settings] = [{}, chosen] if chosen else [{}]
    for settings in usual:
        yield Trial(settings)
    sources = list(_sources(recipe, question, attribute))
    for knob in sources:
        yield Trial(_without(recipe, question, knob, seed))
    for settings in usual:
        for knob in sources:
            if may_differ(knob.id, recipe) and settings.get(knob.id, 1.0) != 0.0:
                yield Trial(settings, beside={**settings, knob.id: 0.0})


def _sources(recipe: Recipe, question: Question, attribute: str) -> Iterator[Knob]:
    """Yield the knobs on sources of what is wished that can be left out altogether."""
    problem, listed = question.problem, {k.id for k in question.start.problem.knobs}
    above = problem.graph.upstream([AMOUNTS[attribute]])
    named = aroma_sources(recipe, problem.knobs)
    for knob in problem.knobs:
        free = knob.low <= 0 or knob.id not in listed
        if knob.id in named and free and knob.quantity in above:
            now = current_setting(problem, knob)
            if knob.id not in recipe.limits and not isinstance(now, str) and now > 0:
                yield knob


def _without(recipe: Recipe, question: Question, knob: Knob, seed: int) -> Settings:
    settings = {knob.id: 0.0}
    bittering = bittering_knob(recipe, question.problem.knobs)
    bitterness = AMOUNTS["bitterness"]
    if bittering is None or bittering.id == knob.id or bitterness not in question.held:
        return settings
    return balanced(question, settings, bittering.id, bitterness, seed=seed)
