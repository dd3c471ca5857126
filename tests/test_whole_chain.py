"""The whole beer as one graph: everything is wired, sourced, and runs with any number of rows."""

import inspect
import re
from itertools import product

import numpy as np
import pytest

from brewsim.beer_graph import STAGES, beer_graph, module_of, stage_modules
from brewsim.graph.build import build_graph, formulas_in, inputs_in, ranges_in
from brewsim.graph.evaluate import evaluate, reevaluate
from brewsim.logbook.pose import pose
from brewsim.quantities.catalogue import BY_QUANTITY
from brewsim.quantities.dimensions import model_unit_of
from brewsim.recipe.read import parse_recipe

MODULES = [module_of(stage) for stage in stage_modules()]
FORMULAS = formulas_in(*MODULES)
CHOICES = {
    "bitterness_ibu": ("kinetic", "empirical"),
    "mash_efficiency_fraction": ("stated", "batch_sparge", "no_sparge", "continuous_sparge"),
    "carbonation_vol": ("keg", "bottle"),
    "alcohol_by_weight_fraction": ("line", "balling"),
}
USUAL = {name: options[0] for name, options in CHOICES.items()}
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


@pytest.mark.parametrize("picked", list(product(*CHOICES.values())))
def test_every_choice_of_variants_wires_into_one_graph(picked):
    graph = beer_graph(dict(zip(CHOICES, picked, strict=True)))

    assert len(graph.nodes) > 150
    assert set(BY_QUANTITY) <= set(graph.nodes)


def test_every_formula_of_the_package_is_in_the_beer_or_is_another_variant_of_it():
    names = {formula.__name__.partition("__")[0] for formula in FORMULAS}

    assert set(beer_graph(USUAL).nodes) == names
    assert stage_modules() == STAGES


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.__name__)
def test_a_formula_says_what_it_is_where_it_comes_from_and_in_which_unit(formula):
    text = inspect.getdoc(formula)
    first = text.partition("\n")[0]
    source = re.search(r"^Source:\s*(.+)", text, re.MULTILINE)

    assert first.endswith("."), first
    assert first[0].isupper() or first[0].isdigit(), first
    assert ".. math::" in text
    assert source, f"{formula.__name__} has no source"
    assert len(source[1]) > 8, source[1]
    assert model_unit_of(formula.__name__) is not None, formula.__name__


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.__name__)
def test_a_formula_takes_plain_quantities_and_never_a_default(formula):
    for parameter in inspect.signature(formula).parameters.values():
        assert parameter.default is parameter.empty
        assert parameter.kind is parameter.POSITIONAL_OR_KEYWORD


def test_every_input_has_a_unit_a_label_and_a_formula_that_needs_it():
    inputs = inputs_in(*MODULES)
    needed = {need for formula in FORMULAS for need in inspect.signature(formula).parameters}

    for name, given in inputs.items():
        assert model_unit_of(name) is not None, name
        assert given.label, name
        assert not given.label.endswith("."), name
        assert name in needed, f"{name} is needed by no formula"


def test_a_range_of_validity_names_a_formula_and_goes_upwards():
    names = {formula.__name__ for formula in FORMULAS}
    for formula, table in ranges_in(*MODULES).items():
        assert formula in names
        assert all(low < high for low, high in table.values()), formula


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


def test_stages_declare_every_input_once():
    declared = [name for module in MODULES for name in getattr(module, "INPUTS", {})]

    assert len(declared) == len(set(declared))
    assert build_graph(FORMULAS, inputs_in(*MODULES), variants=USUAL).inputs.keys() == set(declared)
