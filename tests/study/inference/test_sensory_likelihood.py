"""Likelihoods of tasters' answers against closed forms, published tables and simulated panels."""

import numpy as np
import pytest
from scipy import integrate, optimize
from scipy.special import log_ndtr, ndtr

from brewsim.study.inference import sensory_likelihood as s

ONE = np.ones(1)


def word(place, y, ideal=0.0, half=0.5, width=1.0, sd=0.7):
    parts = (np.atleast_1d(np.asarray(v, dtype=float)) for v in (ideal, half, width))
    y = np.atleast_1d(np.asarray(y, dtype=float))
    return s.log_category(place, y, s.just_about_right_cuts(*parts), np.array([sd]))


def two_afc(distance):
    return float(np.exp(s.log_paired(1, 1, distance * ONE, 0 * ONE, ONE))[0])


def share(method, distance):
    return float(s.correct_share(method, np.array(distance)))


def test_a_pair_is_thurstones_two_alternative_choice():
    """Phi(1 / sqrt 2); 75 % right at d' = 0.954 (tables of d', from memory)."""
    assert two_afc(1.0) == pytest.approx(ndtr(1 / np.sqrt(2)), abs=1e-12)
    assert optimize.brentq(lambda d: two_afc(d) - 0.75, 0, 5) == pytest.approx(0.954, abs=5e-4)


@pytest.mark.parametrize(
    ("distance", "right"),
    [(0.0, 1 / 3), (0.5, 0.356), (1.0, 0.418), (1.5, 0.507), (2.0, 0.605), (3.0, 0.781)],
)
def test_odd_one_out_is_as_in_tables_of_the_triangle(distance, right):
    """Frijters, Kooistra & Vereijken, Percept. Psychophys. 27 (1980) 176; printed to 0.001."""
    assert share("triangle", distance) == pytest.approx(right, abs=5.5e-4)


def test_ten_of_fifteen_and_eight_of_ten_give_their_distance():
    """Roots of the same curve, from the integral to its own accuracy."""
    for right, distance in ((0.8, 3.1286), (10 / 15, 2.3214)):
        found = optimize.brentq(lambda d, r=right: share("triangle", d) - r, 0, 9)

        assert found == pytest.approx(distance, abs=5e-5)


@pytest.mark.parametrize("distance", [1.0, 2.0])
def test_triangle_and_tetrad_agree_with_simulated_cups(distance):
    rng, n = np.random.default_rng(1), 1_000_000
    a, b, e = rng.standard_normal((3, n))
    c, f = rng.standard_normal((2, n)) + distance
    odd = (abs(a - b) < abs(a - c)) & (abs(a - b) < abs(b - c))
    apart = (np.maximum(a, e) < np.minimum(c, f)) | (np.minimum(a, e) > np.maximum(c, f))

    for method, found in (("triangle", odd), ("tetrad", apart)):
        error = np.sqrt(found.mean() * (1 - found.mean()) / n)
        assert share(method, distance) == pytest.approx(found.mean(), abs=4 * error)


def test_the_spline_follows_the_integral():
    for d in np.random.default_rng(0).uniform(0, 12, 50):
        assert share("triangle", d) == pytest.approx(s._triangle(d), abs=1e-9)
        assert share("tetrad", d) == pytest.approx(s._tetrad(d), abs=1e-9)


# Agresti, Categorical Data Analysis, 2nd ed. 2002, p. 438, table 10.11: wins of the 1987 American
# League, row over column (win table from memory); the fitted strengths are the printed ones
TEAMS = ("Milwaukee", "Detroit", "Toronto", "New York", "Boston", "Cleveland", "Baltimore")
WINS = np.array(
    [
        [0, 7, 9, 7, 7, 9, 11],
        [6, 0, 7, 5, 11, 9, 9],
        [4, 6, 0, 7, 7, 8, 12],
        [6, 8, 6, 0, 6, 7, 10],
        [6, 2, 6, 7, 0, 7, 12],
        [4, 4, 5, 6, 6, 0, 6],
        [2, 4, 1, 3, 1, 7, 0],
    ]
)
PRINTED = (1.58, 1.44, 1.29, 1.25, 1.11, 0.68)


