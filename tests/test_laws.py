"""Laws that hold for every valid recipe, from its text to the numbers a person reads."""

import random
import re

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import brewsim
from brewsim.beer.display_units import rows_of
from brewsim.graph.evaluate import evaluate
from brewsim.logbook.pose import pose
from brewsim.quantities.format import value
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.sampling import Assembly
from tests.strategies import Block, recipes

pytestmark = pytest.mark.slow

LAW = settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
SCORES = (-1.5, 0.0, 1.1)
NO_NUMBER = re.compile(r"\b(nan|inf|infinity|none)\b", re.IGNORECASE)


def problem_of(written):
    return pose(parse_recipe(written.text))


def states(problem):
    """Every quantity with all factors at each of a few normal scores, events never happening."""
    scores = np.tile(np.array(SCORES), (len(problem.factors), 1))
    for place, factor in enumerate(problem.factors):
        if factor.event:
            scores[place] = -6.0
    return evaluate(problem.graph, Assembly(problem, problem.graph.inputs).values(scores))


def outcomes_differ(one, other, tolerance=1e-9):
    """The outcomes of two problems that are not the same in every state, in words."""
    first, second = states(one), states(other)
    return [
        f"{name}: {first[name]} {second[name]}"
        for name in one.outcomes
        if not np.allclose(first[name], second[name], rtol=tolerance, atol=1e-12, equal_nan=True)
    ]


def amount(block, key, share):
    """A row with its amount (a plain number with unit) times a share, weighed exactly."""
    value, unit = block.lines[key].split(" ", 1)
    return Block(block.name, block.lines | {key: f"exactly {float(value) * share!r} {unit}"})


def amount_key(block):
    return next(key for key in ("mass", "rate", "dose") if key in block.lines)


@LAW
@given(recipes())
def test_every_valid_recipe_gives_finite_numbers_and_words_without_nan(written):
    problem = problem_of(written)
    draws = brewsim.simulate(problem, draws=64)
    summary = brewsim.summarise(draws)
    told = [
        value(row, float(summary[key].sel(outcome=name)))
        for name, row in rows_of(problem, summary["outcome"].to_numpy().tolist()).items()
        for key in ("low", "estimate", "high")
    ]

    assert draws.attrs["not_finite"] == "[]"
    assert all(np.isfinite(draws[name]).all() for name in problem.outcomes)
    assert not [text for text in told if NO_NUMBER.search(text) or text == "no value"]
    assert all(row == row.strip() for row in problem.provenance)


@LAW
@given(recipes(), st.randoms(use_true_random=False))
def test_the_order_of_lines_changes_no_bit(written, chance):
    blocks = list(written.blocks[1:])
    chance.shuffle(blocks)
    shuffled = type(written)((written.blocks[0], *blocks), written.litres)
    one = brewsim.simulate(problem_of(written), draws=64, seed=3)
    other = brewsim.simulate(problem_of(shuffled), draws=64, seed=3)

    assert [name for name in one.data_vars if not one[name].equals(other[name])] == []


@LAW
@given(recipes())
def test_the_same_seed_gives_the_same_numbers_and_another_seed_others(written):
    problem = problem_of(written)
    first, second = (brewsim.simulate(problem, draws=64, seed=5) for _ in range(2))
    other = brewsim.simulate(problem, draws=64, seed=6)

    assert first.identical(second)
    assert not first["original_gravity_sg"].equals(other["original_gravity_sg"])


@LAW
@given(recipes(), st.sampled_from([0.5, 0.3]), st.data())
def test_splitting_an_addition_changes_nothing(written, share, data):
    rows = [b for b in written.blocks if b.name in ("malt", "sugar", "hop", "precursor")]
    row = data.draw(st.sampled_from(rows))
    key = amount_key(row)
    whole = written.swapped(row, amount(row, key, 1.0))
    parts = [amount(row, key, share), amount(row, key, 1 - share)]
    split = written.swapped(row, *parts)

    assert outcomes_differ(problem_of(whole), problem_of(split)) == []


@LAW
@given(recipes(precursors=False), st.sampled_from(["mash", "boil", "whirlpool", "fermentation"]))
def test_a_dose_of_nothing_is_no_line(written, when):
    lines = {"name": "grape-derived powder", "dose": "0 g/L", "when": when}
    dosed = written.swapped(written.blocks[0], written.blocks[0], Block("precursor", lines))

    assert outcomes_differ(problem_of(written), problem_of(dosed)) == []


@LAW
@given(recipes(), st.data())
def test_more_of_a_thing_never_lowers_what_it_brings(written, data):
    brings = {"malt": "original_extract_plato", "hop": "kettle_alpha_mg_l"}
    brings["precursor"] = "free_3sh_ng_l"
    rows = [b for b in written.blocks if b.name in brings]
    row = data.draw(st.sampled_from(rows))
    assume(row.name != "malt" or parse_recipe(written.text).brewhouse.lauter == "stated")
    key = amount_key(row)
    less = states(problem_of(written.swapped(row, amount(row, key, 1.0))))
    more = states(problem_of(written.swapped(row, amount(row, key, 1.3))))
    name = brings[row.name]

    assert (more[name] >= less[name] * (1 - 1e-9)).all()


@LAW
@given(recipes())
def test_a_recipe_against_itself_is_a_tie_in_every_batch(written):
    problem = problem_of(written)
    assume(problem.outcomes)
    found = brewsim.compare(problem, problem, draws=64)

    assert (found["tied"].to_numpy() == 1.0).all()
    assert (found["lower"].to_numpy() == 0.0).all()


@pytest.mark.parametrize("seed", [1, 2])
def test_twice_the_batch_is_the_same_beer(seed):
    """Doubling every amount, volume and rate keeps every concentration (a small kettle's)."""
    chance = random.Random(seed)  # noqa: S311 - no secret
    hop, powder = chance.uniform(10, 40), chance.uniform(0.5, 4)

    def text(times):
        return (
            f'name = "Beer"\nvolume = "{20 * times} L"\nboil = "60 min"\nefficiency = "75 %"\n'
            f'[[malt]]\nname = "Pilsner malt"\nmass = "{4 * times} kg"\n'
            f'[[hop]]\nvariety = "Fuggle"\nmass = "{hop * times} g"\nwhen = "boil 30 min"\n'
            f'[[hop]]\nvariety = "Fuggle"\nmass = "{2 * hop * times} g"\nwhen = "dry hop day 5"\n'
            '[[precursor]]\nname = "grape-derived powder"\nwhen = "whirlpool"\n'
            f'dose = "{powder} g/L"\n'
            f'[brewhouse]\nevaporation = "{3 * times} L/h"\ndead_space = "{1 * times} L"\n'
        )

    one, two = (states(pose(parse_recipe(text(times)))) for times in (1, 2))
    names = ("original_gravity_sg", "bitterness_ibu", "beer_color_ebc", "free_3sh_ng_l")

    for name in (*names, "alcohol_by_volume_fraction", "thiol_lead"):
        np.testing.assert_allclose(two[name], one[name], rtol=1e-9, err_msg=name)
