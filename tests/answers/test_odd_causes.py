"""Plain causes of what is odd in a log: each planted one is named, by physics that is not ours."""

import re

import pytest
from scipy import stats

from brewsim.answers.odd_causes import odd_causes
from brewsim.answers.single_reading import _cauchy, _student
from brewsim.beer.display_units import rows_of
from brewsim.logbook.brew import parse_batches
from brewsim.wording.odd_causes import odd_cause_sentences
from tests.synthetic_brewery import RECIPE, year
from tests.texts import problem_of


def found_in(text):
    problem = problem_of(RECIPE)
    found = odd_causes(problem, parse_batches(text, RECIPE))
    looks = rows_of(problem, dict.fromkeys(q for one in found for q in one.quantities))
    return found, odd_cause_sentences(found, looks)


def test_a_stall_is_told_as_one():
    text, planted, _ = year("stall", 1)
    (found,), (told,) = found_in(text)

    assert (found.kind, found.batches) == ("stall", planted.batches)
    assert found.quantities == ("final_gravity_sg",)
    assert told.startswith("B07: final gravity of 1.017 where 1.0091 is usual, and the wort as")
    assert "stalled" in told


def test_a_stall_that_left_the_strength_alone_is_none():
    """The alcohol that was read says that the beer fermented."""
    text, planted, _ = year("stall", 1)
    parts = text.split("[batch.readings]\n")
    text = '[batch.readings]\nalcohol = "5.1 %"\n'.join(parts)
    kinds = {one.kind for one in found_in(text)[0] if one.batches == planted.batches}

    assert kinds
    assert "stall" not in kinds


def test_two_digits_in_the_wrong_order_are_proposed_first():
    text, planted, _ = year("typo", 3)
    found, told = found_in(text)

    assert (found[0].kind, found[0].batches) == ("slip", planted.batches)
    assert "1.048 for 1.084?" in told[0]


def test_a_spindle_that_is_off_from_a_day_on_is_the_instrument():
    text, planted, _ = year("spindle", 1)
    (found,), (told,) = found_in(text)

    assert (found.kind, found.batches) == ("instrument", planted.batches)
    assert re.match(r"From B12 on, original gravity and final gravity by consumer hydrometer", told)
    assert "not the beer" in told


def test_a_lot_that_is_not_its_label_is_named():
    text, planted, _ = year("lot", 0)
    (found,), (told,) = found_in(text)

    assert (found.kind, found.batches) == ("lot", planted.batches)
    assert found.place == planted.group
    assert "Lot N4 of Northern Brewer (B19 to B24): bitterness is 1.61 times as much" in told


def test_a_tank_that_ferments_further_is_told_with_its_range():
    text, _, _ = year("tank", 2)
    (found,), (told,) = found_in(text)

    assert (found.kind, found.tag) == ("group", "tank")
    assert re.match(r"Tank T2: final gravity is 0\.002\d lower \(nine in ten: ", told)


@pytest.mark.parametrize("seed", [0, 1, 2, 3])
def test_an_ordinary_year_is_told_nothing(seed):
    assert found_in(year("nothing", seed)[0]) == ((), [])


def test_one_batch_with_94_for_49_is_held_against_the_forecast():
    entry = year("nothing", 0)[0].split("\n[[batch]]")[0]
    entry = re.sub(r'bitterness = "[\d.]+', 'bitterness = "91', entry)
    (found,), (told,) = found_in(entry)

    assert (found.kind, found.quantities) == ("slip", ("bitterness_ibu",))
    assert "for 91 IBU?" in told


def test_one_batch_is_held_against_the_forecast_of_a_share_too():
    """Strength is a fraction inside, below 1 in every draw."""
    entry = year("nothing", 0)[0].split("\n[[batch]]")[0]
    found, _ = found_in(entry.replace("[batch.readings]\n", '[batch.readings]\nABV = "9.9 %"\n'))

    assert [one.quantities for one in found] == [("alcohol_by_volume_fraction",)]


def test_one_ordinary_batch_is_told_nothing():
    assert found_in(year("nothing", 0)[0].split("\n[[batch]]")[0]) == ((), [])


@pytest.mark.parametrize("x", [-1e6, -3.0, 0.0, 0.5, 40.0, 1e8])
def test_the_densities_are_those_of_scipy(x):
    assert _student(x) == pytest.approx(stats.t.pdf(x, 5), rel=1e-12, abs=0)
    assert _cauchy(x, 0.3) == pytest.approx(stats.cauchy.pdf(x, 0, 0.3), rel=1e-12, abs=0)
