"""What answers take when nobody says: one seed everywhere, and how many draws are behind each."""

import inspect
from importlib import import_module
from pkgutil import iter_modules

import pytest

from brewsim import answers, logbook

FUNCTIONS = {
    f"{module.name}.{name}": one
    for room in (answers, logbook)
    for module in iter_modules(room.__path__, f"{room.__name__}.")
    for name, one in inspect.getmembers(import_module(module.name), inspect.isfunction)
    if one.__module__ == module.name
}
USUAL = {
    "answers.brew_day.midway": {"draws": 4096},
    "answers.coverage.judge": {"draws": 4096},
    "answers.coverage.own_kettle": {"draws": 4096},
    "answers.everything.everything": {"draws": 16_384, "chance": 0.8},
    "answers.forecast.drawn_for": {"draws": 16_384},
    "answers.leading_assumptions.leading_assumptions": {"most": 3},
    "answers.lot_substitution.new_lot": {"every": False},
    "answers.next_beer.next_beer": {"time_limit_s": 10.0, "teach": True},
    "answers.prior_comparison.compare_priors": {"draws": 16_384},
    "answers.run_charts.run_charts": {"judged": True, "draws": 16_384},
    "answers.specification.spec_studies": {"draws": 65_536},
    "logbook.house.learn": {"outliers": False},
    "logbook.learning.learned_from": {"outliers": False},
    "logbook.house_store.add_batches": {"outliers": False},
}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_what_is_not_asked_is_as_usual_and_the_seed_is_one(name):
    """Two commands without --seed tell of the same draws, and one help text holds for all."""
    parameters = inspect.signature(FUNCTIONS[name]).parameters
    found = {n: p.default for n, p in parameters.items() if isinstance(p.default, int | float)}

    assert found.pop("seed", 1) == 1
    assert found == USUAL.get(name.removeprefix("brewsim."), {})


def test_every_answer_that_is_listed_is_there():
    assert {f"brewsim.{name}" for name in USUAL} <= set(FUNCTIONS)
