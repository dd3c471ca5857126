"""A brewery's own scatter: learned as a grid of it says, and used by the forecast."""

import warnings
from dataclasses import replace

import numpy as np
import pytest
from scipy import special, stats

from brewsim.distributions.constructors import lognormal, normal
from brewsim.logbook.house import house_of, with_house
from brewsim.study.inference.block_normals import BlockLayout
from brewsim.study.inference.followed_scatters import FollowedScatters
from brewsim.study.inference.likelihood import LEAST_LOG_LIKELIHOOD, Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.scatter import COMMON_SD, EVERYTHING, OWN_SD, SCATTER, scale_of

pytestmark = pytest.mark.slow

NOISE = 0.1


def level(a):
    return 1.0 * a


@pytest.fixture(scope="module")
def problem():
    plain = Problem.of([level], {"a": normal(0.0, 1.0)})
    return replace(plain, factors=(replace(plain.factors[0], kinds=Kinds(0.5, 0.0, 0.5)),))


def brewed(problem, count, scatter, seed):
    """Return batches around 0.4 whose part of kind batch is `scatter` times the usual one."""
    rng = np.random.default_rng(seed)
    values = 0.4 + np.sqrt(0.5 * scatter**2 + NOISE**2) * rng.standard_normal(count)
    return [Batch(f"b{i}", problem, (Reading("level", v, NOISE),)) for i, v in enumerate(values)]


def weighed(values):
    """Return a grid of log s and its weights, the middle of all batches integrated out."""
    spread = np.hypot(COMMON_SD, OWN_SD)
    grid = np.linspace(-6, 6, 4001)
    log = spread * grid - spread**2
    one = 0.5 * np.exp(2 * log) + NOISE**2
    count, total, square = len(values), values.sum(), (values**2).sum()
    whole = one + count * 0.5
    found = -0.5 * (count - 1) * np.log(one) - 0.5 * np.log(whole)
    found -= 0.5 * (square / one - 0.5 * total**2 / (one * whole))
    return log, special.softmax(found - 0.5 * grid**2)


def on_a_grid(values):
    """Return mean and sd of log s."""
    log, weight = weighed(values)
    mean = weight @ log
    return mean, np.sqrt(weight @ (log - mean) ** 2)


@pytest.mark.parametrize(("scatter", "count"), [(0.5, 10), (0.5, 40), (1.6, 40)])
def test_learned_scatter_is_that_of_a_grid(problem, scatter, count):
    batches = brewed(problem, count, scatter, seed=3)

    learned = update(problem, batches, seed=2, time_limit_s=40, own_scatter=True)

    log = np.log(scale_of(learned.draws[EVERYTHING], learned.draws["a @scatter"]))
    mean, spread = on_a_grid(np.array([batch.readings[0].value for batch in batches]))
    assert learned.trusted
    assert abs(log.mean() - mean) < 0.25 * spread
    assert abs(log.std() / spread - 1) < 0.2


def exact(model, values, rng, chains):
    """Return posterior draws of one factor's latents, drawn one after the other as they follow."""
    log, weight = weighed(values)
    scale = np.exp(rng.choice(log, chains, p=weight))
    total = np.log(scale) + COMMON_SD**2 + OWN_SD**2
    both = COMMON_SD**2 + OWN_SD**2
    common = COMMON_SD / both * total + OWN_SD / both**0.5 * rng.standard_normal(chains)
    one = 0.5 * scale**2 + NOISE**2
    precision = 1 + len(values) * 0.5 / one
    lasting = 0.5**0.5 * values.sum() / one / precision
    lasting = lasting + rng.standard_normal(chains) / precision**0.5
    left = values[:, None] - 0.5**0.5 * lasting
    own = 0.5**0.5 * scale * left / one
    own = own + NOISE / one**0.5 * rng.standard_normal(own.shape)
    drawn = {EVERYTHING: common, "a @knowledge": lasting}
    drawn["a @scatter"] = (total - COMMON_SD * common) / OWN_SD
    drawn |= {f"a @batch b{i}": row for i, row in enumerate(own)}
    return np.array([drawn[name] for name in model.names])


