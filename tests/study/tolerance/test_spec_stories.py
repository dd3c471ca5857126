"""Stories of brewers about specs: bias against scatter, and limits from a dozen batches."""

import math

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import ndtr

from brewsim.distributions.constructors import lognormal, normal
from brewsim.errors import StudyError
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.capability import simulated_capability
from brewsim.study.tolerance.conformity import (
    conformance_probability,
    expected_conformance,
)
from brewsim.study.tolerance.log_against_model import (
    against_log,
    needed_spread,
    predicted_outside,
)
from brewsim.study.tolerance.specification import in_a_row, specify
from brewsim.study.tolerance.tolerance import summarise_log, two_sided_factor

BREW = Kinds(0, 0, 1)


def strength(bias, scatter):
    return 74.0 + bias + scatter


def brewery(bias, scatter, **options):
    """An efficiency in points: a bias nobody knows and a scatter from brew to brew."""
    factors = {"bias": normal(0, bias or 1e-9), "scatter": (normal(0, scatter), BREW)}
    return Problem.of([strength], factors, **options)


LOG = np.array([4.21, 4.35, 4.05, 4.28, 4.40, 4.12, 4.25, 4.31, 4.17, 4.38, 4.22, 4.29])


def beer(known=0.2, lots=0.05, brews=0.1):
    def alcohol(known, lots, brews):
        return 4.2 + known + lots + brews

    factors = {
        "known": normal(0, known),
        "lots": (normal(0, lots), Kinds(0, 1, 0)),
        "brews": (normal(0, brews), BREW),
    }
    return Problem.of([alcohol], factors, targets={"alcohol": Target(4.0, 4.4)})


def test_six_low_brews_are_far_likelier_with_a_shared_bias():
    """Integral of Phi((0 - b) / 1)^6 over b ~ N(0, 3): 0.35, against 1 / 64 = 0.016."""
    density = stats.norm(0, 3).pdf
    exact, _ = integrate.quad(lambda b: ndtr(-b) ** 6 * density(b), -30, 30)

    found = in_a_row(brewery(3.0, 1.0), "strength", Target(None, 74.0), brews=6)

    assert found.all_inside == pytest.approx(exact, abs=0.02)
    assert found.all_inside > 10 / 64


def test_without_a_bias_six_low_brews_are_a_coin_thrown_six_times():
    found = in_a_row(brewery(0.0, 1.0), "strength", Target(None, 74.0), brews=6)

    assert found.all_inside == pytest.approx(1 / 64, abs=0.002)
    assert found.none_inside == pytest.approx(1 / 64, abs=0.002)


def test_twelve_batches_give_mean_spread_and_limits_at_two_contents():
    """Exact k of 12 batches, 95 / 95: 3.18; chi-square interval of the sd: .708 and 1.698 times."""
    (found,) = against_log(beer(), {"alcohol": LOG})

    wide, wider = found.by_content[0.95], found.by_content[0.997]
    assert (wide.count, wide.mean) == (12, pytest.approx(LOG.mean()))
    assert wide.standard_deviation == pytest.approx(LOG.std(ddof=1))
    assert wide.standard_deviation_high / wide.standard_deviation == pytest.approx(1.698, abs=1e-3)
    assert wide.factor == pytest.approx(3.18, abs=0.02)
    assert wider.factor == pytest.approx(two_sided_factor(12, 0.997, 0.95))
    assert wider.tolerance_low < wide.tolerance_low < LOG.min()
    assert not wide.few


def test_the_share_outside_is_students_and_the_count_is_a_count():
    """t with 11 degrees at (limit - mean) / (s sqrt(1 + 1/12))."""
    (found,) = against_log(beer(), {"alcohol": LOG})
    scale = LOG.std(ddof=1) * math.sqrt(1 + 1 / 12)
    exact = stats.t.cdf((4.0 - LOG.mean()) / scale, 11) + stats.t.sf((4.4 - LOG.mean()) / scale, 11)

    assert found.outside == pytest.approx(exact)
    assert found.counted == 0
    narrow = predicted_outside(found.summary, Target(4.1, None))
    assert narrow == pytest.approx(stats.t.cdf((4.1 - LOG.mean()) / scale, 11))


@pytest.mark.parametrize(
    ("brews", "lots", "verdict"),
    [(0.1, 0.05, "agrees"), (0.5, 0.05, "too wide"), (0.02, 0.02, "too narrow")],
)
def test_the_model_is_told_which_scatter_does_not_fit(brews, lots, verdict):
    (found,) = against_log(beer(brews=brews, lots=lots), {"alcohol": LOG})

    assert found.scatter == verdict
    assert found.same_lots == pytest.approx(brews, rel=0.01)
    assert found.new_lots == pytest.approx(math.hypot(brews, lots), rel=0.01)


