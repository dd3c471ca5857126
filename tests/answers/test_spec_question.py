"""What is asked beside the recipe takes the place of the recipe's own target, and says so."""

import numpy as np
import pytest

from brewsim.answers.spec_question import Asked, as_judged, posed_for
from brewsim.answers.specification import spec_studies
from brewsim.beer.display_units import rows_of
from brewsim.beer.requirements import read_want
from brewsim.priors.library import load_priors
from brewsim.wording.specification.targets import want_sentences
from tests.texts import beer, hop, problem_of

pytestmark = pytest.mark.slow

PLATO, SG = "original_extract_plato", "original_gravity_sg"


@pytest.fixture(scope="module")
def problem():
    return problem_of(beer(hop(), '[targets]\nOG = "11 to 12 °P"\nalcohol = "4.5 to 5 %"\n'))


def told(problem, text):
    asked = Asked(wants=(read_want(text, problem),))
    posed = posed_for(problem, asked)
    studies = spec_studies(posed, load_priors(), asked, draws=1024)
    return studies, want_sentences(studies, rows_of(posed))


def test_a_spread_says_what_it_is_around_and_which_target_gives_way(problem):
    studies, (around, aside) = told(problem, "alcohol ± 0.2 %")

    low, high = studies.targets["alcohol_by_volume_fraction"].ends
    middle = f"{50 * (low + high):.2f} % ABV"
    assert around.startswith(f"“alcohol ± 0.2 %” is taken around {middle}, the median")
    assert aside == (
        "The recipe's own target for strength, 4.5 to 5.0 % ABV, is set aside for "
        "“alcohol ± 0.2 %”."
    )


def test_limits_for_the_twin_take_the_place_of_the_recipe_s_own(problem):
    studies, sentences = told(problem, "OG 1.040 to 1.044")

    assert set(studies.targets) == {SG, "alcohol_by_volume_fraction"}
    assert studies.aside == {PLATO: problem.targets[PLATO]}
    (sentence,) = sentences
    assert sentence == (
        "The recipe's own target for original extract, 11.0 to 12.0 °P, is set aside for "
        "“OG 1.040 to 1.044”."
    )


def test_limits_that_are_the_recipe_s_own_set_nothing_aside(problem):
    studies, sentences = told(problem, "alcohol 4.5 to 5 %")

    assert (studies.aside, sentences) == ({}, [])


def test_a_log_is_read_as_what_the_recipe_aims_at(problem):
    asked = as_judged(problem, Asked(log={SG: np.array([1.045, 1.046])}))

    assert set(asked.log) == {PLATO}
    assert posed_for(problem, asked).outcomes.count(PLATO) == 1


def test_readings_are_held_against_the_instrument_most_certain_at_that_value(problem):
    """A refractometer errs by a share of what it shows: of 11 °P that is more than 0.06 °P."""
    studies = spec_studies(problem, load_priors(), draws=1024)

    (found,) = [one for one in studies.conformity if one.outcome == PLATO]
    assert found.instrument.name == "bench density meter"
