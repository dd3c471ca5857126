"""What an answer is worth to the brew that follows, against closed forms."""

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from brewsim.distributions.constructors import normal
from brewsim.study.model.batch import Batch
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.steering.aims import Fold, JustRight
from brewsim.study.steering.relative_steering import Question, search_from
from brewsim.study.steering.worth_next import (
    MOST_ANSWERS,
    Lessons,
    Sitting,
    Trial,
    balanced,
    cross_fitted,
    merged,
    summed,
)
from tests.study.posteriors import by_hand
from tests.study.steering.test_relative_steering import BREW_SD, asked, beer, dial
from tests.study.tasted_beers import PANEL


@pytest.mark.parametrize("rows", [1024, 8192])
def test_the_worth_of_one_answer_has_its_closed_form(rows):
    """y ~ N(0, 1), answer 1 where y + e > 0, act or not: phi(0) / sqrt(2) = 0.28209."""
    plan = Plan(8, rows, 1)
    y = np.random.default_rng(7).standard_normal(plan.draws)

    without, (gain, half) = cross_fitted(np.stack([ndtr(y), ndtr(-y)]), np.stack([y, 0 * y]), plan)

    assert without + gain == pytest.approx(0.28209, abs=3 * half + 1e-4)
    assert half < 0.05


def test_chance_alone_teaches_nothing():
    """Answers that know nothing of 40 equal settings: choosing by them gains nothing."""
    rng, plan = np.random.default_rng(3), Plan(8, 256, 1)
    answers = rng.dirichlet(np.ones(8), plan.draws).T
    met = (rng.random((40, plan.draws)) < 0.5).astype(float)

    without, (gain, half) = cross_fitted(answers, met, plan)

    assert without == pytest.approx(0.5, abs=0.04)
    assert abs(gain) <= half + 0.01


def test_answers_of_people_are_counted_and_merged():
    """Three of chance 0.3 are binomial; merged neighbours keep their sum."""
    three = summed([np.array([[0.7], [0.3]])] * 3)
    many = merged(np.full((100, 2), 0.01))

    assert three[:, 0] == pytest.approx(stats.binom(3, 0.3).pmf(range(4)))
    assert len(many) == MOST_ANSWERS
    assert many.sum(axis=0) == pytest.approx([1.0, 1.0])


def level(base, dose, brew):
    return base + 0.5 * dose + brew


def panel_lessons(known_ideal):
    """A level N(2, .) tasted by one person whose ideal is known or not."""
    problem = Problem.of(
        [level],
        {"base": (normal(3.0, 1.0), Kinds(1, 0, 0)), "brew": (normal(0, 0.1), Kinds(0, 0, 1))},
        fixed={"dose": 0.0},
        outcomes=["level"],
        knobs=(dial("dose"),),
    )
    batch = Batch("G1", problem)
    sure = {"base @knowledge": 0.0, "brew @batch G1": 0.0}
    people = {
        "cup scatter @tasting": -2.0,
        "just right @tasting": 0.0,
        "too much @tasting": 0.0,
        "words of a @tasting": 0.0,
        "cup scatter of a @tasting": 0.0,
    }
    spread = np.random.default_rng(1).standard_normal(512)
    ideal = {"ideal thiols @tasting": np.zeros(512) if known_ideal else spread}
    ideal |= {"ideal thiols of a @tasting": np.zeros(512)}
    learned = by_hand(problem, (batch,), {**sure, **people, **ideal})
    wish = JustRight("level", "thiols", ("a",), PANEL)
    question = Question(learned, (batch,), batch, problem, (wish,))
    sitting = Sitting("thiols", "level", PANEL, ("a",))
    return Lessons(question, search_from(question), sitting)


def test_a_word_teaches_where_the_ideal_lies_and_nothing_where_it_is_known():
    wide, sure = (panel_lessons(known) for known in (False, True))
    (unsure, *_), (certain, *_) = (x.of_a_brew(Trial({"dose": -2.0})) for x in (wide, sure))

    assert unsure.kind == "words"
    assert unsure.pays
    assert unsure.without + unsure.gain[0] > unsure.without + 0.1
    assert abs(certain.gain[0]) <= 0.01
    assert certain.without > 0.95
    assert wide.of_the_batch().gain[0] > 0.1


def test_the_brew_that_is_tasted_lands_as_it_does_without_being_tasted():
    """Dose -2 halves it: half a doubling to either side of that, N(0, 0.6^2)."""
    question = asked(beer(), (Fold("amount", "G1", -1.5, -0.5),))
    sitting = Sitting("thiols", "amount", PANEL, ("a", "b", "c"))
    lessons = Lessons(question, search_from(question), sitting)
    words, few, many = lessons.of_a_brew(Trial({"dose": -2.0}))
    exact = ndtr(0.5 / BREW_SD) - ndtr(-0.5 / BREW_SD)

    assert words.lands[0] == pytest.approx(exact, abs=3 * words.lands[1] + 1e-3)
    assert (few.asked, many.asked) == (3, 12)
    assert [one.kind for one in lessons.of_a_brew(Trial({}, {"dose": -2.0}))] == ["split"] * 2
    for lesson in (words, few, many):
        assert abs(lesson.gain[0]) <= max(lesson.gain[1], 0.02), "all is known but the brew"


def test_a_bittering_knob_makes_up_for_what_another_takes_away():
    """bitter = 20 + 2 late + bittering: late -4 asks for bittering +8."""
    question = asked()

    assert balanced(question, {"late": -4.0}, "bittering", "bitter") == {
        "late": -4.0,
        "bittering": 8.0,
    }
    assert balanced(question, {"dose": 1.0}, "bittering", "bitter") == {"dose": 1.0}
