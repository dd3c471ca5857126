"""How often brews lie inside their intervals, counted by hand; and what a new lot is asked."""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from brewsim.answers.coverage import (
    Coverage,
    Judged,
    KeptCoverage,
    _plain,
    _reading_error,
    _row,
    _score,
    coverage_of,
    coverage_table,
    kept_text,
)
from brewsim.answers.lot_substitution import new_lot
from brewsim.answers.published_brews import Measurement, read_series
from brewsim.errors import InputError
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe
from tests.texts import beer, hop

PRIORS = load_priors()
GRAVITY, IBU = "final_gravity_sg", "bitterness_ibu"


def measured(value, quantity=IBU, half="judged", **more):
    told = {"given_gravity": 0.0, "bias_sd": 0.0, "noise_sd": 0.0} | more
    return Measurement("s", "w", half, quantity, value, "", **told)


def judged(value, rank, half="judged", width=10.0):
    low, middle = 20.0 - width / 2, 20.0
    return Judged(measured(value, half=half), rank, low, middle, low + width)


@pytest.mark.parametrize(
    ("rank", "inside"),
    [
        (0.5, 3),
        (0.75, 3),
        (0.76, 2),
        (0.25, 3),
        (0.95, 2),
        (0.951, 1),
        (0.04, 1),
        (0.001, 0),
        (1.0, 0),
    ],
)
def test_a_rank_lies_inside_the_central_intervals_around_it(rank, inside):
    one = judged(20.0, rank)

    assert sum(one.inside(share) for share in (0.5, 0.9, 0.99)) == inside


def test_coverage_counts_and_averages_what_was_measured():
    rows = [judged(22, 0.75, width=8.0), judged(17, 0.03), judged(21, 0.6, "fitted", 12.0)]
    found = coverage_of(rows, IBU, "judged")
    both = coverage_of(rows, IBU, "")
    z = [NormalDist().inv_cdf(0.75), NormalDist().inv_cdf(0.03)]

    assert (found.quantity, found.half, found.n, found.inside) == (IBU, "judged", 2, (1, 1, 2))
    assert (found.width, found.bias) == pytest.approx((9.0, -0.5))
    assert found.scatter == pytest.approx(math.sqrt(2 * 2.5**2))
    assert found.score_mean == pytest.approx(sum(z) / 2)
    assert found.score_sd == pytest.approx(abs(z[0] - z[1]) / math.sqrt(2))
    assert (both.half, both.n, both.width, both.bias) == ("both", 3, 10.0, pytest.approx(0))
    assert [(c.half, c.n) for c in coverage_table(rows)] == [
        ("fitted", 1),
        ("judged", 2),
        ("both", 3),
    ]


def test_one_brew_has_no_scatter_and_none_has_nothing():
    one = coverage_of([judged(22, 0.75)], IBU, "")
    none = coverage_of([judged(22, 0.75)], GRAVITY, "")

    assert (one.n, one.width, one.bias) == (1, 10.0, 2.0)
    assert math.isnan(one.scatter)
    assert math.isnan(one.score_sd)
    assert one.score_mean == pytest.approx(0.6745, abs=1e-4)
    assert (none.n, none.inside) == (0, (0, 0, 0))
    assert all(math.isnan(x) for x in (none.width, none.bias, none.score_mean, none.score_sd))


@pytest.mark.parametrize(("rank", "held"), [(0.0, 1 / 8192), (1.0, 8191 / 8192), (0.3, 0.3)])
def test_a_score_is_held_off_the_ends_by_half_a_draw(rank, held):
    assert _score(rank) == pytest.approx(NormalDist().inv_cdf(held))


def test_a_kept_row_comes_back_to_six_figures():
    row = Coverage(IBU, "both", 3, (1, 2, 3), 1.23456789, -0.5, 2.0, 0.1, 0.9)
    plain = _plain(row)

    assert plain["width"] == 1.23457
    assert plain["n"] == 3
    assert _row(plain) == replace(row, width=1.23457)
    kept = kept_text(KeptCoverage((row,), (), row, 0.12345))
    assert kept.endswith('"one_kettle": 0.123\n}\n')


def test_the_error_of_a_reading_is_its_bias_and_noise():
    """Of a final gravity a share stays: what is left of the extract, .01 of .05."""
    values = np.full(200_000, 1.01)
    plain = _reading_error(measured(20.0, bias_sd=3.0, noise_sd=4.0), values, 1)
    final = measured(1.01, GRAVITY, bias_sd=0.003, noise_sd=0.004, given_gravity=1.05)
    left = _reading_error(final, values, 1)

    assert plain.std() == pytest.approx(5.0, rel=0.01)
    assert plain.mean() == pytest.approx(0.0, abs=0.05)
    by_hand = math.sqrt((0.8 * 0.003) ** 2 + 0.004**2 + (0.2 * 0.004) ** 2)
    assert left.std() == pytest.approx(by_hand, rel=0.01)


