"""Which reading would tell more, and whether batches scatter as expected: linear closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from brewsim.distributions.constructors import lognormal, normal
from brewsim.study.inference.experimental_design import (
    Candidate,
    in_batch,
    separating,
    spreads,
    teaching,
    two_brews,
)
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from tests.study.posteriors import by_hand

SIZE = 4000


def exact_normals(count):
    """Return columns of draws whose sample covariance is exactly the identity."""
    raw = np.random.default_rng(6).standard_normal((count, SIZE))
    raw -= raw.mean(axis=1, keepdims=True)
    return np.linalg.solve(np.linalg.cholesky(np.atleast_2d(np.cov(raw))), raw)


def test_a_reading_of_one_cause_leaves_its_share_of_the_difference_of_two():
    """Normal regression: of a - b, variance 2, a reading of a with noise s explains 1/(1 + s^2).

    Noise and the instrument's own error add as squares: 0.6 and 0.8 make 1, so 3/4 is left of
    the variance; with no noise at all a half.
    """
    a, b = exact_normals(2)
    noisy, exact = Candidate("a", "scale", 0.6, bias=0.8), Candidate("a", "standard", 0.0)

    one = separating(a - b, {"a": a}, [noisy])
    best = separating(a - b, {"a": a}, [noisy, exact])

    assert one.left == pytest.approx(np.sqrt(0.75))
    assert best.candidate is exact
    assert best.left == pytest.approx(np.sqrt(0.5))


def test_a_reading_of_the_difference_itself_leaves_nothing_and_another_all():
    a, b, other = exact_normals(3)
    values = {"both": a - b, "other": other}

    everything = separating(a - b, values, [Candidate("both", "x", 0.0)])
    nothing = separating(a - b, values, [Candidate("other", "x", 0.1)])

    assert everything.left == pytest.approx(0.0, abs=1e-6)
    assert nothing.left == pytest.approx(1.0)


def test_an_instrument_that_errs_in_parts_of_the_value_is_judged_on_logarithms():
    """ln of the value is 0.3 a: noise 0.3 on the logarithm leaves half of the variance of a."""
    (a,) = exact_normals(1)

    found = separating(a, {"x": np.exp(2 + 0.3 * a)}, [Candidate("x", "mark", 0.3, log=True)])

    assert found.left == pytest.approx(np.sqrt(0.5))


def test_no_candidate_no_spread_and_no_value_tell_nothing():
    a, b = exact_normals(2)
    gaps = np.where(np.arange(SIZE) < 0.02 * SIZE, np.nan, a)
    few = np.where(np.arange(SIZE) < 0.005 * SIZE, np.nan, a)
    plain = Candidate("a", "x", 0.0)

    assert separating(a - b, {}, []) is None
    assert separating(np.ones(SIZE), {"a": a}, [plain]).left == 1.0
    assert separating(a, {"a": gaps}, [plain]).left == 1.0
    assert separating(a, {"a": few}, [plain]).left == pytest.approx(0.0, abs=1e-6)
    assert separating(a, {"a": np.ones(SIZE)}, [plain]).left == 1.0


def test_a_reading_of_one_brew_teaches_what_the_next_one_shares_with_it():
    """Outcome k + e, variance 1 + 1, e anew: correlation 1/2 leaves sqrt(3/4); noise 1 leaves 5/6.

    A reading of e alone, which does not return, teaches nothing.
    """
    shared, first, second = exact_normals(3)
    outcome = np.stack([shared + first, shared + second])
    values = {"outcome": outcome, "brew": np.stack([first, second])}
    exact, noisy = Candidate("outcome", "x", 0.0), Candidate("outcome", "y", 1.0)
    vain = Candidate("brew", "x", 0.0)

    assert teaching(outcome, values, [vain, noisy, exact]).candidate is exact
    assert teaching(outcome, values, [exact]).left == pytest.approx(np.sqrt(3 / 4))
    assert teaching(outcome, values, [noisy]).left == pytest.approx(np.sqrt(5 / 6))
    assert teaching(outcome, values, [vain]).left == pytest.approx(1.0)


def gravity(known, lots, sack, brews):
    return 50.0 + known + lots + sack + brews


def brewery():
    """Standard deviations: 2 not known, 1 by lots unnamed, 3 of a named lot, 0.5 by brew."""
    plain = Problem.of(
        [gravity],
        {
            "known": normal(0, 2.0),
            "lots": (normal(0, 1.0), Kinds(0, 1, 0)),
            "sack": (normal(0, 3.0), Kinds(0, 1, 0)),
            "brews": (normal(0, 0.5), Kinds(0, 0, 1)),
        },
    )
    factors = tuple(replace(f, lot="S1" if f.id == "sack" else f.lot) for f in plain.factors)
    return replace(plain, factors=factors)


def learned_of(problem, batches=(), draws=None):
    return by_hand(problem, batches, draws, SIZE)


def test_two_next_brews_share_what_is_not_known_and_named_lots_only():
    """Covariance 2^2 + 3^2 = 13; variance 13 + 1 + 0.25, within four standard errors."""
    problem = brewery()

    pair = two_brews(learned_of(problem), problem, ["gravity"])["gravity"]

    covariance = np.cov(pair)
    count = pair.shape[1]
    assert covariance[0, 1] == pytest.approx(13.0, abs=4 * 20 / np.sqrt(count))
    assert covariance[0, 0] == pytest.approx(14.25, abs=4 * 20.2 / np.sqrt(count))
    assert (pair[0] - pair[1]).std() == pytest.approx(np.sqrt(2 * 1.25), rel=4 / np.sqrt(count))


def test_what_was_learned_takes_the_place_of_what_was_not_known():
    """The middle moves by what was learned: one score of 2 up, and 3 down for the named lot."""
    problem = brewery()
    (narrow,) = 0.1 * exact_normals(1)
    draws = {"known @knowledge": 1.0 + narrow, "sack @lot S1": -1.0 + 0 * narrow}

    pair = two_brews(learned_of(problem, draws=draws), problem, ["gravity"])["gravity"]

    assert pair.mean(axis=1) == pytest.approx([49.0, 49.0], abs=0.05)
    assert np.cov(pair)[0, 1] == pytest.approx(0.04, abs=0.05)
    assert pair.std(axis=1) == pytest.approx([np.sqrt(1.29)] * 2, rel=0.03)


def test_a_logged_batch_keeps_its_own_brew_as_learned():
    problem = brewery()
    draws = {"brews @batch b1": np.full(SIZE, 2.0), "lots @lot of b1": np.full(SIZE, -1.0)}
    batch = Batch("b1", problem)

    found = in_batch(learned_of(problem, [batch], draws), batch, ["gravity"])["gravity"]

    assert found.shape == (SIZE,)
    assert found.mean() == pytest.approx(50.0 + 1.0 - 1.0, abs=4 * np.sqrt(13 / SIZE))
    assert found.std() == pytest.approx(np.sqrt(13.0), rel=4 / np.sqrt(2 * SIZE))


def read_as(problem, values, **more):
    return [
        Batch(f"b{i}", problem, (Reading("gravity", v, 0.6, "x", **more),))
        for i, v in enumerate(values)
    ]


@pytest.mark.parametrize("values", [[50.0, 52.0, 53.5, 49.0, 51.0], [50.0, 50.1, 50.2, 50.1]])
def test_observed_scatter_has_the_chance_of_its_chi_square(values):
    """Expected 1.25 + 0.36; (n - 1) s^2 over it is chi-square with n - 1 degrees of freedom."""
    problem = brewery()

    (found,) = spreads(learned_of(problem, read_as(problem, values)), problem)

    square = (len(values) - 1) * np.var(values, ddof=1) / (1.25 + 0.36)
    chance = stats.chi2(len(values) - 1)
    assert (found.quantity, found.count) == ("gravity", len(values))
    assert found.observed == pytest.approx(np.std(values, ddof=1))
    assert found.brew == pytest.approx(np.sqrt(1.25), rel=0.02)
    assert found.known == pytest.approx(np.sqrt(13.0), rel=0.02)
    assert found.expected == pytest.approx(np.sqrt(1.61), rel=0.02)
    assert found.chance == pytest.approx(2 * min(chance.cdf(square), chance.sf(square)), rel=0.05)


def test_scatter_of_a_quantity_read_in_parts_is_told_in_its_own_unit():
    """ln has sd 0.1 from brew to brew: 0.1 x 20 = 2 where the readings' middle is 20."""

    def volume(size):
        return 1.0 * size

    problem = Problem.of([volume], {"size": (lognormal(20.0, 0.1), Kinds(0, 0, 1))})
    values = 20.0 * np.exp(np.array([-0.15, 0.0, 0.15]))
    batches = [
        Batch(f"b{i}", problem, (Reading("volume", v, 0.02, scale="log"),))
        for i, v in enumerate(values)
    ]

    (found,) = spreads(learned_of(problem, batches), problem)

    assert found.observed == pytest.approx(0.15 * 20)
    assert found.brew == pytest.approx(0.1 * 20, rel=0.02)
    assert found.reading == pytest.approx(0.02 * 20)