def fitted(log_chance):
    def loss(strengths):
        full = np.append(strengths, 0.0)
        return -sum(
            WINS[i, j] * float(log_chance(np.array([full[i]]), np.array([full[j]]))[0])
            for i in range(7)
            for j in range(7)
            if WINS[i, j]
        )

    return optimize.minimize(loss, np.zeros(6)).x


def test_choices_give_the_strengths_of_a_printed_bradley_terry_fit():
    """The logistic choice with its scale set to 1 is Bradley-Terry's model."""
    unit = np.array([1 / s.CHOICE_SCALE])

    found = fitted(lambda a, b: s.log_dominant(0, [a, b], unit))

    assert found == pytest.approx(np.array(PRINTED), abs=0.006)


def test_pairs_give_the_same_strengths_within_a_twentieth():
    """Thurstone's case V against the logit nearest to it, both fitted to the printed wins."""
    logit = fitted(lambda a, b: s.log_dominant(0, [a, b], np.array([1 / s.CHOICE_SCALE])))
    root = np.array([1 / np.sqrt(2)])

    probit = 1.702 * fitted(lambda a, b: s.log_paired(1, 1, a, b, root))

    assert probit == pytest.approx(logit, rel=0.05)


def test_five_words_sum_to_one_and_all_weak_orders_too():
    y = np.linspace(-6, 6, 7)
    words = sum(np.exp(word(k, y, ideal=0.3)) for k in range(5))
    ys = [np.array([v]) for v in (0.3, 1.1, -0.4)]
    orders = s.weak_orders([0, 1, 2])
    total = sum(np.exp(s.log_ranking(o, ys, np.array([0.6]))) for o in orders)

    assert words == pytest.approx(1, abs=1e-12)
    assert len(orders) == 13
    assert total == pytest.approx(1, abs=1e-12)
    for first in ([(0,), (1,)], [(1,), (0,)], [(0, 1)]):
        equal = np.exp(s.log_ranking(first, [0 * ONE, 0 * ONE], ONE))
        assert equal == pytest.approx(1 / 3, abs=1e-12)


def test_glasses_of_a_ladder_sum_to_one():
    y = np.linspace(-3, 6, 5)
    glasses = [np.log2(1 + share * 2.0**y) for share in (0.25, 0.5, 0.75, 1.0)]
    total = sum(np.exp(s.log_ladder(k, glasses, 0 * y + 1.2, 0 * y + 0.6)) for k in range(4))

    assert total == pytest.approx(1, abs=1e-12)


def test_a_word_far_in_the_tail_is_finite():
    """Thirty strengths below the highest word: log Phi(-(30 + 1.5) / 0.7)."""
    assert word(4, -30.0)[0] == pytest.approx(float(log_ndtr(-31.5 / 0.7)), rel=1e-9)
    assert word(4, -30.0)[0] == pytest.approx(-1017.2, abs=0.05)
    assert np.isfinite(word(2, 40.0)[0])


@pytest.mark.parametrize(
    ("place", "chance", "mean", "sd"),
    [
        (4, 0.182419, 1.971659, 0.889469),
        (3, 0.198883, 0.796549, 0.676406),
        (2, 0.237394, 0.0, 0.676672),
    ],
)
def test_a_word_on_a_normal_strength_gives_the_closed_form(place, chance, mean, sd):
    """y ~ N(0, 1.5^2): by quadrature; for the highest word the truncated normal's mean."""

    def weight(y, power=0):
        return y**power * np.exp(word(place, y)[0] - 0.5 * (y / 1.5) ** 2)

    total, first, second = (integrate.quad(weight, -12, 12, args=(k,))[0] for k in range(3))
    spread = np.hypot(1.5, 0.7)
    closed = 1.5**2 / spread * s.density(np.array(1.5 / spread)) / ndtr(-1.5 / spread)

    assert total / np.sqrt(2 * np.pi) / 1.5 == pytest.approx(chance, abs=1e-6)
    assert first / total == pytest.approx(mean, abs=1e-6)
    assert np.sqrt(second / total - (first / total) ** 2) == pytest.approx(sd, abs=1e-6)
    if place == 4:
        assert mean == pytest.approx(float(closed), abs=1e-6)
