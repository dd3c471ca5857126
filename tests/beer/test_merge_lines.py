"""Splitting a line of malt, sugar or powder changes no number; what differs stays apart."""

import numpy as np
import pytest

from brewsim.study.propagation.simulate import simulate
from tests.texts import MALT, beer, medians, powder, problem_of

SUGAR = '[[sugar]]\nname = "Sucrose"\nmass = "{}"\n'


def malts(*masses, **fields):
    more = "".join(f'{key} = "{value}"\n' for key, value in fields.items())
    return "".join(f'[[malt]]\nname = "Pilsner malt"\nmass = "{mass}"\n{more}' for mass in masses)


def draws_of(text):
    drawn = simulate(problem_of(text), 256, seed=0)
    return {name: drawn[name].values for name in drawn.data_vars}


@pytest.mark.parametrize(
    ("whole", "split"),
    [
        (beer(powder("2.5 g/L")), beer(powder("1.25 g/L"), powder("1.25 g/L"))),
        (beer(malt=malts("4 kg")), beer(malt=malts("1 kg", "3 kg"))),
        (beer(malt=malts("4 kg", lot="a")), beer(malt=malts("1 kg", "2 kg", "1 kg", lot="a"))),
        (beer(SUGAR.format("0.5 kg")), beer(SUGAR.format("0.25 kg"), SUGAR.format("0.25 kg"))),
    ],
    ids=["powder", "malt", "malt of one lot", "sugar"],
)
def test_splitting_a_line_changes_no_bit_of_any_draw(whole, split):
    one, two = draws_of(whole), draws_of(split)

    assert one.keys() == two.keys()
    for name, values in one.items():
        assert np.array_equal(values, two[name]), name


def test_one_powder_at_two_steps_shares_its_content_and_adds_up():
    both = beer(powder("1 g/L", "mash"), powder("1.5 g/L", "whirlpool"))
    problem = problem_of(both)
    mash = medians(beer(powder("1 g/L", "mash")))["precursor_conjugate_nmol_l"].sum()
    late = medians(beer(powder("1.5 g/L", "whirlpool")))["precursor_conjugate_nmol_l"].sum()
    contents = [f for f in problem.factors if f.quantity == "precursor_content_ug_kg"]

    assert len(contents) == 1
    assert medians(both)["precursor_conjugate_nmol_l"].sum() == pytest.approx(mash + late)


@pytest.mark.parametrize(
    "text",
    [
        beer(powder(lot="a"), powder(lot="b")),
        beer(powder(), powder(content="2 mg/kg", basis="conjugate")),
        beer(powder("1 g/L"), powder("1 g/L ± 0.1")),
        beer(powder("1 g/L"), powder("1 g/L", name="dried grape marc")),
    ],
    ids=["lots", "contents", "weighings", "products"],
)
def test_lines_that_say_something_else_stay_rows_of_their_own(text):
    assert len(problem_of(text).row_labels["precursor"]) == 2


def test_a_line_that_a_knob_turns_stays_a_row_of_its_own():
    split = beer(powder("1 g/L"), powder("1.5 g/L"))
    turned = problem_of(split + '\n[knobs]\n"precursor 2 dose" = "0 to 3 g/L"\n')
    (knob,) = turned.knobs

    assert len(turned.row_labels["precursor"]) == 2
    assert turned.fixed["precursor_dose_g_l"][knob.row, 0] == pytest.approx(1.5)


def test_the_first_of_lines_that_belong_together_stands_for_them_among_other_malts():
    grist = MALT + '[[malt]]\nname = "Vienna malt"\nmass = "1 kg"\n' + malts("1 kg")
    problem = problem_of(beer(malt=grist) + '\n[knobs]\n"malt 2 mass" = "0 to 2 kg"\n')
    masses = problem.fixed["malt_mass_kg"].ravel()

    assert sorted(masses) == pytest.approx([1.0, 5.0])
    assert masses[problem.knobs[0].row] == pytest.approx(1.0)


@pytest.mark.parametrize(("basis", "share"), [("conjugate", 0.0), ("free-thiol equivalent", 1.0)])
def test_the_basis_of_a_stated_content_reaches_the_beer(basis, share):
    """Free thiol weighs less than its conjugate, so as much of it stands for more molecules."""
    values = medians(beer(powder(content="2 mg/kg", basis=basis)))
    conjugate = medians(beer(powder(content="2 mg/kg", basis="conjugate")))

    assert values["precursor_free_equivalent_share"].ravel() == pytest.approx([share])
    assert (values["free_3sh_ng_l"] > conjugate["free_3sh_ng_l"]) == bool(share)