def test_every_recipe_of_a_published_brew_says_what_was_weighed_and_read():
    series = {one.name: one for one in read_series(PRIORS)}
    every = [m for one in series.values() for m in one.measurements]

    for one in every:
        recipe = parse_recipe(one.recipe)
        if one.quantity == IBU:
            volume = recipe.volume.value
            assert recipe.malt[0].mass.value == pytest.approx(volume / 5, abs=0.005)
            before, pitched = (
                recipe.given[name].value for name in ("preboil_gravity_sg", "original_gravity_sg")
            )
            assert before == pytest.approx(pitched - 0.001, abs=6e-5)
            assert one.given_gravity == pitched
        elif one.quantity == GRAVITY:
            assert "original_extract_plato" in recipe.given
            assert one.given_gravity > 1
        else:
            mark = recipe.given["postboil_volume_l"].phrase
            assert mark.sd == pytest.approx(0.02 * mark.middle, rel=1e-3)
            assert one.given_gravity == 0
        assert one.noise_sd > 0


def lot(name="", *, alpha="10 %", lot="N1", **fields):
    recipe = parse_recipe(
        beer(
            hop(alpha="5 %", lot="N1", age="6 months"),
            hop("whirlpool 20 min at 80 °C", "30 g", alpha="5 %", lot="N1"),
            hop("first wort", "10 g", alpha="5 %", lot="N1"),
            hop("dry hop day 3 for 4 days at 16 °C", "40 g", variety="Fuggle"),
        )
    )
    return new_lot(recipe, lot, alpha, PRIORS, name=name, **fields)


def test_a_lot_of_twice_the_alpha_is_weighed_half_where_it_bitters():
    found = lot()

    assert [(a.number, a.variety, a.before, a.after, a.scaled) for a in found.additions] == [
        (1, "Northern Brewer", "20 g", "10 g", True),
        (2, "Northern Brewer", "30 g", "30 g", False),
        (3, "Northern Brewer", "10 g", "5 g", True),
    ]
    assert (found.old_alpha, found.new_alpha, found.factor) == pytest.approx((0.05, 0.10, 0.5))
    assert [h.lot for h in found.recipe.hop] == ["N1 new"] * 3 + [""]
    assert [h.lot for h in found.unscaled.hop] == ["N1 new"] * 3 + [""]
    assert [h.mass.value for h in found.unscaled.hop] == [20, 30, 10, 40]
    assert found.recipe.hop[0].age is None
    first, second = found.remarks
    assert first.startswith("hop 2 (whirlpool 20 min at 80 °C) was left as weighed: mash, late and")
    assert second.startswith("The age of the new lot is not known here")


def test_with_every_addition_all_are_weighed_anew():
    found = lot("N2", every=True)

    assert [a.after for a in found.additions] == ["10 g", "15 g", "5 g"]
    assert found.recipe.hop[0].lot == "N2"
    assert found.remarks[0].startswith("Mash, late or dry hops were rescaled as well")


def test_a_lot_without_a_stated_alpha_has_that_of_its_variety():
    found = lot(lot="fuggle", alpha="8 %")
    prior = PRIORS.of(PRIORS.find("hop_lot", "Fuggle"), "stated_alpha_fraction").value

    assert found.old_alpha == prior
    assert [(a.number, a.scaled) for a in found.additions] == [(4, False)]
    assert found.recipe.hop[3].lot == "Fuggle new"
    assert len(found.remarks) == 1


@pytest.mark.parametrize(
    ("name", "alpha", "told"),
    [
        ("Fugle", "5 %", "no hop of this recipe is of lot or variety “Fugle”. Did you mean Fuggle"),
        ("zzz", "5 %", "no hop of this recipe is of lot or variety “zzz”. There is: N1, Northern"),
        ("N1", "strong", "alpha of the new lot, “strong”: "),
    ],
)
def test_a_lot_that_is_not_there_or_cannot_be_is_refused(name, alpha, told):
    with pytest.raises(InputError) as caught:
        lot(lot=name, alpha=alpha)

    assert caught.value.faults[0].startswith(told)


def test_a_variety_of_two_lots_is_asked_for_one():
    recipe = parse_recipe(
        beer(hop(alpha="5 %", lot="a"), hop(alpha="6 %"), hop(alpha="6 %", lot="b"))
    )

    with pytest.raises(InputError, match=r"in several lots \(a, b, one without a name\); name one"):
        new_lot(recipe, "Northern Brewer", "5 %", PRIORS)
