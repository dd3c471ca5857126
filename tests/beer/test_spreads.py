"""From a phrase to a distribution: what was stated, inside what is possible."""

import numpy as np
import pytest
from scipy import stats

from brewsim.beer.spreads import apply, moved
from brewsim.distributions import constructors as f
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import rescaled

ENDS = np.array([-1.6448536269514722, 0.0, 1.6448536269514722])
ANY = (-np.inf, np.inf)
SHARE = (0.0, 1.0)


def meant(text, unit="fraction", prior=None, limits=ANY):
    return apply(read_phrase(text, unit).phrase, prior, limits)


@pytest.mark.parametrize(
    ("text", "unit", "low", "middle", "high"),
    [
        ("5.6 ± 0.6 %", "fraction", 0.050, 0.056, 0.062),
        ("5.0 to 6.2 %", "fraction", 0.050, 0.056, 0.062),
        ("15 mg/kg within a factor 2.5", "mg/kg", 6.0, 15.0, 37.5),
        ("20 L sd 1 L", "L", 18.3551, 20.0, 21.6449),
        ("between 5 and 6 %", "fraction", 0.0505, 0.055, 0.0595),
    ],
)
def test_nine_in_ten_lie_where_the_phrase_says(text, unit, low, middle, high):
    assert meant(text, unit).from_score(ENDS) == pytest.approx([low, middle, high], rel=1e-5)


def test_a_triangle_has_its_likely_value_and_never_leaves_its_ends():
    """Source: the triangular law's closed form, by SciPy."""
    made = meant("between 5 and 6.2 %, likely 5.5 %")
    law = stats.triang((0.055 - 0.05) / 0.012, 0.05, 0.012)

    assert made.support == pytest.approx((0.05, 0.062))
    assert made.median == pytest.approx(law.median())
    assert made.standard_deviation == pytest.approx(law.std())


def test_exactly_has_no_spread_and_a_plain_value_takes_the_priors():
    prior = f.lognormal(0.05, 0.07)

    assert meant("exactly 5.6 %", prior=prior).standard_deviation == 0
    assert meant("5.6 %").standard_deviation == 0
    assert meant("5.6 %", prior=prior).from_score(np.array([0.0, 1.0])) == pytest.approx(
        [0.056, 0.056 * np.exp(0.07)]
    )


@pytest.mark.parametrize(
    "prior",
    [
        f.normal(0.05, 0.005),
        f.lognormal(0.05, 0.1),
        f.truncated(f.lognormal(0.05, 0.1), 0.01, 0.2),
        f.triangular(0.04, 0.05, 0.06),
        f.uniform(0.04, 0.06),
    ],
    ids=lambda prior: type(prior).__name__,
)
def test_a_plain_value_moves_the_median_and_keeps_the_relative_spread(prior):
    made = moved(prior, 0.08, SHARE)

    assert made.median == pytest.approx(0.08, rel=1e-6)
    assert made.standard_deviation / 0.08 == pytest.approx(
        prior.standard_deviation / prior.median, rel=2e-3
    )


@pytest.mark.parametrize("middle", [0.3, 0.9, 0.97])
def test_a_share_that_is_moved_near_one_stays_below_it(middle):
    for prior in (f.beta_from_moments(0.5, 0.1), f.normal(0.75, 0.05)):
        low, _, high = moved(prior, middle, SHARE).from_score(2 * ENDS)

        assert 0 <= low < middle < high <= 1


@pytest.mark.parametrize("middle", [0.6, 0.9, 0.99, 1.0])
@pytest.mark.parametrize(
    "prior",
    [
        f.truncated(f.normal(0.05, 0.015), 0.0, np.inf),
        f.normal(0.95, 0.02),
        f.truncated(f.lognormal(0.8, 0.3), 0.0, 1.0),
    ],
)
def test_a_plain_share_near_the_whole_keeps_its_median_where_it_was_stated(prior, middle):
    made = moved(prior, middle, SHARE)
    low, _, high = made.from_score(ENDS)

    assert made.median == pytest.approx(middle, abs=0.005 * (1 - middle))
    assert middle - 2 * (1 - middle) <= low <= middle <= high <= 1.0


def test_own_measurements_of_one_lot_give_the_scaled_t_of_their_mean():
    """JCGM 101:2008, 6.4.9.2: mean, s / sqrt(n), n - 1 degrees of freedom."""
    values = [0.054, 0.059, 0.056, 0.057]
    made = meant("measured 5.4; 5.9; 5.6; 5.7 %")
    law = stats.t(3, np.mean(values), np.std(values, ddof=1) / 2)

    assert made.from_score(ENDS) == pytest.approx(law.ppf([0.05, 0.5, 0.95]), rel=1e-6)


def test_measurements_of_several_lots_foretell_the_next_lot_not_the_mean():
    one = meant("measured 5.4; 5.9; 5.6; 5.7 %")
    lots = meant("measured 5.4; 5.9; 5.6; 5.7 % of 4 lots")

    assert lots.standard_deviation > 2 * one.standard_deviation
    assert lots.median == pytest.approx(one.median)


@pytest.mark.parametrize("text", ["at most 5 %", "at least 5 %"])
def test_a_limit_is_refused_as_a_spread(text):
    with pytest.raises(ValueError, match="is not a spread"):
        meant(text)


def test_limits_cut_off_what_cannot_be():
    made = meant("97 ± 5 %", limits=SHARE)

    assert made.support == (pytest.approx(0.0), pytest.approx(1.0))
    assert made.from_score(np.array([4.0]))[0] <= 1


def test_rescaling_a_phrase_rescales_what_it_means():
    phrase = read_phrase("20 ± 2 L", "L").phrase
    twice = apply(rescaled(phrase, lambda value: 2 * value), None)

    assert twice.from_score(ENDS) == pytest.approx([36.0, 40.0, 44.0])


def test_a_falling_function_turns_the_ends_of_a_phrase_round():
    turned = rescaled(read_phrase("0 to 4 m", "m").phrase, lambda metres: 100.0 - metres)
    fold = rescaled(read_phrase("4 m within a factor 2", "m").phrase, lambda metres: 100.0 - metres)

    assert apply(turned, None).from_score(ENDS) == pytest.approx([96.0, 98.0, 100.0])
    assert apply(fold, None).from_score(ENDS) == pytest.approx([92.0, 95.0, 98.0])