def test_scatters_moved_with_own_latents_following_stay_exact_and_forget(problem):
    """Wherever the slopes were taken: from a poor centre moves are shorter, not wrong."""
    batches = brewed(problem, 30, 0.3, seed=3)
    values = np.array([batch.readings[0].value for batch in batches])
    model = Model(batches, own_scatter=True)
    slopes = Linearisation(model)
    assert isinstance(slopes.layout, BlockLayout)
    rng = np.random.default_rng(8)
    before = exact(model, values, rng, 2048)
    rows = [model.index[EVERYTHING], model.index["a @scatter"]]
    start = np.log(scale_of(*before[rows]))
    log, weight = weighed(values)
    chance = np.cumsum(weight)
    for centre in (before.mean(axis=1), before[:, 0]):
        moves = FollowedScatters(model, slopes.layout)
        moves.learn(centre, slopes.at(centre))
        state, level = before, model.log_likelihood(before)
        for _ in range(3):
            state, level = moves.move(rng, state, level)

        np.testing.assert_allclose(level, model.log_likelihood(state), atol=1e-6)
        after = np.log(scale_of(*state[rows]))
        assert stats.kstest(after, lambda at: np.interp(at, log, chance)).pvalue > 0.01
        own = np.delete(state, [*rows, model.index["a @knowledge"]], axis=0)
        was = np.delete(before, [*rows, model.index["a @knowledge"]], axis=0)
        pairs = zip(own, was, strict=True)
        assert min(stats.ks_2samp(one, two).pvalue for one, two in pairs) > 0.01 / len(own)
        assert np.corrcoef(start, after)[0, 1] < 0.5


def test_the_next_batch_scatters_as_this_brewery_does(problem):
    learned = update(problem, brewed(problem, 40, 0.5, seed=5), seed=2, own_scatter=True)
    after = with_house(problem, house_of(learned))

    def spread(posed):
        return Evaluator(posed, CommonDraws([posed], Plan(8, 1024, 1)), ["level"]).at()["level"]

    assert spread(after).std() == pytest.approx(np.sqrt(0.5) * 0.5, rel=0.25)
    assert spread(problem).std() == pytest.approx(1.0, rel=0.02)


def test_few_batches_leave_the_scatter_as_the_prior_has_it(problem):
    learned = update(problem, brewed(problem, 7, 0.5, seed=5), seed=2, own_scatter=True)

    assert EVERYTHING not in learned.draws


def test_before_anything_is_read_the_scatter_is_the_usual_one():
    rng = np.random.default_rng(4)
    scale = scale_of(*rng.standard_normal((2, 200_000)))
    assert (scale**2).mean() == pytest.approx(1.0, rel=0.05)
    low, high = np.quantile(scale, [0.05, 0.95])
    assert (low, high) == pytest.approx((0.259, 1.87), rel=0.03)


def test_without_own_scatter_batches_scatter_as_stated(problem):
    batches = brewed(problem, 10, 1.0, 1)

    learned = update(problem, batches, keep=4, time_limit_s=0)

    assert not [name for name in learned.draws if name.endswith(SCATTER)]


def test_a_scatter_beyond_all_bounds_counts_as_impossible_without_a_warning():
    problem = Problem.of([level], {"a": lognormal(1.0, 0.5)})
    problem = replace(problem, factors=(replace(problem.factors[0], kinds=Kinds(0.5, 0.0, 0.5)),))
    model = Model(brewed(problem, 10, 1.0, 1), own_scatter=True)
    state = np.full((len(model.names), 1), 9.0)

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert model.log_likelihood(state)[0] == LEAST_LOG_LIKELIHOOD
