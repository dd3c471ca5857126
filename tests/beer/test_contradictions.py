"""Two lines for one number: none of them is dropped in silence."""

import pytest

from brewsim.errors import InputError
from tests.texts import TOP, beer, problem_of


def fault_of(text):
    with pytest.raises(InputError) as caught:
        problem_of(text)
    (fault,) = caught.value.faults
    return fault


@pytest.mark.parametrize(
    ("top", "given", "told"),
    [
        ("", 'OG = "1.050"\noriginal_extract_plato = "14 °P"', "original_gravity_sg (line"),
        ("", 'final_extract_plato = "4 °P"\nFG = "1.010"', "final_extract_plato (line"),
        ("", 'beer_color_srm = "6 SRM"\nbeer_color_ebc = "20 EBC"', "beer_color_ebc (line"),
        ('wort_ph = "5.2"\n', 'wort_ph = "5.6"', "says the same; keep one"),
        ("", 'mash_efficiency_fraction = "60 %"', "overrules it; keep one"),
    ],
)
def test_a_statement_that_another_overrules_is_refused(top, given, told):
    assert told in fault_of(beer(top=f"{TOP}{top}[given]\n{given}\n"))


def test_statements_beside_each_other_are_taken():
    given = 'OG = "1.050"\nFG = "1.010"\nbeer_color_ebc = "20 EBC"\n'

    problem = problem_of(beer(top=f"{TOP}[given]\n{given}"))

    assert problem.fixed_at("beer_color_ebc") == 20.0
