"""Learning from tasters' answers: exact weights, events of tied batches, chances of answers."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.errors import StudyError
from brewsim.study.inference import update as updating
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.predictive_check import answer_chances, odd_answers, rarity
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading, latent_names
from tests.study import tasted_beers as t

ENOUGH = 400_000


def weighted(batches):
    """Return exact posterior means and sds by weights on prior draws, and their errors."""
    model = Model(batches)
    state = np.random.default_rng(1).standard_normal((len(model.names), ENOUGH))
    level = model.log_likelihood(state)
    weight = np.exp(level - level.max())
    weight /= weight.sum()
    mean = state @ weight
    spread = np.sqrt((state - mean[:, None]) ** 2 @ weight)
    return model, mean, spread, spread * np.sqrt(np.sum(weight**2))


@pytest.mark.parametrize("kind", ["word, named", "blend ladder", "in front", "odd one out, 6"])
def test_learning_from_answers_agrees_with_weighted_prior_draws(kind):
    batches = t.two_batches(t.KINDS[kind])
    model, mean, spread, error = weighted(batches)

    learned = update(t.brewery(), batches, seed=2, time_limit_s=20)

    for i, name in enumerate(model.names):
        own = learned.precision * spread[i]
        assert learned.mean(name) == pytest.approx(mean[i], abs=4 * np.hypot(own, error[i])), name


@pytest.mark.parametrize("kind", t.KINDS)
def test_every_answer_to_a_question_sums_to_one(kind):
    model = Model(t.two_batches(t.KINDS[kind]))
    state = np.random.default_rng(3).standard_normal((len(model.names), 50))

    for answer, ys, scores in model.tasted(model.predicted(state)):
        assert answer in answer.outcomes
        total = answer_chances(answer, ys, scores).sum(axis=0)
        assert total == pytest.approx(np.ones(50), abs=1e-9)


def test_a_plain_beer_with_more_of_it_turns_the_ladder_round():
    """Blending into a stronger beer: the same as naming the shares of the other one."""
    ladder = replace(t.ladder(place=0, taster="a"), cups=(t.FIRST, t.SECOND), shares=(0.25, 1.0))
    other = replace(ladder, cups=ladder.cups[::-1], place=1, shares=(0.0, 0.75))
    ys = [np.array([1.0, 2.0, 4.0]), np.array([3.0, 2.5, 1.0])]
    scores = dict.fromkeys(ladder.latents, np.array([0.3]))

    assert ladder.log(ys, scores) == pytest.approx(other.log(ys[::-1], scores), abs=1e-12)


@pytest.mark.slow
def test_events_of_batches_that_an_answer_ties_are_tried_one_at_a_time():
    """An invariant move keeps exact draws: means and the level carried along stay."""
    answers = [t.pair(count=0, asked=12), t.word(4, "a")]
    batches = t.two_batches(answers, event=True)
    model, mean, _, _ = weighted(batches)
    rng = np.random.default_rng(5)
    state = rng.standard_normal((len(model.names), ENOUGH))
    level = model.log_likelihood(state)
    weight = np.exp(level - level.max())
    pick = rng.choice(ENOUGH, 20_000, p=weight / weight.sum())
    run = updating._start(Linearisation(model), rng, 8, None)
    state, level = state[:, pick], level[pick]

    for _ in range(30):
        for blocks, how in run._event_moves():
            state, level = updating.event_step(how, blocks, rng, state, level)

    assert len(run.events) == 2
    assert np.abs(level - model.log_likelihood(state)).max() < 1e-9
    for _, rows in run.events:
        assert state[rows].mean() == pytest.approx(float(mean[rows][0]), abs=0.04)


def test_parts_of_a_split_wort_share_what_is_not_their_own():
    problem = t.brewery()
    parts = [Batch("A", problem), Batch("B", problem, split_of="A", apart=frozenset({"brew"}))]
    names = [{f.id: latent_names(f, b) for f in problem.factors} for b in parts]

    assert names[0]["brew_hops"] == names[1]["brew_hops"] == {"batch": "brew_hops @batch A"}
    assert names[1]["brew"] == {"batch": "brew @batch B"}
    assert names[0]["base"] == names[1]["base"]


def test_an_answer_about_a_beer_that_is_no_batch_is_refused():
    lonely = [Batch("G1", t.brewery(), answers=(t.pair(),))]

    with pytest.raises(StudyError, match="what was tasted is no batch: G2"):
        Model(lonely)


def test_answers_alone_are_enough_to_learn_from():
    batch = Batch("G1", t.brewery(), answers=(t.word(4, "a"), t.word(4, "b")))

    learned = update(t.brewery(), [batch], chains=64, burn=1, keep=2, time_limit_s=1)

    assert learned.mean("base @knowledge") > 0.2
    assert learned.surprises == ()


def test_all_of_three_is_no_impossible_count():
    """Chances .3, .1, .2, .4 of 0 to 3: nothing is rarer than the likeliest count."""
    chances = np.array([0.3, 0.1, 0.2, 0.4])

    assert rarity(chances, 3) == pytest.approx(1.0)
    assert rarity(chances, 1) == pytest.approx(0.1)
    assert rarity(chances, 2) == pytest.approx(0.3)


def test_a_count_of_all_tasters_is_as_usual_as_it_is():
    def share(x):
        return 1 / (1 + np.exp(-x - 1.0))

    problem = t.Problem.of([share], {"x": t.normal(0, 2)})
    counted = Batch("1", problem, (Reading("share", 3, 0.0, trials=3),))

    learned = update(problem, [counted], chains=64, burn=1, keep=2, time_limit_s=1)

    assert learned.surprises[0].chance > 0.9
    assert learned.surprises[0].high == 3


def test_a_word_that_nobody_expected_is_told_as_rare():
    answers = [t.word(0, "a"), t.word(3, "b")]
    problem = replace(t.brewery())
    batch = Batch("G1", problem, (Reading("bitter", 2.0, 0.2),), answers=tuple(answers))
    found = odd_answers(Model([batch]), np.random.default_rng(1))

    assert found[0].expected.place in (2, 3, 4)
    assert found[0].chance < found[1].chance
