"""Learning from batches: closed forms, calibration, order, and what is refused."""

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.errors import StudyError
from brewsim.study.inference.convergence import _memory
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from tests.study.inference.small_models import PER_BATCH, lambda_free, total

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def two_causes():
    return Problem.of([total], {"first": normal(0, 1), "second": normal(0, 2)})


def test_two_causes_and_one_reading_have_the_closed_form_posterior(two_causes):
    """Linear-Gaussian diagnosis: Y = X1 + X2, sds 1 and 2, reading error 0.5, excess 3.

    Shifts .571429 and 2.285714, sds .899735 and .975900, correlation -.867722: conjugate
    Gaussian algebra (Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.5).
    """
    batch = Batch("1", two_causes, (Reading("total", 3.0, 0.5),))

    learned = update(two_causes, [batch], keep=500, time_limit_s=0)

    one, two = "first @knowledge", "second @knowledge"
    assert learned.mean(one) == pytest.approx(0.571429, abs=0.01 * 0.899735)
    assert 2 * learned.mean(two) == pytest.approx(2.285714, abs=0.01 * 0.975900)
    assert learned.standard_deviation(one) == pytest.approx(0.899735, rel=0.01)
    assert 2 * learned.standard_deviation(two) == pytest.approx(0.975900, rel=0.01)
    both = np.corrcoef(learned.draws[one], learned.draws[two])[0, 1]
    assert both == pytest.approx(-0.867722, abs=0.05)


def test_repeated_batches_narrow_knowledge_and_not_their_own_scatter():
    """Conjugate normal: prior sd 2 on the mean, batch sd 1, reading sd 0.5, four batches."""
    problem = Problem.of(
        [total],
        {"first": normal(0, 2), "second": (normal(0, 1), PER_BATCH)},
    )
    values = [2.0, 2.6, 1.4, 3.0]
    batches = [Batch(str(i), problem, (Reading("total", v, 0.5),)) for i, v in enumerate(values)]
    precision = 1 / 4 + 4 / 1.25

    learned = update(problem, batches, keep=400, time_limit_s=0)

    mean, spread = (
        2 * learned.mean("first @knowledge"),
        2 * learned.standard_deviation("first @knowledge"),
    )
    assert mean == pytest.approx(sum(values) / 1.25 / precision, abs=0.02 * precision**-0.5)
    assert spread == pytest.approx(precision**-0.5, rel=0.01)


def test_an_instruments_bias_is_not_averaged_away():
    """Twelve readings that share a bias of sd 0.15 leave sd sqrt(0.15^2 + 0.05^2/12) or more."""
    problem = Problem.of([lambda_free], {"level": normal(0, 10)})
    readings = tuple(Reading("lambda_free", 1.0, 0.05, "spindle", bias=0.15) for _ in range(12))

    learned = update(problem, [Batch("1", problem, readings)], keep=400, time_limit_s=0)

    left = 10 * learned.standard_deviation("level @knowledge")
    assert left == pytest.approx(np.hypot(0.15, 0.05 / np.sqrt(12)), rel=0.03)


def test_a_calibration_reading_shifts_by_the_bias_it_found():
    """A spindle that reads 0.3 in a liquid known to be 0 reads 0.3 too high in the beer."""
    problem = Problem.of([lambda_free], {"level": normal(0, 10)})
    readings = (
        Reading("lambda_free", 0.3, 0.01, "spindle", bias=1.0, known=0.0),
        Reading("lambda_free", 5.0, 0.01, "spindle", bias=1.0),
    )

    learned = update(problem, [Batch("1", problem, readings)], keep=400, time_limit_s=0)

    assert 10 * learned.mean("level @knowledge") == pytest.approx(4.7, abs=0.005)


def curved(strain, warmth, rate, slip):
    return 12 * (1 - strain * warmth) * np.exp(-0.1 * rate) + slip


def bitter(rate, alpha):
    return 30 * alpha * np.exp(rate)


@pytest.fixture(scope="module")
def small_brewery():
    return Problem.of(
        [curved, bitter],
        {
            "strain": (uniform(0.70, 0.84), Kinds(0.7, 0, 0.3)),
            "warmth": (lognormal(1.0, 0.04), PER_BATCH),
            "rate": normal(0, 0.3),
            "alpha": (lognormal(1.0, 0.1), Kinds(0.3, 0, 0.7)),
            "slip": (normal(0, 0.05), PER_BATCH),
        },
    )


