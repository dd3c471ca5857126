"""The whole beer as one graph: every quantity can be given, and any number of rows runs."""

import numpy as np
import pytest

from brewsim.beer_graph import STAGES, beer_graph, module_of, stage_modules
from brewsim.graph.build import formulas_in
from brewsim.graph.evaluate import evaluate, reevaluate
from brewsim.logbook.pose import pose
from brewsim.recipe.read import parse_recipe

MODULES = [module_of(stage) for stage in stage_modules()]


FORMULAS = formulas_in(*MODULES)


USUAL = {
    "bitterness_ibu": "kinetic",
    "mash_efficiency_fraction": "stated",
    "carbonation_vol": "keg",
    "alcohol_by_weight_fraction": "line",
}


RECIPE = """
name = "Chain"
volume = "20 L"
boil = "60 min"
efficiency = "75 %"
malt = ["4 kg Pilsner malt"]
"""


HOPS = (
    '[[hop]]\nvariety = "Fuggle"\nalpha = "4.5 %"\nmass = "20 g"\nwhen = "boil 60 min"\n',
    '[[hop]]\nvariety = "Challenger"\nmass = "20 g"\nwhen = "whirlpool 20 min at 80 °C"\n',
    '[[hop]]\nvariety = "Glacier"\nmass = "40 g"\nwhen = "mash"\n',
)


DRY = tuple(
    f'[[hop]]\nvariety = "{name}"\nmass = "40 g"\nwhen = "dry hop day 3 for 4 days at 16 °C"\n'
    for name in ("Centennial", "Galena", "Glacier")
)


DOSES = tuple(
    f'[[precursor]]\nname = "grape-derived powder"\ndose = "{dose} g/L"\nwhen = "{when}"\n'
    for dose, when in ((2, "whirlpool"), (1, "mash"), (3, "fermentation day 2"))
)


SUGARS = tuple(
    f'[[sugar]]\nname = "Sucrose"\nmass = "{mass} kg"\nwhen = "{when}"\n'
    for mass, when in ((0.2, "boil"), (0.1, "late"), (0.3, "boil"))
)


def test_every_formula_of_the_package_is_in_the_beer_or_is_another_variant_of_it():
    names = {formula.__name__.partition("__")[0] for formula in FORMULAS}

    assert set(beer_graph(USUAL).nodes) == names
    assert stage_modules() == STAGES


def values_of(*parts, size=5):
    """Return every quantity of a recipe made of the parts, with random inputs (size samples)."""
    problem = pose(parse_recipe(RECIPE + "\n".join(parts)))
    rng = np.random.default_rng(7)
    values = {k: np.array(v) for k, v in problem.fixed.items()}
    for name, array in values.items():
        if array.ndim == 2:
            values[name] = np.repeat(array, size, axis=1) if array.dtype.kind == "f" else array
    for factor in problem.factors:
        drawn = factor.distribution.from_score(rng.standard_normal(size))
        if factor.row is None:
            values[factor.quantity] = drawn
        else:
            values[factor.quantity][factor.row] = drawn
    return problem, evaluate(problem.graph, values)


@pytest.mark.parametrize("count", [0, 1, 2, 3])
@pytest.mark.parametrize("lists", [(HOPS,), (DRY,), (DOSES,), (SUGARS,), (HOPS, DRY, DOSES)])
def test_the_chain_runs_with_any_number_of_rows(lists, count):
    parts = [row for rows in lists for row in rows[:count]]
    problem, values = values_of(*parts)

    for name, node in problem.graph.nodes.items():
        rows = [len(problem.row_labels[axis]) for axis in node.axes]
        assert values[name].shape[:-1] == tuple(rows), name
        assert values[name].shape[-1] in (1, 5), name
        assert np.isfinite(values[name]).all(), name


def test_what_formulas_return_cannot_be_written_to():
    problem, values = values_of(*HOPS)

    assert all(not values[name].flags.writeable for name in problem.graph.nodes)


def test_recomputing_what_lies_downstream_is_the_same_as_recomputing_everything():
    problem, values = values_of(*HOPS, *DRY, *DOSES)
    for quantity in ("wort_ph", "strain_attenuation_fraction", "hop_lot_linalool_mg_kg"):
        changed = {quantity: values[quantity] * 1.01}
        inputs = {name: values[name] for name in problem.graph.inputs}
        partly = reevaluate(problem.graph, values, changed)
        wholly = evaluate(problem.graph, inputs | changed)

        for name in problem.graph.nodes:
            np.testing.assert_array_equal(partly[name], wholly[name], err_msg=name)


def test_every_computed_quantity_can_be_given_instead():
    for name, node in beer_graph(USUAL).nodes.items():
        graph = beer_graph(USUAL, [name])

        assert name in graph.inputs
        assert graph.axes(name) == node.axes