def test_scatter_is_told_of_three_readings_of_one_kind_and_of_no_fewer():
    """A calibration, a count and a row of a list are not readings of the same thing."""
    problem = brewery()
    two = read_as(problem, [50.0, 51.0])
    checks = read_as(problem, [50.0, 51.0, 52.0], known=50.0)
    counts = read_as(problem, [1.0, 1.0, 1.0], trials=3)
    rows = read_as(problem, [50.0, 51.0, 52.0], row=0)

    for batches in (two, checks, counts, rows):
        assert spreads(learned_of(problem, batches), problem) == ()
    assert len(spreads(learned_of(problem, read_as(problem, [50, 51, 52])), problem)) == 1


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_where_only_brews_scatter_next_to_nothing_is_not_known(seed):
    """The covariance of two brews is 0 but for sampling, on either side of it."""

    def sharp(brews):
        return 50.0 + brews

    problem = Problem.of([sharp], {"brews": (normal(0, 1), Kinds(0, 0, 1))})
    batches = [
        Batch(f"b{i}", problem, (Reading("sharp", v, 0.6),)) for i, v in enumerate((49.0, 50.0, 51))
    ]

    (found,) = spreads(learned_of(problem, batches), problem, seed)

    assert 0.0 <= found.known < 2 / SIZE**0.25
    assert found.brew == pytest.approx(1.0, rel=0.03)