def simulated_batches(problem, rng, count):
    model_readings = (("curved", 0.15, "linear"), ("bitter", 0.08, "log"))
    blank = [
        Batch(str(i), problem, tuple(Reading(q, 1.0, s, scale=k) for q, s, k in model_readings))
        for i in range(count)
    ]
    truth = rng.standard_normal((len(Model(blank).names), 1))
    made = Model(blank).predicted(truth)[:, 0]
    values = iter(
        made
        + np.array([r.noise for _, r in Model(blank).readings]) * rng.standard_normal(len(made))
    )
    batches = []
    for batch in blank:
        readings = []
        for reading in batch.readings:
            value = next(values)
            value = float(np.exp(value)) if reading.scale == "log" else float(value)
            readings.append(Reading(reading.quantity, value, reading.noise, scale=reading.scale))
        batches.append(Batch(batch.id, problem, tuple(readings)))
    return batches, truth[:, 0]


@pytest.mark.slow(16)
def test_ranks_of_the_truth_are_uniform(small_brewery):
    """Simulation-based calibration: Talts et al. 2018, arXiv 1804.06788; 120 small fits.

    A rank is among 64 draws, each of a chain of its own.
    """
    rng = np.random.default_rng(11)
    fits, ranks = 120, []
    for fit in range(fits):
        batches, truth = simulated_batches(small_brewery, rng, 2)
        learned = update(
            small_brewery, batches, seed=fit, chains=128, burn=3, keep=2, time_limit_s=0
        )
        names = Model(batches).names
        ranks.append(
            [
                int((learned.draws[name].reshape(8, -1)[:, :8] < truth[i]).sum())
                for i, name in enumerate(names)
            ]
        )
    counts = np.array(ranks)
    values = [
        stats.chisquare(np.bincount(np.minimum(column * 8 // 65, 7), minlength=8)).pvalue
        for column in counts.T
    ]

    assert min(values) > 0.01 / len(values)


def test_an_order_of_batches_changes_nothing_beyond_sampling(small_brewery):
    batches, _ = simulated_batches(small_brewery, np.random.default_rng(2), 3)

    there = update(small_brewery, batches, seed=1, time_limit_s=2)
    back = update(small_brewery, batches[::-1], seed=2, time_limit_s=2)

    for name in ("strain @knowledge", "rate @knowledge"):
        gap = abs(there.mean(name) - back.mean(name)) / there.standard_deviation(name)
        assert gap < 2 * (there.worst + back.worst)


def test_the_same_seed_gives_the_same_draws(small_brewery):
    batches, _ = simulated_batches(small_brewery, np.random.default_rng(2), 2)

    one = update(small_brewery, batches, seed=0, time_limit_s=0)
    two = update(small_brewery, batches, seed=0, time_limit_s=0)

    assert all(np.array_equal(one.draws[n], two.draws[n]) for n in one.draws)


def test_learning_a_batch_twice_is_refused(small_brewery):
    batches, _ = simulated_batches(small_brewery, np.random.default_rng(2), 1)

    with pytest.raises(StudyError, match="twice"):
        update(small_brewery, [*batches, *batches])


def test_a_reading_of_nothing_is_refused(small_brewery):
    with pytest.raises(StudyError, match="Did you mean curved"):
        update(small_brewery, [Batch("1", small_brewery, (Reading("curvd", 3, 0.1),))])


@pytest.mark.parametrize(
    ("batches", "words"),
    [
        (lambda p: Batch("1", p, (Reading("curved", 3.0, 0.1),)), "batches are a list"),
        (lambda p: [Batch("1", p, Reading("curved", 3.0, 0.1))], "its readings are a list"),
        (lambda p: [Batch("1", p, (("curved", 3.0),))], "a reading is Reading"),
        (lambda p: [Batch("1", p, (Reading("curved", "3", 0.1),))], "a value of '3'"),
        (lambda p: [Batch("1", p, (Reading("curved", 3.0, "0.1"),))], "a noise of '0.1'"),
    ],
)
def test_what_is_no_batch_or_reading_is_refused_in_words(small_brewery, batches, words):
    with pytest.raises(StudyError, match=words):
        update(small_brewery, batches(small_brewery))


def test_how_alike_two_states_are_is_the_largest_correlation_of_a_latent():
    rng = np.random.default_rng(11)
    first = rng.standard_normal((3, 40)) + np.array([[5.0], [0.0], [-2.0]])
    last = np.array([[0.2], [0.7], [0.4]]) * first + rng.standard_normal((3, 40))
    by_numpy = [np.corrcoef(a, b)[0, 1] for a, b in zip(first, last, strict=True)]

    assert _memory(first, last).max() == pytest.approx(max(by_numpy), rel=1e-12)
