"""The knob stories of a thiol brewer, on one recipe with the numbers of the stories."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from brewsim.answers.lot_substitution import new_lot
from brewsim.beer.scenarios import choices_of
from brewsim.logbook.pose import pose
from brewsim.priors.library import load_priors
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target
from brewsim.study.propagation.landing import bracket
from brewsim.study.propagation.sweep import current_setting, turn, turn_all
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.steering.compare import compare
from brewsim.study.steering.scenario_comparison import choice_shares
from brewsim.study.steering.steering import steer

RECIPE = (Path(__file__).parent / "recipes" / "thiol-pale.toml").read_text(encoding="utf-8")
BALANCE = "thiol_to_bitterness"
POWDER = "precursor 1 mass"


def posed(text=RECIPE):
    return pose(parse_recipe(text))


@pytest.fixture(scope="module")
def problem():
    return posed()


# which knob --------------------------------------------------------------------------------------
@pytest.mark.slow
def test_shares_of_the_balance_total_the_whole(problem):
    """Shapley effects add up to the variance (Owen 2014)."""
    found = shapley(problem, base=64, turns=2).sel(outcome=BALANCE)

    assert float(found["shapley"].sum()) == pytest.approx(1.0, abs=0.03)


def test_a_new_seed_keeps_the_top_three_or_they_tie(problem):
    one, other = (
        rank(problem, base=1024, seed=seed).sel(outcome=BALANCE).sortby("total_order")
        for seed in (1, 2)
    )
    order = [str(f) for f in one["factor"].values[::-1][:3]]
    again = [str(f) for f in other["factor"].values[::-1][:3]]

    for was, is_now in zip(order, again, strict=True):
        gap = one["total_order_low"].sel(factor=was) - one["total_order_high"].sel(factor=is_now)

        assert was == is_now or float(gap) <= 0


def test_yeast_and_bitterness_formula_are_rows_of_the_ranking(problem):
    choices = choices_of(problem)
    shares = {
        name: float(choice_shares(options, draws=4096)["total_order"].sel(outcome=BALANCE))
        for name, options in choices.items()
    }
    yeast, formula = (
        next(share for name, share in shares.items() if name.startswith(start))
        for start in ("thiol release", "bitterness formula")
    )

    assert 0.1 < yeast < 0.9
    assert 0.1 < formula < 0.9


def test_every_input_is_marked_by_what_a_brewer_can_do(problem):
    marks = {(f.turnable, f.measurable) for f in problem.factors}

    assert {(False, False), (False, True)} <= marks
    assert any(turnable for turnable, _ in marks)


# how far -----------------------------------------------------------------------------------------
def test_without_powder_the_dial_at_zero_is_the_recipe_without_the_line(problem):
    head, rest = RECIPE.split("[[precursor]]")
    bare = posed((head + "[yeast]" + rest.split("[yeast]")[1]).replace(f'"{POWDER}"    =', "#"))

    found = compare(problem.set({POWDER: 0.0}), bare, draws=2048)

    assert np.all(found["tied"].values == 1.0)


def test_each_knob_gives_a_bracket_or_says_it_cannot(problem):
    """The background level: thiols at most 2^3 = 8 times the bitterness, eight chances in ten."""
    asked = replace(problem, targets={BALANCE: Target(None, 3.0)})
    found = {d.attrs["knob"]: d.sel(outcome=BALANCE) for d in turn_all(asked)}
    powder, hops, yeast = (found[k] for k in (POWDER, "hop 1 mass", "yeast thiol_release"))

    assert bracket(powder.setting.values, powder["in_target"].values, 0.8) is None
    assert bracket(hops.setting.values, hops["in_target"].values, 0.8) is None
    assert float(yeast["in_target"].sel(setting="ordinary")) > 0.8
    assert float(yeast["in_target"].sel(setting="engineered")) < 0.8


def test_a_tenth_more_powder_is_less_than_the_powder_itself(problem):
    along = turn(problem, POWDER).sel(outcome=BALANCE)

    assert 0 < float(along["per_tenth"]) < float(np.ptp(along["middle"].values))


# paired what-if ----------------------------------------------------------------------------------
def test_less_powder_is_lower_in_fifty_of_fifty_pairs(problem):
    """3.7 to 1.5 g/L: the same batch always has less thiol; the pairs vary far less than brews."""
    plan = posed(RECIPE.replace('mass = "70 g"', 'dose = "1.5 g/L"').replace(POWDER, "hop 3 mass"))
    found = compare(problem, plan).sel(outcome="thiol_activity")

    assert round(50 * float(found["lower"])) == 50
    assert float(found["low"]) < float(found["difference"]) < float(found["high"]) < 1.0
    assert float(found["variance_ratio"]) > 10


def test_identical_files_tie_in_all_pairs_with_a_fold_of_one(problem):
    found = compare(problem, posed())

    assert np.all(found["tied"].values == 1.0)
    assert np.all(found["difference"].values[found["scale"].values == "log2"] == 1.0)


def test_common_draws_shrink_the_variance_as_printed(problem):
    """The printed ratio is that of independent runs: other seeds for the second recipe.

    Rows of one number in two scrambled sets are no independent pair, so the second are shuffled.
    """
    moved = problem.set({POWDER: 28 / 19})
    names = ("thiol_activity",)
    one, two = (
        np.log2(Evaluator(p, CommonDraws([p], Plan(8, 2048, seed)), names).at()[names[0]])
        for p, seed in ((problem, 1), (moved, 99))
    )
    two = np.random.default_rng(5).permutation(np.ravel(two)).reshape(np.shape(two))
    paired = np.log2(Evaluator(moved, CommonDraws([moved], Plan(8, 2048, 1)), names).at()[names[0]])
    printed = float(compare(problem, moved).sel(outcome=names[0])["variance_ratio"])

    assert printed == pytest.approx(np.var(two - one) / np.var(paired - one), rel=0.1)


def test_recipes_with_other_lists_still_share_what_they_have_in_common(problem):
    extra = RECIPE.replace(
        "[[precursor]]",
        '[[hop]]\nvariety = "Galena"\nalpha = "12 %"\nmass = "5 g"\nwhen = "boil 60 min"\n\n'
        "[[precursor]]",
        1,
    )

    found = compare(problem, posed(extra)).sel(outcome=["bitterness_ibu", "carbonation_vol"])

    assert float(found["higher"][0]) == 1.0
    assert float(found["variance_ratio"][0]) > 5
    assert float(found["tied"][1]) == 1.0


# will it land ------------------------------------------------------------------------------------
def test_the_joint_chance_is_at_most_the_smallest_single_one(problem):
    along = turn(problem, POWDER)
    singles = along["in_target"].sel(outcome=list(problem.targets))

    assert np.all(along["joint"].values <= singles.min("outcome").values + 1e-12)
    assert set(problem.targets) == {"alcohol_by_volume_fraction", "bitterness_ibu", BALANCE}


# honest noise ------------------------------------------------------------------------------------
def test_a_tenth_less_powder_is_smaller_than_the_scatter_of_brews(problem):
    now = current_setting(problem, problem.knob(POWDER))
    found = compare(problem, problem.set({POWDER: 0.9 * now})).sel(outcome="free_3sh_ng_l")

    change = abs(float(np.log2(found["difference"])))

    assert 0 < change < float(found["scatter"])
    assert np.isnan(float(found["batches"])) or float(found["batches"]) > 10


# new hop lot -------------------------------------------------------------------------------------
def test_a_weaker_lot_is_weighed_up_by_old_over_new_alpha():
    text = RECIPE.replace(
        "[[precursor]]",
        '[[hop]]\nvariety = "Galena"\nlot = "GA23"\nalpha = "10 %"\nmass = "20 g"\n'
        'when = "boil 60 min"\n\n[[precursor]]',
        1,
    )

    found = new_lot(parse_recipe(text), "GA23", "6.5 %", load_priors())

    assert found.factor == pytest.approx(10 / 6.5)
    assert found.recipe.hop[5].mass.value == pytest.approx(20 * 10 / 6.5)


# steering ----------------------------------------------------------------------------------------
@pytest.mark.slow
def test_four_dials_and_a_yeast_are_steered_and_checked_on_fresh_draws(problem):
    found = steer(problem, chance=0.8)
    searched = np.sqrt(found.best.searched * (1 - found.best.searched) / 2048)

    assert len(problem.knobs) == 5
    assert found.best.chance > 5 * found.now.chance
    assert abs(found.best.optimism) < 4 * searched + found.best.chance_error
    assert found.best.most_likely_truth > found.best.chance


def test_targets_that_cannot_both_be_met_name_the_conflict(problem):
    """Powder and yeast act on thiols alone; the balance falls only as bitterness rises."""
    asked = replace(
        problem,
        targets={"bitterness_ibu": Target(15.0, 24.0), BALANCE: Target(None, 2.2)},
        knobs=tuple(k for k in problem.knobs if k.id in ("hop 1 mass", "hop 2 mass")),
    )

    found = steer(asked, chance=0.8)

    assert not found.reaches
    assert set(found.obstacles.gives_way or ()) == {"bitterness_ibu", BALANCE}