def test_a_named_lot_lasts_and_what_the_same_factor_does_brew_by_brew_does_not():
    """A variance of 4, a quarter of it by brew: two brews share 3."""

    def sack(a):
        return 1.0 * a

    plain = Problem.of([sack], {"a": (normal(0, 2), Kinds(0, 0.75, 0.25))})
    (factor,) = plain.factors
    problem = replace(plain, factors=(replace(factor, lot="S1"),))

    pair = two_brews(learned_of(problem), problem, ["sack"])["sack"]

    count = pair.shape[1]
    assert np.cov(pair)[0, 1] == pytest.approx(3.0, abs=4 * 5 / np.sqrt(count))
    assert (pair[0] - pair[1]).var() == pytest.approx(2.0, abs=4 * 2.9 / np.sqrt(count))


@pytest.mark.filterwarnings("error")
def test_a_reading_that_would_be_nothing_by_an_instrument_of_shares_is_left_out():
    (a,) = exact_normals(1)
    nothing, some = Candidate("none", "assay", 0.1, log=True), Candidate("a", "scale", 0.5)

    found = teaching(
        np.stack([a, a]), {"none": np.zeros((2, SIZE)), "a": np.stack([a, a])}, [nothing]
    )
    best = separating(a, {"none": np.zeros(SIZE), "a": a}, [nothing, some])

    assert found.left == 1.0
    assert best.candidate is some
