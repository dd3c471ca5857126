"""What a recipe states under [given]: what a log refuses as measured is refused here too."""

import pytest

from brewsim.errors import InputError
from brewsim.recipe.read import parse_recipe
from tests.texts import beer

HEAD = "[given]\n"


def faults_of(*lines):
    with pytest.raises(InputError) as caught:
        parse_recipe(beer(HEAD + "\n".join(lines) + "\n"))
    return caught.value.faults


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('original_extract_plato = "1000 °P"', "original extract lies between −5 °P and 45 °P"),
        ('bitterness_ibu = "-500 IBU"', "bitterness lies between 0 IBU and 300 IBU"),
        ('final_extract_plato = "60 °P"', "“60 °P” is impossible: final extract lies between"),
        ('beer_color_ebc = "4000 EBC"', "lies between"),
        ('fermenter_volume_l = "-3 L"', "lies above 0 L"),
    ],
)
def test_a_stated_quantity_that_cannot_be_is_refused_with_its_line(line, told):
    (fault,) = faults_of(line)

    assert fault.startswith("line 11, given ")
    assert told in fault


@pytest.mark.parametrize(
    "lines",
    [
        ('original_gravity_sg = "1.040"', 'final_gravity_sg = "1.080"'),
        ('original_extract_plato = "10 °P"', 'final_gravity_sg = "1.080"'),
    ],
)
def test_a_beer_stated_denser_than_its_wort_is_refused(lines):
    (fault,) = faults_of(*lines)

    assert fault.startswith("line 12, given: beer (1.080) cannot be denser than its wort (1")


def test_errors_and_slopes_below_zero_may_be_stated():
    lines = 'mash_temperature_error_c = "-1 °C"\nfinal_gravity_sg = "0.998"\n'

    assert len(parse_recipe(beer(HEAD + lines)).given) == 2