def test_a_brewery_far_from_the_expected_middle_is_noticed():
    (found,) = against_log(beer(known=0.2), {"alcohol": LOG + 1.0})

    exact = (LOG.mean() + 1.0 - 4.2) / math.sqrt(0.2**2 + LOG.var(ddof=1) / 12)
    assert found.offset == pytest.approx(exact, rel=0.02)
    assert found.unknown == pytest.approx(0.2, rel=0.02)


def test_fewer_than_eight_batches_are_marked_and_one_is_left_out():
    (found,) = against_log(beer(), {"alcohol": LOG[:5]})

    assert found.summary.few
    assert against_log(beer(), {"alcohol": LOG[:1]}) == ()
    with pytest.raises(StudyError, match="no outcome"):
        against_log(beer(), {"haze": LOG})


def test_folds_are_judged_on_their_logarithm():
    def activity(level):
        return 1.0 * level

    problem = Problem.of(
        [activity], {"level": (lognormal(2.0, 0.5), BREW)}, scales={"activity": "log2"}
    )
    values = np.exp(np.random.default_rng(4).normal(math.log(2), 0.5, 40))

    (found,) = against_log(problem, {"activity": values})

    assert found.summary.mean == pytest.approx(math.exp(np.log(values).mean()))
    assert found.same_lots == pytest.approx(0.5, rel=0.01)
    assert found.scatter == "agrees"


def test_the_spread_that_is_needed_lands_the_wanted_share():
    summary = summarise_log(LOG)
    target = Target(4.1, 4.4)

    needed = needed_spread(summary, target, 0.9)

    inside = ndtr((4.4 - summary.mean) / needed) - ndtr((4.1 - summary.mean) / needed)
    assert inside == pytest.approx(0.9)
    assert needed_spread(summary, Target(4.3, None), 0.9) is None


def test_specify_puts_the_logs_own_limits_beside_the_models():
    found = specify(beer(), log={"alcohol": LOG}, confidence=0.95, draws=4096)
    row = found.sel(outcome="alcohol")

    k = two_sided_factor(12, 0.95, 0.95)
    assert float(row.log_high) == pytest.approx(LOG.mean() + k * LOG.std(ddof=1))
    assert int(row.log_count) == 12


def test_two_logged_batches_have_limits_and_one_has_none():
    found = [
        specify(beer(), log={"alcohol": LOG[:count]}, confidence=0.95, draws=1024).sel(
            outcome="alcohol"
        )
        for count in (1, 2)
    ]

    k = two_sided_factor(2, 0.95, 0.95)
    assert [int(row.log_count) for row in found] == [1, 2]
    assert np.isnan(found[0].log_high)
    assert float(found[1].log_high) == pytest.approx(LOG[:2].mean() + k * LOG[:2].std(ddof=1))


def test_capability_of_draws_is_that_of_the_normal_with_its_error():
    """Limits 9 to 11, sd 0.4: Pp = 2 / 2.4 = .8333 and 1.242 % outside; few draws are flagged."""

    def size(spread):
        return 10.0 + spread

    problem = Problem.of([size], {"spread": normal(0, 0.4)})
    import brewsim

    many = brewsim.simulate(problem, draws=65_536)["size"].to_numpy()
    found = simulated_capability(many, Target(9, 11))
    few = simulated_capability(many[:4096], Target(9, None))

    assert found.potential == pytest.approx(0.8333, abs=max(0.01, 2 * found.potential_error))
    assert found.outside == pytest.approx(0.01242, abs=0.001)
    assert (found.few, few.few) == (False, True)
    assert math.isnan(few.potential)
    assert few.actual == pytest.approx(0.8333, abs=0.1)


def test_capability_of_folds_is_taken_on_their_scale():
    """Lognormal: limits at three log-sd either way are Pp = Ppk = 1."""
    values = np.exp2(np.random.default_rng(1).standard_normal(80_000))

    found = simulated_capability(values, Target(2.0**-3, 2.0**3), scale="log2")

    assert (found.potential, found.actual) == pytest.approx((1.0, 1.0), abs=0.02)
    assert (found.form, found.few) == ("normal on the log scale", False)


def test_a_reading_weighed_with_what_was_expected_is_the_conjugate_normal():
    """JCGM 106, 7: prior N(0, 1), reading 1.5 +- 0.5: posterior N(1.2, sqrt(0.2)); limits +-1."""
    values = np.random.default_rng(7).standard_normal(400_000)
    target = Target(-1.0, 1.0)
    s = math.sqrt(0.2)

    found = expected_conformance(values, 1.5, 0.5, target)

    assert found == pytest.approx(ndtr((1 - 1.2) / s) - ndtr((-1 - 1.2) / s), abs=0.005)
    assert conformance_probability(1.5, 0.5, target) < found
    assert math.isnan(expected_conformance(values, 90.0, 0.5, target))
