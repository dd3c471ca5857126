"""Learning from odd batches: a stuck one, a wrong reading, a count of tasters, nothing to learn."""

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.constructors import bernoulli, lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Factor, Kinds
from brewsim.study.model.problem import Problem
from tests.study.inference.small_models import PER_BATCH, lambda_free, total

pytestmark = pytest.mark.slow


def stuck(strain, halt, loss):
    return 12 * (1 - strain + halt * loss)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_planted_stuck_fermentation_is_found(seed):
    """A 2 % event that nothing else explains: 1 of 6 batches finished far too sweet."""
    base = Problem.of(
        [stuck],
        {
            "strain": (normal(0.78, 0.02), Kinds(0.6, 0, 0.4)),
            "halt": (bernoulli(0.02), PER_BATCH),
            "loss": (lognormal(0.12, 0.3), PER_BATCH),
        },
    )
    rows = [
        Factor(
            f.id,
            f.quantity,
            f.row,
            f.label,
            f.distribution,
            f.kinds,
            "stall" if f.id != "strain" else "yeast",
            event=f.id == "halt",
        )
        for f in base.factors
    ]
    problem = Problem(base.graph, base.fixed, tuple(rows), base.outcomes)
    values = [2.6, 2.7, 2.5, 2.65, 2.6, 4.6]
    batches = [Batch(str(i), problem, (Reading("stuck", v, 0.1),)) for i, v in enumerate(values)]

    learned = update(problem, batches, seed=seed, time_limit_s=5)

    chance = [
        float(np.mean(learned.draws[f"halt @batch {i}"] > stats.norm.ppf(0.98))) for i in range(6)
    ]
    assert chance[5] > 0.95
    assert max(chance[:5]) < 0.05


def test_a_reading_far_outside_is_reported_and_not_forced():
    problem = Problem.of([lambda_free], {"level": normal(0, 1)})

    learned = update(problem, [Batch("odd", problem, (Reading("lambda_free", 9.0, 0.5),))])

    assert learned.surprises[0].chance < 0.001
    assert any("odd" in remark for remark in learned.remarks)


def test_one_wrong_reading_moves_little_when_outliers_are_possible():
    problem = Problem.of([lambda_free], {"level": normal(0, 1)})
    good = [Reading("lambda_free", v, 0.2) for v in (0.4, 0.5, 0.6, 0.5)]
    batch = Batch("1", problem, (*good, Reading("lambda_free", 5.0, 0.2)))

    plain = update(problem, [batch])
    robust = update(problem, [batch], outliers=True)

    assert abs(robust.mean("level @knowledge") - 0.5) < 0.15
    assert plain.mean("level @knowledge") > 1.2


def share_noticing(level):
    return 1 / (1 + np.exp(-level))


def test_a_count_of_tasters_is_a_reading():
    """Laplace check: 45 of 50 noticed; posterior of a logit with a wide prior peaks near ln 9."""
    problem = Problem.of([share_noticing], {"level": normal(0, 10)})
    reading = Reading("share_noticing", 45, 0.0, trials=50)

    learned = update(problem, [Batch("1", problem, (reading,))], keep=100, time_limit_s=0)

    assert 10 * learned.mean("level @knowledge") == pytest.approx(np.log(9), abs=0.12)


def test_readings_that_nothing_uncertain_lies_behind_teach_nothing():
    problem = Problem.of([total], {"first": normal(0, 1)}, fixed={"second": 2.0})

    with pytest.raises(StudyError, match=r"nothing uncertain lies behind any reading \(second\)"):
        update(problem, [Batch("1", problem, (Reading("second", 2.1, 0.1),))])
