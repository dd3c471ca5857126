"""Hop lines of one lot: what is said once of it, and what may not be said differently."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.pose import pose

ALPHA = 'alpha = "8.5 %"'
MORE = '\n[[hop]]\nvariety = "Fuggle"\nmass = "9 g"\nwhen = "flameout"\n'


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ('age = "6 months"\nharvest = "2024"', "hop 1 harvest: age says the same"),
        ('given = { stated_alpha_fraction = "9 %" }', "hop 1 given stated_alpha_fraction: alpha"),
        (
            'age = "6 months"\ngiven = { age_month = "7 months" }',
            "hop 1 given age_month: age says the same",
        ),
        ('harvest = "2024"', "hop 1 harvest: “2024” gives no age"),
    ],
)
def test_a_hop_line_says_a_thing_once(written, said, told):
    with pytest.raises(InputError, match=f"line 12, {told}"):
        pose(written((ALPHA, f"{ALPHA}\n{said}")))


@pytest.mark.parametrize("lot", ['lot = "F24"\n', ""])
@pytest.mark.parametrize(
    ("here", "there"),
    [
        ('age = "6 months"', 'age = "12 months"'),
        ('storage = "4 °C"', 'storage = "20 °C"'),
        ('wrap = "vacuum"', 'wrap = "loose"'),
        ('given = { linalool_mg_kg = "9 mg/kg" }', 'given = { linalool_mg_kg = "7 mg/kg" }'),
    ],
)
def test_two_lines_of_one_lot_may_not_differ_in_it(written, lot, here, there):
    recipe = written(('lot = "F24"\n', f"{lot}{here}\n"), more=f"{MORE}{lot}{there}\n")

    with pytest.raises(InputError, match=r"line (38|39|4\d), hop 3 .* in hop 2, .* here; "):
        pose(recipe)


def test_two_lots_and_equal_words_for_one_lot_are_welcome(written):
    same = written(('lot = "F24"', 'lot = "F24"\nage = "6 months"'), more=MORE + 'lot = "F24"')
    apart = written(
        ('lot = "F24"', 'lot = "F24"\nage = "6 months"'),
        more=MORE + 'lot = "F25"\nage = "18 months"',
    )

    assert len(pose(same).row_labels["hop_lot"]) == 2
    assert len(pose(apart).row_labels["hop_lot"]) == 3


def test_a_stated_storage_index_acts_on_what_is_left_of_the_alpha_acids(written, median_of):
    def bitterness(index):
        given = f'{ALPHA}\ngiven = {{ storage_index = "{index}" }}'
        return median_of(written((ALPHA, given)), "bitterness_ibu")

    assert bitterness("0.6") < 0.9 * bitterness("0.3")


def test_faults_of_hops_come_with_all_that_only_shows_when_posed(written):
    recipe = written(
        (ALPHA, f'{ALPHA}\nharvest = "2024"'),
        ('"Pilsner malt"', '"mystery"'),
        more='\n[[hop]]\nvariety = "Fuggle"\nmass = "9 g"\nwhen = "whirlpool 10 min at 90 °C"\n',
    )
    with pytest.raises(InputError) as caught:
        pose(recipe)

    assert len(caught.value.faults) == 3
