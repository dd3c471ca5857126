"""Closed forms on posteriors made by hand: deviations split, conditionals, batches side by side."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from brewsim.distributions.constructors import normal
from brewsim.study.inference.attribution import INSTRUMENT, READING_ERROR, attribute
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.correlation import Correlation
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.propagation.simulate import simulate
from tests.study.by_hand import BREW, total, weighed
from tests.study.posteriors import by_hand


def volume(yearly, brew):
    return 20.0 + yearly + brew


def vessel(reading):
    problem = Problem.of([volume], {"yearly": normal(0, 0.5), "brew": (normal(0, 1), BREW)})
    return Batch("1", problem, (reading,))


def split(batch, against, **draws):
    learned = by_hand(batch.problem, [batch], draws)
    (found,) = attribute(learned, "1", against=against)
    return found, {share.factor: share.estimate for share in found.shares}


def test_a_deviation_starts_at_an_ordinary_batch_and_ends_at_the_reading():
    """Known +0.5 (one score), brew +2, read 23.1: of 2.6 against the house 2 brew and 0.6 error.

    Against the recipe the reference is 20 and what is known of the house counts too.
    """
    batch = vessel(Reading("volume", 23.1, 0.3))
    draws = {"yearly @knowledge": 1.0, "brew @batch 1": 2.0}

    house, of_house = split(batch, "house", **draws)
    recipe, of_recipe = split(batch, "recipe", **draws)

    assert (house.reference, house.reached) == pytest.approx((20.5, 23.1))
    assert of_house == pytest.approx({"brew": 2.0, READING_ERROR: 0.6})
    assert recipe.reference == pytest.approx(20.0)
    assert of_recipe == pytest.approx({"yearly": 0.5, "brew": 2.0, READING_ERROR: 0.6})
    assert [share.returns for share in recipe.shares] == [False, False, True]


@pytest.mark.parametrize(
    ("scale", "shift"), [("linear", 0.05), ("log", 21.0 * (np.exp(0.05) - 1.0))]
)
def test_an_instruments_own_error_is_added_or_multiplied_as_its_scale_says(scale, shift):
    """The mark reads one standard uncertainty of 0.05 high; the batch was 21 L, 22.5 read."""
    reading = Reading("volume", 22.5, 0.01, "mark", bias=0.05, scale=scale)

    _, shares = split(vessel(reading), "recipe", **{"brew @batch 1": 1.0, "mark @bias": 1.0})

    assert shares["brew"] == pytest.approx(1.0)
    assert shares[INSTRUMENT] == pytest.approx(shift)
    assert shares[READING_ERROR] == pytest.approx(1.5 - shift)


def test_a_calibration_of_the_instrument_is_no_reading_of_the_batch():
    reading = Reading("volume", 22.0, 0.3, "mark")
    check = Reading("volume", 5.1, 0.3, "mark", known=5.0)
    batch = vessel(reading)
    both = replace(batch, readings=(reading, check))
    draws = {"brew @batch 1": 1.0}

    (one, of_one), (two, of_two) = (split(b, "recipe", **draws) for b in (batch, both))

    assert (
        (two.reached, of_two) == (one.reached, of_one) == (22.0, {"brew": 1.0, READING_ERROR: 1.0})
    )


def test_readings_are_taken_as_normal_unless_outliers_are_asked_for():
    """Log likelihood -z^2 / 2; Student's t with 4 degrees -2.5 ln(1 + z^2 / 4); z = 6 here."""
    batch = vessel(Reading("volume", 23.0, 0.5))
    state = np.zeros((2, 1))

    assert Model([batch]).log_likelihood(state)[0] == pytest.approx(-18.0)
    robust = Model([batch], outliers=True).log_likelihood(state)[0]
    assert robust == pytest.approx(-2.5 * np.log(1 + 36 / 4))


def test_a_cause_is_the_largest_in_the_share_of_draws_in_which_it_is():
    """Brew +2 in three draws of four and +0.1 in the fourth, where the reading's error is 1.9."""
    batch = vessel(Reading("volume", 22.0, 0.3))
    brew = np.where(np.arange(512) % 4 == 0, 0.1, 2.0)

    found, _ = split(batch, "house", **{"brew @batch 1": brew, "yearly @knowledge": 0.0})

    largest = {share.factor: share.largest for share in found.shares}
    assert largest == {"brew": 0.75, READING_ERROR: 0.25}


def test_what_no_reading_reached_stays_at_its_middle_unless_it_lasts():
    """The reference has no sampling error where nothing is drawn; a house's own year is drawn."""
    batch = vessel(Reading("volume", 22.0, 0.3))

    recipe, _ = split(batch, "recipe", **{"brew @batch 1": 1.0})
    house, of_house = split(batch, "house", **{"yearly @knowledge": 1.0})
    drawn, of_drawn = split(batch, "house", **{"brew @batch 1": 1.0})

    assert recipe.reference == pytest.approx(20.0, abs=1e-12)
    assert house.reference == pytest.approx(20.5, abs=1e-12)
    assert set(of_house) == {READING_ERROR}
    assert drawn.reference != 20.0
    assert drawn.reference == pytest.approx(20.0, abs=4 * 0.5 / np.sqrt(512))
    assert of_drawn["brew"] == pytest.approx(1.0)


@pytest.mark.parametrize("known", ["a", "b"])
def test_what_was_learned_of_one_of_a_pair_moves_the_other_by_their_correlation(known):
    """Normal conditional: b known at a score of 2, correlation 0.6: a has mean 1.2, sd 0.8."""
    pair = ("a", "b")
    problem = Problem.of(
        [total],
        {"a": normal(0, 1), "b": normal(0, 1)},
        correlations=(Correlation("knowledge", pair, ((1.0, 0.6), (0.6, 1.0))),),
    )
    learned = by_hand(problem, draws={f"{known} @knowledge": 2.0})

    draws = simulate(replace(problem, learned=learned), 8192, keep=pair)

    other = draws["b" if known == "a" else "a"]
    assert float(draws[known].mean()) == pytest.approx(2.0)
    assert float(draws[known].std()) == pytest.approx(0.0, abs=1e-12)
    assert float(other.mean()) == pytest.approx(1.2, abs=0.01)
    assert float(other.std()) == pytest.approx(0.8, rel=0.02)


def gravity(house, lots, brew, dose):
    return 50.0 + house + lots + brew + dose


@pytest.mark.parametrize("doses", [(0.0, 10.0, 20.0), (20.0, 0.0, 10.0), (5.0, 5.0, 5.0)])
def test_batches_read_together_are_what_each_is_by_itself(doses):
    """Each batch has its own lot, brew and dose; the house is the same in all of them."""
    factors = {
        "house": normal(0, 2.0),
        "lots": (normal(0, 1.0), Kinds(0, 1, 0)),
        "brew": (normal(0, 0.5), BREW),
    }
    reading = (Reading("gravity", 50.0, 0.1),)
    batches = [
        Batch(f"b{i}", Problem.of([gravity], factors, fixed={"dose": dose}), reading)
        for i, dose in enumerate(doses)
    ]
    model = Model(batches)
    state = np.random.default_rng(1).standard_normal((len(model.names), 40))
    score = dict(zip(model.names, state, strict=True))

    found = model.predicted(state)

    for i in range(3):
        own = score[f"lots @lot of b{i}"] + 0.5 * score[f"brew @batch b{i}"]
        expected = 50.0 + doses[i] + 2.0 * score["house @knowledge"] + own
        np.testing.assert_allclose(found[i], expected, rtol=1e-12)
    assert len(model.names) == 7


@pytest.mark.parametrize(
    "bases", [[None], [None, None], [[0, 0, 0, 40.0]], [[0, 0, 0, 40.0], [0, 0, 0, 50.0]]]
)
def test_rows_of_a_list_are_read_in_each_batch_as_it_was_brewed(bases):
    """Rows 20 + z, 20 + 2 z and 20 + 3 z, the first shared by all batches, a fourth row fixed."""
    reading = (Reading("hop_total_g", 60.0, 0.1),)
    batches = [Batch(f"b{i}", weighed(base), reading) for i, base in enumerate(bases)]
    model = Model(batches)
    state = np.random.default_rng(2).standard_normal((len(model.names), 30))
    score = dict(zip(model.names, state, strict=True))

    found = model.predicted(state)

    for i, base in enumerate(bases):
        own = 2 * score[f"h1 @batch b{i}"] + 3 * score[f"h2 @batch b{i}"]
        fixed = 0.0 if base is None else base[3]
        np.testing.assert_allclose(found[i], 60.0 + fixed + score["h0 @knowledge"] + own)


def test_a_list_that_is_uncertain_throughout_has_as_many_rows_as_it_has_factors():
    draws = simulate(weighed(None), 128, keep=["hop_mass_g"])

    assert draws["hop_mass_g"].shape == (3, 128)
    np.testing.assert_allclose(draws["hop_mass_g"].sum("hop"), draws["hop_total_g"])


@pytest.mark.parametrize("value", [-2.0, 0.3, 1.5])
def test_a_reading_is_as_surprising_as_its_place_in_what_was_expected(value):
    """Expected N(0, 1 + 0.25); learned mean value / 1.25; the reading's noise is 0.5."""

    def level(x):
        return 1.0 * x

    problem = Problem.of([level], {"x": (normal(0, 1), BREW)})
    batch = Batch("1", problem, (Reading("level", value, 0.5),))

    (found,) = update(problem, [batch], keep=10, time_limit_s=0).surprises

    sd = np.sqrt(1.25)
    assert found.chance == pytest.approx(2 * ndtr(-abs(value) / sd), abs=4 * 0.5 / np.sqrt(1024))
    assert found.expected == pytest.approx(0.0, abs=4 * 1.2533 * sd / np.sqrt(4096))
    assert (found.low, found.high) == pytest.approx((-1.645 * sd, 1.645 * sd), abs=0.15)
    assert found.residual == pytest.approx((value - value / 1.25) / 0.5, abs=0.3)
